"""A cache folder of its own for each test that founds the typeface."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from storage import typeface as subject

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")


def forget() -> None:
    for remembered in (subject.typeface, subject.characters, subject._own_folder):
        remembered.cache_clear()


@pytest.fixture
def cache_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    folder = tmp_path / "cache with a space"
    monkeypatch.setattr(subject, "user_cache_path", lambda _name: folder)
    forget()
    yield folder
    forget()
