"""What the first frame needs of a person's settings, read light.

The settings have an owner, ``storage.settings``, which reads the same file again after the first frame, says what is
wrong with it, and alone writes it. Reading it here first spares the first frame that module's imports.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, NamedTuple

from platformdirs import user_config_path


class Early(NamedTuple):
    """Fields and defaults as in ``Settings``."""

    theme: str = "system"
    scale: int = 0
    units: str = "drawing"
    book: str = ""
    person: str = ""
    sheet: str = ""
    place: str = ""
    screen: str = ""
    full: bool = False
    paper: str = "letter"
    papers: dict[str, str] = {}  # noqa: RUF012 - read, never changed
    folder: str = ""
    stamps: bool = False


def settings_place() -> Path:
    """Where the settings lie."""
    return user_config_path("tenthwright", appauthor=False) / "settings.toml"


def early(path: Path | None = None) -> Early:
    """The settings as far as they can be read; whatever cannot keeps its default in silence."""
    try:
        table = tomllib.loads((path or settings_place()).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        table = {}
    found: dict[str, Any] = {name: table.get(name) for name in Early._fields}
    defaults = Early()._asdict()
    kept = {name: value for name, value in found.items() if type(value) is type(defaults[name])}
    return Early(**kept)
