"""A check before use while it is being made: which line is at hand, what it still lacks, and what an entry makes of it.

Values throughout: every step gives another ``CheckUnderWay``, so that what was entered can be kept and taken up again.
Counts are of the instrument's quantity (pm, µas).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.measuring.checks import (
    Answer,
    Asked,
    CheckLine,
    Configuration,
    amount,
    checklist,
    configured,
    line_reason,
    standard_faults,
)
from inspection.measuring.checks_outcome import Outcome, limit_at, outcome_of
from inspection.measuring.checks_standards import Sets, Standard, read_standard, suggested
from inspection.quantity.reader import read, unit_symbol
from inspection.reasons import Reason, Refused


class Wanted(StrEnum):
    """What the next entry is."""

    LOOK = "look"  # nothing (as it should be), or N
    UNIT = "unit"  # nothing (the unit it is set to), N (its other one), or a unit
    SIZE = "size"  # which block or setting standard
    READING = "reading"
    NOTHING = "nothing"  # every line is answered


class CheckUnderWay(Struct, frozen=True):
    """A check of ``instrument`` as it is set up. ``size`` is that of the row it is made for (None: of none), ``at`` the
    code of the line at hand (empty: every line is answered), ``standard`` what is read on the line that asks for a
    block or setting standard (None: not known yet)."""

    instrument: Instrument
    configuration: Configuration
    closing: bool = False
    size: int | None = None
    sets: Sets = Sets()
    answers: tuple[Answer, ...] = ()
    at: str = ""
    standard: Standard | None = None

    @property
    def lines(self) -> tuple[CheckLine, ...]:
        """The list, in its order."""
        return checklist(self.instrument, self.configuration, closing=self.closing)

    @property
    def line(self) -> CheckLine | None:
        """The line at hand; None where every line is answered."""
        return next((line for line in self.lines if line.code == self.at), None)

    @property
    def is_begun(self) -> bool:
        """Whether anything was entered."""
        return bool(self.answers)

    def answer(self, code: str) -> Answer:
        """What was entered on a line so far."""
        return next((answer for answer in self.answers if answer.line == code), Answer(code))


def begin(
    instrument: Instrument,
    configuration: Configuration | None = None,
    *,
    closing: bool = False,
    size: int | None = None,
    sets: Sets | None = None,
) -> CheckUnderWay:
    """A check of which nothing is entered yet; ``configuration`` None: as the record has it.

    Raises Refused for a kind that is not checked, a configuration that the instrument has not, and a record that
    states nothing to hold a reading against.
    """
    stated = configuration or configured(instrument)
    configured(instrument, stated.unit, stated.fitted, stated.low, stated.high)
    if not checklist(instrument, stated):
        raise Refused(Reason("check.refused.no_list", {"tag": instrument.tag, "name": instrument.name}))
    check = _set_up(CheckUnderWay(instrument, stated, closing, size, sets or Sets()), stated)
    reasons: list[Reason] = []
    for reason in _without_limit(check):
        if reason not in reasons:
            reasons.append(reason)
    if reasons:
        raise Refused(*reasons)
    return check


def resume(check: CheckUnderWay, size: int | None, sets: Sets) -> CheckUnderWay:
    """A check taken up again, for a row of another size perhaps: another block is suggested if none was read yet."""
    check = replace(check, size=size, sets=sets)
    read = any(answer.size is not None for answer in check.answers)
    return check if read else replace(_set_up(check, check.configuration), at=check.at)


def _without_limit(check: CheckUnderWay) -> Iterator[Reason]:
    for line in check.lines:
        if line.asked.is_read:
            known = check.standard.size if line.asked.has_size and check.standard else line.at
            try:
                limit_at(check.instrument, known)
            except Refused as refused:
                yield from refused.reasons


def _set_up(check: CheckUnderWay, configuration: Configuration) -> CheckUnderWay:
    standard = suggested(check.instrument, configuration, check.size, check.sets)
    block = any(line.asked is Asked.BLOCK for line in checklist(check.instrument, configuration))
    check = replace(check, configuration=configuration, standard=standard if block else None)
    return replace(check, at=_next(check, ""))


# --- what is asked ----------------------------------------------------------------------------------------------


def wanted(check: CheckUnderWay) -> Wanted:
    """What the next entry is."""
    line = check.line
    if line is None:
        return Wanted.NOTHING
    if line.asked is Asked.SEEN:
        return Wanted.LOOK
    if line.asked is Asked.UNIT:
        return Wanted.UNIT
    return Wanted.SIZE if line.asked.has_size and check.standard is None else Wanted.READING


def asks(check: CheckUnderWay, line: CheckLine) -> Reason:
    """What a line asks, as a sentence: near which size a block is read, in the unit that the instrument is set to."""
    near = check.size or (check.standard.size if check.standard else None)
    return line_reason(line, replace(check.instrument, unit=check.configuration.unit), near)


def lacks(check: CheckUnderWay, line: CheckLine) -> int:
    """How many readings a line still lacks; 1 for one that asks for something else and has no answer."""
    answer = check.answer(line.code)
    if line.asked is Asked.SEEN:
        return int(answer.seen is None)
    if line.asked is Asked.UNIT:
        return int(not answer.shown)
    return max(0, line.least - len(answer.readings))


def is_answered(check: CheckUnderWay, line: CheckLine) -> bool:
    """Whether a line lacks nothing."""
    return not lacks(check, line) and not (line.asked.has_size and check.standard is None)


def _next(check: CheckUnderWay, after: str) -> str:
    """The line asked next: the first without an answer behind this one, else the first of all; empty: there is none."""
    codes = [line.code for line in check.lines]
    start = codes.index(after) + 1 if after in codes else 0
    lines = [*check.lines[start:], *check.lines[:start]]
    return next((line.code for line in lines if not is_answered(check, line)), "")


# --- entering ---------------------------------------------------------------------------------------------------


def enter(check: CheckUnderWay, text: str) -> CheckUnderWay:
    """What a text entered on the line at hand makes of the check; an empty one agrees, or goes on.

    A reading goes on by itself when it is the last that its line lacks; further ones stay. Raises Refused, with ``at``
    where a character of the text is at fault.
    """
    match wanted(check):
        case Wanted.LOOK:
            if text.strip():
                raise Refused(Reason("check.refused.look"))
            return see(check, as_it_should_be=True)
        case Wanted.UNIT:
            return _show(check, text if text.strip() else check.configuration.unit)
        case Wanted.SIZE:
            return measure_on(check, text)
        case Wanted.READING:
            return _read(check, text) if text.strip() else go_on(check)
    return check


def see(check: CheckUnderWay, *, as_it_should_be: bool) -> CheckUnderWay:
    """What the line at hand asks to look at was seen. On the one that asks for the unit, not as it should be is the
    instrument's other unit. Raises Refused on a line that asks for a number."""
    line = check.line
    if line is None:
        return check
    if line.asked is Asked.UNIT:
        return _show(check, check.configuration.unit if as_it_should_be else other_unit(check))
    if line.asked.is_read:
        raise Refused(Reason("check.refused.number"))
    return _answered(check, Answer(line.code, seen=as_it_should_be))


def other_unit(check: CheckUnderWay) -> str:
    """The unit that the instrument can show beside the one it is set to; empty: it has none."""
    units = (check.instrument.unit, check.instrument.other_unit)
    return next((unit for unit in units if unit and unit != check.configuration.unit), "")


def _show(check: CheckUnderWay, text: str) -> CheckUnderWay:
    instrument = check.instrument
    unit = unit_symbol(text, instrument.quantity)
    units = [each for each in (instrument.unit, instrument.other_unit) if each]
    if unit is None:
        raise Refused(Reason("check.refused.no_unit", {"tag": instrument.tag}))
    if unit not in units:
        raise Refused(Reason("check.refused.unit", {"tag": instrument.tag, "unit": unit, "units": ", ".join(units)}))
    return _answered(check, Answer(check.at, shown=unit))


def measure_on(check: CheckUnderWay, text: str) -> CheckUnderWay:
    """A person says which block, stack or setting standard is read (see ``read_standard``). Readings that were taken
    stay. Raises Refused on a line that reads none, and for a size outside the range."""
    line = check.line
    if line is None or not line.asked.has_size:
        raise Refused(Reason("check.refused.no_standard"))
    if not text.strip():
        raise Refused(Reason("check.refused.no_size", {"line": line.code}))
    blocks = check.sets if line.asked is Asked.BLOCK else Sets()
    found = read_standard(text, check.instrument, check.configuration, blocks, check.size)
    answer = replace(check.answer(line.code), size=found.size, standard=found.name)
    if faults := tuple(standard_faults(check.instrument, check.configuration, line, answer)):
        raise Refused(*faults)
    limit_at(check.instrument, found.size)
    check = replace(check, standard=found)
    return _with(check, answer) if answer.readings else check


def _read(check: CheckUnderWay, text: str) -> CheckUnderWay:
    line = check.line
    assert line is not None
    instrument = check.instrument
    count = read(text, unit=check.configuration.unit, kind=instrument.quantity, signed=is_signed(line)).count
    if (
        line.asked is Asked.ZEROS and line.at and 2 * count < line.at
    ):  # the zero of its thimble, not what the instrument reads
        raise Refused(
            Reason("check.refused.zero_of_thimble", {"tag": instrument.tag, "size": amount(instrument, line.at)})
        )
    before = check.answer(line.code)
    standard = check.standard if line.asked.has_size else None
    answer = replace(
        before,
        readings=(*before.readings, count),
        written=(*before.written, text.strip()),
        size=standard.size if standard else None,
        standard=standard.name if standard else "",
    )
    kept = _with(check, answer)
    return replace(kept, at=_next(kept, line.code)) if len(answer.readings) == line.least else kept


def is_signed(line: CheckLine) -> bool:
    """Whether readings of a line may lie under zero: those of a zero that is closed, and of a spot."""
    return line.asked is Asked.SPREAD or (line.asked is Asked.ZEROS and not line.at)


def _answered(check: CheckUnderWay, answer: Answer) -> CheckUnderWay:
    kept = _with(check, answer)
    return replace(kept, at=_next(kept, answer.line))


def _with(check: CheckUnderWay, answer: Answer) -> CheckUnderWay:
    others = {each.line: each for each in check.answers}
    return replace(check, answers=tuple((others | {answer.line: answer}).values()))


# --- going to and fro -------------------------------------------------------------------------------------------


def go_on(check: CheckUnderWay) -> CheckUnderWay:
    """On to what is asked next. Raises Refused where the line at hand still lacks readings."""
    line = check.line
    if line is None:
        return check
    if not is_answered(check, line):
        got = len(check.answer(line.code).readings)
        raise Refused(Reason("check.refused.few", {"line": line.code, "n": line.least, "got": got}))
    return replace(check, at=_next(check, line.code))


def go_back(check: CheckUnderWay, by: int = 1) -> CheckUnderWay:
    """A line back (``by`` negative: forward), never beyond the first or the last; from the end to the last one, and
    from that to the end where nothing is lacking."""
    codes = [line.code for line in check.lines]
    if all(is_answered(check, line) for line in check.lines):
        codes.append("")
    here = codes.index(check.at) if check.at in codes else len(codes)
    return replace(check, at=codes[min(max(here - by, 0), len(codes) - 1)])


def take_back(check: CheckUnderWay) -> CheckUnderWay:
    """Without the last reading of the line at hand. Raises Refused where there is none."""
    before = check.answer(check.at)
    if not before.readings:
        raise Refused(Reason("check.refused.nothing_read"))
    left = replace(before, readings=before.readings[:-1], written=before.written[:-1])
    if left.readings:
        return _with(check, left)
    return replace(check, answers=tuple(each for each in check.answers if each.line != check.at))


def set_up(check: CheckUnderWay, configuration: Configuration) -> CheckUnderWay:
    """The instrument is set up otherwise. What was read belongs to how it was, and is gone; what was seen stays where
    only the unit was changed. Raises Refused for a configuration that it has not."""
    if configuration == check.configuration:
        return check
    found = configured(
        check.instrument, configuration.unit, configuration.fitted, configuration.low, configuration.high
    )
    same = replace(found, unit=check.configuration.unit) == check.configuration
    seen = tuple(each for each in check.answers if same and each.seen is not None)
    return _set_up(replace(check, answers=seen), found)


# --- the end ----------------------------------------------------------------------------------------------------


def answers_of(check: CheckUnderWay) -> tuple[Answer, ...]:
    """The answers in the order of the list."""
    return tuple(check.answer(line.code) for line in check.lines)


def outcome(check: CheckUnderWay) -> Outcome:
    """What the check comes to. Raises Refused as ``outcome_of`` does."""
    return outcome_of(check.instrument, check.configuration, answers_of(check), closing=check.closing)


def line_of(check: CheckUnderWay, reason: Reason) -> str:
    """The line that a refusal is about: the one that it names, else the one that is read on a block or standard."""
    named = reason.parts.get("line")
    codes = [line.code for line in check.lines]
    if isinstance(named, str) and named in codes:
        return named
    return next((line.code for line in check.lines if line.asked.has_size), codes[-1])


def taken_up(
    instrument: Instrument, configuration: Configuration, answers: Sequence[Answer], *, closing: bool = False
) -> CheckUnderWay:
    """The check that was handed over with these answers, as it stood before: to mend it, or to hand it over again."""
    check = CheckUnderWay(instrument, configuration, closing, answers=tuple(answers))
    sized = next((each for each in answers if each.size is not None), None)
    standard = Standard(sized.size, sized.standard) if sized is not None and sized.size is not None else None
    check = replace(check, standard=standard)
    return replace(check, at=_next(check, ""))
