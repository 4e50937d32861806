"""One row of the printed sheet from one line of the report: requirement, limits, instruments, readings, verdict."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction

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
#: A piece with more lines than this is not put beside others: the stack could not be cut at a page's end.
MOST_BESIDE = 16
#: Units written to their number without a space.
SIGNS = ("°", "'", '"')
NUMBER = re.compile(r"-?\d+(\.\d+)?")


def row_of(report: Report, line: Line, columns: Columns) -> Row:
    """Set one line of the report as a row of the sheet."""
    letters = instrument_letters(line)
    cells = [
        _cell(columns.number, _number(line, columns.number.width)),
        _cell(columns.zone, _zone(line, columns.zone.width)),
        _cell(columns.requirement, _requirement(line, columns.requirement.width)),
        _cell(columns.limits, _limits(line, columns.limits.width)),
        _cell(columns.instrument, _instruments(report, line, letters, columns.instrument.width)),
        *_pieces(report, line, letters, columns),
        _cell(columns.strip, _strip(line)),
        _cell(columns.verdict, _verdict(line, columns.verdict.width)),
    ]
    bands = [Band(tuple(cell for cell in cells if cell.items))]
    details = _details(report, line, columns.details.width)
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


def _requirement(line: Line, width: float) -> list[TextLine]:
    found = set_text(line.requirement, width, ASKED)
    below = [", ".join(filter(None, (line.name or line.kind, line.place))), line.condition, *line.explained]
    for text in below:
        found += set_text(text, width, SMALL)
    return found


def limits_text(line: Line) -> str:
    """Both limits, or the one there is with its sign, in the row's unit; a dash where nothing is judged."""
    return between(line.lower, line.upper) or "–"


def _limits(line: Line, width: float) -> list[TextLine]:
    text = limits_text(line)
    numeric = bool(line.lower_number or line.upper_number)
    if numeric and line.unit and not text.endswith(line.unit):
        text = f"{text}{'' if line.unit in SIGNS else ' '}{line.unit}"
    return set_text(text, width, LIMIT)


def instrument_letters(line: Line) -> dict[tuple[str, str], str]:
    """A letter for each instrument and calibration state of a row's readings, none where there is only one."""
    used = dict.fromkeys((value.instrument, value.calibration) for value in line.values if value.instrument)
    if len(used) < 2:
        return dict.fromkeys(used, "")
    return {each: chr(ord("a") + place % 26) * (1 + place // 26) for place, each in enumerate(used)}


def _instruments(report: Report, line: Line, letters: dict[tuple[str, str], str], width: float) -> list[TextLine]:
    found: list[TextLine] = []
    for (instrument, calibration), letter in letters.items():
        found += set_text(f"{letter}  {instrument}" if letter else instrument, width, INSTRUMENT)
        found += set_text(calibration, width, SMALL)
    named = " ".join(instrument for instrument, _ in letters)
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


def _pieces(report: Report, line: Line, letters: dict[tuple[str, str], str], columns: Columns) -> list[Cell]:
    serials = report.serials or ("",)
    if not columns.grid:
        pairs = zip(serials, columns.pieces, strict=True)
        return [_cell(column, _piece(report, line, serial, letters, column.width)) for serial, column in pairs]
    column = columns.pieces[0]
    step = (column.width + GAP) / GRID
    stacks = [_in_grid(report, line, serial, letters, step - GAP) for serial in serials]
    return [_cell(column, _grid(stacks, step))]


def _in_grid(
    report: Report, line: Line, serial: str, letters: dict[tuple[str, str], str], width: float
) -> tuple[TextLine, ...]:
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


def _piece(
    report: Report, line: Line, serial: str, letters: dict[tuple[str, str], str], width: float
) -> list[TextLine]:
    """The standing readings of a row on one piece, and the result where it says more than the reading."""
    values = [value for value in line.values if value.serial == serial and not value.withdrawn]
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
    return found


def _says_no_more(result: str, values: Sequence[Value]) -> bool:
    """Whether a result only repeats its readings: the one there is, or a gauge's two ends."""
    if [value.text for value in values] == [result]:
        return True
    return 0 < len(values) <= 2 and all(value.role and value.text in result for value in values)


def _reading(
    report: Report, value: Value, letters: dict[tuple[str, str], str], glyph: list[Run], style: Run, width: float
) -> list[TextLine]:
    found = set_text(", ".join(filter(None, (value.place, value.role))), width, SMALL)
    letter = letters.get((value.instrument, value.calibration), "")
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
    """Where readings and results lie; only where both limits are numbers."""
    if not (NUMBER.fullmatch(line.lower_number) and NUMBER.fullmatch(line.upper_number)):
        return []
    lower, upper = Fraction(line.lower_number), Fraction(line.upper_number)
    if lower >= upper:
        return []
    standing = [value for value in line.values if not value.withdrawn and NUMBER.fullmatch(value.number)]
    states = {result.serial: result.state for result in line.results}
    ticks, results = [], []
    for value in standing:
        place = float((Fraction(value.number) - lower) / (upper - lower))
        alone = sum(other.serial == value.serial for other in standing) == 1
        if alone:
            results.append((place, mark_of(states.get(value.serial, "open")).colour))
        else:
            ticks.append(place)
    return [Strip(tuple(ticks), tuple(results))]


def _verdict(line: Line, width: float) -> list[TextLine]:
    """What the row came to: one verdict where all pieces agree, else each with its serials; then why."""
    groups: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for result in line.results or (Result("", "", line.state, line.verdict),):
        groups.setdefault((result.state, result.verdict, result.reasons), []).append(result.serial)
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
    """Below the row: every reading that was withdrawn, legible, with who, when and why; then the notes."""
    found: list[TextLine] = []
    for value in line.values:
        if value.withdrawn:
            found += _withdrawn(report, value, width)
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


def _led(lead: str, text: str, width: float) -> list[TextLine]:
    """A text behind its heading."""
    found = set_text(f"{lead}  {text}", width, SMALL_INK)
    if not found:
        return found
    first = found[0].runs[0].text
    head = Run(first[: len(lead)], SMALL_INK.size, colour="quiet")
    rest = Run(first[len(lead) :], SMALL_INK.size)
    return [TextLine((head, rest), found[0].height), *found[1:]]
