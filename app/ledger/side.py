"""What stands beside the list: the sheet chosen, its journal, or the part in time."""

from __future__ import annotations

from enum import Enum

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QTextBrowser, QVBoxLayout, QWidget

from app.window.theme import Theme
from inspection.words.say import word


class Face(Enum):
    """What is shown beside the list."""

    SHEET = "sheet"
    JOURNAL = "journal"
    PART = "part"


class Page(QTextBrowser):
    """Text to be read; Enter and Esc are the room's."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setOpenLinks(False)
        self.setTabChangesFocus(True)
        self.document().setDocumentMargin(0)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter and Esc go on to the room, the others scroll."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Escape):
            event.ignore()
        else:
            super().keyPressEvent(event)


class Side(QWidget):
    """A card with one page; ``ran_low`` says that its end is in sight."""

    ran_low = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.face = Face.SHEET
        self._html = ""
        self.page = Page(self)
        self._layout = QVBoxLayout(self)
        self._layout.addWidget(self.page)
        self.page.verticalScrollBar().valueChanged.connect(self._scrolled)
        self.take_theme(theme)

    def show_page(self, html: str, *, from_top: bool) -> None:
        """Show another page, or the same one changed."""
        self.page.setAccessibleName(word(f"ledger.page.{self.face.value}"))
        if html == self._html:
            return
        self._html = html
        place = 0 if from_top else self.page.verticalScrollBar().value()
        self.page.setHtml(html)
        self.page.verticalScrollBar().setValue(place)

    def text(self) -> str:
        """What is shown, as plain text."""
        return self.page.toPlainText()

    def turn(self, pages: int) -> None:
        """Scroll by so many pages, whoever has the focus."""
        bar = self.page.verticalScrollBar()
        bar.setValue(bar.value() + pages * bar.pageStep())
        self._scrolled(bar.value())

    def _scrolled(self, value: int) -> None:
        bar = self.page.verticalScrollBar()
        if value >= bar.maximum() - bar.pageStep() // 2:
            self.ran_low.emit()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        edge = theme.px(16)
        self._layout.setContentsMargins(edge, edge, theme.px(8), edge)
