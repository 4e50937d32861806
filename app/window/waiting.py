"""The page before a sheet is here: an entry that takes keys from the first frame and hands them on in order."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QVBoxLayout, QWidget

from app.window.theme import Theme
from app.window.words import word

#: Shown in place of a key that ends an entry, until the entry is delivered.
RETURN_SIGN = " ⏎ "


class HeldEntry(QLineEdit):
    """Looks like the entry and keeps every key press, to be delivered to the real one."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("entry")
        self.setAccessibleName(word("waiting.entry"))
        self._held: list[QKeyEvent] = []

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:  # there is no question yet that it could leave open
            event.ignore()
            return
        self._held.append(event.clone())
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.setText(self.text() + RETURN_SIGN)
        else:
            super().keyPressEvent(event)
        event.accept()

    def hand_over(self, target: QWidget) -> int:
        """Deliver every held key to ``target`` in the order typed; how many there were."""
        held, self._held = self._held, []
        self.clear()
        for event in held:
            QApplication.sendEvent(target, event)
        return len(held)

    def forget(self) -> None:
        """Drop what was typed: there is no row it could belong to."""
        self._held.clear()
        self.clear()


class WaitingPage(QWidget):
    """Which book is being opened, and the entry."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self._opening = QLabel(self)
        self._opening.setProperty("look", "title")
        self.entry = HeldEntry(self)
        self._kept = QLabel(word("waiting.keys"), self)
        self._kept.setProperty("look", "soft")
        self._kept.setWordWrap(True)
        layout = self._layout = QVBoxLayout(self)
        layout.addWidget(self._opening)
        layout.addStretch(1)
        layout.addWidget(self.entry)
        layout.addWidget(self._kept)
        self.setFocusProxy(self.entry)
        self.take_theme(theme)

    def show_book(self, book: str) -> None:
        """Name the book that is being opened."""
        self._opening.setText(word("waiting.opening", book=book))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        edge = theme.px(24)
        self._layout.setContentsMargins(edge, edge, edge, edge)
        self.entry.setMaximumWidth(theme.px(480))
        self.entry.setMinimumHeight(theme.px(72))
