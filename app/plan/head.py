"""The head of a plan as a compact form: part and drawing, title-block defaults, what the drawing is counted by."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.window.theme import Theme
from inspection.words.say import word

#: Fields line by line, each with the columns of twelve that it takes.
LINES = (
    (("number", 2), ("revision", 1), ("name", 3), ("drawing", 2), ("drawing_revision", 1), ("standard", 3)),
    (("material", 3), ("customer", 3), ("changes", 6)),
    (
        ("unit", 1), ("default .x", 1), ("default .xx", 1), ("default .xxx", 1), ("default .xxxx", 1), ("fraction", 1),
        ("angle", 1), ("metric default x", 1), ("metric default .x", 1), ("metric default .xx", 1),
        ("metric default .xxx", 1), ("general", 1),
    ),
    (("last_balloon", 2), ("unused", 4), ("drawing_notes", 2)),
)  # fmt: skip
COLUMNS = 12


class HeadField(QLineEdit):
    """One field. Enter goes on to the next one."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.focusNextChild()
        else:
            super().keyPressEvent(event)


class HeadForm(QWidget):
    """``typed`` carries field and text of a field that was changed and left."""

    typed = Signal(str, str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(word("plan.head"))
        self._shown: dict[str, str] = {}
        self.fields: dict[str, HeadField] = {}
        self._labels: list[QLabel] = []
        self._problem = QLabel(self)
        self._problem.setProperty("look", "problem")
        self._problem.setWordWrap(True)
        self._problem.hide()
        self._grid = QGridLayout()
        for line, row in enumerate(LINES):
            column = 0
            for name, wide in row:
                self._add(name, line, column, wide)
                column += wide
        for column in range(COLUMNS):
            self._grid.setColumnStretch(column, 1)
            self._grid.setColumnMinimumWidth(column, 1)
        layout = self._layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(self._grid)
        layout.addWidget(self._problem)
        self.take_theme(theme)

    def _add(self, name: str, line: int, column: int, wide: int) -> None:
        label, field = QLabel(word(f"plan.head.{name}"), self), HeadField(self)
        label.setProperty("look", "quiet")
        label.setBuddy(field)
        label.setMinimumWidth(1)
        field.setMinimumWidth(1)
        field.setAccessibleName(word(f"plan.head.{name}.long"))
        field.setToolTip(word(f"plan.head.{name}.long"))
        field.setObjectName(f"head {name}")
        field.editingFinished.connect(self._left)
        self._grid.addWidget(label, 2 * line, column, 1, wide)
        self._grid.addWidget(field, 2 * line + 1, column, 1, wide)
        self.fields[name] = field
        self._labels.append(label)

    def _left(self) -> None:
        field = self.sender()
        assert isinstance(field, HeadField)
        name = field.objectName().removeprefix("head ")
        if field.text() != self._shown.get(name, ""):
            self._shown[name] = field.text()
            self.typed.emit(name, field.text())

    def keep_typed(self) -> None:
        """Hand over what stands in a field that was not left yet."""
        for name, field in self.fields.items():
            if field.text() != self._shown.get(name, ""):
                self._shown[name] = field.text()
                self.typed.emit(name, field.text())

    def show_head(self, head: Mapping[str, str], faults: Mapping[str, str]) -> None:
        """Show these texts, and what is wrong with them."""
        for name, field in self.fields.items():
            text = head.get(name, "")
            if text != self._shown.get(name, "") or (text != field.text() and not field.hasFocus()):
                self._shown[name] = text
                field.setText(text)
                field.setCursorPosition(0)  # the beginning of a long text is what it is known by
            wrong = bool(text) and name in faults
            if field.property("wrong") != wrong:
                field.setProperty("wrong", wrong)
                field.setStyleSheet(f"border-color: {self._theme.palette.out};" if wrong else "")
        told = [faults[name] for name in self.fields if name in faults and head.get(name, "").strip()]
        self._problem.setText(" ".join(told))
        self._problem.setVisible(bool(told))

    def begin(self, name: str = "number") -> None:
        """Put the focus into a field."""
        self.fields[name].setFocus()
        self.fields[name].selectAll()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._grid.setHorizontalSpacing(theme.px(8))
        self._grid.setVerticalSpacing(theme.px(2))
        for line in range(1, len(LINES)):
            self._grid.setRowMinimumHeight(2 * line, theme.px(20))
        self._layout.setSpacing(theme.px(6))
