"""What is on record of how an instrument behaves: checks before use, studies on parts, and what happened to it.

The shop keeps the newest of them (``kept``); a reading carries those that it rests on into its own sheet, so that a
sheet can be read without them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from inspection.measuring.checks import Answer, Configuration
from inspection.measuring.checks_life import Happened, Made
from inspection.measuring.checks_outcome import Finding

#: So many records of the whole shop are at hand; beyond them only studies and the last good check of each instrument as
#: fitted.
NEWEST = 400


class CheckRecord(Struct, frozen=True, tag="check"):
    """A check that was made: what was answered, what that came to, and on which ``sheet`` it was made, if on one.

    ``last_good`` is the good check before a failed one (same instrument, same things fitted) and ``since`` the moment
    (UTC microseconds) from which on readings are re-opened by the failure; 0: from the first.
    """

    made: Made
    answers: tuple[Answer, ...]
    findings: tuple[Finding, ...] = ()
    sheet: str = ""
    last_good: str = ""
    since: int = 0

    @property
    def instrument(self) -> str:
        """The instrument's identity."""
        return self.made.instrument

    @property
    def at(self) -> int:
        """When (UTC microseconds)."""
        return self.made.at


class StudyRecord(Struct, frozen=True, tag="study"):
    """Parts read again and again with an instrument: ``groups`` of readings (counts), each group of one place.

    One taken from the gauge study ``of`` has its ``title``, and where people were taken with it the deviation between
    them (``people``, counts) with its degrees of freedom."""

    identity: str
    instrument: str
    issue: int
    configuration: Configuration
    groups: tuple[tuple[int, ...], ...]
    by: str
    at: int
    note: str = ""
    of: str = ""
    title: str = ""
    people: int = 0
    people_freedom: int = 0


class WithdrawalRecord(Struct, frozen=True, tag="withdrawal"):
    """From ``at`` on a ``study`` of an instrument is reckoned with no longer, and why."""

    study: str
    instrument: str
    by: str
    at: int
    reason: str


class UpsetRecord(Struct, frozen=True, tag="upset"):
    """Something that happened to an instrument and ended its checks."""

    identity: str
    happened: Happened
    by: str
    note: str = ""

    @property
    def instrument(self) -> str:
        """The instrument's identity."""
        return self.happened.instrument

    @property
    def at(self) -> int:
        """When (UTC microseconds)."""
        return self.happened.at


Proof = CheckRecord | StudyRecord | UpsetRecord | WithdrawalRecord


def kept(proofs: Sequence[Proof]) -> tuple[Proof, ...]:
    """Of records in their order, the newest ``NEWEST`` and, before them, studies and the last good check of each
    instrument with the same things fitted, where no newer good one follows. Withdrawals are kept as
    studies are."""
    if len(proofs) <= NEWEST:
        return tuple(proofs)
    older, newest = proofs[:-NEWEST], proofs[-NEWEST:]
    followed = {_fitted(each) for each in newest if _good(each)}
    last = {_fitted(each): each for each in older if _good(each)}
    before = {id(each) for fitted, each in last.items() if fitted not in followed}
    studies = StudyRecord | WithdrawalRecord
    return (*(each for each in older if id(each) in before or isinstance(each, studies)), *newest)


def identity_of(proof: Proof) -> str:
    """What tells one record from every other."""
    if isinstance(proof, WithdrawalRecord):
        return f"{proof.study} withdrawn"
    return proof.made.identity if isinstance(proof, CheckRecord) else proof.identity


def _good(proof: Proof) -> bool:
    return isinstance(proof, CheckRecord) and proof.made.passed


def _fitted(proof: Proof) -> tuple[str, str]:
    fitted = proof.made.configuration.fitted if isinstance(proof, CheckRecord) else ""
    return proof.instrument, fitted


def checks_of(proofs: Iterable[Proof], instrument: str, until: int | None = None) -> tuple[CheckRecord, ...]:
    """The checks of one instrument, oldest first, up to and including the moment ``until``."""
    return tuple(
        each
        for each in proofs
        if isinstance(each, CheckRecord) and each.instrument == instrument and (until is None or each.at <= until)
    )


def studies_in_use(proofs: Iterable[Proof], until: int | None = None) -> tuple[StudyRecord, ...]:
    """The studies that were made and not withdrawn up to and including the moment ``until``, oldest first."""
    held = [each for each in proofs if until is None or each.at <= until]
    gone = {each.study for each in held if isinstance(each, WithdrawalRecord)}
    return tuple(each for each in held if isinstance(each, StudyRecord) and each.identity not in gone)
