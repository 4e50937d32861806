"""A field for a path, which never hides the name of the file while something else is typed."""

from __future__ import annotations

from pathlib import PurePath

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QLineEdit, QStyle, QStyleOptionFrame, QWidget

#: What an edit field leaves free at either side of its text, as Qt does.
_MARGIN = 2


def shortened(path: str, width: int, metrics: QFontMetrics) -> str:
    """A path no wider than this many pixels: folders give way in their middle first, then the name in its own, so that
    its beginning and its ending stay."""
    name = PurePath(path).name
    folder = path.removesuffix(name)
    room = width - metrics.horizontalAdvance(name)
    if metrics.horizontalAdvance(folder) <= room:
        return path
    for shown in (metrics.elidedText(folder, Qt.TextElideMode.ElideMiddle, room), "…/" if folder else ""):
        if shown and metrics.horizontalAdvance(shown) <= room:
            return shown + name
    return metrics.elidedText(name, Qt.TextElideMode.ElideMiddle, width)


class PathLine(QLineEdit):
    """While it is typed in, any edit field; else the path as far as there is room, and whole in its tool tip."""

    def __init__(self, path: str, parent: QWidget | None = None) -> None:
        super().__init__(path, parent)
        self.textChanged.connect(self.setToolTip)
        self.setToolTip(path)

    def paintEvent(self, event: QPaintEvent) -> None:
        option = QStyleOptionFrame()
        self.initStyleOption(option)
        place = self.style().subElementRect(QStyle.SubElement.SE_LineEditContents, option, self)
        place = place.marginsRemoved(self.textMargins()).adjusted(_MARGIN, 0, -_MARGIN, 0)
        if self.hasFocus() or self.fontMetrics().horizontalAdvance(self.text()) <= place.width():
            super().paintEvent(event)
            return
        painter = QPainter(self)
        self.style().drawPrimitive(QStyle.PrimitiveElement.PE_PanelLineEdit, option, painter, self)
        painter.setPen(self.palette().text().color())
        shown = shortened(self.text(), place.width(), self.fontMetrics())
        painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft), shown)
