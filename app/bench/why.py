"""Why this instrument: its ratios against what is needed, and what stands against the others."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QGridLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.bench.fitted import Fitted
from app.parts.bars import Bar, RatioBars
from app.window.theme import Theme
from inspection.words.say import word

#: So many other methods are listed on the card; W on a small window and I show them all.
MOST_OTHERS = 5


class Chosen(NamedTuple):
    """The instrument of a row as told: its name, where and until when, its ratios, the sentence about them."""

    name: str = ""
    facts: str = ""
    bars: tuple[Bar, ...] = ()
    sentence: str = ""
    look: str = ""
    more: str = ""


def _high(part: QWidget, wide: int) -> int:
    return part.heightForWidth(wide) if part.hasHeightForWidth() else part.sizeHint().height()


class Why(QWidget):
    """The right side of the card."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._look = theme, "ink"
        self.name, self.facts = Fitted("head", self), Fitted("soft", self)
        self.bars = RatioBars(theme, self)
        self.bars.setAccessibleName(word("bench.ratios"))
        self.sentence = QLabel(self)
        self.sentence.setProperty("look", "strong")
        self.sentence.setWordWrap(True)
        self.more = QLabel(self)
        self.more.setWordWrap(True)
        self.more.setProperty("look", "soft")
        self.others_title = Fitted("strong", self)
        self.others_title.setText(word("bench.others"))
        self._grid = QGridLayout()
        self._grid.setColumnStretch(1, 1)
        self._others = [(Fitted("", self), Fitted("soft", self)) for _ in range(MOST_OTHERS)]
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
        layout = self._layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for widget in (self.name, self.facts, self.bars, self.sentence, self.more, self.others_title):
            layout.addWidget(widget)
        for row, (name, against) in enumerate(self._others):
            self._grid.addWidget(name, row, 0)
            self._grid.addWidget(against, row, 1)
        layout.addLayout(self._grid)
        layout.addStretch(1)
        self.show_others(())
        self.take_theme(theme)

    def show_chosen(self, chosen: Chosen) -> None:
        """Show the instrument of another row."""
        self.name.show_text(chosen.name)
        self.facts.show_text(chosen.facts)
        self.bars.set_bars(chosen.bars)
        self.bars.setVisible(bool(chosen.bars))
        self.sentence.setText(chosen.sentence)
        self._look = chosen.look or "ink"
        self._color_sentence()
        self.sentence.setVisible(bool(chosen.sentence))
        self.more.setText(chosen.more)
        self.more.setVisible(bool(chosen.more))

    def _color_sentence(self) -> None:
        """Colour by style sheet only where it changes: Qt lays the whole label out anew for it."""
        style = f"color: {self._theme.palette._asdict()[self._look]};"
        if style != self.sentence.styleSheet():
            self.sentence.setStyleSheet(style)

    def show_others(self, others: tuple[tuple[str, str], ...]) -> None:
        """Methods not chosen, each with what stands against it."""
        others = others[: self._room_for_others()]
        self.others_title.setVisible(bool(others))
        for place, (name, against) in enumerate(self._others):
            here = others[place] if place < len(others) else ("", "")
            name.show_text(here[0])
            against.show_text(here[1])
            name.setVisible(bool(here[0]))
            against.setVisible(bool(here[0]))

    def minimumSizeHint(self) -> QSize:
        """The card keeps its height whatever stands here."""
        return QSize(self._theme.px(280), 0)

    def has_room(self) -> bool:
        """Whether other methods can be listed here: the side is shown, and high enough."""
        return self.isVisible() and self._room_for_others() > 0

    def _room_for_others(self) -> int:
        """How many other methods there is room for below what stands above them."""
        gap = self._layout.spacing()
        above = [part for part in (self.name, self.facts, self.bars, self.sentence, self.more) if not part.isHidden()]
        used = sum(_high(part, self.width()) + gap for part in above) + self.others_title.sizeHint().height() + gap
        line = self._others[0][0].sizeHint().height() + self._grid.verticalSpacing()
        return min(MOST_OTHERS, max(0, (self.height() - used) // line))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._layout.setSpacing(theme.px(5))
        self._grid.setHorizontalSpacing(theme.px(18))
        self._grid.setVerticalSpacing(theme.px(2))
        for name, _against in self._others:
            name.setMaximumWidth(theme.px(250))
        self.bars.take_theme(theme)
        self._color_sentence()
