"""A certificate's table as cells: a row a point, filled cell by cell with Enter, several lines pasted at once."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace
from PySide6.QtCore import QAbstractItemModel, QEvent, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QHeaderView,
    QLineEdit,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from app.window.theme import Theme
from inspection.instruments.certificate_table import CELLS, Cells, cell_of, joined, parted
from inspection.instruments.record import Use
from inspection.reasons import Reason
from inspection.words.say import word

#: What opens a cell: never the arrow that only passes by.
_WRITING = (
    QAbstractItemView.EditTrigger.DoubleClicked
    | QAbstractItemView.EditTrigger.EditKeyPressed
    | QAbstractItemView.EditTrigger.AnyKeyPressed
)
_Index = QModelIndex | QPersistentModelIndex
_NAMES = tuple(CELLS)
_USE, _SIZE = _NAMES.index("use"), _NAMES.index("size")
#: What each column takes of the width, in parts.
_SHARES = {"use": 24, "size": 23, "error": 22, "expanded": 21, "factor": 10}
#: Where typing goes on from a cell that is left: rows down, or cells on.
_ENDS = {
    Qt.Key.Key_Return: (0, 1),
    Qt.Key.Key_Enter: (0, 1),
    Qt.Key.Key_Tab: (0, 1),
    Qt.Key.Key_Backtab: (0, -1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}
_PLAIN = (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier, Qt.KeyboardModifier.ShiftModifier)


class PointsTable(QTableWidget):
    """``text`` is what stands in it, a line a row. The last row is always an empty one, which is where a further point
    begins; it takes the use of the row above. ``touched`` follows every change, ``left`` when Enter goes on from the
    empty row."""

    touched = Signal()
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(1, len(_NAMES), parent)
        self.setHorizontalHeaderLabels([word(f"crib.point.{name}") for name in _NAMES])
        self.setAccessibleDescription(word("crib.shape.points"))
        self.setTabKeyNavigation(False)  # Tab leaves the table
        self.setShowGrid(False)
        self.setEditTriggers(_WRITING)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.verticalHeader().hide()
        heads = self.horizontalHeader()
        heads.setHighlightSections(False)
        heads.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        heads.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._cell = _Cell(self)
        self.setItemDelegate(self._cell)
        self.itemChanged.connect(self._changed)
        self._fit()

    # --- what stands in it ------------------------------------------------------------------------------------------

    def show_text(self, text: str) -> None:
        """Show the points of a text, as it is kept."""
        self._show(parted(text))
        self.setCurrentCell(0, _USE)

    def _show(self, rows: Sequence[Cells]) -> None:
        self.blockSignals(True)
        self.setRowCount(len(rows) + 1)
        for place, row in enumerate((*rows, Cells())):
            for column, text in enumerate(row.all):
                self.setItem(place, column, QTableWidgetItem(text))
        self.blockSignals(False)
        self._fit()

    def rows(self) -> list[Cells]:
        """The cells as they stand, the one that is typed into too, without the empty rows at the end."""
        self._cell.commit()
        found = [Cells(*(self._text(row, column) for column in range(len(_NAMES)))) for row in range(self.rowCount())]
        while found and not found[-1]:
            found.pop()
        return found

    def text(self) -> str:
        """What stands in it, a line a row; "" for nothing."""
        return joined(self.rows())

    def _text(self, row: int, column: int) -> str:
        item = self.item(row, column)
        return item.text().strip() if item is not None else ""

    def _write(self, row: int, column: int, text: str) -> None:
        item = self.item(row, column)
        if item is None:
            self.setItem(row, column, QTableWidgetItem(text))
        else:
            item.setText(text)

    def _changed(self, item: QTableWidgetItem) -> None:
        """A cell was written: a point takes the use of the one above where it has none, and below the last one there
        is room for a further one."""
        row = item.row()
        if item.text().strip() and item.column() != _USE and row and not self._text(row, _USE):
            self._write(row, _USE, self._text(row - 1, _USE))
        if row == self.rowCount() - 1 and item.text().strip():
            self.setRowCount(row + 2)
            self._fit()
        self.touched.emit()

    def stand_at_fault(self, reason: Reason) -> None:
        """Type into the cell that a refusal speaks of, at its character."""
        row, name, at = cell_of(reason, self.rows())
        self.setFocus()
        self.setCurrentCell(row, _NAMES.index(name))
        self.editItem(self.currentItem() or self._made(row, _NAMES.index(name)))
        self._cell.stand_at(at)

    def _made(self, row: int, column: int) -> QTableWidgetItem:
        self._write(row, column, "")
        item = self.item(row, column)
        assert item is not None
        return item

    # --- keys ---------------------------------------------------------------------------------------------------

    def go_on(self, down: int, right: int) -> None:
        """From the cell at hand by rows, or by cells: behind a row's last one comes the next one's size, for its use is
        known. On from the empty row the table is left."""
        row, column = self.currentRow(), self.currentColumn()
        if right > 0 and row == self.rowCount() - 1 and not any(self._text(row, each) for each in range(len(_NAMES))):
            self.left.emit()
            return
        if down:
            self.setCurrentCell(min(max(row + down, 0), self.rowCount() - 1), column)
        elif 0 <= column + right < len(_NAMES):
            self.setCurrentCell(row, column + right)
        elif right > 0:
            self.setCurrentCell(min(row + 1, self.rowCount() - 1), _SIZE)
        elif row:
            self.setCurrentCell(row - 1, len(_NAMES) - 1)

    def event(self, event: QEvent) -> bool:
        """F2 writes a cell here, whatever it does in the room."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride and _is_own(event):
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, Delete empties the cell, Ctrl+Delete takes the row out, Insert puts one in, Ctrl+V pastes."""
        key, plain = Qt.Key(event.key()), event.modifiers() in _PLAIN
        if plain and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.go_on(0, 1)
        elif (key, event.modifiers()) == _TAKEN_OUT:
            self._take_out()
        elif plain and key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self._write(self.currentRow(), self.currentColumn(), "")
        elif plain and key == Qt.Key.Key_Insert:
            self._put_in()
        elif event.matches(QKeySequence.StandardKey.Paste):
            self.paste(QGuiApplication.clipboard().text())
        elif event.matches(QKeySequence.StandardKey.Copy):
            QGuiApplication.clipboard().setText(self.text())
        else:
            super().keyPressEvent(event)

    def _take_out(self) -> None:
        row = max(self.currentRow(), 0)
        rows = self.rows()
        if row < len(rows):
            self._show([*rows[:row], *rows[row + 1 :]])
            self.setCurrentCell(row, _USE)
            self.touched.emit()

    def _put_in(self) -> None:
        row, rows = max(self.currentRow(), 0), self.rows()
        if row < len(rows):
            self._show([*rows[:row], Cells(use=rows[row].use), *rows[row:]])
            self.setCurrentCell(row, _SIZE)
            self.touched.emit()

    def paste(self, text: str) -> None:
        """Put a text in from the cell at hand on: cells of a spreadsheet as they stand, other lines as points; one
        word is that of the cell."""
        row, column = max(self.currentRow(), 0), max(self.currentColumn(), 0)
        lines = [line for line in text.splitlines() if line.strip()]
        if not lines:
            return
        if any("\t" in line for line in lines):
            block = [[cell.strip() for cell in line.split("\t")] for line in lines]
        else:
            points = parted(text)
            if len(points) == len(lines) == 1 and not points[0].use:
                self._write(row, column, text.strip())
                return
            block, column = [list(each.all) for each in points], 0
        rows = [*self.rows(), *(Cells() for _ in range(row + len(block)))]
        for place, cells in enumerate(block, row):
            taken = dict(zip(_NAMES[column:], cells, strict=False))
            rows[place] = replace(rows[place], **taken)
            if not rows[place].use and place:
                rows[place] = replace(rows[place], use=rows[place - 1].use)
        while rows and not rows[-1]:
            rows.pop()
        self._show(rows)
        self.setCurrentCell(min(row + len(block), len(rows)), column)
        self.touched.emit()

    # --- look -----------------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        wide = self.viewport().width()
        for column, name in enumerate(_NAMES):
            self.setColumnWidth(column, wide * _SHARES[name] // sum(_SHARES.values()))

    def _fit(self) -> None:
        """As high as its rows."""
        rows = self.rowCount() * self.verticalHeader().defaultSectionSize()
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + rows + 2 * self.frameWidth() + 2)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self.verticalHeader().setDefaultSectionSize(theme.px(30))
        self._fit()


_TAKEN_OUT = (Qt.Key.Key_Delete, Qt.KeyboardModifier.ControlModifier)


def _is_own(event: QKeyEvent) -> bool:
    return event.key() == Qt.Key.Key_F2 or (event.key(), event.modifiers()) == _TAKEN_OUT


class _Cell(QStyledItemDelegate):
    """The field over the cell that is typed into; a use is completed as one types."""

    def __init__(self, table: PointsTable) -> None:
        super().__init__(table)
        self._table = table
        self._field: _Field | None = None

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: _Index) -> QWidget:
        self._field = _Field(parent, tuple(Use) if index.column() == _USE else ())
        self._field.setAccessibleName(word(f"crib.point.{_NAMES[index.column()]}"))
        self._field.destroyed.connect(self._gone)
        return self._field

    def _gone(self) -> None:
        self._field = None

    def setEditorData(self, editor: QWidget, index: _Index) -> None:
        if isinstance(editor, QLineEdit):
            editor.setText(index.data() or "")

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: _Index) -> None:
        if isinstance(editor, QLineEdit):
            model.setData(index, editor.text())

    def commit(self) -> None:
        """What is typed stands in its cell from now on."""
        if self._field is not None:
            self.commitData.emit(self._field)

    def stand_at(self, at: int) -> None:
        """Put the cursor at a character of what is typed."""
        if self._field is not None:
            self._field.deselect()
            self._field.setCursorPosition(at)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter, Tab and the arrows up and down end the typing and go on."""
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and isinstance(watched, QLineEdit)
            and event.modifiers() in _PLAIN
            and Qt.Key(event.key()) in _ENDS
        ):
            self.commitData.emit(watched)
            self.closeEditor.emit(watched, QAbstractItemDelegate.EndEditHint.NoHint)
            self._table.setFocus()
            self._table.go_on(*_ENDS[Qt.Key(event.key())])
            return True
        return super().eventFilter(watched, event)


class _Field(QLineEdit):
    """What is typed into a cell, completed by the first of these words that begins so."""

    def __init__(self, parent: QWidget, words: tuple[str, ...]) -> None:
        super().__init__(parent)
        self.setObjectName("cell")
        self._words, self._before = words, 0
        self.textEdited.connect(self._complete)

    def _complete(self, text: str) -> None:
        found = next((each for each in self._words if text and each.startswith(text.casefold())), "")
        if len(found) > len(text) == self.cursorPosition() and len(text) > self._before:
            self.setText(found)
            self.setSelection(len(found), len(text) - len(found))
        self._before = len(text)
