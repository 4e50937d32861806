"""The page of a book that is not there or could not be opened: what happened, and what can be done now."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.window.theme import Theme


class StoppedPage(QWidget):
    """A heading, a sentence, and one button for each thing that can be done, the easy one first."""

    def __init__(self, actions: tuple[QAction, ...], theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._title, self._text, self._next = QLabel(self), QLabel(self), QLabel(self)
        self._title.setProperty("look", "title")
        self._next.setProperty("look", "soft")
        layout = self._layout = QVBoxLayout(self)
        for label in (self._title, self._text, self._next):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setTextInteractionFlags(
                Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
            )
            layout.addWidget(label)
        row = QHBoxLayout()
        self._first: QWidget = self
        self._buttons = {action: self._button(action, row) for action in actions}
        row.addStretch(1)
        layout.addLayout(row)
        layout.addStretch(1)
        self.take_theme(theme)

    def _button(self, action: QAction, row: QHBoxLayout) -> QPushButton:
        button = QPushButton(f"{action.text()}  {action.shortcut().toString()}", self)
        button.setAccessibleName(action.text())
        button.setAutoDefault(True)
        button.clicked.connect(action.trigger)
        row.addWidget(button)
        return button

    def tell(self, title: str, text: str, next_step: str, offered: tuple[QAction, ...]) -> None:
        """Show what happened and offer these actions; the first takes the focus."""
        self._title.setText(title)
        self._text.setText(text)
        self._next.setText(next_step)
        self._next.setVisible(bool(next_step))
        for action, button in self._buttons.items():
            button.setVisible(action in offered)
        self._first = self._buttons[offered[0]]

    def take_focus(self) -> None:
        """Put the focus on the easy thing to do."""
        self._first.setFocus()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        edge = theme.px(32)
        self._layout.setContentsMargins(edge, edge, edge, edge)
        self._layout.setSpacing(theme.px(14))
        for label in (self._title, self._text, self._next):
            label.setMaximumWidth(theme.px(820))
