"""The record of an instrument as a page: its text, and the plot of its checks in its place among it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt, QTimer, QUrl
from PySide6.QtGui import QImage, QPainter, QResizeEvent, QTextDocument
from PySide6.QtWidgets import QWidget

from app.crib.detail import PLOT
from app.parts.page import Page
from app.parts.plot import Plot, paint_plot, told
from app.window.theme import Theme
from inspection.words.say import word

#: The height of the plot in logical pixels.
HIGH = 168


class RecordPage(Page):
    """Shows the page; the plot is as wide as the page, and told in words to who does not see it."""

    def __init__(self, theme: Theme, name: str, parent: QWidget) -> None:
        super().__init__(name, parent)
        self._theme = theme
        self._html, self._plot, self._wide = "", Plot(), 0
        self._fits = QTimer(self, interval=0, singleShot=True)
        self._fits.timeout.connect(self._fit)

    def show_record(self, html: str, plot: Plot | None, theme: Theme, *, from_top: bool) -> None:
        """Show another page, or the same one anew."""
        plot = plot or Plot()
        if (html, plot, theme) == (self._html, self._plot, self._theme):
            return
        self._html, self._plot, self._theme = html, plot, theme
        self.setAccessibleDescription(f"{word('crib.plot')}: {told(plot)}" if plot.points else "")
        self._wide = 0
        self.show_page(html, from_top=from_top)

    def shown_plot(self) -> Plot:
        """The plot that stands on the page; one without points if there is none."""
        return self._plot

    def _fit(self) -> None:
        """Paint the plot anew where the page has another width now."""
        if self._plot.points and self.viewport().width() != self._wide:
            kind = QTextDocument.ResourceType.ImageResource.value
            self.document().addResource(kind, QUrl(PLOT), self._painted())
            self.document().markContentsDirty(0, self.document().characterCount())

    def loadResource(self, kind: int, name: QUrl | str) -> object:
        """The plot, painted as wide as the page is now."""
        if kind != QTextDocument.ResourceType.ImageResource.value or QUrl(name).toString() != PLOT:
            return super().loadResource(kind, name)
        return self._painted()

    def _painted(self) -> QImage:
        self._wide = self.viewport().width()
        ratio = self.devicePixelRatioF()
        wide, high = max(self._wide, 1), self._theme.px(HIGH)
        image = QImage(round(wide * ratio), round(high * ratio), QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(ratio)
        image.fill(Qt.GlobalColor.transparent)
        painter = QPainter(image)
        paint_plot(painter, QRectF(0, 0, wide, high), self._plot, self._theme)
        painter.end()
        return image

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fits.start()  # not at once: the page may just be laid out, and got its scroll bar
