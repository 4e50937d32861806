"""What the check panel shows of a check under way: answers, prompts, hints, marks and what it came to, in words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from app.bench.told import short_name
from app.parts.marks import Mark
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import span_text
from inspection.measuring.checks import Asked, CheckLine, Configuration
from inspection.measuring.checks_outcome import Outcome, Repeated
from inspection.measuring.checks_under_way import CheckUnderWay, Wanted, asks, is_answered, other_unit, wanted
from inspection.quantity.speaker import ABOUT, shown, written_out
from inspection.words.say import say, word


class Shown(NamedTuple):
    """One line of the list: its code, what it asks, what was answered, its mark (None: no mark)."""

    code: str = ""
    asked: str = ""
    answer: str = ""
    mark: Mark | None = None


def shown_lines(check: CheckUnderWay, outcome: Outcome | None) -> tuple[Shown, ...]:
    """The whole list; verdicts only once there is an outcome, for a reading is judged when all is kept."""
    return tuple(
        Shown(line.code, say(asks(check, line)), answer_text(check, line), mark_of_line(check, line, outcome))
        for line in check.lines
    )


def answer_text(check: CheckUnderWay, line: CheckLine) -> str:
    """What was entered on a line."""
    answer = check.answer(line.code)
    if line.asked is Asked.SEEN:
        codes = {True: "checking.answer.yes", False: "checking.answer.no"}
        return word(codes[answer.seen]) if answer.seen is not None else ""
    if line.asked is Asked.UNIT:
        return answer.shown
    return "   ".join((*standard_text(check, line), *answer.written)) if answer.readings else ""


def standard_text(check: CheckUnderWay, line: CheckLine) -> Iterator[str]:
    """The size of what is read on a line, and its name."""
    if line.asked.has_size and check.standard is not None:
        size = written_out(check.standard.size, check.configuration.unit)
        yield f"{check.standard.name} {size}:".strip()


def mark_of_line(check: CheckUnderWay, line: CheckLine, outcome: Outcome | None) -> Mark | None:
    """A line's mark: open, not as it should be, or what the outcome found."""
    if outcome is not None:
        holds = all(finding.holds for finding in outcome.findings if finding.line == line.code)
        return Mark.CONFORMING if holds else Mark.OUT
    if check.answer(line.code).seen is False:
        return Mark.OUT
    return None if is_answered(check, line) else Mark.OPEN


# --- the line at hand -------------------------------------------------------------------------------------------


def prompt(check: CheckUnderWay) -> str:
    """What the entry takes now."""
    line, asked = check.line, wanted(check)
    if line is None:
        return ""
    if asked is Wanted.LOOK:
        return word("checking.prompt.look")
    if asked is Wanted.UNIT:
        unit, other = check.configuration.unit, other_unit(check)
        return (
            word("checking.prompt.units", unit=unit, other=other) if other else word("checking.prompt.unit", unit=unit)
        )
    what = word(f"check.to_read.{line.code}")
    if asked is Wanted.SIZE:
        return word("checking.prompt.size", what=what)
    return _prompt_reading(check, line, what)


def keys(check: CheckUnderWay) -> str:
    """What stands in the empty entry where it is answered by a key."""
    if wanted(check) is Wanted.LOOK or (wanted(check) is Wanted.UNIT and other_unit(check)):
        return word("checking.keys.look")
    return ""


def _prompt_reading(check: CheckUnderWay, line: CheckLine, what: str) -> str:
    taken = len(check.answer(line.code).readings)
    if line.at:
        what = word("checking.prompt.at", what=what, size=_length(check, line.at))
    if taken >= line.least:
        return word("checking.prompt.further", what=what, n=taken + 1)
    return word("checking.prompt.reading", what=what, n=taken + 1, least=line.least)


def take(check: CheckUnderWay) -> tuple[str, bool]:
    """Which block to take, or what is read; and whether something stands against it."""
    line, standard = check.line, check.standard
    if line is None or not line.asked.has_size or standard is None:
        return "", False
    size = _length(check, standard.size)
    own = say(standard.take) if standard.take else word("checking.standard", size=size, name=standard.name).strip()
    other = word("checking.other_block" if line.asked is Asked.BLOCK else "checking.other_standard")
    return "   ".join((own, *map(say, standard.minds), other)), bool(standard.minds)


def hints(check: CheckUnderWay, *, ended: bool) -> str:
    """The keys that act now."""
    if ended or check.line is None:
        return word("checking.hints.end")
    asked = wanted(check)
    codes = [{Wanted.LOOK: "look", Wanted.UNIT: "look", Wanted.SIZE: "size"}.get(asked, "reading")]
    if check.line.asked.has_size and check.standard is not None:
        codes.append("other")
    codes.append("always")
    if check.is_begun:
        codes.append("anew")
    return "     ".join(word(f"checking.hints.{code}") for code in codes)


def _length(check: CheckUnderWay, count: int) -> str:
    return shown(count, check.instrument.quantity, check.configuration.unit)


# --- the head ---------------------------------------------------------------------------------------------------


def titles(check: CheckUnderWay) -> tuple[str, ...]:
    """Mark and name of the instrument, ever shorter: in full, without what follows a comma, the mark alone."""
    tag, name = check.instrument.tag, check.instrument.name
    names = dict.fromkeys((f"{tag}   {name}", f"{tag}   {short_name(check.instrument)}", tag))
    return tuple(word("checking.title.closing", instrument=each) if check.closing else each for each in names)


def due(check: CheckUnderWay, *, short: bool = False) -> tuple[str, bool]:
    """Until when its calibration is good, and whether that is past."""
    until, day = check.instrument.due, check.sets.day
    if not until:
        return word("checking.due.none"), False
    past = bool(day) and until < day
    code = "checking.due.past" if past else "checking.due.short" if short else "checking.due"
    return word(code, due=until), past


def set_up_text(instrument: Instrument, configuration: Configuration) -> str:
    """How it is set up: unit, what is fitted, the range it then has."""
    said = [word("checking.set_to", unit=configuration.unit)]
    if configuration.fitted:
        said.append(word("checking.fitted", fitted=configuration.fitted))
    if configuration.high:
        said.append(span_text(configuration.low, configuration.high, configuration.unit))
    return "   ·   ".join(said)


# --- the end ----------------------------------------------------------------------------------------------------


class End(NamedTuple):
    """What a check came to: the word, why it failed, what was compared and found, and what follows."""

    passed: bool
    title: str
    against: tuple[str, ...]
    facts: tuple[str, ...]
    follows: str


def end(check: CheckUnderWay, outcome: Outcome) -> End:
    """An outcome in words."""
    passed = outcome.passed
    return End(
        passed,
        word("checking.end.passed" if passed else "checking.end.failed"),
        tuple(map(say, outcome.against)),
        tuple(_facts(check, outcome)),
        word("checking.end.pass_on" if passed else "checking.end.fail_on"),
    )


def _facts(check: CheckUnderWay, outcome: Outcome) -> Iterator[str]:
    """What was compared and holds, so far as it was read, and the mean error on the block."""
    read = {line.code for line in check.lines if line.asked.is_read}
    yield from (say(finding.reason) for finding in outcome.findings if finding.holds and finding.line in read)
    if outcome.block is not None:
        yield word("checking.end.block", error=_mean_error(check, outcome.block))


def _mean_error(check: CheckUnderWay, read: Repeated) -> str:
    """The mean error on the block, with its sign."""
    off = sum(read.readings) - read.n * read.size
    text = shown(off, check.instrument.quantity, check.configuration.unit, of=read.n)
    if off <= 0:
        return text
    return text.replace(f"{ABOUT} ", f"{ABOUT} +") if text.startswith(ABOUT) else f"+{text}"
