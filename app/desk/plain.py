"""The csv and the data file that go out, as the text they are."""

from __future__ import annotations

from PySide6.QtGui import QResizeEvent, QTextCursor, QTextOption
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from app.jobs.sending import Made
from app.window.house import House
from app.window.theme import TEXT, Theme
from inspection.words.say import word

#: Characters shown; a longer file is read with a program made for it.
MOST_SHOWN = 400_000


class PlainFace(QPlainTextEdit):
    """A file as text that can be read, searched by eye and copied, never changed."""

    def __init__(self, face: str, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.made: Made | None = None
        self.setReadOnly(True)
        self.setTabChangesFocus(True)
        self.setWordWrapMode(QTextOption.WrapMode.WrapAnywhere if face == "data" else QTextOption.WrapMode.NoWrap)
        self.setAccessibleName(word(f"desk.face.{face}"))
        self.take_theme(house.theme)

    def show_made(self, made: Made) -> None:
        """Show a file's text, of a long one the beginning."""
        if made is self.made:
            return
        self.made = made
        text = made.content.decode("utf-8-sig", "replace")
        cut = text[:MOST_SHOWN]
        more = f"\n{word('desk.text.more', n=len(text) - MOST_SHOWN)}" if len(text) > MOST_SHOWN else ""
        self.setPlainText(cut + more)
        self.moveCursor(QTextCursor.MoveOperation.Start)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lines are broken anew; the one at the top stays there, as far as a single long line allows."""
        top = self.verticalScrollBar().value() == 0
        super().resizeEvent(event)
        if top:
            self.verticalScrollBar().setValue(0)

    def take_theme(self, theme: Theme) -> None:
        """Show it at another scale."""
        self.setFont(theme.font(TEXT))
