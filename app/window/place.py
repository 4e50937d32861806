"""Where the window stood: given back only on a screen that still exists."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QRect, QSize
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QWidget

from app.window.early import Early

#: The size of a first start, in logical pixels, no larger than the screen.
FIRST = QSize(1440, 900)


def restore(window: QWidget, settings: Early) -> None:
    """Put the window where it stood, or in the middle of the screen if that place is gone."""
    screens = {screen.name(): screen.availableGeometry() for screen in QGuiApplication.screens()}
    wanted = _rectangle(settings.place)
    area = screens.get(settings.screen)
    if area is None or not wanted.isValid() or not _reachable(wanted, area):
        area = QGuiApplication.primaryScreen().availableGeometry()
        wanted = QRect(area.topLeft(), (wanted.size() if wanted.isValid() else FIRST).boundedTo(area.size()))
        wanted.moveCenter(area.center())
    window.setGeometry(wanted)


def _rectangle(text: str) -> QRect:
    """The rectangle written as "x y width height"; an invalid one for anything else."""
    parts = text.split()
    numbers = [int(part) for part in parts if part.lstrip("-").isdecimal()]
    return QRect(*numbers) if len(numbers) == len(parts) == 4 else QRect()


def _reachable(wanted: QRect, area: QRect) -> bool:
    """Whether enough of the window's upper edge lies on the screen to take hold of it."""
    edge = QRect(wanted.x(), wanted.y(), wanted.width(), 40)
    shared = edge.intersected(area)
    return shared.width() >= min(200, wanted.width()) and shared.height() >= 20


def kept(window: QWidget) -> dict[str, Any]:
    """The window's place as it is now, as settings."""
    at = window.normalGeometry() if window.isMaximized() else window.geometry()
    screen = window.screen()
    return {
        "place": f"{at.x()} {at.y()} {at.width()} {at.height()}",
        "screen": screen.name() if screen is not None else "",
        "full": window.isMaximized(),
    }
