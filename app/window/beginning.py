"""The page of a book that has no sheet yet: the steps to the first one, what is done and what comes next."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.window.theme import Theme
from app.window.words import word

#: The steps in their order, each with the actions that take it; the first action is the easy one.
STEPS = {
    "shop": (),
    "people": ("new_person",),
    "crib": ("starter_crib", "crib"),
    "part": ("plan",),
    "sheet": ("plan",),
}
DONE, NEXT, LATER = "✓", "→", "–"


class Step(NamedTuple):
    """One step: its code, whether it is done, and what is to be said of it."""

    code: str
    done: bool
    said: str


class BeginningPage(QWidget):
    """Steps one below the other; the focus is on the next one's easy action."""

    def __init__(self, actions: dict[str, QAction], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._title = QLabel(word("begin.title"), self)
        self._title.setProperty("look", "title")
        self._text = QLabel(word("begin.text"), self)
        self._text.setProperty("look", "soft")
        self._text.setWordWrap(True)
        self._grid = QGridLayout()
        self._grid.setColumnStretch(2, 1)
        self._rows = {code: self._row(place, code, actions) for place, code in enumerate(STEPS)}
        self._first: QWidget = self
        layout = self._layout = QVBoxLayout(self)
        layout.addWidget(self._title)
        layout.addWidget(self._text)
        layout.addLayout(self._grid)
        layout.addStretch(1)
        self.take_theme(theme)

    def _row(self, place: int, code: str, actions: dict[str, QAction]) -> _Row:
        row = _Row(
            mark=QLabel(self),
            name=QLabel(word(f"begin.{code}"), self),
            said=QLabel(self),
            buttons=tuple(self._button(actions[name]) for name in STEPS[code] if name in actions),
            beside=QHBoxLayout(),
        )
        row.name.setProperty("look", "strong")
        row.said.setWordWrap(True)
        row.said.setTextFormat(Qt.TextFormat.PlainText)
        self._grid.addWidget(row.mark, 2 * place, 0, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(row.name, 2 * place, 1, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(row.said, 2 * place, 2, Qt.AlignmentFlag.AlignTop)
        beside = row.beside
        for button in row.buttons:
            beside.addWidget(button)
        beside.addStretch(1)
        self._grid.addLayout(beside, 2 * place + 1, 2)
        return row

    def _button(self, action: QAction) -> QPushButton:
        button = QPushButton(f"{action.text()}  {action.shortcut().toString()}", self)
        button.setAccessibleName(action.text())
        button.setAutoDefault(True)
        button.clicked.connect(action.trigger)
        return button

    def show_steps(self, steps: tuple[Step, ...]) -> None:
        """Show how far the book has come; the first step that is not done is the next one."""
        ahead = next((step.code for step in steps if not step.done), "")
        for step in steps:
            row = self._rows[step.code]
            row.mark.setText(DONE if step.done else NEXT if step.code == ahead else LATER)
            row.said.setText(step.said)
            for button in row.buttons:
                button.setVisible(step.code == ahead or (step.done and step.code == "people"))
        buttons = self._rows[ahead].buttons if ahead else ()
        self._first = buttons[0] if buttons else self
        if self.isVisible():
            self.take_focus()

    def take_focus(self) -> None:
        """Put the focus on the easy thing to do."""
        self._first.setFocus()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        edge = theme.px(32)
        self._layout.setContentsMargins(edge, edge, edge, edge)
        self._layout.setSpacing(theme.px(14))
        self._grid.setHorizontalSpacing(theme.px(14))
        self._grid.setVerticalSpacing(theme.px(10))
        for row in self._rows.values():
            row.said.setMaximumWidth(theme.px(720))
            row.beside.setSpacing(theme.px(10))
        self._text.setMaximumWidth(theme.px(820))


class _Row(NamedTuple):
    mark: QLabel
    name: QLabel
    said: QLabel
    buttons: tuple[QPushButton, ...]
    beside: QHBoxLayout
