"""Plans under way, kept beside the book."""

from __future__ import annotations

import os

import pytest

from inspection.drawing.editing import Draft, DraftRow
from storage.book.failures import BookFailure
from storage.drafts import drafts_place, drop_draft, keep_draft, kept_drafts


@pytest.fixture(autouse=True)
def own_data_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def draft(number: str = "KT-1") -> Draft:
    return Draft({"number": number}, (DraftRow({"number": "1", "requirement": "⌀.5 ±.001"}, "A"), DraftRow()), "P", "I")


def test_a_draft_comes_back_as_it_was(tmp_path) -> None:
    book = tmp_path / "shöp 1.tenthwright"
    assert kept_drafts(book) == ((), ())
    keep_draft(book, "new-1", draft())
    keep_draft(book, "new-1", draft("KT-2"))
    ((kept,), said) = kept_drafts(book)
    assert (kept.name, kept.draft, said) == ("new-1", draft("KT-2"), ())
    assert kept_drafts(tmp_path / "other.tenthwright") == ((), ())
    drop_draft(book, "new-1")
    drop_draft(book, "new-1")
    assert kept_drafts(book) == ((), ())


def test_the_last_kept_comes_first(tmp_path) -> None:
    book = tmp_path / "shop.tenthwright"
    for at, name in enumerate(("b", "a", "c")):
        keep_draft(book, name, draft(name))
        os.utime(drafts_place(book) / f"{name}.draft.json", (1_000 + at, 1_000 + at))
    assert [kept.name for kept in kept_drafts(book)[0]] == ["c", "a", "b"]


def test_a_damaged_draft_is_told_and_left(tmp_path) -> None:
    book = tmp_path / "shop.tenthwright"
    keep_draft(book, "whole", draft())
    broken = drafts_place(book) / "broken.draft.json"
    broken.write_bytes(b'{"rows": [3')
    found, said = kept_drafts(book)
    assert [kept.name for kept in found] == ["whole"]
    assert [reason.code for reason in said] == ["drafts.unreadable"] and broken.exists()


def test_a_folder_that_cannot_be_made_is_told(tmp_path, monkeypatch) -> None:
    (tmp_path / "data").write_text("a file where the folder should be")
    with pytest.raises(BookFailure):
        keep_draft(tmp_path / "shop.tenthwright", "new-1", draft())
