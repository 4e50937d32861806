"""The rail at the left: the rooms with their keys, and below who is at the bench, how it is shown, which book."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QAction, QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from app.parts.wrapped import paint_wrapped
from app.window.theme import ROW, SMALL, TEXT, Theme
from app.window.words import word

WIDTH = 104
#: The least height of a room in logical pixels, and what is left free at the foot.
LEAST_ROOM, FOOT = 40, 12
#: What is left free at either side of a button's words.
_LEFT, _RIGHT = 20, 6


class RailButton(QAbstractButton):
    """One line of the rail, painted: a room with its digit, or a switch with its key and what it stands at.

    Tab reaches it; Space or Enter press it. A room that is entered is bold and has a bar at its left.
    """

    def __init__(self, action: QAction, theme: Theme, parent: QWidget, *, room: bool = False) -> None:
        super().__init__(parent)
        self._theme, self._room = theme, room
        self._key = action.shortcut().toString()
        self._caption = self._value = ""
        self.setCheckable(room)
        upright = QSizePolicy.Policy.Preferred if room else QSizePolicy.Policy.Fixed
        self.setSizePolicy(QSizePolicy.Policy.Preferred, upright)
        self.setAccessibleName(action.text())
        self.setToolTip(word("window.room.tip", room=action.text(), key=self._key))
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.clicked.connect(action.trigger)
        action.enabledChanged.connect(self.setEnabled)
        self.setEnabled(action.isEnabled())

    def nextCheckState(self) -> None:
        """A click marks nothing by itself: the room that is entered is marked, and no other."""

    def show_text(self, value: str, caption: str = "") -> None:
        """What stands on it: a value, and a quiet caption above."""
        self._value, self._caption = value, caption
        self.setAccessibleDescription(f"{caption} {value}".strip())
        if caption:
            self.setToolTip(f"{value}\n{word('window.room.tip', room=self.accessibleName(), key=self._key)}")
        self.updateGeometry()
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        wide = self._theme.px(WIDTH)
        height = 54 if self._room else 42 if self._whole(wide) else 58
        return QSize(wide, self._theme.px(height))

    def _whole(self, wide: int) -> bool:
        """Whether the value fits on one line; the name of a shop or person may take two, in the smaller type."""
        metrics = QFontMetricsF(self._theme.font(TEXT, bold=True))
        return metrics.horizontalAdvance(self._value) <= wide - self._theme.px(_LEFT + _RIGHT)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        theme = self._theme
        if self.isChecked():
            painter.fillRect(0, 0, theme.px(3), self.height(), theme.color("accent"))
        if self.hasFocus():
            painter.setPen(theme.color("accent"))
            painter.drawRect(self.rect().adjusted(theme.px(4), 1, -2, -2))
        left = theme.px(_LEFT)
        box = QRectF(left, 0, self.width() - left - theme.px(_RIGHT), self.height())
        self._paint_text(painter, box)
        painter.setFont(theme.font(SMALL))
        painter.setPen(theme.color("quiet"))
        upright = Qt.AlignmentFlag.AlignVCenter if self._room else Qt.AlignmentFlag.AlignTop
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | upright, self._short_key())

    def _short_key(self) -> str:
        """A room's digit, a switch's function key; Ctrl keys of switches are in the tool tip and behind F1."""
        return self._key[-1:] if self._room else self._key if "+" not in self._key else ""

    def _paint_text(self, painter: QPainter, box: QRectF) -> None:
        theme = self._theme
        strong = self.isChecked() or not self._room
        if self._caption:
            painter.setFont(theme.font(SMALL))
            painter.setPen(theme.color("quiet"))
            painter.drawText(box, Qt.AlignmentFlag.AlignTop, self._caption)
            box = box.adjusted(0, theme.px(16), 0, 0)
        color = theme.color("ink" if strong else "quiet")
        if self._room or self._whole(self.width()):
            font = theme.font(ROW if self._room else TEXT, bold=strong)
            box.setHeight(QFontMetricsF(font).height() if self._caption else box.height())
            paint_wrapped(painter, box, self._value, font, color, 1)
        else:
            box.setHeight(theme.px(34))
            paint_wrapped(painter, box, self._value, theme.font(SMALL, bold=strong), color, 2)


class WordMark(QWidget):
    """The program's name in two lines."""

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme = theme
        self.setAccessibleName(word("program.name"))
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(WIDTH), self._theme.px(86))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setPen(self._theme.color("ink"))
        for line, (code, bold) in enumerate((("program.name.first", True), ("program.name.second", False))):
            painter.setFont(self._theme.font(ROW, bold=bold))
            top = self._theme.px(22 + line * 18)
            painter.drawText(
                QRectF(self._theme.px(20), top, self.width(), self._theme.px(20)),
                Qt.AlignmentFlag.AlignTop,
                word(code),
            )


class Rail(QWidget):
    """Rooms above, switches below. It shows what the frame's actions do and does nothing by itself."""

    room_chosen = Signal(str)

    def __init__(
        self, rooms: dict[str, QAction], switches: dict[str, QAction], theme: Theme, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setObjectName("rail")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setAccessibleName(word("window.rail"))
        self._theme = theme
        self._mark = WordMark(theme, self)
        self._rooms = {name: RailButton(action, theme, self, room=True) for name, action in rooms.items()}
        self._switches = {name: RailButton(action, theme, self) for name, action in switches.items()}
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self._mark)
        for name, button in self._rooms.items():
            button.show_text(word(f"room.{name}"))
            layout.addWidget(button)
        layout.addStretch(1)
        for button in self._switches.values():
            layout.addWidget(button)
        layout.addSpacing(FOOT)
        self.take_theme(theme)

    def enter(self, room: str) -> None:
        """Mark a room as the one entered, "" for none."""
        for name, button in self._rooms.items():
            button.setChecked(name == room)

    def show_switch(self, name: str, value: str, caption: str = "") -> None:
        """What a switch stands at."""
        self._switches[name].show_text(value, caption)
        self._fold()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def minimumSizeHint(self) -> QSize:
        """The rooms alone: what has no room beside them is not shown."""
        return QSize(self._theme.px(WIDTH), FOOT + len(self._rooms) * self._theme.px(LEAST_ROOM))

    def _fold(self) -> None:
        """Show the switches that have room whole, from the first on, and the mark if there is room still; all of them
        keep their keys."""
        left = self.height() - FOOT - len(self._rooms) * self._theme.px(LEAST_ROOM)
        for each in (*self._switches.values(), self._mark):
            left -= each.sizeHint().height()
            each.setVisible(left >= 0)

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.setFixedWidth(theme.px(WIDTH))
        self._mark.take_theme(theme)
        for button in (*self._rooms.values(), *self._switches.values()):
            button.take_theme(theme)
        self._fold()
