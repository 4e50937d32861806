"""What a check before use comes to: passed or failed with reasons, and the repeatability and bias that it shows.

A reading of zero or of a block may be off by the permissible error E at that use and size; where the record states
none, by the smallest step r. Readings of the same thing may differ by the larger of E and r. The blocks' own
deviations, far under E, are left out of that; a finer comparison reckons with them as uncertainty.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.reach import permissible_error
from inspection.instruments.record import Instrument
from inspection.measuring.checks import (
    Answer,
    Asked,
    CheckLine,
    Configuration,
    amount,
    checked_answers,
    use_checked,
)
from inspection.measuring.spread import Seen, Spread, pooled
from inspection.reasons import Part, Reason, Refused


class Repeated(Struct, frozen=True):
    """Readings of one thing of a known ``size`` (counts), in the order taken; never empty."""

    readings: tuple[int, ...]
    size: int = 0
    seen: Seen = Seen.BLOCK

    @property
    def n(self) -> int:
        """How many readings there are."""
        return len(self.readings)

    @property
    def bias(self) -> Fraction:
        """Mean of the readings less the size, in counts, exactly: positive where the instrument reads large."""
        return Fraction(sum(self.readings), self.n) - self.size

    @property
    def spread(self) -> Spread | None:
        """s of one reading with ν = n − 1; None where readings never differ (s = 0 is no evidence) or there is one."""
        return pooled([self.readings], self.seen)

    @property
    def worst(self) -> int:
        """The deviation of the reading that is farthest from the size, in counts, with its sign."""
        return max((reading - self.size for reading in self.readings), key=abs)

    @property
    def width(self) -> int:
        """Largest less smallest reading, in counts."""
        return max(self.readings) - min(self.readings)


class Finding(Struct, frozen=True):
    """One thing that a check held against something: whether it holds, and what was compared."""

    line: str
    holds: bool
    reason: Reason


class Outcome(Struct, frozen=True):
    """What a check came to: the findings, zero repeats, and readings of block or setting standard (None: not read)."""

    findings: tuple[Finding, ...]
    zeros: Repeated | None = None
    block: Repeated | None = None

    @property
    def passed(self) -> bool:
        """Whether every finding holds."""
        return all(finding.holds for finding in self.findings)

    @property
    def against(self) -> tuple[Reason, ...]:
        """Why it failed; empty if it passed."""
        return tuple(finding.reason for finding in self.findings if not finding.holds)


def outcome_of(
    instrument: Instrument, configuration: Configuration, answers: Sequence[Answer], *, closing: bool = False
) -> Outcome:
    """What the answers of a check come to. Raises Refused as ``checked_answers`` does, and where the record states
    neither permissible error nor step to hold a reading against."""
    answered = checked_answers(instrument, configuration, answers, closing=closing)
    findings = [finding for line, answer in answered for finding in _findings(instrument, configuration, line, answer)]
    zeros = next((_zeros(line, answer) for line, answer in answered if line.asked is Asked.ZEROS), None)
    block = next((_block(answer) for line, answer in answered if line.asked.has_size), None)
    return Outcome(tuple(findings), zeros, block)


def _zeros(line: CheckLine, answer: Answer) -> Repeated:
    return Repeated(answer.readings, line.at, Seen.ZERO)


def _block(answer: Answer) -> Repeated:
    return Repeated(answer.readings, answer.size or 0, Seen.BLOCK)


def _findings(
    instrument: Instrument, configuration: Configuration, line: CheckLine, answer: Answer
) -> Iterator[Finding]:
    if line.asked is Asked.SEEN:
        seen = bool(answer.seen)
        yield Finding(line.code, seen, Reason("check.seen" if seen else "check.not_seen", {"line": line.code}))
    elif line.asked is Asked.UNIT:
        shown, unit = answer.shown, configuration.unit
        right = shown == unit
        told = Reason("check.unit_right" if right else "check.unit_other", {"shown": shown, "unit": unit})
        yield Finding(line.code, right, told)
    elif line.asked is Asked.SPREAD:
        middle = sorted(answer.readings)[len(answer.readings) // 2]
        yield _width(instrument, configuration.unit, line, Repeated(answer.readings, middle))
    else:
        read = _zeros(line, answer) if line.asked is Asked.ZEROS else _block(answer)
        yield _deviation(instrument, configuration.unit, line, read)
        yield _width(instrument, configuration.unit, line, read)


def _deviation(instrument: Instrument, unit: str, line: CheckLine, read: Repeated) -> Finding:
    allowed = limit_at(instrument, read.size)
    parts: dict[str, Part] = {
        "n": read.n,
        "worst": amount(instrument, read.worst, unit),
        "allowed": amount(instrument, allowed, unit),
        "size": amount(instrument, read.size, unit),
    }
    closed = line.asked is Asked.ZEROS and not read.size
    return Finding(line.code, abs(read.worst) <= allowed, Reason("check.zeros" if closed else "check.read", parts))


def _width(instrument: Instrument, unit: str, line: CheckLine, read: Repeated) -> Finding:
    allowed = max(limit_at(instrument, read.size), instrument.resolution)
    width, most = amount(instrument, read.width, unit), amount(instrument, allowed, unit)
    parts: dict[str, Part] = {"n": read.n, "width": width, "allowed": most}
    return Finding(line.code, read.width <= allowed, Reason(_DIFFER.get(line.asked, "check.reads_differ"), parts))


_DIFFER = {Asked.ZEROS: "check.zeros_differ", Asked.SPREAD: "check.spot_differs"}


def limit_at(instrument: Instrument, size: int) -> int:
    """How far a reading of a known ``size`` (counts) may be off: E in the use that is checked, else the step r.

    Raises Refused where the record states neither.
    """
    use = use_checked(instrument.kind)
    stated = permissible_error(instrument, use, abs(size)) if use is not None else None
    allowed = stated or instrument.resolution
    if not allowed:
        raise Refused(Reason("check.refused.no_limit", {"tag": instrument.tag, "size": amount(instrument, size)}))
    return allowed
