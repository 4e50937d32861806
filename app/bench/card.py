"""The measuring card: what is asked for, the entry, and what it means; readable from a step away."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from app.bench.entry import Entry
from app.bench.why import Why
from app.parts.badge import Badge
from app.parts.balloon import balloon_width, paint_balloon
from app.parts.callout import callout_width, paint_callout
from app.parts.fitted import Fitted, Sentence
from app.parts.zone import Zone, ends, paint_zone
from app.window.theme import HEAD, TEXT, Theme
from inspection.words.say import word

_CALLOUT = 28
_CENTRE = int(Qt.AlignmentFlag.AlignCenter)


class Asked(NamedTuple):
    """What the card shows of the row at hand. ``lines`` stand below the callout, ``prompt`` beside the entry."""

    number: str = ""
    requirement: str = ""
    lines: tuple[str, ...] = ()
    prompt: str = ""
    badge: str = ""
    zone: Zone = Zone()
    low: str = ""
    high: str = ""
    kept_note: str = ""


class Heading(QWidget):
    """Balloon, callout and limits, large."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._asked, self._tight = theme, Asked(), False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_asked(self, asked: Asked) -> None:
        """Show another row."""
        self._asked = asked
        self.setAccessibleName(word("bench.row", number=asked.number, requirement=asked.requirement))
        self.setAccessibleDescription(", ".join(asked.lines))
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def set_tight(self, tight: bool) -> None:
        """The callout alone, without the line below it."""
        self._tight = tight
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(360), self._theme.px(40 if self._tight else 62))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(200), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._asked.number:
            return
        painter, theme = QPainter(self), self._theme
        across = theme.px(34 if self._tight else 48)
        wide = balloon_width(across, self._asked.number, theme)
        middle = QPointF(wide / 2, theme.px(20 if self._tight else 28))
        paint_balloon(painter, middle, across, self._asked.number, theme, current=True)
        left = wide + theme.px(14)
        box = QRectF(left, 0, self.width() - left, theme.px(38))
        size = next(
            (
                size
                for size in (_CALLOUT, HEAD)
                if callout_width(self._asked.requirement, theme, size, bold=True) < box.width()
            ),
            TEXT,
        )
        paint_callout(painter, box, self._asked.requirement, theme, size=size, bold=True)
        if self._tight:
            return
        self._paint_lines(painter, QRectF(left, theme.px(39), box.width(), theme.px(22)))

    def _paint_lines(self, painter: QPainter, box: QRectF) -> None:
        font = self._theme.font(TEXT)
        metrics = QFontMetricsF(font)
        painter.setFont(font)
        painter.setPen(self._theme.color("quiet"))
        text = "     ".join(self._asked.lines)
        if metrics.horizontalAdvance(text) > box.width():
            text = " · ".join(self._asked.lines)
        painter.drawText(
            box, Qt.AlignmentFlag.AlignVCenter, metrics.elidedText(text, Qt.TextElideMode.ElideRight, box.width())
        )


class LargeZone(QWidget):
    """The zone between the limits, without what is being typed: that is judged when it is kept."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._asked = theme, Asked()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_asked(self, asked: Asked) -> None:
        """Show another row."""
        self._asked = asked
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(280), self._theme.px(104))

    def minimumSizeHint(self) -> QSize:
        return QSize(self._theme.px(150), self._theme.px(104))

    def paintEvent(self, event: QPaintEvent) -> None:
        between = ends(self._asked.zone)
        if between is None:
            return
        painter, theme = QPainter(self), self._theme
        strip = QRectF(0, theme.px(4), min(self.width(), theme.px(340)), theme.px(58))
        paint_zone(painter, strip, self._asked.zone, theme, large=True)
        painter.setFont(theme.font(TEXT))
        painter.setPen(theme.color("quiet"))
        inner = strip.adjusted(theme.px(12), 0, -theme.px(12), 0)
        margin = inner.width() * 0.12
        below = QRectF(inner.left(), strip.bottom() + theme.px(2), inner.width(), theme.px(20))
        half = inner.width() / 2
        for shown, text, x in (
            (between.low_limit, self._asked.low, inner.left() + margin),
            (between.high_limit, self._asked.high, inner.right() - margin),
        ):
            if shown:
                painter.drawText(QRectF(x - half, below.top(), 2 * half, below.height()), _CENTRE, text)
        painter.drawText(below.translated(0, theme.px(19)), _CENTRE, self._asked.kept_note)


class Card(QWidget):
    """Left: the row, the entry, how to take it. Right: why this instrument."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        self._theme = theme
        self._tight = False
        self.heading, self.zone = Heading(theme, self), LargeZone(theme, self)
        self.entry = Entry(self)
        self.badge = Badge(theme, self.entry)
        self.prompt, self.meaning = Fitted("strong", self), Fitted("soft", self)
        self.pin = Fitted("strong", self)
        self.said = Sentence(theme, self)
        self.held = Fitted("strong", self)
        self.how_title = Fitted("strong", self)
        self.how_title.setText(word("bench.how"))
        self.how, self.hints = Fitted("soft", self), Fitted("quiet", self)
        self.how2 = Fitted("soft", self)
        self.why = Why(theme, self)
        self.pin.hide()
        self._how_wanted, self._hints_wanted = 2, True
        self._divider = QFrame(self)
        self._divider.setFrameShape(QFrame.Shape.NoFrame)
        self._lay_out()
        self.take_theme(theme)

    def _lay_out(self) -> None:
        typed = self._typed = QVBoxLayout()
        typed.addWidget(self.prompt)
        typed.addWidget(self.entry)
        row = self._row = QHBoxLayout()
        row.addLayout(typed, 3)
        row.addWidget(self.zone, 2, Qt.AlignmentFlag.AlignBottom)
        left = self._left = QVBoxLayout()
        left.addWidget(self.heading)
        left.addLayout(row)
        left.addWidget(self.meaning)
        left.addWidget(self.pin)
        left.addWidget(self.said, 1)
        left.addWidget(self.how_title)
        left.addWidget(self.how)
        left.addWidget(self.how2)
        left.addWidget(self.hints)
        left.addWidget(self.held)
        both = self._both = QHBoxLayout(self)
        both.addLayout(left, 11)
        both.addWidget(self._divider)
        both.addWidget(self.why, 9)

    def show_asked(self, asked: Asked) -> None:
        """Show another row; what is typed is not touched."""
        self.heading.show_asked(asked)
        self.zone.show_asked(asked)
        self.prompt.show_text(asked.prompt)
        self.badge.show_text(asked.badge)
        name = word("bench.entry", number=asked.number)
        self.entry.setAccessibleName(", ".join(filter(None, (name, asked.prompt, asked.badge))))

    def show_how(self, lines: tuple[str, ...]) -> None:
        """How to take the reading."""
        left = self._whole_lines(self.how, lines)
        if self._how_wanted > 1:
            self._whole_lines(self.how2, left)

    @staticmethod
    def _whole_lines(label: Fitted, lines: tuple[str, ...]) -> tuple[str, ...]:
        """Show as many lines as there is room for, at least one; those that are left."""
        fit = 1
        while fit < len(lines) and label.fontMetrics().horizontalAdvance(" ".join(lines[: fit + 1])) <= label.width():
            fit += 1
        label.show_text(" ".join(lines[:fit]))
        return lines[fit:]

    def show_meaning(self, text: str, pin: str = "") -> None:
        """The line below the entry: what is typed means, or while nothing is, which ``pin`` to try."""
        self.meaning.show_text(text)
        self.pin.show_text(pin)
        self.meaning.setVisible(not pin)
        self.pin.setVisible(bool(pin))

    def show_said(self, text: str, look: str) -> None:
        """The sentence below the entry."""
        self.said.show_text(text, look or "quiet")
        self.entry.setAccessibleDescription(text)

    def show_held(self, text: str) -> None:
        """What came by cable and waits."""
        self.held.show_text(word("bench.held", text=text.strip()) if text else "")
        self._show_foot()

    def fold(self, wide: float, high: float) -> None:
        """Leave out what there is no room for; logical pixels at 100 %. First the reasons, then how to take it."""
        self.why.setVisible(wide >= 900)
        self._divider.setVisible(wide >= 900)
        self.zone.setVisible(wide >= 640 and high >= 420)
        self._how_wanted = 2 if high >= 760 else 1 if high >= 640 else 0
        self._hints_wanted = high >= 560
        self.why.earlier.set_lines(4 if high >= 840 else 3 if high >= 760 else 2 if high >= 560 else 0)
        self._show_how()
        self._show_foot()
        if self._tight != (high < 420):
            self._tight = high < 420
            self.heading.set_tight(self._tight)
            self._space(self._theme)

    def _show_how(self) -> None:
        """Whether there are words or not, the card keeps its height: the table above must not move while measuring."""
        self.how_title.setVisible(self._how_wanted > 1)
        self.how.setVisible(self._how_wanted > 0)
        self.how2.setVisible(self._how_wanted > 1)

    def _show_foot(self) -> None:
        """The keys, or in their place what is held."""
        held = bool(self.held.text())
        self.held.setVisible(held)
        self.hints.setVisible(self._hints_wanted and not held)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._space(theme)
        for part in (self.heading, self.zone, self.said, self.why, self.badge):
            part.take_theme(theme)

    def _space(self, theme: Theme) -> None:
        """Heights and gaps; tight where the window is hardly higher than the card."""
        px = theme.px
        above, below = (8, 6) if self._tight else (16, 12)
        self._both.setContentsMargins(px(24), px(above), px(24), px(below))
        self._both.setSpacing(px(24))
        self._left.setSpacing(px(2 if self._tight else 6))
        self._typed.setSpacing(px(2 if self._tight else 4))
        self._row.setSpacing(px(24))
        self._divider.setFixedWidth(1)
        self._divider.setStyleSheet(f"background: {theme.palette.rule};")
        self.entry.setFixedHeight(px(60 if self._tight else 72))
        self.prompt.setFixedHeight(px(20))
        self.meaning.setFixedHeight(px(20))
        self.pin.setFixedHeight(px(20))
        self.hints.setFixedHeight(px(20))
        self.held.setFixedHeight(px(20))
