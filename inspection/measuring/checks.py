"""Checks before use: what is looked at and read on an instrument, and what that comes to.

A check is made on one instrument in one configuration by one person. Its lines stand by kind of instrument in
``resources/tables/checks.csv``; what they are held against comes from the instrument's own record. Counts are of the
instrument's quantity (pm, µas). All of it is common practice; how long a check lives is in ``checks_life``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import cache

from msgspec import Struct

from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Amount, Reason, Refused
from inspection.standards.tables import rows


class Asked(StrEnum):
    """What a line of a check records."""

    SEEN = "seen"  # as it should be, or not
    UNIT = "unit"  # the unit that it shows
    ZEROS = "zeros"  # readings of its zero, opened and closed between
    BLOCK = "block"  # readings of a gauge block, or a stack of two, near the size
    STANDARD = "standard"  # readings of its setting standard
    SPREAD = "spread"  # readings of one spot, of whatever size

    @property
    def is_read(self) -> bool:
        """Whether numbers are recorded."""
        return self not in (Asked.SEEN, Asked.UNIT)

    @property
    def has_size(self) -> bool:
        """Whether the size of what is read is recorded with the readings."""
        return self in (Asked.BLOCK, Asked.STANDARD)


class Configuration(Struct, frozen=True):
    """An instrument as it is set up: the ``unit`` it shows, what is ``fitted`` (rod, anvils, tip, contact, by the
    shop's name for it; empty if nothing can be changed), and the range ``low`` … ``high`` that it then has (counts;
    both 0: that of its record)."""

    unit: str
    fitted: str = ""
    low: int = 0
    high: int = 0


class CheckLine(Struct, frozen=True):
    """One line of a checklist: its code in the words (``check.<code>``), what it records, at least how many readings,
    and at which size zero is read (counts; over 0 where the range begins higher)."""

    code: str
    asked: Asked = Asked.SEEN
    least: int = 1
    at: int = 0


class Answer(Struct, frozen=True):
    """What a line of a check found: ``seen`` as it should be, the ``shown`` unit, or ``readings`` in the order taken.

    ``size`` is the true size of the block, stack or setting standard that was read (marked, or certified), and
    ``standard`` tells which it was, as the shop calls it; ``written`` is each reading as it was typed.
    """

    line: str
    seen: bool | None = None
    readings: tuple[int, ...] = ()
    size: int | None = None
    shown: str = ""
    standard: str = ""
    written: tuple[str, ...] = ()


def configured(instrument: Instrument, unit: str = "", fitted: str = "", low: int = 0, high: int = 0) -> Configuration:
    """A configuration of this instrument; ``unit`` empty: the one it is set to.

    Raises Refused with every fault: a unit that it cannot show, a range that is negative, the wrong way round or
    beyond that of its record.
    """
    found = Configuration(unit or instrument.unit, fitted.strip(), low, high)
    faults = list(_misconfigured(instrument, found))
    if faults:
        raise Refused(*faults)
    return found


def _misconfigured(instrument: Instrument, found: Configuration) -> Iterator[Reason]:
    units = [unit for unit in (instrument.unit, instrument.other_unit) if unit]
    if found.unit not in units:
        yield Reason("check.refused.unit", {"tag": instrument.tag, "unit": found.unit, "units": ", ".join(units)})
    ends = {"low": amount(instrument, found.low), "high": amount(instrument, found.high)}
    if found.low < 0 or found.high < found.low:
        yield Reason("check.refused.span", {"tag": instrument.tag, **ends})
    elif found.high and instrument.high and (found.low < instrument.low or found.high > instrument.high):
        whole = {"least": amount(instrument, instrument.low), "most": amount(instrument, instrument.high)}
        yield Reason("check.refused.range", {"tag": instrument.tag, **ends, **whole})


def range_of(instrument: Instrument, configuration: Configuration) -> tuple[int, int]:
    """The measuring range (counts) that an instrument has in a configuration."""
    if configuration.high:
        return configuration.low, configuration.high
    return instrument.low, instrument.high


def amount(instrument: Instrument, count: int, unit: str = "") -> Amount:
    """A count of an instrument's quantity, to be shown in ``unit`` (empty: the one it is set to)."""
    return Amount(count, instrument.quantity, unit or instrument.unit)


# --- the list ---------------------------------------------------------------------------------------------------


class _Kind(Struct, frozen=True):
    lines: tuple[CheckLine, ...]
    use: Use | None


@cache
def _table() -> Mapping[InstrumentKind, _Kind]:
    return {InstrumentKind(row["kind"]): _kind(row) for row in rows("checks")}


def _kind(row: Mapping[str, str]) -> _Kind:
    records = {code: (asked, int(least)) for code, asked, least in _parts(row["records"])}
    lines = [CheckLine(code) for code in row["lines"].split(";") if code]
    asked = [
        CheckLine(x.code, Asked(records[x.code][0]), records[x.code][1]) if x.code in records else x for x in lines
    ]
    return _Kind(tuple(asked), Use(row["use"]) if row["use"] else None)


def _parts(records: str) -> list[list[str]]:
    return [record.split(":") for record in records.split(";") if record]


def use_checked(kind: InstrumentKind) -> Use | None:
    """The use whose permissible error a check of this kind is held against; None where nothing is read."""
    return _table()[kind].use


def checklist(
    instrument: Instrument, configuration: Configuration | None = None, *, closing: bool = False
) -> tuple[CheckLine, ...]:
    """The lines of a check of this instrument in a configuration (none given: as its record says).

    A range that does not begin at zero is zeroed on its setting standard. A ``closing`` check, after the work, asks
    only for what is read. Empty for a kind that is not checked.
    """
    low, _ = range_of(instrument, configuration or Configuration(instrument.unit))
    lines = tuple(_from_low(line, low) for line in _table()[instrument.kind].lines)
    return tuple(line for line in lines if line.asked.is_read) if closing else lines


def _from_low(line: CheckLine, low: int) -> CheckLine:
    if low > 0 and line.code == "zero":
        return CheckLine("zero_standard", line.asked, line.least, low)
    if low > 0 and line.asked is Asked.ZEROS:
        return CheckLine(line.code, line.asked, line.least, low)
    return line


def line_reason(line: CheckLine, instrument: Instrument, size: int | None = None) -> Reason:
    """What a line asks, as a sentence; ``size`` is that of the row or block that it is about."""
    if line.asked is Asked.BLOCK:
        return (
            Reason("check.block_near", {"size": amount(instrument, size), "n": line.least})
            if size
            else Reason("check.block_any", {"n": line.least})
        )
    return Reason(f"check.{line.code}")


# --- what was found, looked over ---------------------------------------------------------------------------------


def checked_answers(
    instrument: Instrument, configuration: Configuration, answers: Sequence[Answer], *, closing: bool = False
) -> tuple[tuple[CheckLine, Answer], ...]:
    """The lines of the list, each with its answer.

    Raises Refused with every fault: a configuration that the instrument has not, a kind that is not checked, a line
    without answer, answered twice or not on the list, too few readings, a size that is missing, not over zero or
    outside the range, a setting standard without its mark.
    """
    faults = list(_misconfigured(instrument, configuration))
    lines = checklist(instrument, configuration, closing=closing)
    if not lines:
        faults.append(Reason("check.refused.no_list", {"tag": instrument.tag, "name": instrument.name}))
    by_line = {answer.line: answer for answer in answers}
    faults += _astray(lines, answers)
    for line in lines:
        faults += _unanswered(instrument, configuration, line, by_line.get(line.code))
    if faults:
        raise Refused(*faults)
    return tuple((line, by_line[line.code]) for line in lines)


def _astray(lines: Iterable[CheckLine], answers: Iterable[Answer]) -> Iterator[Reason]:
    known = {line.code for line in lines}
    for code, n in Counter(answer.line for answer in answers).items():
        if code not in known:
            yield Reason("check.refused.unasked", {"line": code})
        elif n > 1:
            yield Reason("check.refused.twice", {"line": code})


def _unanswered(
    instrument: Instrument, configuration: Configuration, line: CheckLine, answer: Answer | None
) -> Iterator[Reason]:
    said = {"line": line.code}
    if line.asked is Asked.SEEN:
        if answer is None or answer.seen is None:
            yield Reason("check.refused.unanswered", dict(said))
    elif line.asked is Asked.UNIT:
        if answer is None or answer.shown not in UNITS:
            yield Reason("check.refused.no_unit", {"tag": instrument.tag})
    elif answer is None or len(answer.readings) < line.least:
        got = len(answer.readings) if answer else 0
        yield Reason("check.refused.few", {**said, "n": line.least, "got": got})
    elif line.asked.has_size:
        yield from standard_faults(instrument, configuration, line, answer)


def standard_faults(
    instrument: Instrument, configuration: Configuration, line: CheckLine, answer: Answer
) -> Iterator[Reason]:
    """What is wrong with what is said of the thing that was read: its size missing, not over zero, or outside the range
    as set up; a setting standard, which no set of the shop's holds, without its mark, so that nobody could trace it."""
    low, high = range_of(instrument, configuration)
    if line.asked is Asked.STANDARD and not answer.standard.strip():
        yield Reason("check.refused.unnamed", {"tag": instrument.tag})
    if answer.size is None:
        yield Reason("check.refused.no_size", {"line": answer.line})
    elif answer.size <= 0:
        yield Reason("check.refused.size", {"size": amount(instrument, answer.size)})
    elif high and not low <= answer.size <= high:
        ends = {"low": amount(instrument, low), "high": amount(instrument, high)}
        size = amount(instrument, answer.size)
        yield Reason("check.refused.block_outside", {"tag": instrument.tag, "size": size, **ends})


# --- the closing check -------------------------------------------------------------------------------------------

#: A band under this (pm) asks for a closing check unless the shop rules otherwise: .001 in.
CLOSING_BAND = UNITS["thou"].count


def closing_wanted(bands: Iterable[tuple[Kind, int | None]], under: int = CLOSING_BAND) -> bool:
    """Whether an instrument is checked again before the sheet is signed: if it measured a length whose total band T
    (pm) is smaller than ``under``. ``bands`` are those of the rows it measured; None: no band."""
    return any(kind is Kind.LENGTH and band is not None and band < under for kind, band in bands)
