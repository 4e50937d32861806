"""The strip of faces: what is looked at, each with the digit that shows it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.desk.keys import FACES
from app.window.theme import ROW, SMALL, Theme
from inspection.words.say import word

#: The key that goes with the digits, as it stands on the keyboard.
ALT = "Alt"


class FaceStrip(QWidget):
    """Names of the faces in a row, the one shown bold and underlined. ``chosen`` carries what was pointed at."""

    chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self.current = theme, ""
        self.setAccessibleName(word("desk.faces"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_face(self, face: str) -> None:
        """Another face is shown."""
        self.current = face
        self.setAccessibleDescription(word(f"desk.face.{face}"))
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def _boxes(self) -> list[tuple[QRectF, str, str, str]]:
        """Place, face, digit and name; where there is no room, only the face shown has its name."""
        boxes = self._measured(named=True)
        return boxes if boxes[-1][0].right() <= self.width() else self._measured(named=False)

    def _measured(self, *, named: bool) -> list[tuple[QRectF, str, str, str]]:
        px = self._theme.px
        bold, small = QFontMetricsF(self._theme.font(ROW, bold=True)), QFontMetricsF(self._theme.font(SMALL))
        x: float = small.horizontalAdvance(ALT) + px(10)
        boxes = []
        for place, face in enumerate(FACES, start=1):
            digit = str(place)
            name = word(f"desk.face.{face}") if named or face == self.current else ""
            wide = self._before_name(digit) + (bold.horizontalAdvance(name) if name else 0)
            boxes.append((QRectF(x, 0, wide, self.height()), face, digit, name))
            x += wide + px(22)
        return boxes

    def _before_name(self, digit: str) -> float:
        return QFontMetricsF(self._theme.font(SMALL)).horizontalAdvance(digit) + self._theme.px(6)

    def sizeHint(self) -> QSize:
        return QSize(round(self._measured(named=True)[-1][0].right()) + 1, self._theme.px(34))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(120), self._theme.px(34))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme = QPainter(self), self._theme
        down = self.height()
        painter.fillRect(QRectF(0, down - 1, self.width(), 1), theme.color("rule"))
        painter.setFont(theme.font(SMALL))
        painter.setPen(theme.color("quiet"))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignVCenter, ALT)
        for box, face, digit, name in self._boxes():
            here = face == self.current
            painter.setFont(theme.font(SMALL))
            painter.setPen(theme.color("quiet"))
            painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, digit)
            painter.setFont(theme.font(ROW, bold=here))
            painter.setPen(theme.color("ink" if here else "quiet"))
            painter.drawText(
                box.adjusted(self._before_name(digit), 0, theme.px(20), 0), Qt.AlignmentFlag.AlignVCenter, name
            )
            if here:
                painter.fillRect(
                    QRectF(box.left(), down - theme.px(3), box.width(), theme.px(3)), theme.color("accent")
                )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for box, face, _digit, _name in self._boxes():
            if box.adjusted(-8, 0, 8, 0).contains(event.position()):
                self.chosen.emit(face)
                return
