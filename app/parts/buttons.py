"""Actions as buttons, and a row of them that never asks for more room than there is."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QWidget

from app.window.theme import Theme

#: The property of an action that says why it does nothing just now.
_RESTS = "rests"


def rest(action: QAction, why: str) -> None:
    """Let an action rest: its key still answers, and says why; "" lets it do again what it is for."""
    action.setProperty(_RESTS, why)
    action.setToolTip(why or action.text())


class ActionButton(QPushButton):
    """An action as a button: its name and key, as they are just now; pressed down where the action is checked, quiet
    where it rests."""

    def __init__(self, action: QAction, parent: QWidget) -> None:
        super().__init__(parent)
        self._action = action
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        if action.isCheckable():
            self.setCheckable(True)
            self.setProperty("look", "filter")
        self.clicked.connect(action.trigger)
        action.changed.connect(self._dress)
        self._dress()

    def _dress(self) -> None:
        self.setText(f"{self._action.text()}  {self._action.shortcut().toString()}")
        self.setAccessibleName(self._action.text())
        self.setEnabled(self._action.isEnabled())
        self.setChecked(self._action.isChecked())
        self._show_rest(str(self._action.property(_RESTS) or ""))

    def _show_rest(self, why: str) -> None:
        look = "idle" if why else "filter" if self.isCheckable() else ""
        self.setToolTip(why)
        self.setAccessibleDescription(why)
        if look != (self.property("look") or ""):
            self.setProperty("look", look)
            self.style().polish(self)


class ButtonRow(QWidget):
    """Buttons side by side, as many as have room; the last ones fold away, their keys still work."""

    def __init__(self, buttons: Sequence[QPushButton], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.buttons = tuple(buttons)
        self._layout = QHBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        for button in self.buttons:
            self._layout.addWidget(button)
        self._layout.addStretch(1)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Room for all of them, folded away or not."""
        hints = [button.sizeHint() for button in self.buttons]
        wide = sum(hint.width() for hint in hints) + self._layout.spacing() * max(0, len(hints) - 1)
        return QSize(wide, max((hint.height() for hint in hints), default=0))

    def minimumSizeHint(self) -> QSize:
        return QSize(0, self.sizeHint().height())

    def fold(self) -> None:
        """Show the buttons that have room, in their order."""
        left = self.width()
        for button in self.buttons:
            button.setVisible(button.sizeHint().width() <= left)
            left -= button.sizeHint().width() + self._layout.spacing()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fold()

    def event(self, event: QEvent) -> bool:
        """A button that got other words takes other room."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
            self.fold()
        return super().event(event)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(8))
        self.updateGeometry()
        self.fold()
