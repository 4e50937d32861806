"""A badge inside an entry field, at its right: the unit that is read there. Typed text does not run under it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtWidgets import QLabel, QLineEdit

from app.window.theme import Theme


class Badge(QLabel):
    """Keeps its place in ``field``, however large that becomes."""

    def __init__(self, theme: Theme, field: QLineEdit) -> None:
        super().__init__(field)
        self._theme, self._field = theme, field
        self.setProperty("look", "soft")
        self.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        field.installEventFilter(self)

    def show_text(self, text: str) -> None:
        """Show another unit, or none."""
        self.setText(text)
        self._place()

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._theme = theme
        self._place()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The field has another size."""
        if event.type() == QEvent.Type.Resize and watched is self._field:
            self._place()
        return super().eventFilter(watched, event)

    def _place(self) -> None:
        px = self._theme.px
        wide = self.fontMetrics().horizontalAdvance(self.text()) + px(6)
        self.setGeometry(self._field.width() - wide - px(14), 0, wide, self._field.height())
        self._field.setTextMargins(0, 0, wide + px(8), 0)
