"""The head of the Bench: part, pieces, rule, what is shown, and the ribbon of the piece at hand."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from app.bench.conditions import State
from app.bench.seen import Count, Seen
from app.parts.fitted import Fitted
from app.parts.marks import Mark, paint_mark
from app.parts.ribbon import Ribbon
from app.window.theme import TEXT, Theme
from inspection.words.say import word


class Chip(NamedTuple):
    """One piece: its identity, what is marked on it, how far it is."""

    piece: str
    serial: str
    done: Count

    @property
    def mark(self) -> Mark:
        """The mark that asks for most attention."""
        if self.done.out:
            return Mark.OUT
        if self.done.asked:
            return Mark.QUESTION
        if self.done.measured < self.done.needed:
            return Mark.OPEN
        if self.done.doubt:
            return Mark.DOUBT_INSIDE
        return Mark.MARGINAL if self.done.marginal else Mark.CONFORMING


class PieceStrip(QWidget):
    """Every piece with its count, the one at hand outlined. ``chosen`` carries the piece that was pointed at."""

    chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._chips: tuple[Chip, ...] = ()
        self._current = 0
        self._close = False
        self._places: list[tuple[QRectF, str]] = []
        self.setAccessibleName(word("bench.pieces"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_chips(self, chips: tuple[Chip, ...], current: int) -> None:
        """Show these pieces."""
        if (chips, current) == (self._chips, self._current):
            return
        self._chips, self._current = chips, current
        self.setAccessibleDescription("; ".join(f"{chip.serial} {self._text(chip)}" for chip in chips))
        self.updateGeometry()
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    @staticmethod
    def _text(chip: Chip) -> str:
        return word("bench.piece.count", measured=chip.done.measured, needed=chip.done.needed)

    def _width(self, chip: Chip) -> float:
        px = self._theme.px
        plain, bold = QFontMetricsF(self._theme.font(TEXT)), QFontMetricsF(self._theme.font(TEXT, bold=True))
        count = px(8) + plain.horizontalAdvance(self._text(chip)) if self._counted(chip) else 0
        return px(36) + bold.horizontalAdvance(chip.serial) + count

    def _counted(self, chip: Chip) -> bool:
        """Whether a piece shows its count: all do while there is room, else the one at hand."""
        return not self._close or chip is self._chips[self._current]

    def sizeHint(self) -> QSize:
        wide = sum(self._width(chip) + self._theme.px(8) for chip in self._chips)
        return QSize(round(min(wide, self._theme.px(2000))), self._theme.px(28))

    def minimumSizeHint(self) -> QSize:
        chips = self._chips[self._current : self._current + 1]
        return QSize(round(sum(map(self._width, chips)) + self._theme.px(28)), self._theme.px(28))

    def _shown(self) -> range:
        """As many pieces as there is room for, the current one among them."""
        self._close = False
        self._close = self.sizeHint().width() > self.width()
        first = last = self._current
        room: float = self.width() - (self._theme.px(28) if self._close else 0)
        room -= self._width(self._chips[first]) if self._chips else 0
        step = self._theme.px(8)
        while True:
            before = self._width(self._chips[first - 1]) + step if first > 0 else None
            after = self._width(self._chips[last + 1]) + step if last + 1 < len(self._chips) else None
            if after is not None and after <= room:
                last, room = last + 1, room - after
            elif before is not None and before <= room:
                first, room = first - 1, room - before
            else:
                return range(first, last + 1)

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self._chips:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._places = []
        shown, x = self._shown(), 0.0
        if shown.start > 0:
            x = self._paint_dots(painter, x)
        for place in shown:
            box = QRectF(x + 1, 1, self._width(self._chips[place]), self.height() - 2)
            self._paint_chip(painter, box, self._chips[place], place == self._current)
            self._places.append((box, self._chips[place].piece))
            x = box.right() + self._theme.px(8)
        if shown.stop < len(self._chips):
            self._paint_dots(painter, x)

    def _paint_dots(self, painter: QPainter, x: float) -> float:
        painter.setFont(self._theme.font(TEXT))
        painter.setPen(self._theme.color("quiet"))
        painter.drawText(QRectF(x, 0, self._theme.px(14), self.height()), Qt.AlignmentFlag.AlignVCenter, "…")
        return x + self._theme.px(14)

    def _paint_chip(self, painter: QPainter, box: QRectF, chip: Chip, current: bool) -> None:
        theme = self._theme
        if current:
            painter.setPen(QPen(theme.color("accent"), max(1, theme.px(1.4))))
            painter.setBrush(theme.color("row"))
            painter.drawRoundedRect(box, box.height() / 2, box.height() / 2)
        paint_mark(painter, QPointF(box.left() + theme.px(15), box.center().y()), theme.px(10), chip.mark, theme)
        bold = theme.font(TEXT, bold=True)
        painter.setFont(bold)
        painter.setPen(theme.color("ink"))
        left = box.left() + theme.px(26)
        painter.drawText(QRectF(left, box.top(), box.width(), box.height()), Qt.AlignmentFlag.AlignVCenter, chip.serial)
        if not self._counted(chip):
            return
        left += QFontMetricsF(bold).horizontalAdvance(chip.serial) + theme.px(8)
        painter.setFont(theme.font(TEXT))
        painter.setPen(theme.color("quiet"))
        painter.drawText(
            QRectF(left, box.top(), box.width(), box.height()), Qt.AlignmentFlag.AlignVCenter, self._text(chip)
        )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for box, piece in self._places:
            if box.contains(event.position()):
                self.chosen.emit(piece)


class UnitSwitch(QWidget):
    """What lengths are shown in; never what is kept. ``chosen`` carries "", "in" or "mm"."""

    chosen = Signal(str)
    UNITS = ("", "in", "mm")

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._units = theme, ""
        self.setAccessibleName(word("bench.units"))
        self.setToolTip(word("bench.units.tip"))
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_units(self, units: str) -> None:
        """What is shown now."""
        self._units = units
        self.setAccessibleDescription(word(f"bench.units.{units or 'drawn'}"))
        self.update()

    def take_theme(self, theme: Theme) -> None:
        """Paint in another theme or scale."""
        self._theme = theme
        self.updateGeometry()
        self.update()

    def _boxes(self) -> list[tuple[QRectF, str, str]]:
        metrics = QFontMetricsF(self._theme.font(TEXT))
        x, boxes = 0.0, []
        for units in self.UNITS:
            text = word(f"bench.units.{units or 'drawn'}")
            wide = metrics.horizontalAdvance(text) + self._theme.px(4)
            boxes.append((QRectF(x, 0, wide, self.height()), units, text))
            x += wide + self._theme.px(10)
        return boxes

    def sizeHint(self) -> QSize:
        return QSize(round(self._boxes()[-1][0].right()) + 1, self._theme.px(28))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, theme = QPainter(self), self._theme
        painter.setFont(theme.font(TEXT))
        for box, units, text in self._boxes():
            current = units == self._units
            painter.setPen(theme.color("ink" if current else "quiet"))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
            if current:
                painter.fillRect(
                    QRectF(box.left(), box.bottom() - theme.px(3), box.width(), theme.px(2)), theme.color("accent")
                )

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for box, units, _text in self._boxes():
            if box.contains(event.position()):
                self.chosen.emit(units)


class Head(QWidget):
    """Two lines: what is measured, and how far it is."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name, self.part = Fitted("title", self), Fitted("soft", self)
        self.strip, self.ribbon = PieceStrip(theme, self), Ribbon(theme, self)
        self.state, self.counts = Fitted("soft", self), Fitted("soft", self)
        self.switch = UnitSwitch(theme, self)
        self._parts: tuple[str, ...] = ()
        self._least: tuple[str, ...] = ()
        self._states: tuple[str, str] = ("", "")
        self.ribbon.setAccessibleName(word("bench.ribbon"))
        self._above, self._below = QHBoxLayout(), QHBoxLayout()
        for widget, share in ((self.name, 0), (self.part, 0), (self.strip, 1), (self.state, 0), (self.switch, 0)):
            self._above.addWidget(widget, share)
        self._below.addWidget(self.ribbon, 1)
        self._below.addWidget(self.counts)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addLayout(self._above)
        self._layout.addLayout(self._below)
        self.take_theme(theme)

    def show_sheet(self, seen: Seen) -> None:
        """What does not change while measuring."""
        part, head = seen.sheet.plan.part, seen.sheet.head
        self.name.show_text(part.name or part.number)
        number = part.number if part.name else ""
        customer = head.customer or part.customer
        lot = word("bench.lot", lot=head.lot) if head.lot else ""
        revision = word("bench.revision", revision=part.revision) if part.revision else ""
        follows = word("bench.amends") if seen.sheet.amends else word("bench.completes") if seen.sheet.completes else ""
        self._least = tuple(filter(None, (number, revision, follows)))
        self._parts = (*self._least, *filter(None, (customer, lot)))
        self._fit()

    def show_state(self, state: State) -> None:
        """Under which conditions is measured: whether it may be, the temperature, the rule."""
        full, short = ("   ·   ".join(filter(None, each)) for each in state)
        if (full, short) != self._states:
            self._states = (full, short)
            self.state.setAccessibleName(full)
            self._fit()

    def show_counts(self, seen: Seen, piece: str) -> None:
        """How far each piece is."""
        chips = tuple(Chip(each.identity, each.serial, seen.count(each.identity)) for each in seen.sheet.pieces)
        self.strip.show_chips(chips, seen.pieces[piece])
        self.counts.show_text(counted(seen.count(piece)))

    def _fit(self) -> None:
        """As much of part and conditions as there is room for: customer and lot are given up last, and never which part
        it is and what the sheet follows from."""
        forms = [(parts, state) for parts in (self._parts, self._least) for state in self._states]
        room = self._room()
        parts, state = next((each for each in forms if self._wide_of(*each) <= room), forms[-1])
        self.part.show_text("   ".join(parts))
        self.state.show_text(state)
        self.state.setToolTip(self._states[0])

    def _room(self) -> int:
        """What the name, the piece at hand and the switch leave of the line."""
        others = (self.name.sizeHint(), self.strip.minimumSizeHint(), self.switch.sizeHint())
        return self.width() - sum(hint.width() for hint in others) - 4 * self._above.spacing()

    def _wide_of(self, parts: tuple[str, ...], state: str) -> int:
        metrics = self.part.fontMetrics()
        return metrics.horizontalAdvance("   ".join(parts)) + metrics.horizontalAdvance(state)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def fold(self, wide: float, high: float) -> None:
        """Leave out what there is no room for; logical pixels at 100 %."""
        self.part.setVisible(wide >= 700)
        self.state.setVisible(wide >= 1000)
        self.switch.setVisible(wide >= 560)
        self.ribbon.setVisible(high >= 420)
        self.counts.setVisible(high >= 420)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._above.setSpacing(theme.px(18))
        self._below.setSpacing(theme.px(18))
        self._layout.setSpacing(theme.px(8))
        for part in (self.strip, self.ribbon, self.switch):
            part.take_theme(theme)


def counted(count: Count) -> str:
    """ "21 of 34 measured · 1 out"."""
    said = [word("bench.count", measured=count.measured, needed=count.needed)]
    for name in ("out", "doubt", "marginal", "asked"):
        number = getattr(count, name)
        if number:
            said.append(word(f"bench.count.{name}", n=number))
    return "   ".join(said)
