"""The look of what is printed: colours of resources/style and the mark of each verdict."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from msgspec import Struct


class Mark(Struct, frozen=True):
    """How a verdict is marked beside its word: a character of its own shape, and a colour of the palette."""

    mark: str
    colour: str


@cache
def palette() -> dict[str, str]:
    """The colours of the printed sheet by what they are for, as #rrggbb."""
    return dict(_table("print.toml"))


@cache
def marks() -> dict[str, Mark]:
    """The mark of each verdict, by the verdict's value."""
    return {state: Mark(**entry) for state, entry in _table("verdicts.toml").items()}


def mark_of(state: str) -> Mark:
    """The mark of a verdict; one without an entry is marked as open."""
    return marks().get(state) or marks()["open"]


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads((files("resources") / "style" / name).read_text(encoding="utf-8"))
