"""Reverse trace: an instrument was found out by so much, and this is what that makes of each reading taken with it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Plan
from inspection.instruments.reach import permissible_error
from inspection.instruments.reckoning import NEAR
from inspection.instruments.record import Instrument
from inspection.measuring.found_error import TO_BE_SEEN, Outcome, Weighed, weigh
from inspection.measuring.proofs import CheckRecord
from inspection.reasons import Reason
from inspection.sheet.state import Shop
from inspection.studies.history import limits_of


class ReadWith(Struct, frozen=True):
    """One reading that counts, taken with an instrument: on which ``sheet`` of which ``part``, which characteristic of
    which piece, by which ``plan`` issue.

    ``amount`` is what was read (counts, None where something was seen), as ``written`` in ``unit``. ``smallest``,
    ``largest``, ``of`` and ``expanded`` are what its cell came to last, ``guard`` its guard band (counts); ``taken`` is
    UTC µs.
    """

    reading: str
    sheet: str
    part: str
    characteristic: str
    piece: str
    plan: str
    amount: int | None
    unit: str
    written: str
    decimals: int | None
    taken: int
    by: str
    smallest: int | None
    largest: int | None
    of: int
    expanded: int | None
    guard: int | None

    @property
    def cell(self) -> tuple[str, str, str]:
        """Sheet, characteristic and piece."""
        return self.sheet, self.characteristic, self.piece


class Traced(Struct, frozen=True):
    """A reading with its row as it was, what the found error makes of its result, and whether its size ``is_near``
    enough to that at which the error was found for the error to be known there. ``error`` is in counts, ``shared`` how
    many of the readings that made the result hold it."""

    read: ReadWith
    row: Characteristic
    error: int
    shared: int
    outcome: Outcome
    is_near: bool

    @property
    def weighed(self) -> Weighed:
        """The outcome with the rooms that led to it; reckoned again, for one is looked at and thousands are not."""
        if self.outcome is Outcome.QUESTIONED:
            return Weighed(self.outcome)
        return _weighed(self.read, *_limits(self.row), self.error, self.shared)

    @property
    def is_to_be_seen(self) -> bool:
        """Whether somebody has to look at it: the error changes what it came to, or may do so at a size at which nobody
        knows it."""
        return self.outcome in TO_BE_SEEN


def traced(
    reads: Sequence[ReadWith],
    plans: Mapping[str, Plan],
    error: int,
    size: int | None = None,
    waiting: Collection[tuple[str, str, str]] = (),
) -> list[Traced]:
    """What an ``error`` e = indication − true (counts), found at a ``size`` (None: at every size), makes of readings.
    Gravest first, then as read; readings by a plan that is not among ``plans`` are left out.

    g is the guard band that the result was judged with, and U where the rule has none. An error serves sizes within 25
    mm of that at which it was found; of farther ones it is weighed all the same, and said to be far. What was read in
    the cells ``waiting`` for the answer to a slip question is weighed by nothing: the part is to be looked at again.
    """
    shared = Counter(each.cell for each in reads if each.of > 1)  # of means; elsewhere one reading is all there is
    rows = {(name, row.identity): (row, *_limits(row)) for name, plan in plans.items() for row in plan.characteristics}
    found: dict[Outcome, list[Traced]] = {outcome: [] for outcome in Outcome}
    for each in reads:
        held = rows.get((each.plan, each.characteristic))
        if held is not None:
            row, lower, upper = held
            if waiting and each.cell in waiting:
                found[Outcome.QUESTIONED].append(Traced(each, row, error, 1, Outcome.QUESTIONED, True))
                continue
            n = min(shared[each.cell], each.of) if each.of > 1 else 1
            outcome = _weighed(each, lower, upper, error, n).outcome
            near = size is None or each.amount is None or abs(each.amount - size) <= NEAR
            found[outcome].append(Traced(each, row, error, n, outcome, near))
    return [one for alike in found.values() for one in alike]


def _limits(row: Characteristic) -> tuple[int | None, int | None]:
    return limits_of(row.requirement) if row.requirement.judged else (None, None)


def _weighed(read: ReadWith, lower: int | None, upper: int | None, error: int, shared: int) -> Weighed:
    if read.amount is None:
        return weigh(None, None, read.of, lower, upper, error)
    guard = read.expanded if read.guard is None else read.guard
    return weigh(read.smallest, read.largest, read.of, lower, upper, error, shared=shared, guard=guard)


def sheets_to_be_seen(found: Iterable[Traced]) -> tuple[str, ...]:
    """The sheets with a reading that somebody has to look at, in the order met."""
    return tuple(dict.fromkeys(each.read.sheet for each in found if each.is_to_be_seen))


# --- since when -------------------------------------------------------------------------------------------------------


def known_good(
    shop: Shop,
    instrument: Instrument,
    check: CheckRecord | None,
    until: int,
    start_of: Callable[[str], int],
    told: Callable[[int], str],
) -> tuple[int, Reason]:
    """Since when (UTC µs) readings of an instrument are in question, and why: its last good ``check`` near the size, or
    its last good certificate before ``until``, whichever is later; else from the first on.

    ``start_of`` tells the moment before a day (ISO) begins, ``told`` a moment in words.
    """
    certified = _last_certificate(shop, instrument, until, start_of)
    since = start_of(certified.certified) if certified is not None else 0
    if check is not None and check.at > since:
        return check.at, Reason("trace.since.check", {"when": told(check.at)})
    if certified is not None:
        named = certified.certificate or certified.laboratory
        code = "trace.since.certificate_named" if named else "trace.since.certificate"
        return since, Reason(code, {"day": certified.certified, "certificate": named})
    return 0, Reason("trace.since.first")


def _last_certificate(
    shop: Shop, instrument: Instrument, until: int, start_of: Callable[[str], int]
) -> Instrument | None:
    """The issue with the newest certificate of a day before, that told of no error beyond the permissible one. One
    that did is how the error was found."""
    issues = [one for (name, _), one in shop.issues.items() if name == instrument.identity]
    good = [one for one in issues if one.certified and start_of(one.certified) < until and not _tells_of_error(one)]
    return max(good, key=lambda one: (one.certified, one.issue), default=None)


def _tells_of_error(one: Instrument) -> bool:
    allowed = ((point, permissible_error(one, point.use, point.size)) for point in one.points)
    return any(most is not None and abs(point.error) > most for point, most in allowed)
