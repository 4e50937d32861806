"""The window's own words, read light: this runs before the first frame, the speaker of reasons comes later."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import resources

_WORDS = Path(resources.__path__[0]) / "words"


@cache
def _catalogue(language: str) -> dict[str, Any]:
    return tomllib.loads((_WORDS / language / "window.toml").read_text(encoding="utf-8"))


def word(code: str, language: str = "en", **parts: object) -> str:
    """The text of a label, button or sentence of the window; KeyError if the catalogue has none."""
    text: str = _catalogue(language)[code]
    return text.format(**parts) if parts else text
