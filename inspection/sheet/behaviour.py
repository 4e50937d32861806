"""How an instrument behaves, as it is on record: whether its check serves now, what checks and studies say of its error
and scatter, what was seen in each check, and what happened to it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from enum import StrEnum
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.record import Instrument
from inspection.measuring.checks import Asked, amount, checklist
from inspection.measuring.checks_outcome import Finding, limit_at
from inspection.measuring.known import Evidence
from inspection.measuring.proofs import CheckRecord, Proof, StudyRecord, UpsetRecord, WithdrawalRecord, checks_of
from inspection.measuring.spread import Seen, Spread, pooled
from inspection.measuring.uncertainty_stated import about
from inspection.reasons import Part, Reason, Refused
from inspection.sheet.alive import Alive
from inspection.sheet.proving import evidence_of
from inspection.sheet.state import Shop

# --- whether it is proven now -------------------------------------------------------------------------------------


class Stands(Struct, frozen=True):
    """Whether the last check of an instrument serves anybody now (None: no check is asked for), and what is said of
    that."""

    proven: bool | None
    said: tuple[Reason, ...]


def stands(shop: Shop, found: Alive, person: str, when: Callable[[int], str]) -> Stands | None:
    """How it is told whether an instrument is proven; None for a kind that is not checked.

    ``found`` is asked for who made the last check, ``person`` (by identity) is at the bench; ``when`` tells a moment.
    """
    if not checklist(found.instrument):
        return None
    if not shop.rules.check_minutes:
        return Stands(None, (Reason("behaviour.not_asked"),))
    if found.why is not None or found.last is None:
        return Stands(False, (Reason("behaviour.unproven"), *filter(None, (found.why,))))
    maker = shop.people.get(found.last.made.by)
    parts: dict[str, Part] = {
        "person": maker.name if maker else found.last.made.by,
        "until": when(found.until),
        "when": when(found.last.at),
    }
    mine = found.last.made.by == person
    return Stands(True, (Reason("behaviour.proven" if mine else "behaviour.proven_for", parts),))


# --- what checks and studies say together -------------------------------------------------------------------------


def evidence_now(shop: Shop, instrument: Instrument) -> Evidence | None:
    """What is known of an instrument as it was fitted when it was last checked; None where nothing is."""
    checks = checks_of(shop.proofs, instrument.identity)
    return evidence_of(shop, instrument, checks[-1].made.configuration.fitted if checks else "")


def evidence_said(instrument: Instrument, held: Evidence) -> Iterator[Reason]:
    """Scatter with its degrees of freedom, zero, and the error of the last good check, one sentence each."""
    if held.study is not None:
        yield Reason("behaviour.study", _spread(held.study, instrument))
    if held.people is not None:
        yield Reason("behaviour.people", {**_spread(held.people, instrument), "title": held.people.of})
    if held.block is not None:
        yield Reason(
            "behaviour.block" if held.study is None else "behaviour.block_beside", _spread(held.block, instrument)
        )
    elif held.checked is not None:
        yield Reason("behaviour.block_equal", {"step": amount(instrument, instrument.resolution)})
    if held.zeros is not None:
        yield Reason("behaviour.zeros", _spread(held.zeros, instrument))
    elif held.zero_of:
        yield Reason("behaviour.zeros_equal", {"step": amount(instrument, instrument.resolution)})
    if held.checked is not None:
        size: dict[str, Part] = {"size": amount(instrument, held.checked.size), "n": held.checked.of}
        yield _off("behaviour.error", held.checked.error, instrument, size)
    if held.zero_of:
        yield _off("behaviour.zero", Fraction(held.zero_total, held.zero_of), instrument, {"n": held.zero_of})


def _spread(spread: Spread, instrument: Instrument) -> dict[str, Part]:
    return {"s": about(spread.square, instrument.unit), "freedom": spread.freedom or 0}


def _off(code: str, error: Fraction, instrument: Instrument, parts: dict[str, Part]) -> Reason:
    """An error told by its size and its way."""
    way = "large" if error > 0 else "small" if error < 0 else "none"
    return Reason(f"{code}.{way}", {**parts, "e": about(error**2, instrument.unit)})


# --- what was seen in each check ----------------------------------------------------------------------------------


class Read(StrEnum):
    """What was read in a check."""

    BLOCK = "block"
    ZERO = "zero"
    SPOT = "spot"  # of one spot: how far its readings lie apart


class ErrorSeen(Struct, frozen=True):
    """What one check read, in counts: the mean ``error`` (to the nearest count; of a spot, how far the readings lie
    apart) with the lowest and highest, at a ``size``, the ``limit`` E that it was held against (None: the record
    states none now) and whether the check ``passed``."""

    what: Read
    at: int
    error: int
    low: int
    high: int
    size: int
    limit: int | None
    passed: bool


def errors_seen(shop: Shop, proofs: Iterable[Proof]) -> tuple[ErrorSeen, ...]:
    """What checks read, in their order; by the issue of the record that each was made on."""
    checks = (each for each in proofs if isinstance(each, CheckRecord))
    return tuple(seen for check in checks for seen in _seen_in(shop, check))


def _seen_in(shop: Shop, check: CheckRecord) -> Iterator[ErrorSeen]:
    instrument = shop.issues.get((check.instrument, check.made.issue))
    if instrument is None:
        return
    asked = {line.code: line for line in checklist(instrument, check.made.configuration)}
    for answer in check.answers:
        line = asked.get(answer.line)
        if line is None or not answer.readings:
            continue
        if line.asked is Asked.SPREAD:
            yield _spot(instrument, check, answer.readings)
        elif line.asked is Asked.ZEROS:
            yield _error(instrument, check, Read.ZERO, answer.readings, line.at)
        elif answer.size:
            yield _error(instrument, check, Read.BLOCK, answer.readings, answer.size)


def _error(instrument: Instrument, check: CheckRecord, what: Read, readings: tuple[int, ...], size: int) -> ErrorSeen:
    off = [reading - size for reading in readings]
    mean = round(Fraction(sum(off), len(off)))
    return ErrorSeen(what, check.at, mean, min(off), max(off), size, _limit(instrument, size), check.made.passed)


def _spot(instrument: Instrument, check: CheckRecord, readings: tuple[int, ...]) -> ErrorSeen:
    wide, size = max(readings) - min(readings), sorted(readings)[len(readings) // 2]
    return ErrorSeen(Read.SPOT, check.at, wide, wide, wide, size, _limit(instrument, size), check.made.passed)


def _limit(instrument: Instrument, size: int) -> int | None:
    try:
        return limit_at(instrument, size)
    except Refused:
        return None


# --- what is on record, told --------------------------------------------------------------------------------------


class Remembered(Struct, frozen=True):
    """One thing on record: when (UTC microseconds), by whom (identity), what it was, how it came out (None: nothing to
    hold it against), and what is said of it."""

    at: int
    by: str
    what: Reason
    good: bool | None
    said: tuple[Reason, ...]


#: What is told of a check that passed: how far off it read. That all else was as it should be goes without saying.
_TOLD = frozenset({"check.zeros", "check.read", "check.spot_differs"})
#: The line of a removal for cause, which stands among the checks.
_REMOVED = "removed"


def remembered(shop: Shop, proofs: Iterable[Proof]) -> tuple[Remembered, ...]:
    """Checks, mishaps and studies of an instrument, the newest first."""
    told = (_told(shop, each) for each in proofs)
    return tuple(sorted(told, key=lambda each: each.at, reverse=True))


def _told(shop: Shop, proof: Proof) -> Remembered:
    if isinstance(proof, CheckRecord):
        return _check(proof)
    if isinstance(proof, UpsetRecord):
        what = Reason("behaviour.what.upset", {"what": proof.happened.what.value})
        return Remembered(proof.at, proof.by, what, None, _note(proof.note))
    if isinstance(proof, WithdrawalRecord):
        what = Reason("behaviour.what.withdrawn")
        return Remembered(proof.at, proof.by, what, None, (Reason("behaviour.note", {"note": proof.reason}),))
    return _study(shop, proof)


def _check(check: CheckRecord) -> Remembered:
    against = [finding for finding in check.findings if not finding.holds]
    if any(finding.line == _REMOVED for finding in against):
        return Remembered(check.at, check.made.by, Reason("behaviour.what.removed"), False, _reasons(against))
    set_up = check.made.configuration
    code = "behaviour.what.closing" if check.made.closing else "behaviour.what.check"
    came = "passed" if check.made.passed else "failed"
    what = Reason(code, {"set_up": ", ".join(filter(None, (set_up.unit, set_up.fitted))), "came": came})
    told = against or [finding for finding in check.findings if finding.reason.code in _TOLD]
    return Remembered(check.at, check.made.by, what, check.made.passed, _reasons(told))


def _reasons(findings: Iterable[Finding]) -> tuple[Reason, ...]:
    return tuple(finding.reason for finding in findings)


def _study(shop: Shop, study: StudyRecord) -> Remembered:
    n = sum(map(len, study.groups))
    counts: dict[str, Part] = {"n": n, "places": len(study.groups)}
    what = Reason("behaviour.what.study", counts)
    if study.of:
        what = Reason("behaviour.what.gauge_study", {**counts, "title": study.title})
    spread = pooled(study.groups, Seen.STUDY)
    instrument = shop.issues.get((study.instrument, study.issue))
    said = (Reason("behaviour.s", _spread(spread, instrument)),) if spread and instrument else ()
    return Remembered(study.at, study.by, what, None, (*said, *_note(study.note)))


def _note(note: str) -> tuple[Reason, ...]:
    return (Reason("behaviour.note", {"note": note}),) if note else ()
