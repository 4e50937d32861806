"""The record of an instrument as a page: its text, and plots of its checks and certificates in their place among it."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QRectF, Qt, QTimer, QUrl
from PySide6.QtGui import QImage, QPainter, QResizeEvent, QTextDocument
from PySide6.QtWidgets import QWidget

from app.crib.detail import DRIFT_PLOT, PLOT
from app.parts.page import Page
from app.parts.plot import Plot, paint_plot, told
from app.window.theme import Theme
from inspection.words.say import word

#: The height of the plot in logical pixels.
HIGH = 168
_NAMES = {PLOT: "crib.plot", DRIFT_PLOT: "drift.plot"}


class RecordPage(Page):
    """Shows the page; each plot is as wide as the page, and told in words to who does not see it."""

    def __init__(self, theme: Theme, name: str, parent: QWidget) -> None:
        super().__init__(name, parent)
        self._theme = theme
        self._html, self._wide = "", 0
        self._plots: dict[str, Plot] = {}
        self._fits = QTimer(self, interval=0, singleShot=True)
        self._fits.timeout.connect(self._fit)

    def show_record(self, html: str, plots: Mapping[str, Plot | None], theme: Theme, *, from_top: bool) -> None:
        """Show another page, or the same one anew, with plots by the names under which it asks for them."""
        held = {name: plot for name, plot in plots.items() if plot is not None and plot.points}
        if (html, held, theme) == (self._html, self._plots, self._theme):
            return
        self._html, self._plots, self._theme = html, held, theme
        told_of = (f"{word(_NAMES[name])}: {told(plot)}" for name, plot in held.items())
        self.setAccessibleDescription(" ".join(told_of))
        self._wide = 0
        self.show_page(html, from_top=from_top)

    def shown_plot(self, name: str = PLOT) -> Plot:
        """A plot that stands on the page; one without points if there is none."""
        return self._plots.get(name, Plot())

    def _fit(self) -> None:
        """Paint the plots anew where the page has another width now."""
        if self._plots and self.viewport().width() != self._wide:
            kind = QTextDocument.ResourceType.ImageResource.value
            for name, plot in self._plots.items():
                self.document().addResource(kind, QUrl(name), self._painted(plot))
            self.document().markContentsDirty(0, self.document().characterCount())

    def loadResource(self, kind: int, name: QUrl | str) -> object:
        """A plot, painted as wide as the page is now."""
        plot = self._plots.get(QUrl(name).toString())
        if kind != QTextDocument.ResourceType.ImageResource.value or plot is None:
            return super().loadResource(kind, name)
        return self._painted(plot)

    def _painted(self, plot: Plot) -> QImage:
        self._wide = self.viewport().width()
        ratio = self.devicePixelRatioF()
        wide, high = max(self._wide, 1), self._theme.px(HIGH)
        image = QImage(round(wide * ratio), round(high * ratio), QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(ratio)
        image.fill(Qt.GlobalColor.transparent)
        painter = QPainter(image)
        paint_plot(painter, QRectF(0, 0, wide, high), plot, self._theme)
        painter.end()
        return image

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fits.start()  # not at once: the page may just be laid out, and got its scroll bar
