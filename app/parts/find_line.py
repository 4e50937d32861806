"""A line in which something in a list is looked for, while the list is moved through."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QLineEdit, QWidget

#: Keys that are given on to the list.
GIVEN_ON = frozenset({Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown})
_PLAIN = (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)


def is_no_letter(event: QKeyEvent) -> bool:
    """Whether a letter comes with Alt: a key that does nothing here, which a line would write down."""
    return event.modifiers() == Qt.KeyboardModifier.AltModifier and bool(event.text())


class FindLine(QLineEdit):
    """Keeps the focus: Up, Down and the page keys move in the list. ``given_on`` carries such a key."""

    given_on = Signal(object)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setPlaceholderText(name)
        self.setAccessibleName(name)

    def event(self, event: QEvent) -> bool:
        """Copying with nothing selected is meant for the list, not for the line."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.matches(QKeySequence.StandardKey.Copy)
            and not self.hasSelectedText()
        ):
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A key that means nothing in a line goes to the list."""
        if event.key() in GIVEN_ON and event.modifiers() in _PLAIN:
            self.given_on.emit(event.key())
        elif is_no_letter(event):
            event.ignore()
        else:
            super().keyPressEvent(event)
