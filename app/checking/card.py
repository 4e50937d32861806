"""The line at hand, large: its sketch, what it asks, which block to take, the entry, what it means, what was said."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.checking.entry import CheckEntry
from app.parts.badge import Badge
from app.parts.fitted import Fitted, Sentence
from app.parts.sketch import Sketch
from app.window.theme import HEAD, ROW, SMALL, TEXT, Theme
from inspection.words.say import word

#: What is asked is read from a step away.
ASKED = 30
#: The width of a large sketch, and of one where room is scarce.
WIDE, SMALLER, SMALLEST = 330, 160, 105
#: The entry holds a reading of six digits at least.
ENTRY_WIDE = 250
#: Heights of what is asked, what to take, prompt, meaning, what was said, and the entry.
_ROOMY = (40, 28, 28, 22, 44, 72)
_TIGHT = (52, 22, 22, 20, 36, 58)
_TINY = (42, 18, 18, 0, 32, 54)


class Asked(NamedTuple):
    """What the card shows. ``line`` and ``kind`` choose the sketch; ``minded``: something stands against what is to be
    taken; ``readings`` are those that were
    taken; ``place`` tells which line of how many it is, and ``keys`` stands in the empty entry."""

    line: str = ""
    kind: str = ""
    place: str = ""
    asked: str = ""
    take: str = ""
    minded: bool = False
    prompt: str = ""
    keys: str = ""
    badge: str = ""
    readings: str = ""


class Card(QWidget):
    """Left the sketch, right the rest; what there is no room for is left out, the least needed first."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self.sketch = Sketch(theme, WIDE, self)
        self.count = Fitted("soft", self)
        self.asked = Sentence(theme, self, sizes=(ASKED, 24, HEAD, ROW), bold=True)
        self.take = Sentence(theme, self, sizes=(HEAD, ROW, TEXT, SMALL))
        self.prompt = Sentence(theme, self, sizes=(HEAD, ROW, TEXT, SMALL), bold=True)
        self.meaning = Sentence(theme, self, sizes=(ROW, TEXT, SMALL))
        self.entry = CheckEntry(self)
        self.badge = Badge(theme, self.entry)
        self.readings = Sentence(theme, self, sizes=(HEAD, ROW, TEXT, SMALL), bold=True, middle=True)
        self.said = Sentence(theme, self, sizes=(ROW, TEXT, SMALL))
        self._heights = _ROOMY
        self._sentences = (self.asked, self.take, self.prompt, self.meaning, self.said)
        self._lay_out()
        self.take_theme(theme)

    def _lay_out(self) -> None:
        row = self._row = QHBoxLayout()
        row.addWidget(self.entry, 3)
        row.addWidget(self.readings, 4)
        right = self._right = QVBoxLayout()
        for widget in (self.count, self.asked, self.take, self.prompt):
            right.addWidget(widget)
        right.addLayout(row)
        right.addWidget(self.meaning)
        right.addWidget(self.said)
        right.addStretch(1)
        whole = self._whole = QHBoxLayout(self)
        whole.addWidget(self.sketch, 0, Qt.AlignmentFlag.AlignTop)
        whole.addLayout(right, 1)

    def show_asked(self, asked: Asked) -> None:
        """Show another line; what is typed is not touched."""
        self.sketch.show_line(asked.line, asked.kind, asked.asked)
        self.count.show_text(asked.place)
        self.asked.show_text(asked.asked, "ink")
        self.take.show_text(asked.take, "doubt" if asked.minded else "ink")
        self.prompt.show_text(asked.prompt, "ink")
        self.entry.setPlaceholderText(asked.keys)
        self.badge.show_text(asked.badge)
        self.readings.show_text(asked.readings, "ink")
        named = (word("checking.entry"), asked.asked, asked.take, asked.prompt, asked.badge)
        self.entry.setAccessibleName(", ".join(filter(None, named)))

    def show_said(self, text: str, look: str = "quiet") -> None:
        """The sentence below the entry."""
        self.said.show_text(text, look)
        self.entry.setAccessibleDescription(text)

    def show_meaning(self, text: str) -> None:
        """What is being typed means this."""
        self.meaning.show_text(text, "quiet")

    def fold(self, wide: float, high: float) -> None:
        """Leave out what there is no room for; logical pixels at 100 % of the whole panel."""
        self.sketch.setVisible(wide >= 480)
        self.sketch.set_wide(WIDE if high >= 480 and wide >= 1000 else SMALLER if wide >= 560 else SMALLEST)
        self.count.setVisible(high >= 480)
        self._heights = _ROOMY if high >= 480 else _TIGHT if high >= 300 else _TINY
        self._space()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        for part in (
            self.sketch,
            self.badge,
            self.asked,
            self.take,
            self.prompt,
            self.readings,
            self.meaning,
            self.said,
        ):
            part.take_theme(theme)
        self._space()

    def _space(self) -> None:
        """Every part keeps its height, whatever stands in it: what is looked at must not move while measuring."""
        px, heights = self._theme.px, self._heights
        roomy = heights is _ROOMY
        self._whole.setContentsMargins(0, 0, 0, 0)
        self._whole.setSpacing(px(28 if roomy else 12))
        self._right.setSpacing(px(6 if roomy else 2))
        self._row.setSpacing(px(20 if roomy else 10))
        self.entry.setMinimumWidth(px(ENTRY_WIDE))
        for widget in (self.entry, self.readings):
            widget.setFixedHeight(px(heights[-1]))
        self.count.setFixedHeight(px(18))
        for sentence, high in zip(self._sentences, heights[:-1], strict=True):
            sentence.setVisible(high > 0)
            sentence.setFixedHeight(px(high))
