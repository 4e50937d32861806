"""Earlier results, read on the book's thread behind every act, kept for the sheet at hand, one row ahead."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QObject, Signal

from app.bench import told
from app.bench.earlier import EarlierLine, EarlierShown
from app.bench.line import is_blind, mark_at, zone_of
from app.bench.seen import Seen
from app.parts.dots import Dot
from app.parts.marks import Mark, mark_of
from app.window.house import House
from inspection.drawing.requirement import Requirement
from inspection.measuring.verdict import Verdict
from inspection.sheet.state import Cell
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.door import Book
    from storage.book.queries.earlier_results import EarlierResult


class Asked(NamedTuple):
    """A row of a part, asked from a sheet."""

    part: str
    row: str
    sheet: str

    def run(self, book: Book) -> tuple[Asked, tuple[EarlierResult, ...]]:
        """Raises BookFailure."""
        from storage.book.queries.earlier_results import earlier_results

        return self, tuple(book.ask(earlier_results, self.part, self.row, self.sheet))


class History(QObject):
    """``came`` carries the row whose earlier results are there now."""

    came = Signal(str)

    def __init__(self, house: House, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._house = house
        self._sheet = ""
        self._kept: dict[str, tuple[EarlierResult, ...]] = {}
        self._asked: set[str] = set()

    def read(self, seen: Seen, row: str) -> None:
        """Have a row's earlier results read, unless they are there or on their way."""
        self._see(seen)
        if row and row not in self._asked and self._house.worker is not None:
            self._asked.add(row)
            asked = Asked(seen.sheet.plan.part_identity, row, seen.sheet.identity)
            self._house.worker.read(asked.run, self._take, lambda _failure: None)

    def _see(self, seen: Seen) -> None:
        """Keep nothing of another sheet."""
        if seen.sheet.identity != self._sheet:
            self._sheet, self._kept, self._asked = seen.sheet.identity, {}, set()

    def _take(self, answer: tuple[Asked, tuple[EarlierResult, ...]]) -> None:
        asked, found = answer
        if asked.sheet == self._sheet:
            self._kept[asked.row] = found
            self.came.emit(asked.row)

    def shown(self, seen: Seen, cell: Cell, units: str) -> EarlierShown:
        """What the card shows of a cell's row as far as it was read: nothing while the row is read blind."""
        self._see(seen)
        if is_blind(seen, cell):
            return EarlierShown(note=word("bench.blind.limits"))
        found = self._kept.get(cell[0])
        if found is None:
            return EarlierShown()
        requirement = seen.row(cell[0]).requirement
        same = [one for one in found if not one.kind or one.kind == requirement.kind.value]
        lines = tuple(_line(one, requirement, units) for one in same)
        if not lines:
            return EarlierShown(note=word("bench.earlier.none"))
        zone = zone_of(seen, cell, mark_at(seen, cell))._replace(readings=(), results=())
        return EarlierShown(lines, zone)


def _line(one: EarlierResult, requirement: Requirement, units: str) -> EarlierLine:
    mark = Mark.QUESTION if one.waits else mark_of(one.verdict)
    ends = tuple(dict.fromkeys(end for end in (one.smallest, one.largest) if end is not None))
    result = " … ".join(told.earlier(end, requirement, units, of=one.of) for end in ends)
    told_of = [result or word(f"bench.mark.{Verdict(one.verdict).name.lower()}")]
    told_of += [word("bench.mark.question")] if one.waits else []
    return EarlierLine(
        one.day,
        one.serial,
        ", ".join(told_of),
        one.tag,
        one.revision,
        mark,
        () if one.waits else tuple(Dot(end, one.of, mark) for end in ends),
    )
