"""Start-up: the first frame with an entry that takes keys, then everything heavy."""

from __future__ import annotations

import sys
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from app.window import place, theme
from app.window.early import Early, early
from app.window.frame import Frame
from app.window.house import House
from app.window.sitting import Sitting
from app.window.style import dress

if TYPE_CHECKING:
    from app.background.opening import Opening
    from storage.settings import Settings


def run(arguments: list[str] | None = None) -> int:
    """Open the window on the book named first in ``arguments``, or on the last one, or on the shop's own.

    Returns when the window is closed, with everything handed in on disk.
    """
    given = sys.argv[1:] if arguments is None else arguments
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    settings = early()
    frame, sitting = furnish(app, settings)
    path = Path(given[0]) if given else Path(settings.book) if settings.book else None
    frame.first_painted.connect(partial(_begin, sitting, path))
    if settings.full:
        frame.showMaximized()
    else:
        frame.show()
    code = app.exec()
    _remember(frame, sitting)
    return code


def _begin(sitting: Sitting, path: Path | None) -> None:
    """After the first frame: open the book, and say what is wrong with the settings, if anything is."""
    sitting.begin(path)
    from storage.settings import load_settings

    _settings, said = load_settings()
    if said:
        sitting.house.notice(sitting.house.say(*said))


def _remember(frame: Frame, sitting: Sitting) -> None:
    """Keep what the person changed; a settings file that cannot be written costs no more than that."""
    from storage.book.failures import BookFailure
    from storage.settings import load_settings, save_settings

    with suppress(BookFailure):
        save_settings(settings_after(load_settings()[0], frame, sitting))


def furnish(app: QApplication, settings: Early) -> tuple[Frame, Sitting]:
    """The frame in the person's own look, not yet shown, and the sitting that will open a book."""
    from storage.typeface import typeface

    faces = typeface()
    family = theme.add_typeface(faces.regular, faces.bold)
    look = theme.load(_theme_name(app, settings.theme), settings.scale or 100, family)
    dress(app, look)
    house = House(look)
    house.units = "" if settings.units == "drawing" else settings.units
    house.papers, house.folder = {**settings.papers, "": settings.paper}, settings.folder
    house.stamps = settings.stamps
    frame = Frame(house)
    house.setParent(frame)
    place.restore(frame, settings)
    remembered = {"book": settings.book, "person": settings.person, "sheet": settings.sheet}
    return frame, Sitting(frame, remembered, _opening)


def _opening(path: Path | None) -> Opening:
    from app.background.opening import Opening

    return Opening(path)


def _theme_name(app: QApplication, wanted: str) -> str:
    if wanted in theme.NAMES:
        return wanted
    return "dark" if app.styleHints().colorScheme() is Qt.ColorScheme.Dark else "light"


def settings_after(settings: Settings, frame: Frame, sitting: Sitting) -> Settings:
    """The settings with everything the person changed in this run."""
    from msgspec.structs import replace

    house, look = frame.house, frame.house.theme
    changed: dict[str, object] = {**sitting.remembered, **place.kept(frame), "units": house.units or "drawing"}
    papers = {customer: paper for customer, paper in house.papers.items() if customer}
    changed |= {"paper": house.papers.get("", settings.paper), "papers": papers, "folder": house.folder}
    changed["stamps"] = house.stamps
    if settings.theme != "system" or look.name != "light":
        changed["theme"] = look.name
    if settings.scale or look.scale != 100:
        changed["scale"] = look.scale
    return replace(settings, **changed)
