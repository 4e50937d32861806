"""Ratio bars: what was got against what is needed, the needed mark in the middle of each."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.window.theme import TEXT, Theme


class Bar(NamedTuple):
    """One ratio: its label, ``got`` and ``needed`` as numbers for the length, and both as the words shown."""

    label: str
    got: float
    needed: float
    got_text: str
    needed_text: str
    holds: bool


class RatioBars(QWidget):
    """The bars of one assessment, one below the other; read out as one accessible description."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bars: tuple[Bar, ...] = ()
        self._theme = theme
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def set_bars(self, bars: tuple[Bar, ...]) -> None:
        """Show these bars."""
        self._bars = bars
        self.setAccessibleDescription("; ".join(f"{bar.label} {bar.got_text}, {bar.needed_text}" for bar in bars))
        self.updateGeometry()
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(420), self._theme.px(26) * len(self._bars))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(280), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        height = self._theme.px(26)
        for index, bar in enumerate(self._bars):
            paint_bar(painter, QRectF(0, index * height, self.width(), height), bar, self._theme)


def paint_bar(painter: QPainter, rect: QRectF, bar: Bar, theme: Theme) -> None:
    """Paint one bar: label, bar to scale with the needed mark at its middle, what was got, what is needed.

    A ratio that falls short is hatched as well as coloured, and its number is bold.
    """
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    font = theme.font(TEXT)
    metrics = QFontMetricsF(font)
    label = metrics.horizontalAdvance("uncertainty") + theme.px(14)
    right = metrics.horizontalAdvance("00.0 : 1 ") + metrics.horizontalAdvance("needs 10.00") + theme.px(14)
    _paint_words(painter, rect, bar, theme, label=label, right=right)
    track = QRectF(rect.left() + label, rect.center().y() - theme.px(4), rect.width() - label - right, theme.px(8))
    if track.width() > theme.px(40):
        _paint_track(painter, track, bar, theme)
    painter.restore()


def _paint_words(painter: QPainter, rect: QRectF, bar: Bar, theme: Theme, *, label: float, right: float) -> None:
    middle = Qt.AlignmentFlag.AlignVCenter
    painter.setFont(theme.font(TEXT))
    painter.setPen(theme.color("ink"))
    painter.drawText(QRectF(rect.left(), rect.top(), label, rect.height()), middle, bar.label)
    start = rect.right() - right + theme.px(12)
    painter.setPen(theme.color("quiet"))
    painter.drawText(
        QRectF(start, rect.top(), rect.right() - start, rect.height()),
        middle | Qt.AlignmentFlag.AlignRight,
        bar.needed_text,
    )
    painter.setFont(theme.font(TEXT, bold=True))
    painter.setPen(theme.color("ink" if bar.holds else "doubt"))
    painter.drawText(QRectF(start, rect.top(), rect.right() - start, rect.height()), middle, bar.got_text)


def _paint_track(painter: QPainter, track: QRectF, bar: Bar, theme: Theme) -> None:
    round_ = track.height() / 2
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.color("band"))
    painter.drawRoundedRect(track, round_, round_)
    share = min(bar.got / bar.needed / 2, 1.0) if bar.needed > 0 else 1.0
    painter.setBrush(theme.color("good" if bar.holds else "doubt"))
    filled = QRectF(track.left(), track.top(), max(track.height(), track.width() * share), track.height())
    painter.drawRoundedRect(filled, round_, round_)
    painter.setPen(QPen(theme.color("ink"), theme.px(1.6)))
    x = track.center().x()
    painter.drawLine(QPointF(x, track.top() - theme.px(5)), QPointF(x, track.bottom() + theme.px(5)))
