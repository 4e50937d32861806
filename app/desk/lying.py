"""Pictures, charts and shapes that lie above a workbook's cells, painted where they lie."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QTableView, QWidget

from app.window.house import House
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.dispatch.customer_form.drawn import Corner, Drawn

PAPER, FRAME, INK = "#ffffff", "#656b70", "#1f2429"
#: Logical pixels of the text in a frame.
FRAME_TEXT = 12


class CellsWithDrawn(QTableView):
    """The cells of a worksheet, and above them what lies on it. A picture is shown, and a box ticked or not; of a chart
    or shape its frame, for it goes out as the customer made it and is drawn by what opens the workbook."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._house = house
        self._drawn: Sequence[tuple[Drawn, QImage]] = ()

    def show_drawn(self, drawn: Sequence[Drawn]) -> None:
        """Show these above the cells."""
        self._drawn = [(each, QImage.fromData(each.content)) for each in drawn]
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The cells, then what lies above them."""
        super().paintEvent(event)
        if not self._drawn or self.model() is None:
            return
        painter = QPainter(self.viewport())
        for each, image in self._drawn:
            place = self.place_of(each)
            if place.intersects(self.viewport().rect()):
                self._paint(painter, each, image, place)
        painter.end()

    def place_of(self, drawn: Drawn) -> QRect:
        """Where a thing lies now, in the viewport."""
        px = self._house.theme.px
        x, y = self._corner(drawn.start)
        if drawn.end is not None:
            right, below = self._corner(drawn.end)
        else:
            right, below = x + px(drawn.width), y + px(drawn.height)
        return QRect(x, y, max(right - x, px(4)), max(below - y, px(4)))

    def _corner(self, corner: Corner) -> tuple[int, int]:
        px = self._house.theme.px
        row, column = min(corner.row, self.model().rowCount()), min(corner.column, self.model().columnCount())
        x = self.horizontalHeader().sectionPosition(column) if column < self.model().columnCount() else None
        y = self.verticalHeader().sectionPosition(row) if row < self.model().rowCount() else None
        left = (x if x is not None else self.horizontalHeader().length()) - self.horizontalHeader().offset()
        top = (y if y is not None else self.verticalHeader().length()) - self.verticalHeader().offset()
        return left + px(corner.right), top + px(corner.down)

    def _paint(self, painter: QPainter, drawn: Drawn, image: QImage, place: QRect) -> None:
        if not image.isNull():
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(place, image)
            return
        text = word(f"desk.form.lies.{drawn.kind}", text=drawn.text)
        painter.setFont(self._house.theme.font(FRAME_TEXT))
        if drawn.kind == "box":
            painter.setPen(QColor(INK))
            painter.drawText(QRectF(place), int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), text)
            return
        painter.fillRect(place, QColor(PAPER))
        painter.setPen(QPen(QColor(FRAME), 1, Qt.PenStyle.DashLine))
        painter.drawRect(place.adjusted(0, 0, -1, -1))
        painter.setPen(QColor(INK))
        inner = QRectF(place.adjusted(4, 2, -4, -2))
        aligned = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop) | int(Qt.TextFlag.TextWordWrap)
        painter.drawText(inner, aligned, text)
