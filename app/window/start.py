"""Start-up: the first frame with an entry that takes keys, then everything heavy."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.window import place, theme
from app.window.frame import Frame
from app.window.house import House
from app.window.sitting import Sitting
from app.window.style import dress

if TYPE_CHECKING:
    from storage.settings import Settings


def run(arguments: list[str] | None = None) -> int:
    """Open the window on the book named first in ``arguments``, or on the last one, or on the shop's own.

    Returns when the window is closed, with everything handed in on disk.
    """
    from storage.settings import load_settings, save_settings

    given = sys.argv[1:] if arguments is None else arguments
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    settings, said = load_settings()
    frame, sitting = furnish(app, settings)
    path = Path(given[0]) if given else Path(settings.book) if settings.book else None
    frame.first_painted.connect(lambda: sitting.begin(path))
    if said:
        frame.first_painted.connect(lambda: sitting.house.notice(sitting.house.say(*said)))
    frame.showMaximized() if settings.full else frame.show()
    code = app.exec()
    save_settings(settings_after(settings, frame, sitting))
    return code


def furnish(app: QApplication, settings: Settings) -> tuple[Frame, Sitting]:
    """The frame in the person's own look, not yet shown, and the sitting that will open a book."""
    from app.background.opening import Opening
    from storage.typeface import typeface

    faces = typeface()
    family = theme.add_typeface(faces.regular, faces.bold)
    look = theme.load(_theme_name(app, settings.theme), settings.scale or 100, family)
    dress(app, look)
    house = House(look)
    house.units = "" if settings.units == "drawing" else settings.units
    frame = Frame(house)
    house.setParent(frame)
    place.restore(frame, settings)
    remembered = {"book": settings.book, "person": settings.person, "sheet": settings.sheet}
    return frame, Sitting(frame, remembered, Opening)


def _theme_name(app: QApplication, wanted: str) -> str:
    if wanted in theme.NAMES:
        return wanted
    return "dark" if app.styleHints().colorScheme() is Qt.ColorScheme.Dark else "light"


def settings_after(settings: Settings, frame: Frame, sitting: Sitting) -> Settings:
    """The settings with everything the person changed in this run."""
    from msgspec.structs import replace

    look = frame.house.theme
    changed: dict[str, object] = {**sitting.remembered, **place.kept(frame), "units": frame.house.units or "drawing"}
    if settings.theme != "system" or look.name != "light":
        changed["theme"] = look.name
    if settings.scale or look.scale != 100:
        changed["scale"] = look.scale
    return replace(settings, **changed)
