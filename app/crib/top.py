"""The upper part of the room: title and counts, the search, what the list is cut down to, and the usual actions."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.crib.lines import Only
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.find_line import FindLine
from app.parts.fitted import Fitted
from app.window.keys import KEYS as WINDOW_KEYS
from app.window.theme import Theme
from inspection.words.say import word


class Top(QWidget):
    """``searched`` follows each change of the search, ``cut_down`` of what the list is cut down to (an ``Only``);
    ``given_on`` carries a key for the list; ``rules_asked`` follows the button that leads to the shop's rules."""

    searched = Signal(str)
    cut_down = Signal()
    given_on = Signal(object)
    rules_asked = Signal()

    def __init__(self, actions: tuple[QAction, ...], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.only = Only.ALL
        self._title, self._counts = Fitted("title", self), Fitted("soft", self)
        self._counts.setAlignment(Qt.AlignmentFlag.AlignVCenter)
        self.search = FindLine(word("crib.search"), self)
        self.search.given_on.connect(self.given_on)
        self.search.textChanged.connect(self.searched.emit)
        self._group = QButtonGroup(self)
        self._filters = {only: self._filter(only) for only in Only}
        self.folded = ButtonRow(tuple(self._filters.values()), self)
        self.buttons = ButtonRow([ActionButton(action, self) for action in actions], self)
        self.rules = ButtonRow((self._rules_button(),), self)
        self._lay_out()
        self.take_theme(theme)

    def _rules_button(self) -> QPushButton:
        """By what an instrument is found fit: the window's own key does the same."""
        button = QPushButton(f"{word('action.rules')}  {WINDOW_KEYS['rules'].key}", self)
        button.setAccessibleName(word("action.rules"))
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.clicked.connect(self.rules_asked)
        return button

    def _filter(self, only: Only) -> QPushButton:
        button = QPushButton(self)
        button.setCheckable(True)
        button.setProperty("look", "filter")
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.setAccessibleName(word(f"crib.only.{only.value}"))
        button.setChecked(only is Only.ALL)
        button.clicked.connect(self._filter_clicked)
        button.setProperty("only", only.value)
        self._group.addButton(button)
        return button

    def _lay_out(self) -> None:
        first = self._first = QHBoxLayout()
        first.addWidget(self._title)
        first.addWidget(self._counts, 1)
        first.addWidget(self.rules)
        second = self._second = QHBoxLayout()
        second.addWidget(self.search, 1)
        second.addWidget(self.folded)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addLayout(first)
        self._layout.addWidget(self.buttons)
        self._layout.addLayout(second)

    def _filter_clicked(self) -> None:
        self.cut_to(Only(self.sender().property("only")))

    def cut_to(self, only: Only) -> None:
        """Cut the list down to these."""
        self.only = only
        self._filters[only].setChecked(True)
        self.cut_down.emit()

    def show_counts(self, said: str, counts: Mapping[Only, int], keys: Mapping[Only, str]) -> None:
        """Show how many there are, in all and of each."""
        self._counts.show_text(said)
        for only, button in self._filters.items():
            name = word(f"crib.only.{only.value}")
            button.setText(f"{name}  {counts[only]}")
            button.setToolTip(f"{name} ({keys[only]})")
            button.setAccessibleDescription(str(counts[only]))

    def show_title(self, title: str, *, filters: bool) -> None:
        """Show what is listed; templates have nothing to be cut down to."""
        self._title.show_text(title)
        self.folded.setVisible(filters)
        self.rules.setVisible(filters)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(12))
        self._first.setSpacing(theme.px(16))
        self._second.setSpacing(theme.px(6))
        self.search.setMinimumWidth(theme.px(150))
        for row in (self.buttons, self.folded, self.rules):
            row.take_theme(theme)
