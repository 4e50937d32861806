"""The upper part of the room: title, what the list is cut down to, ways to look back,
the find line, and the usual actions."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.parts.buttons import ActionButton, ButtonRow
from app.parts.find_line import FindLine
from app.parts.fitted import Fitted
from app.window.theme import Theme
from inspection.words.say import word


class Top(QWidget):
    """``given_on`` carries a key for the list."""

    given_on = Signal(object)

    def __init__(
        self,
        actions: tuple[QAction, ...],
        back: tuple[QAction, ...],
        filters: tuple[QAction, ...],
        theme: Theme,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._title, self._about = Fitted("title", self), Fitted("soft", self)
        self._about.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.search = FindLine(word("ledger.find"), self)
        self.search.given_on.connect(self.given_on)
        self.buttons = ButtonRow([ActionButton(action, self) for action in actions], self)
        self.back = ButtonRow([ActionButton(action, self) for action in back], self)
        self.filters = ButtonRow([ActionButton(action, self) for action in filters], self)
        first = self._first = QHBoxLayout()
        first.addWidget(self._title)
        first.addWidget(self._about, 1)
        first.addWidget(self.back)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addLayout(first)
        self._layout.addWidget(self.buttons)
        self._layout.addWidget(self.search)
        self._layout.addWidget(self.filters)
        self.take_theme(theme)

    def show_title(self, title: str, about: str, *, faulty: bool = False) -> None:
        """Show what is listed, and what it is cut down to, or what is wrong with what is looked for."""
        self._title.show_text(title)
        self.back.setVisible(not faulty)  # the sentence wants the room
        look = "problem" if faulty else "soft"
        if self._about.property("look") != look:
            self._about.setProperty("look", look)
            self._about.style().polish(self._about)
        self._about.show_text(about)
        self._fold_back()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold_back()

    def _fold_back(self) -> None:
        """The ways to look back have what the title leaves: it says where one is."""
        left = self.width() - self._title.sizeHint().width() - self._about.minimumSizeHint().width()
        self.back.setMaximumWidth(max(0, left - 2 * self._first.spacing()))

    def about(self) -> str:
        """What the list is cut down to, as shown."""
        return self._about.text()

    def fold(self, high: float) -> None:
        """Leave out what there is no room for; logical pixels at 100 %."""
        self.filters.setVisible(high >= 420)
        self.buttons.setVisible(high >= 340)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(10))
        self._first.setSpacing(theme.px(16))
        for row in (self.buttons, self.back, self.filters):
            row.take_theme(theme)
