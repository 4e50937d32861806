"""What the row at hand came to on earlier sheets of the part: a few lines and a strip of dots, small and calm."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.parts.dots import Dot, paint_dots
from app.parts.marks import Mark, color_of
from app.parts.zone import Zone
from app.window.theme import SMALL, TEXT, Theme
from inspection.words.say import word

_MIDDLE = Qt.AlignmentFlag.AlignVCenter
#: Logical pixels of a line, and of the strip beside the heading.
_LINE, _STRIP = 18, 190
#: Marks in whose colour a result stands.
_TOLD = (Mark.OUT, Mark.QUESTION)


class EarlierLine(NamedTuple):
    """One earlier piece: day, serial, result, instrument and revision as shown, the mark of its verdict, its dots."""

    day: str
    serial: str
    result: str
    tag: str
    revision: str
    mark: Mark
    dots: tuple[Dot, ...] = ()


class EarlierShown(NamedTuple):
    """What is shown: lines, newest first, the limits they lie in, or (``note``) why there are none."""

    lines: tuple[EarlierLine, ...] = ()
    zone: Zone = Zone()
    note: str = ""


class Earlier(QWidget):
    """Paints as many lines as it was given room for. While a number is typed it keeps its place and shows nothing."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._shown, self._lines, self._typing = theme, EarlierShown(), 2, False
        self.setAccessibleName(word("bench.earlier"))
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def show_earlier(self, shown: EarlierShown) -> None:
        """Show another row's."""
        if shown != self._shown:
            self._shown = shown
            self.setAccessibleDescription("; ".join(map(_spoken, shown.lines)) or shown.note)
            self.update()

    def shown(self) -> EarlierShown:
        """What is to be seen just now: nothing while a number is typed."""
        return EarlierShown() if self._typing else self._shown

    def set_typing(self, typing: bool) -> None:
        """A number is being typed, or is not any more."""
        if typing != self._typing:
            self._typing = typing
            self.update()

    def set_lines(self, lines: int) -> None:
        """Room for so many lines below the heading; none hides it."""
        self._lines = lines
        self.setVisible(lines > 0)
        self.updateGeometry()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(360), self._theme.px(24 + _LINE * self._lines))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(200), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        shown, theme = self.shown(), self._theme
        if not shown.lines and not shown.note:
            return
        painter = QPainter(self)
        top = QRectF(0, 0, self.width(), theme.px(24))
        bold = theme.font(TEXT, bold=True)
        painter.setFont(bold)
        painter.setPen(theme.color("ink"))
        painter.drawText(top, _MIDDLE, word("bench.earlier"))
        if not shown.lines:
            painter.setFont(theme.font(TEXT))
            painter.setPen(theme.color("quiet"))
            painter.drawText(top.translated(0, theme.px(20)), _MIDDLE, shown.note)
            return
        begin = QFontMetricsF(bold).horizontalAdvance(word("bench.earlier")) + theme.px(16)
        strip = QRectF(begin, theme.px(5), min(theme.px(_STRIP), self.width() - begin), theme.px(14))
        if strip.width() > theme.px(60):
            paint_dots(painter, strip, shown.zone, [dot for line in shown.lines for dot in line.dots], theme)
        self._paint_lines(painter, shown)

    def _paint_lines(self, painter: QPainter, shown: EarlierShown) -> None:
        theme = self._theme
        fits = shown.lines[: self._lines]
        beyond = len(shown.lines) - len(fits)
        columns = self._columns(fits)
        for place, line in enumerate(fits):
            top, left = theme.px(24 + _LINE * place), 0.0
            for (text, color, size), wide in zip(_cells(line), columns, strict=True):
                painter.setFont(theme.font(size, bold=color == "ink"))
                painter.setPen(theme.color(color_of(line.mark) if color == "ink" and line.mark in _TOLD else color))
                painter.drawText(QRectF(left, top, wide, theme.px(_LINE)), _MIDDLE, text)
                left += wide
            if beyond and place == len(fits) - 1:
                painter.setFont(theme.font(SMALL))
                painter.setPen(theme.color("quiet"))
                painter.drawText(
                    QRectF(left, top, self.width() - left, theme.px(_LINE)),
                    _MIDDLE,
                    word("bench.earlier.more", n=beyond),
                )

    def _columns(self, lines: tuple[EarlierLine, ...]) -> list[float]:
        """The width of each column: that of its longest text."""
        widths = [0.0] * 5
        for line in lines:
            for place, (text, color, size) in enumerate(_cells(line)):
                metrics = QFontMetricsF(self._theme.font(size, bold=color == "ink"))
                widths[place] = max(widths[place], metrics.horizontalAdvance(text) + self._theme.px(14))
        return widths


def _cells(line: EarlierLine) -> tuple[tuple[str, str, int], ...]:
    revision = word("bench.earlier.revision", revision=line.revision) if line.revision else ""
    return (
        (line.result, "ink", TEXT),
        (line.serial, "quiet", TEXT),
        (line.day, "quiet", SMALL),
        (line.tag, "quiet", SMALL),
        (revision, "quiet", SMALL),
    )


def _spoken(line: EarlierLine) -> str:
    return ", ".join(text for text, _, _ in _cells(line) if text)
