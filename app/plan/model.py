"""The plan's table as a model: a draft's rows in the order shown, and one blank row at the end to go on in."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from app.plan.columns import COLUMNS, READ_BACK, READS
from app.plan.told import Line, line_of
from inspection.drawing.editing import Draft, DraftRow
from inspection.drawing.editing_issue import Reader, reader_of
from inspection.words.say import word

#: Roles as plain ints: comparing enums costs more than all else in ``data``.
DISPLAY = int(Qt.ItemDataRole.DisplayRole)
ACCESSIBLE = int(Qt.ItemDataRole.AccessibleTextRole)
TIP = int(Qt.ItemDataRole.ToolTipRole)
LINE = int(Qt.ItemDataRole.UserRole)

Index = QModelIndex | QPersistentModelIndex
_BLANK = DraftRow()


class PlanModel(QAbstractTableModel):
    """Shows a draft. It owns nothing: every change is a new draft that is handed in."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(parent)
        self.draft = Draft()
        self.reader: Reader = reader_of(self.draft)
        self.grouped = False
        self.order: tuple[int, ...] = ()
        self._heads: dict[int, str] = {}
        self._lines: dict[int, Line] = {}
        self._typed: int | None = None  # the place of the row that is being typed into

    def show_draft(self, draft: Draft, reader: Reader, *, grouped: bool) -> None:
        """Show another draft: only rows that changed are shown anew, if none came or went."""
        order = order_of(draft) if grouped else tuple(range(len(draft.rows)))
        heads = _heads(draft, order) if grouped else {}
        same = reader is self.reader and (order, heads) == (self.order, self._heads)
        before, self.draft, self.reader, self.grouped = self.draft, draft, reader, grouped
        if same and len(before.rows) == len(draft.rows):
            for place, row in enumerate(order):
                if draft.rows[row] is not before.rows[row]:
                    self._lines.pop(place, None)
                    self.dataChanged.emit(self.index(place, 0), self.index(place, len(COLUMNS) - 1))
            return
        self.beginResetModel()
        self.order, self._heads, self._lines = order, heads, {}
        self.endResetModel()

    def row_of(self, place: int) -> int:
        """The draft's row that stands at a place; the one after the last for the blank row."""
        return self.order[place] if place < len(self.order) else len(self.draft.rows)

    def place_of(self, row: int) -> int:
        """Where a row of the draft stands; at the end for one that the draft lacks."""
        return self.order.index(row) if row < len(self.draft.rows) else len(self.order)

    def head_at(self, place: int) -> str | None:
        """The set-up whose rows begin at a place, None elsewhere."""
        return self._heads.get(place)

    def line(self, place: int) -> Line:
        """The row at a place as shown."""
        line = self._lines.get(place)
        if line is None:
            row = self.draft.rows[self.order[place]] if place < len(self.order) else _BLANK
            line = self._lines[place] = line_of(row, self.reader, self._heads.get(place))
        return line

    def show_typed(self, place: int, row: DraftRow) -> None:
        """What the row at a place reads as while it is typed, before it is part of the draft."""
        self._typed = place
        shown = self.line(place).row
        self._lines[place] = line_of(row, self.reader, self._heads.get(place))._replace(row=shown)
        self.dataChanged.emit(self.index(place, READ_BACK), self.index(place, READ_BACK))

    def forget_typed(self) -> None:
        """The typing ended: the row reads as the draft has it."""
        if self._typed is not None:
            place, self._typed = self._typed, None
            self._lines.pop(place, None)
            if place < self.rowCount():
                self.dataChanged.emit(self.index(place, 0), self.index(place, len(COLUMNS) - 1))

    # --- Qt -------------------------------------------------------------------------------------------------------

    def rowCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(self.order) + 1

    def columnCount(self, parent: Index | None = None) -> int:
        return 0 if parent is not None and parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid() or role not in (DISPLAY, LINE, ACCESSIBLE, TIP):
            return None
        line, name = self.line(index.row()), COLUMNS[index.column()]
        if role == LINE:
            return line
        if role == TIP:
            return line.faults.get(name) or text_of(line, name)
        if role == ACCESSIBLE:
            return " ".join(filter(None, (word(f"plan.column.{name}"), text_of(line, name), line.faults.get(name))))
        return text_of(line, name)

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role == DISPLAY and orientation is Qt.Orientation.Horizontal:
            return word(f"plan.column.{COLUMNS[section]}")
        return None


def text_of(line: Line, name: str) -> str:
    """What stands in a cell."""
    if name == READS:
        return line.reads or next(iter(line.faults.values()), "")
    return line.row.text(name)


def _set_up(row: DraftRow) -> str:
    return " ".join(row.text("set_up").split())


def order_of(draft: Draft) -> tuple[int, ...]:
    """Rows by set-up, the set-ups in the order they first come; rows without one come first."""
    first = {name: place for place, name in reversed(list(enumerate(map(_set_up, draft.rows)))) if name}
    return tuple(sorted(range(len(draft.rows)), key=lambda row: (first.get(_set_up(draft.rows[row]), -1), row)))


def _heads(draft: Draft, order: tuple[int, ...]) -> dict[int, str]:
    names = [_set_up(draft.rows[row]) for row in order]
    if not any(names):
        return {}  # nothing to group by
    return {place: name for place, name in enumerate(names) if not place or names[place - 1] != name}
