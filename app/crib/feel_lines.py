"""What is typed at a trial: the block, then readings one after another, and what is said of them below."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QWidget

from app.parts.fitted import Sentence
from app.window.theme import Theme
from inspection.quantity.reader import read
from inspection.quantity.speaker import shown, spoken
from inspection.quantity.units import Kind
from inspection.reasons import Refused
from inspection.words.say import word


class TypedLine(QLineEdit):
    """A line to type into: undo belongs to its text only while there is something to undo."""

    def event(self, event: QEvent) -> bool:
        """Let Ctrl+Z on an untouched line reach the trial."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent):
            return super().event(event)
        if event.matches(QKeySequence.StandardKey.Undo) and not (self.text() and self.isUndoAvailable()):
            event.ignore()
            return False
        return super().event(event)


class FeelLines(QWidget):
    """``block_given`` follows Enter in the block's line, ``reading_given`` Enter in that of the reading."""

    block_given = Signal()
    reading_given = Signal()

    def __init__(self, theme: Theme, unit: str, parent: QWidget) -> None:
        super().__init__(parent)
        self._unit, self._below = unit, ("", "quiet")
        self.block, self.reading = TypedLine(self), TypedLine(self)
        self.block.setAccessibleName(word("feel.block"))
        self.block.setPlaceholderText(word("feel.block.shape"))
        self.reading.setAccessibleName(word("feel.reading_field"))
        self.reading.setProperty("look", "large")
        self.block.returnPressed.connect(self.block_given)
        self.reading.returnPressed.connect(self.reading_given)
        self.reading.textEdited.connect(self._tell_meaning)
        self._said = Sentence(theme, self)
        self._said.setFixedHeight(theme.px(44))
        self._lay_out(theme)

    def _lay_out(self, theme: Theme) -> None:
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(theme.px(12))
        grid.setVerticalSpacing(theme.px(4))
        for column, (code, line) in enumerate((("feel.block", self.block), ("feel.reading_field", self.reading))):
            label = QLabel(word(code), self)
            label.setProperty("look", "soft")
            label.setBuddy(line)
            grid.addWidget(label, 0, column)
            grid.addWidget(line, 1, column, Qt.AlignmentFlag.AlignTop)
        unit = QLabel(self._unit, self)
        unit.setProperty("look", "head")
        grid.addWidget(unit, 1, 2)
        self.block.setFixedWidth(theme.px(190))
        grid.setColumnStretch(1, 1)
        grid.addWidget(self._said, 2, 0, 1, 3)

    def say(self, text: str, color: str = "quiet") -> None:
        """Say something below the lines, in a colour of the palette; it stands until something else is said."""
        self._below = (text, color)
        self._said.show_text(text, color)

    def said(self) -> str:
        """What stands below the lines."""
        return self._said.text()

    def ask_for_block(self) -> None:
        """The block is typed next."""
        self.block.setFocus()
        self.block.selectAll()

    def ask_for_reading(self) -> None:
        """A reading is typed next."""
        self.reading.setFocus()

    def show_block(self, written: str) -> None:
        """Another block's size stands in its line."""
        self.block.setText(written)

    def point_at(self, line: TypedLine, at: object) -> None:
        """Stand at the character that cannot be read; the text stays."""
        line.setFocus()
        line.setCursorPosition(at if isinstance(at, int) else len(line.text()))

    def _tell_meaning(self, text: str) -> None:
        """What the number means while it is typed; what was said before stands again once the line is empty."""
        if not text:
            self._said.show_text(*self._below)
            return
        try:
            found = read(text, unit=self._unit)
        except Refused:
            self._said.show_text("", "quiet")
            return
        kind = Kind.LENGTH
        meant = f"{shown(found.count, kind, found.unit, found.decimals)}   {spoken(found.count, kind, found.unit)}"
        self._said.show_text(meant, "ink")
