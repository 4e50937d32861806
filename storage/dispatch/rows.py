"""One row of the printed sheet from one line of the report: requirement, limits, instruments, readings, verdict."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from fractions import Fraction
from typing import TypeVar

from inspection.sheet.figures import between
from inspection.sheet.report import Line, Report, Result, Value
from storage.dispatch.blocks import Balloon, Band, Beside, Cell, Item, Row, Strip
from storage.dispatch.columns import GAP, GRID, Column, Columns
from storage.dispatch.labels import label, phrase
from storage.dispatch.setting import LEADING, MAY_BREAK, Run, TextLine, broken, run_width, set_runs, set_text
from storage.dispatch.style import mark_of

ASKED = Run("", 9)
LIMIT = Run("", 8.5)
VALUE = Run("", 9, bold=True)
ONE_OF_MANY = Run("", 8.5)
WORD = Run("", 8.5)
INSTRUMENT = Run("", 8)
SMALL = Run("", 7, colour="quiet")
SMALL_INK = Run("", 7.5)
KEY = Run("", 7, bold=True, colour="blue")
BALLOON_SIZE = 7.0
#: Verdicts whose words stand out.
CALM = ("conforming", "open", "not judged")
#: A requirement of so many signs may stand across the columns, where that makes its row so much lower (points).
LONG, WON = 100, 30.0
#: A piece with more lines than this is not put beside others: the stack could not be cut at a page's end.
MOST_BESIDE = 16
#: Units written to their number without a space.
SIGNS = ("°", "'", '"')
NUMBER = re.compile(r"-?\d+(\.\d+)?")


def row_of(report: Report, line: Line, columns: Columns) -> Row:
    """Set one line of the report as a row of the sheet. A requirement that would make it tall alone, as a long note
    does, stands across the columns below."""
    made = _row(report, line, columns, across=False)
    if len(line.requirement) < LONG:
        return made
    wide = _row(report, line, columns, across=True)
    return wide if wide.height + WON < made.height else made


def _row(report: Report, line: Line, columns: Columns, *, across: bool) -> Row:
    letters = instrument_letters(line)
    cells = [
        _cell(columns.number, _number(line, columns.number.width)),
        _cell(columns.zone, _zone(line, columns.zone.width)),
        _cell(columns.requirement, _requirement(line, columns.requirement.width, bare=across)),
        _cell(columns.limits, _limits(report, line, columns.limits.width)),
        _cell(columns.instrument, _instruments(report, line, letters, columns.instrument.width)),
        *_pieces(report, line, letters, columns),
        _cell(columns.strip, [*_strip(line), *_doubt(report, line, columns.strip.width)]),
        _cell(columns.verdict, _verdict(line, columns.verdict.width)),
    ]
    bands = [Band(tuple(cell for cell in cells if cell.items))]
    asked = set_text(line.requirement, columns.details.width, ASKED) if across else []
    details = [*asked, *_details(report, line, columns.details.width)]
    if details:
        bands.append(Band((_cell(columns.details, details),)))
    return Row(tuple(bands), line.number, tabular=True, ruled=True)


def _cell(column: Column, items: Iterable[Item]) -> Cell:
    return Cell(column.left, column.width, tuple(items))


def _number(line: Line, width: float) -> list[Item]:
    lines = broken(line.number, BALLOON_SIZE, width - 8, True)
    balloon = Balloon(lines, BALLOON_SIZE, max(16.0, len(lines) * BALLOON_SIZE * LEADING + 5))
    return [balloon, *set_text(line.key, width, KEY, centred=True)]


def _zone(line: Line, width: float) -> list[TextLine]:
    return set_text(", ".join(filter(None, (line.sheet, line.zone))), width, WORD)


def _requirement(line: Line, width: float, *, bare: bool) -> list[TextLine]:
    found = [] if bare else set_text(line.requirement, width, ASKED)
    below = [", ".join(filter(None, (line.name or line.kind, line.place))), line.condition, *line.explained]
    for text in below:
        found += set_text(text, width, SMALL)
    return found


def limits_text(line: Line) -> str:
    """Both limits, or the one there is with its sign, in the row's unit; a dash where nothing is judged."""
    return between(line.lower, line.upper) or "–"


def _limits(report: Report, line: Line, width: float) -> list[TextLine]:
    """The limits, and below them what a guarded rule accepts."""
    text = limits_text(line)
    numeric = bool(line.lower_number or line.upper_number)
    if numeric and line.unit and not text.endswith(line.unit):
        text = f"{text}{'' if line.unit in SIGNS else ' '}{line.unit}"
    found = set_text(text, width, LIMIT)
    accepted = _by_pieces(line, lambda each: (each.accept_lower, each.accept_upper))
    for (low, high), serials in accepted.items():
        found += set_text(phrase(report, "accepted"), width, SMALL) + _of_pieces(serials, accepted, width)
        found += set_text(between(low, high), width, SMALL)
    return found


Told = TypeVar("Told", bound=tuple[str, ...])


def _by_pieces(line: Line, tell: Callable[[Result], Told]) -> dict[Told, list[str]]:
    """What is told of the results of a row, each with the pieces that it is the same for."""
    found: dict[Told, list[str]] = {}
    for result in line.results:
        told = tell(result)
        if any(told):
            found.setdefault(told, []).append(result.serial)
    return found


def _of_pieces(serials: Sequence[str], groups: Collection[object], width: float) -> list[TextLine]:
    """The pieces that something is said of, where not all are the same."""
    return set_text(", ".join(serials), width, SMALL) if len(groups) > 1 else []


def _doubt(report: Report, line: Line, width: float) -> list[TextLine]:
    """U, the guard band and the name of the budget."""
    found: list[TextLine] = []
    groups = _by_pieces(line, lambda each: (each.expanded, each.guard, each.budget))
    for (expanded, guard, budget), serials in groups.items():
        found += _of_pieces(serials, groups, width)
        for code, text in (("u", expanded), ("g", guard), ("budget", budget)):
            if text:
                found += set_text(phrase(report, f"doubt.{code}", text=text), width, SMALL)
    return found


Rests = tuple[str, str, str]
"""What a reading was taken with: instrument, its calibration on the day, the check before use."""


def _rests(value: Value) -> Rests:
    return value.instrument, value.calibration, value.check


def instrument_letters(line: Line) -> dict[Rests, str]:
    """A letter for each instrument, calibration state and check of a row's readings, none where there is only one.
    What a reading that was re-opened or put aside was taken with stands beside it."""
    used = dict.fromkeys(
        _rests(value) for value in line.values if value.instrument and not (value.reopened or value.aside)
    )
    if len(used) < 2:
        return dict.fromkeys(used, "")
    return {each: chr(ord("a") + place % 26) * (1 + place // 26) for place, each in enumerate(used)}


def _instruments(report: Report, line: Line, letters: dict[Rests, str], width: float) -> list[TextLine]:
    found: list[TextLine] = []
    for (instrument, calibration, check), letter in letters.items():
        found += set_text(f"{letter}  {instrument}" if letter else instrument, width, INSTRUMENT)
        found += set_text(calibration, width, SMALL) + set_text(check, width, SMALL)
    named = " ".join(instrument for instrument, _, _ in letters)
    for instrument in line.instruments:
        if instrument not in named:
            found += set_text(instrument, width, INSTRUMENT)
    return found + set_text(_read_by(report, line), width, SMALL)


def _read_by(report: Report, line: Line) -> str:
    """Who read the row, and when the first and the last reading were taken."""
    people = dict.fromkeys(value.by for value in line.values if value.by)
    times = sorted({value.taken for value in line.values if value.taken})
    if not people:
        return ""
    when = " … ".join(dict.fromkeys((times[0], _later(times[0], times[-1])))) if times else ""
    return phrase(report, "read_by", people=", ".join((*people, when) if when else people))


def _later(first: str, last: str) -> str:
    """The last time, without the day it shares with the first."""
    day, _, hour = last.partition(" ")
    return hour if hour and first.startswith(day) and first != last else last


def _pieces(report: Report, line: Line, letters: dict[Rests, str], columns: Columns) -> list[Cell]:
    serials = report.serials or ("",)
    if not columns.grid:
        pairs = zip(serials, columns.pieces, strict=True)
        return [_cell(column, _piece(report, line, serial, letters, column.width)) for serial, column in pairs]
    column = columns.pieces[0]
    step = (column.width + GAP) / GRID
    stacks = [_in_grid(report, line, serial, letters, step - GAP) for serial in serials]
    return [_cell(column, _grid(stacks, step))]


def _in_grid(report: Report, line: Line, serial: str, letters: dict[Rests, str], width: float) -> tuple[TextLine, ...]:
    stack = _piece(report, line, serial, letters, width)
    return (*set_text(serial, width, SMALL), *stack) if stack else ()


def _grid(stacks: Sequence[tuple[TextLine, ...]], step: float) -> list[Item]:
    """Stacks beside each other, ``GRID`` in a line; a long one stands by itself."""
    found: list[Item] = []
    waiting: list[tuple[TextLine, ...]] = []
    for stack in filter(None, stacks):
        if len(stack) > MOST_BESIDE:
            found += [*_beside(waiting, step), *stack]
            waiting = []
            continue
        waiting.append(stack)
        if len(waiting) == GRID:
            found += _beside(waiting, step)
            waiting = []
    return found + _beside(waiting, step)


def _beside(stacks: Sequence[tuple[TextLine, ...]], step: float) -> list[Item]:
    if not stacks:
        return []
    height = max(sum(line.height for line in stack) for stack in stacks) + 3
    return [Beside(tuple((place * step, stack) for place, stack in enumerate(stacks)), height)]


def _piece(report: Report, line: Line, serial: str, letters: dict[Rests, str], width: float) -> list[TextLine]:
    """The standing readings of a row on one piece, and the result where it says more than the reading."""
    values = [value for value in line.values if value.serial == serial and value.counts]
    result = next((each for each in line.results if each.serial == serial), None)
    if result is None and not values:
        return []
    found: list[TextLine] = []
    alone = result is None or not result.text or _says_no_more(result.text, values)
    glyph = [_glyph(result.state)] if result is not None else []
    if result is not None and (not alone or not values):
        found += set_runs([*glyph, *_words(result.text or "–", VALUE if result.text else SMALL)], width)
        glyph = []
    for value in values:
        found += _reading(report, value, letters, glyph, VALUE if alone else ONE_OF_MANY, width)
        glyph = []
    if result is not None and result.probability:
        found += set_text(phrase(report, "doubt.p", text=result.probability), width, SMALL)
    return found


def _says_no_more(result: str, values: Sequence[Value]) -> bool:
    """Whether a result only repeats its readings: the one there is, or a gauge's two ends."""
    if [value.text for value in values] == [result]:
        return True
    return 0 < len(values) <= 2 and all(value.role and value.text in result for value in values)


def _reading(
    report: Report, value: Value, letters: dict[Rests, str], glyph: list[Run], style: Run, width: float
) -> list[TextLine]:
    found = set_text(", ".join(filter(None, (value.place, value.role))), width, SMALL)
    letter = letters.get(_rests(value), "")
    runs = [*glyph, *_words(value.text, style)]
    if letter:
        runs.append(Run(f" {letter}", SMALL.size, colour=SMALL.colour))
    found += set_runs(runs, width)
    if value.written:
        found += set_text(_as_written(report, value), width, SMALL)
    return found


def _as_written(report: Report, value: Value) -> str:
    """What was written where that reads otherwise: converted from another unit, or the same in another form."""
    if not value.written:
        return ""
    return phrase(report, "converted" if value.converted else "written", written=value.written)


def _words(text: str, style: Run) -> list[Run]:
    """A text as runs that may part where a line may end."""
    words = MAY_BREAK.split(text)
    return [
        Run(word if place == len(words) - 1 else f"{word} ", style.size, style.bold, style.colour)
        for place, word in enumerate(words)
    ]


def _glyph(state: str) -> Run:
    mark = mark_of(state)
    return Run(f"{mark.mark} ", 8.5, colour=mark.colour)


def _strip(line: Line) -> list[Strip]:
    """Where readings and results lie, and the widest guard band; only where both limits are numbers."""
    if not (NUMBER.fullmatch(line.lower_number) and NUMBER.fullmatch(line.upper_number)):
        return []
    lower, upper = Fraction(line.lower_number), Fraction(line.upper_number)
    if lower >= upper:
        return []
    results = {result.serial: result for result in line.results}
    standing = [value for value in line.values if value.counts and NUMBER.fullmatch(value.number)]
    many = Counter(value.serial for value in standing)
    ticks: list[Fraction] = []
    marks: list[tuple[Fraction, str]] = []
    for value in standing:
        result = results.get(value.serial)
        if many[value.serial] == 1 and not (result and result.numbers):
            marks.append((Fraction(value.number), result.state if result else "open"))
        else:
            ticks.append(Fraction(value.number))
    for result in line.results:
        marks += [(Fraction(number), result.state) for number in result.numbers]
    guards = [Fraction(result.guard) for result in line.results if result.guard]
    return [
        Strip(
            tuple(float((tick - lower) / (upper - lower)) for tick in ticks),
            tuple((float((at - lower) / (upper - lower)), mark_of(state).colour) for at, state in marks),
            guard=float(max(guards, default=Fraction(0)) / (upper - lower)),
        )
    ]


def _verdict(line: Line, width: float) -> list[TextLine]:
    """What the row came to: one verdict where all pieces agree, else each with its serials; then why."""
    groups: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for result in line.results or (Result("", "", line.state, line.verdict),):
        told = (*result.reasons, *filter(None, (result.nonconformance,)))
        groups.setdefault((result.state, result.verdict, told), []).append(result.serial)
    found: list[TextLine] = []
    for (state, verdict, reasons), serials in groups.items():
        found += _worded(state, verdict, width)
        if len(groups) > 1:
            found += set_text(", ".join(serials), width, SMALL)
        for reason in reasons:
            found += set_text(reason, width, SMALL)
    return found


def _worded(state: str, verdict: str, width: float) -> list[TextLine]:
    """The mark and, hanging beside it, the words."""
    mark, loud = mark_of(state), state not in CALM
    glyph = Run(f"{mark.mark} ", 8.5, colour=mark.colour)
    colour = mark.colour if loud else "ink"
    indent = run_width(glyph)
    lines = broken(verdict or "–", WORD.size, width - indent, loud)
    words = [Run(text, WORD.size, loud, colour) for text in lines]
    stacks: list[TextLine] = []
    for place, word in enumerate(words):
        lead = glyph if place == 0 else Run("\u2003", indent, colour=colour)
        stacks.append(TextLine((lead, word), WORD.size * LEADING))
    return stacks


def _details(report: Report, line: Line, width: float) -> list[TextLine]:
    """Below the row: what was corrected; every reading that counts no longer, legible, with who, when and why; what is
    in question; then the notes."""
    found: list[TextLine] = []
    for said in line.corrections:
        found += _led(label(report, "corrections"), said, width)
    for value in line.values:
        if value.withdrawn:
            found += _withdrawn(report, value, width)
    for code in ("aside", "reopened", "suspect"):
        for (why, *_), values in _together(line, code).items():
            found += _met_by(report, code, values, why, width)
    for note in line.notes:
        found += _led(label(report, "note"), note, width)
    return found


def _withdrawn(report: Report, value: Value, width: float) -> list[TextLine]:
    where = ", ".join(filter(None, (value.serial, value.place, value.role)))
    said = ", ".join(filter(None, (value.instrument, value.by, value.taken)))
    runs = [
        *_words(f"{label(report, 'withdrawn')}  {where}".strip() + "  ", SMALL),
        Run(value.text, SMALL_INK.size, bold=True, struck=True),
        *_words("  " + "; ".join(filter(None, (_as_written(report, value), said))) + "  ", SMALL),
        *_words(value.withdrawn, SMALL_INK),
    ]
    return set_runs(runs, width)


def _together(line: Line, code: str) -> dict[tuple[str, ...], list[Value]]:
    """The readings that the same failed check, or work on a piece, meets, by the same hand with the same instrument."""
    found: dict[tuple[str, ...], list[Value]] = {}
    for value in line.values:
        if why := getattr(value, code):
            found.setdefault((why, value.instrument, value.by, value.check), []).append(value)
    return found


def _met_by(report: Report, code: str, values: Sequence[Value], why: str, width: float) -> list[TextLine]:
    """Readings that count no longer, struck and legible, or are in question: each with its place, then with what and by
    whom it was taken, and the check that failed or the work on the piece."""
    runs = _words(f"{label(report, code)}  ", SMALL)
    for value in values:
        where = ", ".join(filter(None, (value.serial, value.place, value.role)))
        told = "; ".join(filter(None, (_as_written(report, value), value.taken)))
        runs += [
            *_words(f"{where}  ", SMALL),
            Run(value.text, SMALL_INK.size, bold=True, struck=not value.counts),
            *_words(f"  {told}   ", SMALL),
        ]
    first = values[0]
    said = "; ".join(filter(None, (", ".join(filter(None, (first.instrument, first.by))), first.check)))
    return set_runs([*runs, *_words(f"{said}  ", SMALL), *_words(why, SMALL_INK)], width)


def _led(lead: str, text: str, width: float) -> list[TextLine]:
    """A text behind its heading."""
    found = set_text(f"{lead}  {text}", width, SMALL_INK)
    if not found:
        return found
    first = found[0].runs[0].text
    head = Run(first[: len(lead)], SMALL_INK.size, colour="quiet")
    rest = Run(first[len(lead) :], SMALL_INK.size)
    return [TextLine((head, rest), found[0].height), *found[1:]]
