"""Below the table: what the row at hand reads as and would be measured with, and what the whole plan leaves open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.parts.fitted import Fitted
from app.plan.told import Marked
from app.window.theme import HEAD, ROW, TEXT, Theme
from inspection.words.say import word

if TYPE_CHECKING:
    from app.plan.instruments import Would


class ReadBack(QWidget):
    """Limits in large figures with where they come from, or a text with its fault under the exact character."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._limits = self._why = ""
        self._marked: Marked | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_limits(self, limits: str, why: str) -> None:
        """Show what a row reads as."""
        self._limits, self._why, self._marked = limits, why, None
        self._told(f"{limits}  {why}")

    def show_fault(self, marked: Marked) -> None:
        """Show what is wrong with a cell."""
        self._marked = marked
        self._told(marked.said)

    def _told(self, said: str) -> None:
        self.setAccessibleName(word("plan.read_back"))
        self.setAccessibleDescription(said)
        self.setToolTip(said)
        self.update()

    def said(self) -> str:
        """What stands here, in words."""
        return self.accessibleDescription()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(300), self._theme.px(62))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        if self._marked is not None:
            self._paint_fault(painter, self._marked)
        else:
            self._paint_limits(painter)

    def _paint_limits(self, painter: QPainter) -> None:
        theme, wide = self._theme, self.width()
        font = theme.font(HEAD, bold=True)
        painter.setFont(font)
        painter.setPen(theme.color("ink"))
        shown = QFontMetricsF(font).elidedText(self._limits, Qt.TextElideMode.ElideRight, wide)
        painter.drawText(QRectF(0, 0, wide, theme.px(28)), _MIDDLE, shown)
        painter.setFont(theme.font(TEXT))
        painter.setPen(theme.color("quiet"))
        painter.drawText(QRectF(0, theme.px(27), wide, theme.px(36)), _WRAPPED, self._why)

    def _paint_fault(self, painter: QPainter, marked: Marked) -> None:
        theme, wide = self._theme, self.width()
        font = theme.font(ROW, bold=True)
        metrics = QFontMetricsF(font)
        text = marked.text.replace("\n", " ")
        x = metrics.horizontalAdvance(text[: marked.at]) if marked.at >= 0 else 0.0
        back = max(0.0, x - wide + theme.px(60))  # a long text is moved so that its fault is seen
        painter.setFont(font)
        painter.setPen(theme.color("ink"))
        painter.setClipRect(QRectF(0, 0, wide, self.height()))
        painter.drawText(QRectF(-back, 0, max(wide, metrics.horizontalAdvance(text)) + 9, theme.px(22)), _MIDDLE, text)
        painter.setPen(theme.color("out"))
        if marked.at >= 0:
            letter = metrics.horizontalAdvance(text[marked.at : marked.at + 1]) or theme.px(8)
            painter.drawText(QRectF(x - back + letter / 2 - 20, theme.px(18), 40, theme.px(14)), _CENTRED, "▲")
        painter.setFont(theme.font(TEXT, bold=True))
        painter.drawText(QRectF(0, theme.px(30), wide, theme.px(34)), _WRAPPED, marked.said)


_MIDDLE = int(Qt.AlignmentFlag.AlignVCenter)
_CENTRED = int(Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop)
_WRAPPED = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignTop)


class Foot(QWidget):
    """The card of the row at hand, and the strip of the plan."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._would = self._roomy = False
        self.card = QWidget(self)
        self.card.setObjectName("card")
        self.card.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.read_back = ReadBack(theme, self.card)
        self.instrument = self._line("strong", "plan.instrument.title")
        self.why, self.others = self._line("", "plan.instrument.why"), self._line("soft", "plan.instrument.others")
        self.open = self._label("", "plan.open")
        self.open.setWordWrap(True)
        self.hints = self._label("quiet", "plan.hints.title")
        self._side = QWidget(self.card)
        side = self._side_layout = QVBoxLayout(self._side)
        side.setContentsMargins(0, 0, 0, 0)
        for line in (self.instrument, self.why, self.others):
            side.addWidget(line)
        side.addStretch(1)
        inner = self._inner = QHBoxLayout(self.card)
        inner.addWidget(self.read_back, 1, Qt.AlignmentFlag.AlignTop)
        inner.addWidget(self._side, 1)
        strip = self._strip = QGridLayout()
        strip.addWidget(self.open, 0, 0)
        strip.addWidget(self.hints, 1, 0)
        layout = self._layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.card)
        layout.addLayout(strip)
        self.take_theme(theme)

    def _line(self, look: str, code: str) -> Fitted:
        line = Fitted(look, self)
        line.setAccessibleName(word(code))
        line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        return line

    def _label(self, look: str, code: str) -> QLabel:
        label = QLabel(self)
        label.setProperty("look", look)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setAccessibleName(word(code))
        label.setMinimumWidth(1)
        label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        return label

    def show_would(self, would: Would) -> None:
        """Show what the row at hand would be measured with."""
        self._would = bool(would.name)
        self._side.setVisible(self._would and self._roomy)
        self.instrument.show_text(would.name)
        self.why.show_text(would.why)
        style = f"color: {self._theme.palette._asdict()[would.look]};"
        if style != self.why.styleSheet():
            self.why.setStyleSheet(style)
        self.others.show_text("  ".join(would.others))

    def show_open(self, said: str, *, whole: bool) -> None:
        """Show what the plan leaves open."""
        self.open.setText(said)
        self.open.setToolTip(said)
        color = self._theme.palette.good if whole else self._theme.palette.doubt
        self.open.setStyleSheet(f"color: {color};")

    def fold(self, high: float) -> None:
        """Leave out what there is no room for: the instrument first, then the card and the hints."""
        self.hints.setVisible(high >= 480)
        self._roomy = high >= 520
        self._side.setVisible(self._would and self._roomy)
        self.card.setVisible(high >= 400)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self.card.setFixedHeight(theme.px(84))
        self._inner.setContentsMargins(theme.px(16), theme.px(10), theme.px(16), theme.px(8))
        self._inner.setSpacing(theme.px(28))
        self._side_layout.setSpacing(theme.px(3))
        self._layout.setSpacing(theme.px(8))
        self._strip.setVerticalSpacing(theme.px(3))
        self.read_back.take_theme(theme)
