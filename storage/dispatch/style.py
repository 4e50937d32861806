"""The look of what is printed: colours of resources/style and the mark of each verdict."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from msgspec import Struct


class Mark(Struct, frozen=True):
    """How a verdict is marked beside its word: a character of its own shape, and a colour of the palette."""

    mark: str
    colour: str


@cache
def palette(name: str = "print") -> dict[str, str]:
    """The colours of a theme ("light", "dark", "print") by what they are for, as #rrggbb."""
    return dict(_table("palette.toml")[name])


@cache
def marks() -> dict[str, Mark]:
    """The mark of each verdict, by the verdict's value."""
    return {state: Mark(**entry) for state, entry in _table("verdicts.toml").items()}


def mark_of(state: str) -> Mark:
    """The mark of a verdict; one without an entry is marked as open."""
    return marks().get(state) or marks()["open"]


def _table(name: str) -> dict[str, dict[str, str]]:
    return tomllib.loads((files("resources") / "style" / name).read_text(encoding="utf-8"))
