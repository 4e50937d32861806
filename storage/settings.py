"""A person's taste: one TOML file in the user's config folder. Nothing in it moves a verdict."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from inspection.reasons import Reason
from storage.book.failures import telling
from storage.files import set_aside, write_file

_ALLOWED: dict[str, tuple[object, ...]] = {
    "theme": ("system", "light", "dark"),
    "units": ("drawing", "in", "mm"),
    "paper": ("letter", "a4"),
    "scale": (0, 100, 125, 150, 175, 200, 225, 250),
}


class Settings(Struct, frozen=True):
    """What a person likes. ``scale`` is in percent, 0 as the screen says; ``units`` is the display only ("drawing",
    "in" or "mm"). ``book`` is the path of the book last opened, ``person`` and ``sheet`` the identities last chosen.
    ``papers`` is the paper of customers that get another one than ``paper``; ``folder`` is where files went last.
    ``stamps`` is whether room is left for a time stamp in what is signed here.
    ``place`` is where the window stood, "x y width height" in logical pixels of ``screen``; ``full`` if maximized."""

    theme: str = "system"
    scale: int = 0
    units: str = "drawing"
    paper: str = "letter"
    book: str = ""
    person: str = ""
    sheet: str = ""
    place: str = ""
    screen: str = ""
    full: bool = False
    papers: dict[str, str] = {}
    folder: str = ""
    stamps: bool = False


def default_settings_place() -> Path:
    """Where the settings lie unless another file is named."""
    from platformdirs import user_config_path

    return user_config_path("tenthwright", appauthor=False) / "settings.toml"


def load_settings(path: Path | None = None) -> tuple[Settings, tuple[Reason, ...]]:
    """The settings, and what is to be said about the file.

    A missing file gives the defaults in silence. A file that cannot be read, or a value that is not one of those
    allowed, gives the default in its place and a reason; the file is left as it is.
    """
    path = path or default_settings_place()
    table, said = _table(path)
    kept: dict[str, Any] = {}
    for name, default in msgspec.structs.asdict(Settings()).items():
        value = table.get(name, default)
        if type(value) is type(default) and value in _ALLOWED.get(name, (value,)):
            kept[name] = value
        else:
            said = (*said, Reason("settings.value", {"file": path.name, "setting": name, "value": str(value)}))
    return Settings(**kept), said


def _table(path: Path) -> tuple[dict[str, Any], tuple[Reason, ...]]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8")), ()
    except FileNotFoundError:
        return {}, ()
    except (OSError, ValueError):
        return {}, (Reason("settings.damaged", {"file": path.name, "folder": str(path.parent)}),)


def save_settings(settings: Settings, path: Path | None = None) -> None:
    """Write the settings whole or not at all. What a later program added to the file is kept; a file that could not
    be read is set aside under another name. Raises BookFailure if the disk or folder will not have it."""
    path = path or default_settings_place()
    with telling(path, "file"):
        path.parent.mkdir(parents=True, exist_ok=True)
        table, damaged = _table(path)
        if damaged and path.exists():
            set_aside(path)
    write_file(path, msgspec.toml.encode({**table, **msgspec.structs.asdict(settings)}))
