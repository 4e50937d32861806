"""A sheet as it goes out: every text and number that a page, workbook or file shows, in one value.

``report`` builds it from a sheet; PDF, workbook and csv only lay it out, so that they cannot differ. Every sentence
in it has come from the catalogue.
"""

from __future__ import annotations

from msgspec import Struct

from inspection.sheet.chain_head import ChainHead


class Value(Struct, frozen=True):
    """One reported reading.

    ``text`` is the result in the row's drawing unit with at least the limit's decimals ("0.5000", "enters");
    ``number`` the same as a plain decimal string where it is a number, with ``decimals`` and ``unit``.
    ``written`` says what was written if that reads otherwise ("12.7 mm", "1 5/32"), ``converted`` whether it was in
    another unit. A withdrawn reading stays: who, when and why are in ``withdrawn``, a sentence; so does one that a
    failed check re-opened, with ``reopened`` to say so. ``suspect`` says that a check failed after signing: it counts
    as sealed. ``check`` is the check before use that it rests on, or that there was none; empty where none is asked.
    ``temperature`` are those of part and instrument that it inherits. ``aside`` says that the piece was worked on
    since, so that it counts no longer, and under which nonconformance.
    """

    serial: str
    text: str
    number: str = ""
    decimals: int = 0
    unit: str = ""
    place: str = ""
    role: str = ""
    instrument: str = ""  # tag and name
    calibration: str = ""  # state on the reading's day: "calibrated, due 2027-03-01"
    by: str = ""
    taken: str = ""  # local day and time, as text
    written: str = ""
    converted: bool = False
    withdrawn: str = ""
    check: str = ""
    temperature: str = ""
    reopened: str = ""
    suspect: str = ""
    aside: str = ""

    @property
    def counts(self) -> bool:
        """Whether it stands: neither withdrawn, nor re-opened, nor put aside."""
        return not self.withdrawn and not self.reopened and not self.aside


class Result(Struct, frozen=True):
    """The verdict of one row on one piece: ``state`` is the Verdict's value, ``text`` what is printed, ``reasons``
    why (sentences).

    ``number`` is the one number in ``text`` where words stand around it ("0.4998" of a mean), a plain decimal string.
    What is computed of it is empty where nothing was. In the row's unit, as plain decimal strings: ``numbers``, the
    result itself where it is not simply read (a mean, a corrected reading; smallest and largest of several places);
    ``read``, the same before known errors were taken off; ``expanded``, U to two digits; ``guard``, the guard band g,
    with the acceptance limits. ``probability`` is that of conformity in per cent, where the customer is shown it.
    ``corrections`` say what was done about known errors, ``budget`` is the name of the uncertainty budget.
    ``nonconformance`` names those that the row has on the piece, each with its disposition.
    """

    serial: str
    text: str  # the reported result: "0.4998", "0.4996 … 0.5001", "mean 0.4998 (n = 3)"
    state: str
    verdict: str  # "conforming", "not conforming, .0002 over"
    reasons: tuple[str, ...] = ()
    number: str = ""
    numbers: tuple[str, ...] = ()
    read: tuple[str, ...] = ()
    expanded: str = ""
    guard: str = ""
    accept_lower: str = ""
    accept_upper: str = ""
    probability: str = ""
    corrections: tuple[str, ...] = ()
    budget: str = ""
    nonconformance: str = ""


class Line(Struct, frozen=True):
    """One row of the sheet. Limits are empty where that side is open or nothing is judged; ``lower_number`` and
    ``upper_number`` are plain decimal strings in ``unit``. ``corrections`` are those of its results, what is the same
    for several pieces told once."""

    number: str
    requirement: str
    name: str = ""
    place: str = ""
    kind: str = ""
    sheet: str = ""
    zone: str = ""
    key: str = ""
    condition: str = ""
    lower: str = ""
    upper: str = ""
    lower_number: str = ""
    upper_number: str = ""
    unit: str = ""
    decimals: int = 0
    explained: tuple[str, ...] = ()
    instruments: tuple[str, ...] = ()
    values: tuple[Value, ...] = ()
    results: tuple[Result, ...] = ()
    state: str = ""  # the worst of its results
    verdict: str = ""
    notes: tuple[str, ...] = ()
    corrections: tuple[str, ...] = ()


class SubItemLine(Struct, frozen=True):
    """One sub-item of an assembly, as the head names it."""

    number: str
    revision: str = ""
    name: str = ""
    serial: str = ""
    sheet: str = ""


class EvidenceLine(Struct, frozen=True):
    """One material, special process or functional test; ``kind`` is the EvidenceKind's value.

    A test carries what is ``required``, its limits and ``result`` with their units, and the verdict: ``state`` is the
    Verdict's value, empty for what has none. ``files`` are name and SHA-256 in hex.
    """

    kind: str
    name: str
    number: str = ""
    specification: str = ""
    revision: str = ""
    code: str = ""
    supplier: str = ""
    approved: str = ""
    certificate: str = ""
    certified: str = ""
    required: str = ""
    lower: str = ""
    upper: str = ""
    result: str = ""
    state: str = ""
    verdict: str = ""
    files: tuple[tuple[str, str], ...] = ()
    note: str = ""


class TemperatureLine(Struct, frozen=True):
    """One line of the temperature log: what part and instrument had, known within ± ``within``, in degrees Celsius and
    as decimal strings; ``soak`` is how many minutes the part had lain beside the instrument, ``rows`` the balloon
    numbers of the readings that inherit it."""

    when: str
    by: str
    part: str
    instrument: str
    within: str
    thermometer: str  # mark and name
    calibration: str = ""
    soak: str = ""
    rows: str = ""
    note: str = ""


class BudgetLine(Struct, frozen=True):
    """One line of an uncertainty budget; numbers are plain decimal strings. ``standard`` is u(x) in ``unit``,
    ``sensitivity`` ∂y/∂x in ``sensitivity_unit`` (empty: a plain factor), ``freedom`` ν (∞ for infinitely many),
    ``contribution`` in the budget's unit, ``share`` the part of the combined variance in per cent."""

    part: str
    estimate: str
    distribution: str
    divisor: str
    standard: str
    unit: str
    sensitivity: str
    sensitivity_unit: str
    freedom: str
    contribution: str
    share: str


class Budget(Struct, frozen=True):
    """An uncertainty budget by its ``name``, with the ``rows`` that it serves: u_c, ν_eff, k, the coverage probability
    in per cent and U, in ``unit``. ``uncorrected`` is what was left of known errors and is in U, ``left`` says what."""

    name: str
    rows: str
    unit: str
    lines: tuple[BudgetLine, ...]
    combined: str
    freedom: str
    factor: str
    confidence: str
    expanded: str
    uncorrected: str = ""
    left: tuple[str, ...] = ()


class Signed(Struct, frozen=True):
    """One signature as printed."""

    statement: str
    person: str
    when: str
    digest: str
    certificate: str  # fingerprint


class NonconformingRow(Struct, frozen=True):
    """One row of a nonconformance, by its balloon ``number``: what it was ``found`` to be, and what it came to when it
    was measured ``again`` after the piece was worked on (empty where it is not to be). ``affected`` marks one that was
    measured again only because of the work."""

    number: str
    found: str
    again: str = ""
    affected: bool = False


class NonconformanceLine(Struct, frozen=True):
    """One nonconformance of one piece: by whom and when it was raised, what was decided in whose words (``disposition``
    says that it waits, ``decided`` is empty then), and the customer's ``leave``: document, day and scope."""

    number: str
    serial: str
    what: str
    raised: str
    rows: tuple[NonconformingRow, ...]
    disposition: str
    words: str = ""
    decided: str = ""
    leave: str = ""


class ReturnLine(Struct, frozen=True):
    """A round that was returned to the bench; ``rows`` are balloon number, piece and words, with "" for the whole sheet
    and for all pieces."""

    round: str
    returned: str  # by whom and when
    rows: tuple[tuple[str, str, str], ...]


class Stated(Struct, frozen=True):
    """One statement made of the sheet: ``statement`` with its round, in whose ``words``; ``reasons`` are what keeps a
    first article from being complete, ``own`` that it was made of the lead's own sheet. ``seal`` is the digest of the
    seal that it speaks of, ``baseline`` that of the sheet it is complete together with. ``replaces`` tells of the one
    in whose place it stands, ``replaced`` that it holds no longer, and by which."""

    statement: str
    person: str
    when: str
    words: str
    reasons: tuple[str, ...]
    own: str
    seal: str
    baseline: str
    digest: str
    certificate: str
    replaces: str = ""
    replaced: str = ""


class Report(Struct, frozen=True):
    """The whole sheet. ``head`` is label and value pairs in print order; ``labels`` the headings of columns and
    sections by code, in the language of the sheet; ``totals`` sentences such as "33 conforming, 1 not conforming".
    ``evidence`` stands in the order of its kinds; what was struck off the sheet is not in it. ``temperatures`` is the
    log in its order, ``budgets`` every distinct uncertainty budget that a result rests on, in the order of the rows;
    ``statements`` are those of all rounds, in the order made. ``chain`` is the head of the book's chain when it was
    told."""

    title: str
    head: tuple[tuple[str, str], ...]
    serials: tuple[str, ...]
    lines: tuple[Line, ...]
    totals: tuple[str, ...]
    signatures: tuple[Signed, ...]
    cautions: tuple[str, ...]
    labels: dict[str, str]
    sealed: bool
    language: str = "en"
    shop: str = ""  # author of the file
    sub_items: tuple[SubItemLine, ...] = ()
    evidence: tuple[EvidenceLine, ...] = ()
    temperatures: tuple[TemperatureLine, ...] = ()
    budgets: tuple[Budget, ...] = ()
    nonconformances: tuple[NonconformanceLine, ...] = ()
    returns: tuple[ReturnLine, ...] = ()
    statements: tuple[Stated, ...] = ()
    chain: ChainHead | None = None
