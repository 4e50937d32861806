"""Fields of a form: label above field, side by side as many as the width holds, laid out anew at each width."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPoint, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF, QResizeEvent
from PySide6.QtWidgets import QCheckBox, QComboBox, QGridLayout, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.window.dialog import ChoiceBox
from app.window.theme import Theme

Choices = Sequence[tuple[str, str]]


class Tick(QCheckBox):
    """A box to tick, as large as its words and painted in their colour, light or dark, at every scale."""

    def sizeHint(self) -> QSize:
        words = self.fontMetrics()
        return QSize(words.height() * 2 + words.horizontalAdvance(self.text()), words.height() * 3 // 2)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.fontMetrics().height() * 4, self.sizeHint().height())

    def hitButton(self, place: QPoint) -> bool:
        return self.rect().contains(place)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        side = self.fontMetrics().height() * 0.8
        palette = self.palette()
        ink = palette.windowText().color()
        box = QRectF(1.5, (self.height() - side) / 2, side, side)
        line = max(1.0, side / 12)
        focused = self.hasFocus()
        painter.setPen(QPen(palette.highlight().color() if focused else ink, line * (2 if focused else 1)))
        painter.setBrush(palette.base())
        painter.drawRoundedRect(box, side / 6, side / 6)
        if self.isChecked():
            painter.setPen(QPen(ink, line * 1.8))
            at = (QPointF(0.22, 0.52), QPointF(0.43, 0.74), QPointF(0.80, 0.26))
            painter.drawPolyline(QPolygonF([box.topLeft() + point * side for point in at]))
        painter.setPen(ink)
        left = round(side * 1.6)
        place = self.rect().adjusted(left, 0, 0, 0)
        told = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, place.width())
        painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), told)


class Block(QWidget):
    """A label and below it its field."""

    def __init__(self, label: str, field: QLineEdit | QComboBox, parent: QWidget) -> None:
        super().__init__(parent)
        self.field = field
        self.label = QLabel(label, self)
        self.label.setProperty("look", "quiet")
        self.label.setBuddy(field)
        field.setAccessibleName(label)
        self.rows = QVBoxLayout(self)
        self.rows.setContentsMargins(0, 0, 0, 0)
        self.rows.addWidget(self.label)
        self.rows.addWidget(field)
        self.rows.addStretch(1)  # labels side by side stand on one line, whatever is below them

    def text(self) -> str:
        """What stands in the field: typed text, or the value of what was chosen."""
        if isinstance(self.field, QComboBox):
            return str(self.field.currentData() or "")
        return self.field.text().strip()

    def show_text(self, text: str) -> None:
        """Put a text or a choice into the field; where it stands there already, the cursor stays."""
        if text == self.text():
            return
        if isinstance(self.field, QComboBox):
            self.field.setCurrentIndex(max(0, self.field.findData(text)))
        else:
            self.field.setText(text)
            self.field.setCursorPosition(0)

    def let_write(self, may: bool) -> None:
        """Whether the field can be changed; what stands in it is legible and can be copied either way."""
        if isinstance(self.field, QComboBox):
            self.field.setEnabled(may)
        else:
            self.field.setReadOnly(not may)


def text_block(label: str, parent: QWidget) -> Block:
    """A field to type into."""
    return Block(label, QLineEdit(parent), parent)


def choice_block(label: str, choices: Choices, parent: QWidget) -> Block:
    """A field to choose in; ``choices`` are value and words."""
    box = ChoiceBox(parent)
    for value, words in choices:
        box.addItem(words, value)
    return Block(label, box, parent)


class Flow(QWidget):
    """Widgets side by side, as many as the width holds, at least ``least`` logical pixels each."""

    def __init__(self, widgets: Sequence[QWidget], least: int, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.widgets, self._least, self._theme = widgets, least, theme
        self._columns = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._place(1)

    def _place(self, columns: int) -> None:
        if columns == self._columns:
            return
        for column in range(self._columns):
            self._grid.setColumnStretch(column, 0)
        self._columns = columns
        for place, widget in enumerate(self.widgets):
            self._grid.addWidget(widget, place // columns, place % columns)
        for column in range(columns):
            self._grid.setColumnStretch(column, 1)

    def minimumSizeHint(self) -> QSize:
        """As narrow as one column: more of them are no reason to stay wide."""
        return QSize(self._theme.px(120), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay out anew where another number of columns fits."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        step = self._theme.px(self._least) + self._grid.horizontalSpacing()
        self._place(max(1, (self.width() + self._grid.horizontalSpacing()) // step))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._grid.setHorizontalSpacing(theme.px(16))
        self._grid.setVerticalSpacing(theme.px(8))
        for widget in self.widgets:
            if isinstance(widget, Block):
                widget.rows.setSpacing(theme.px(2))
        self._fit()
