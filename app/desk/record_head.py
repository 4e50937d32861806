"""The head of a sheet as a form: order and source, detail or assembly with its sub-items, extent, and the reasons."""

from __future__ import annotations

from msgspec.structs import replace
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.desk.record_fields import Block, Flow, Tick, choice_block, text_block
from app.window.theme import TEXT, Theme
from inspection.sheet.causes import causes, joined, parted
from inspection.sheet.head import Head, SubItem
from inspection.words.say import word

#: Fields that are typed, in the order of the form.
TYPED = ("customer", "order", "order_line", "supplier_code", "lot", "process", "machine", "temperature")
SUB_ITEM = ("number", "revision", "name", "serial", "sheet")
DETAILS = ("", "detail", "assembly")
EXTENTS = ("full", "partial")


#: What opens a cell: never the arrow that only passes by.
WRITING = (
    QAbstractItemView.EditTrigger.DoubleClicked
    | QAbstractItemView.EditTrigger.EditKeyPressed
    | QAbstractItemView.EditTrigger.AnyKeyPressed
)


class SubItems(QTableWidget):
    """The sub-items of an assembly: F2 or typing writes a cell, Insert adds a line, Delete takes one out."""

    touched = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(0, len(SUB_ITEM), parent)
        self.setHorizontalHeaderLabels([word(f"record.sub_item.{name}") for name in SUB_ITEM])
        self.setAccessibleName(word("record.sub_items"))
        self.setAccessibleDescription(word("record.sub_items.keys"))
        self.setTabKeyNavigation(False)
        self.setShowGrid(False)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.verticalHeader().hide()
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        self.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.horizontalHeader().setHighlightSections(False)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.itemChanged.connect(self._changed)

    def show_items(self, items: tuple[SubItem, ...]) -> None:
        """Show these sub-items."""
        self.blockSignals(True)
        self.setRowCount(len(items))
        for row, item in enumerate(items):
            for column, name in enumerate(SUB_ITEM):
                self.setItem(row, column, QTableWidgetItem(getattr(item, name)))
        self.blockSignals(False)
        self.fit()

    def items_now(self) -> tuple[SubItem, ...]:
        """The sub-items as they stand; a line in which nothing is written is none."""
        rows = [[self._text(row, column) for column in range(len(SUB_ITEM))] for row in range(self.rowCount())]
        return tuple(SubItem(*row) for row in rows if any(row))

    def _text(self, row: int, column: int) -> str:
        item = self.item(row, column)
        return item.text().strip() if item is not None else ""

    def _changed(self, _item: QTableWidgetItem) -> None:
        self.touched.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Insert adds a line below, Delete takes the line at hand out."""
        may = self.editTriggers() != QAbstractItemView.EditTrigger.NoEditTriggers
        if event.key() == Qt.Key.Key_Insert and may:
            row = self.currentRow() + 1
            self.insertRow(row)
            self.setCurrentCell(row, 0)
            self.fit()
            self.touched.emit()
        elif event.key() == Qt.Key.Key_Delete and may and self.currentRow() >= 0:
            self.removeRow(self.currentRow())
            self.fit()
            self.touched.emit()
        else:
            super().keyPressEvent(event)

    def fit(self) -> None:
        """As high as its lines, with room for one at least."""
        rows = max(1, self.rowCount()) * self.verticalHeader().defaultSectionSize()
        self.setFixedHeight(self.horizontalHeader().sizeHint().height() + rows + 4)


class HeadForm(QWidget):
    """Everything the head holds; ``touched`` is sent when something was changed by hand."""

    touched = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.written = Head()
        self.blocks: dict[str, Block] = {name: text_block(word(f"report.head.{name}"), self) for name in TYPED}
        self.blocks["detail"] = self._choice("detail", DETAILS)
        self.blocks["extent"] = self._choice("extent", EXTENTS)
        self.blocks["baseline"] = text_block(word("record.baseline"), self)
        self.sub_items = SubItems(self)
        self.causes = {code: Tick(word(f"cause.{code}"), self) for code in causes()}
        for code, box in self.causes.items():
            box.setAccessibleName(f"{word('record.causes')}: {word(f'cause.{code}')}")
        self.blocks["free"] = text_block(word("record.free"), self)
        self._lay_out(theme)
        self._connect()
        self.take_theme(theme)

    def _choice(self, name: str, values: tuple[str, ...]) -> Block:
        choices = [(value, word(f"record.{name}.{value or 'undecided'}")) for value in values]
        return choice_block(word(f"report.head.{name}"), choices, self)

    def _lay_out(self, theme: Theme) -> None:
        first = [self.blocks[name] for name in (*TYPED, "detail", "extent", "baseline")]
        self._fields = Flow(first, 210, theme, self)
        self._checks = Flow(tuple(self.causes.values()), 220, theme, self)
        self._causes = self._caption("record.causes")
        self._parts = self._caption("record.sub_items.caption")
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        shown = (self._fields, self._parts, self.sub_items, self._causes, self._checks, self.blocks["free"])
        for widget in shown:
            self._rows.addWidget(widget)

    def _caption(self, code: str) -> QLabel:
        label = QLabel(word(code), self)
        label.setProperty("look", "quiet")
        return label

    def _connect(self) -> None:
        for block in self.blocks.values():
            if isinstance(block.field, QLineEdit):
                block.field.textEdited.connect(self._edited)
            elif isinstance(block.field, QComboBox):
                block.field.activated.connect(self._edited)
                block.field.currentIndexChanged.connect(self._show_what_belongs)
        for box in self.causes.values():
            box.clicked.connect(self._edited)
        self.sub_items.touched.connect(self._edited)

    def _edited(self, _what: object = None) -> None:
        self.touched.emit()

    def _show_what_belongs(self, _index: int = 0) -> None:
        """A baseline belongs to a partial one, sub-items to an assembly."""
        assembly = self.blocks["detail"].text() == "assembly" or bool(self.sub_items.items_now())
        self.blocks["baseline"].setVisible(self.blocks["extent"].text() == "partial" or bool(self._baseline()))
        self._parts.setVisible(assembly)
        self.sub_items.setVisible(assembly)

    def _baseline(self) -> str:
        return self.blocks["baseline"].text()

    def show_head(self, head: Head) -> None:
        """Show a head as it is written."""
        self.written = head
        for name in (*TYPED, "detail", "extent", "baseline"):
            self.blocks[name].show_text(getattr(head, name))
        codes, free = parted(head.cause)
        for code, box in self.causes.items():
            box.setChecked(code in codes)
        self.blocks["free"].show_text(free)
        self.sub_items.show_items(head.sub_items)
        self._show_what_belongs()

    def take_in(self, head: Head) -> None:
        """Another hand wrote this head meanwhile: what was changed here stays, the rest is theirs."""
        mine, before = self.head(), self.written
        changed = {name: getattr(mine, name) for name in Head.__struct_fields__}
        changed = {name: value for name, value in changed.items() if value != getattr(before, name)}
        self.show_head(replace(head, **changed))
        self.written = head

    def head(self) -> Head:
        """The head as it stands in the form."""
        texts = {name: self.blocks[name].text() for name in (*TYPED, "detail", "extent", "baseline")}
        codes = {code for code, box in self.causes.items() if box.isChecked()}
        return Head(**texts, cause=joined(codes, self.blocks["free"].text()), sub_items=self.sub_items.items_now())

    def changed(self) -> bool:
        """Whether the form says something else than what is written."""
        return self.head() != self.written

    def let_write(self, may: bool) -> None:
        """Whether the head can be changed."""
        for block in self.blocks.values():
            block.let_write(may)
        for box in self.causes.values():
            box.setEnabled(may)
        self.sub_items.setEditTriggers(WRITING if may else QAbstractItemView.EditTrigger.NoEditTriggers)

    def go(self, field: str = "") -> None:
        """Put the focus into a field, the first if none is named."""
        if field == "cause":
            next(iter(self.causes.values())).setFocus()
        elif field == "sub_items":
            self.sub_items.setFocus()
        else:
            self.blocks.get(field, self.blocks["customer"]).field.setFocus()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._rows.setSpacing(theme.px(10))
        self._fields.take_theme(theme)
        self._checks.take_theme(theme)
        self.blocks["free"].rows.setSpacing(theme.px(2))
        self.sub_items.setFont(theme.font(TEXT))
        self.sub_items.verticalHeader().setDefaultSectionSize(theme.px(32))
        self.sub_items.fit()
