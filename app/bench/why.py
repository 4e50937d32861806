"""Why this instrument: its ratios against what is needed, and what stands against the others."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.bench.earlier import Earlier
from app.bench.others import Group, Others
from app.parts.bars import Bar, RatioBars
from app.parts.fitted import Fitted
from app.window.theme import Theme
from inspection.words.say import word


class Chosen(NamedTuple):
    """The instrument of a row as told: its name, where and until when, its ratios, the sentence about them."""

    name: str = ""
    facts: str = ""
    bars: tuple[Bar, ...] = ()
    sentence: str = ""
    look: str = ""
    more: str = ""


class Why(QWidget):
    """The right side of the card."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._look = theme, "ink"
        self.name, self.facts = Fitted("head", self), Fitted("soft", self)
        self.proven = Fitted("soft", self)
        self._lacks = False
        self.bars = RatioBars(theme, self)
        self.bars.setAccessibleName(word("bench.ratios"))
        self.sentence = QLabel(self)
        self.sentence.setProperty("look", "strong")
        self.sentence.setWordWrap(True)
        self.more = QLabel(self)
        self.more.setWordWrap(True)
        self.more.setProperty("look", "soft")
        self.others = Others(theme, self)
        self.others.setAccessibleName(word("bench.others"))
        self.earlier = Earlier(theme, self)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Ignored)
        layout = self._layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        for widget in (self.name, self.facts, self.proven, self.bars, self.sentence, self.more):
            layout.addWidget(widget)
        layout.addWidget(self.others, 1)
        layout.addWidget(self.earlier)
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

    def show_proven(self, text: str, *, lacks: bool) -> None:
        """On which check before use a reading taken now would rest, or that it ``lacks`` one and why."""
        self.proven.show_text(text)
        self.proven.setVisible(bool(text))
        self._lacks = lacks
        self._color_proven()

    def _color_proven(self) -> None:
        style = f"color: {self._theme.palette.doubt};" if self._lacks else ""
        if style != self.proven.styleSheet():
            self.proven.setStyleSheet(style)

    def _color_sentence(self) -> None:
        """Colour by style sheet only where it changes: Qt lays the whole label out anew for it."""
        style = f"color: {self._theme.palette._asdict()[self._look]};"
        if style != self.sentence.styleSheet():
            self.sentence.setStyleSheet(style)

    def show_others(self, groups: tuple[Group, ...]) -> None:
        """Methods not chosen, by how they stand; W shows each with all that stands against it."""
        self.others.show_groups(groups)

    def minimumSizeHint(self) -> QSize:
        """The card keeps its height whatever stands here."""
        return QSize(self._theme.px(280), 0)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._layout.setSpacing(theme.px(5))
        self.others.take_theme(theme)
        self.earlier.take_theme(theme)
        self.bars.take_theme(theme)
        self._color_sentence()
        self._color_proven()
