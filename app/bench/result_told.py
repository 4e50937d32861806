"""What a judged cell came to, in short: the result, how far it can be trusted, how far it is inside, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from app.bench import told
from app.bench.line import is_blind, line_of
from app.bench.seen import Seen
from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Requirement
from inspection.measuring.guard import RuleKind, margin, per_cent
from inspection.measuring.judge import limits_of
from inspection.measuring.verdict import Judgement, Verdict
from inspection.quantity.speaker import as_fine, placed
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Reason
from inspection.sheet import figures
from inspection.sheet.report_doubt import acceptance_of, is_computed, result_texts, taken_off
from inspection.sheet.state import Cell
from inspection.words.say import say, word

#: Verdicts that say nothing of a result.
_NOTHING = frozenset({Verdict.OPEN, Verdict.NOT_JUDGED})


class Found(NamedTuple):
    """What is shown of a cell that is judged: figures, reasons as a sentence, and its look."""

    figures: tuple[str, ...] = ()
    sentence: str = ""
    look: str = ""

    @property
    def line(self) -> str:
        """The figures on one line."""
        return "     ".join(self.figures)


def found_of(seen: Seen, cell: Cell, units: str) -> Found:
    """What a cell came to; nothing before it is judged, and nothing while it is read blind."""
    if is_blind(seen, cell):
        return Found()
    judgement = seen.sheet.judgement(*cell)
    if judgement.verdict is Verdict.OPEN and not seen.sheet.reopened_at(*cell):
        return Found()
    reasons = [reason for reason in judgement.reasons if reason.code != "judge.missing"]  # the table says so
    said = " ".join(_sentence(say(reason, units)) for reason in (*reasons, *_suspect(seen, cell), *_marked(seen, cell)))
    return Found(tuple(figures_of(seen.row_at(cell), judgement, units)), said, _look(judgement))


def _suspect(seen: Seen, cell: Cell) -> Iterator[Reason]:
    """Readings that a check put in question after the sheet was sealed."""
    sheet, shop = seen.sheet, seen.shop
    by_check = Counter(sheet.suspect[each.identity] for each in sheet.counting(*cell) if each.identity in sheet.suspect)
    for check, n in by_check.items():
        instrument = shop.crib.get(sheet.checks[check].instrument)
        yield Reason("judge.suspect", {"n": n, "tag": instrument.tag if instrument is not None else "–"})


def _marked(seen: Seen, cell: Cell) -> Iterator[Reason]:
    """Marks for review of its readings that wait for an answer."""
    waiting = seen.sheet.marks_at(*cell)
    if not waiting:
        return
    from inspection.sheet.points_marks import found_out, way_of

    for mark in waiting:
        yield Reason(f"judge.marked.{way_of(mark)}", {**found_out(seen.shop, mark).parts, "words": mark.words})


def brief_of(seen: Seen, cell: Cell, units: str) -> str:
    """The figures of a cell that was just read, as one sentence behind what was kept; "" where there are none."""
    if is_blind(seen, cell):
        return ""
    said = ", ".join(figures_of(seen.row_at(cell), seen.sheet.judgement(*cell), units, brief=True))
    return _sentence(said) if said else ""


def kept_line(seen: Seen, cell: Cell, written: str, units: str, *more: str) -> str:
    """What became of a reading that was just kept, as ``written``, in one line with what ``more`` is to be said."""
    line = line_of(seen, cell, units=units)
    kept = word("bench.kept", number=line.number, written=written, verdict=line.verdict)
    what = " ".join(filter(None, (kept, brief_of(seen, cell, units), *more)))
    return what if len(seen.pieces) < 2 else f"{seen.serial(cell[1])} · {what}"


def _look(judgement: Judgement) -> str:
    if judgement.verdict is Verdict.NOT_CONFORMING:
        return "out"
    return "" if judgement.verdict in (Verdict.CONFORMING, Verdict.NOT_JUDGED) else "doubt"


def _sentence(text: str) -> str:
    """A reason as a sentence of its own."""
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}"


def figures_of(row: Characteristic, judgement: Judgement, units: str, *, brief: bool = False) -> Iterator[str]:
    """The result (as corrected, and as read), U, the guard band, how far inside the nearer limit, and P where it was
    asked for. ``brief`` leaves out what stands beside it anyway: a result that is a reading, and how far one is out."""
    requirement = row.requirement
    if judgement.verdict in _NOTHING or not judgement.results:
        return
    said, more = _result(row, judgement, units)
    if more or not brief:
        yield said
    if judgement.budget is None:
        return
    told_in = _Told(told.unit_shown(requirement, units), judgement.budget.expanded)
    yield word("bench.result.doubt", U=told_in.up(judgement.budget.expanded))
    if judgement.guard is not None and judgement.rule == RuleKind.GUARDED.value:
        yield word("bench.result.guard", g=told_in.up(judgement.guard))
    if judgement.out_by is None or not brief:
        yield from _margin(requirement, judgement, told_in)
    if judgement.probability:
        yield word("bench.result.probability", p=per_cent(judgement.probability))


class _Told(NamedTuple):
    """Distances in a unit, to the place of an uncertainty U (a count)."""

    unit: str
    expanded: int

    def up(self, count: int, of: int = 1) -> str:
        """``count / of`` rounded up."""
        places = self._places()
        return self._written(-(-count * 10**places // (UNITS[self.unit].count * of)), places)

    def down(self, count: int, of: int = 1) -> str:
        """``count / of`` cut."""
        places = self._places()
        return self._written(count * 10**places // (UNITS[self.unit].count * of), places)

    def _places(self) -> int:
        return figures.decimals_of(self.expanded, self.unit)

    def _written(self, digits: int, places: int) -> str:
        """As a distance is written: without the leading zero in inches, as on an inch drawing."""
        text = placed(digits, places)
        if UNITS[self.unit].kind is Kind.ANGLE:
            return f"{text}{self.unit}"
        return text.removeprefix("0") if self.unit == "in" and text.startswith("0.") else text


def _margin(requirement: Requirement, judgement: Judgement, told_in: _Told) -> Iterator[str]:
    """How far the result nearest to a limit is inside of it, or outside; what lies outside is never told as less."""
    limits = limits_of(requirement)
    if limits is None:
        return
    nearest = min(margin(total, judgement.of, limits) for total in judgement.results)
    if nearest < 0:
        yield word("bench.result.outside", by=told_in.up(-nearest, judgement.of))
    else:
        yield word("bench.result.inside", by=told_in.down(nearest, judgement.of))


def _result(row: Characteristic, judgement: Judgement, units: str) -> tuple[str, bool]:
    """The result as it is reported, of one that was corrected with what was read beside it; and whether it says more
    than the reading does."""
    texts = result_texts(row.requirement, judgement, acceptance_of(row.requirement, judgement))
    places = max(len(text.partition(".")[2]) for text in texts)
    shown = _numbers(judgement.results, row, judgement, units, places if is_computed(judgement, row.repeats) else 0)
    said = word("bench.result.mean", n=row.repeats, result=shown) if row.repeats > 1 else shown
    raw = _numbers(judgement.raw, row, judgement, units, 0) if taken_off(judgement) else shown
    if _same(raw, shown):
        return said, row.repeats > 1
    return word("bench.result.corrected", result=said, raw=raw), True


def _same(one: str, other: str) -> bool:
    """Whether two texts say the same numbers, to whatever place."""
    numbers = [
        [number.rstrip("0") if "." in number else number for number in text.split(" … ")] for text in (one, other)
    ]
    return numbers[0] == numbers[1]


def _numbers(totals: Sequence[int], row: Characteristic, judgement: Judgement, units: str, places: int) -> str:
    """Results in the unit shown: to ``places`` of the row's own unit if they were computed (0: as they were read)."""
    requirement = row.requirement
    unit = told.unit_shown(requirement, units)
    if places and unit == requirement.unit:
        accepted = acceptance_of(requirement, judgement)
        return " … ".join(
            figures.computed(each, requirement, judgement.expanded, judgement.of, accepted) for each in totals
        )
    finely = as_fine(places, requirement.unit, unit) if places else 0
    return " … ".join(told.amount(each, requirement, units, decimals=finely, of=judgement.of) for each in totals)
