"""Every character that the program may show has a glyph: words, tables, crib, demo job, style."""

from importlib.resources import files
from importlib.resources.abc import Traversable

import pytest

from storage.typeface import missing_glyphs

SHOWN = ("words", "tables", "crib", "demo", "style", "intake")
TEXTS = (".toml", ".csv", ".txt", ".json")


def texts(folder: Traversable) -> list[Traversable]:
    if not folder.is_dir():
        return []
    found: list[Traversable] = []
    for entry in folder.iterdir():
        if entry.is_dir():
            found += texts(entry)
        elif entry.name.endswith(TEXTS):
            found.append(entry)
    return found


@pytest.mark.parametrize("folder", SHOWN)
def test_every_character_has_a_glyph(folder: str) -> None:
    for text in texts(files("resources") / folder):
        for number, line in enumerate(text.read_text(encoding="utf-8-sig").splitlines(), start=1):
            assert not missing_glyphs(line), f"{folder}/{text.name}, line {number}"


def test_there_is_something_to_look_at() -> None:
    assert texts(files("resources") / "words")
    assert texts(files("resources") / "style")
