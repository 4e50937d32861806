"""A page of text to be read, by keys."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QTextBrowser, QWidget


class Page(QTextBrowser):
    """Text to be read: scrolled by key, left by Esc, agreed to by Enter."""

    agreed = Signal()
    left = Signal()

    def __init__(self, name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setOpenLinks(False)
        self.setTabChangesFocus(True)
        self.document().setDocumentMargin(0)

    def show_page(self, html: str, *, from_top: bool) -> None:
        """Show another page."""
        place = 0 if from_top else self.verticalScrollBar().value()
        self.setHtml(html)
        self.verticalScrollBar().setValue(place)

    def turn(self, pages: int) -> None:
        """Scroll by so many pages, whoever has the focus."""
        bar = self.verticalScrollBar()
        bar.setValue(bar.value() + pages * bar.pageStep())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter agrees, Esc leaves, the others scroll."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.agreed.emit()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
