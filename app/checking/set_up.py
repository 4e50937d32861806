"""How an instrument is set up for its check: the unit it shows, what is fitted, the range that it then has."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.checking.entry import ENTER
from app.parts.fitted import Sentence
from app.window.dialog import ChoiceBox
from app.window.theme import ROW, SMALL, TEXT, Theme
from inspection.instruments.record import Instrument
from inspection.instruments.spelling import Piece, read_span, span_text
from inspection.measuring.checks import Configuration
from inspection.words.say import word


class SetUp(QWidget):
    """A form over the card. ``taken`` follows Enter, ``left`` Esc."""

    taken = Signal()
    left = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = QLabel(self)
        self.title.setProperty("look", "head")
        self.title.setWordWrap(True)
        self.unit, self.fitted, self.range = ChoiceBox(self), QLineEdit(self), QLineEdit(self)
        self.fitted.setPlaceholderText(word("checking.set_up.fitted.like"))
        self.said = Sentence(theme, self, sizes=(ROW, TEXT, SMALL))
        grid = QGridLayout()
        grid.setColumnStretch(1, 1)
        grid.setVerticalSpacing(theme.px(4))
        for row, (name, field) in enumerate((("unit", self.unit), ("fitted", self.fitted), ("range", self.range))):
            label = QLabel(word(f"checking.set_up.{name}"), self)
            label.setBuddy(field)
            field.setAccessibleName(label.text())
            grid.addWidget(label, row, 0)
            grid.addWidget(field, row, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(theme.px(4))
        layout.addWidget(self.title)
        layout.addLayout(grid)
        layout.addWidget(self.said, 1)

    def show_set_up(self, instrument: Instrument, now: Configuration) -> None:
        """Show how it is set up now."""
        self.title.setText(word("checking.set_up.title", tag=instrument.tag))
        self.unit.clear()
        self.unit.addItems([unit for unit in (instrument.unit, instrument.other_unit) if unit])
        self.unit.setCurrentText(now.unit)
        self.fitted.setText(now.fitted)
        self.range.setText(span_text(now.low, now.high, now.unit) if now.high else "")
        own = span_text(instrument.low, instrument.high, instrument.unit) if instrument.high else ""
        self.range.setPlaceholderText("  ".join(filter(None, (word("checking.set_up.range.own"), own))))
        self.say("")
        self.unit.setFocus()

    def say(self, text: str) -> None:
        """Why it cannot be taken."""
        self.said.show_text(text, "out")
        self.range.setAccessibleDescription(text)

    def configuration(self) -> Configuration:
        """As it stands in the fields. Raises Refused for a range that cannot be read."""
        unit, span = self.unit.currentText(), self.range.text()
        found = read_span(Piece(span), unit) if span.strip() else None
        low, high = (found.low, found.high) if found is not None else (0, 0)
        return Configuration(unit, self.fitted.text().strip(), low, high)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in ENTER:
            self.taken.emit()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
