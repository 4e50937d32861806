"""A backup in small steps: acts go through between them and are in the copy, and a bad copy never gets its name."""

from __future__ import annotations

import pytest

from inspection.sheet import acts
from storage.book import backup
from storage.book.door import Book
from storage.book.failures import BookFailure
from storage.book.verify import verify_book


def test_acts_between_the_steps_are_in_the_copy(told, tmp_path, monkeypatch):
    monkeypatch.setattr(backup, "PAGES", 2)
    row = told.sheet.plan.characteristics[0].identity
    steps = []

    def between(done: int, total: int) -> None:
        steps.append((done, total))
        if len(steps) % 5 == 1 and done < total:
            told.do(acts.WriteNote(sheet=told.sheet_id, characteristic=row, text=f"at {done}"))

    copy = tmp_path / "copy.tenthwright"
    told.book.back_up(copy, between)
    assert len(steps) > 10
    assert steps[-1][0] == steps[-1][1]
    with Book.open(copy) as book:
        assert book.sheet(told.sheet_id) == told.sheet
        assert len(book.sheet(told.sheet_id).notes) > 2
    assert verify_book(copy).whole


def test_a_backup_that_is_stopped_leaves_nothing(told, tmp_path):
    class Stopped(Exception):
        pass

    def stop(done: int, total: int) -> None:
        raise Stopped

    (tmp_path / "out").mkdir()
    with pytest.raises(Stopped):
        told.book.back_up(tmp_path / "out" / "copy.tenthwright", stop)
    assert list((tmp_path / "out").iterdir()) == []
    told.take(1, piece=1)


def test_a_backup_never_takes_the_place_of_a_file(told, tmp_path):
    (tmp_path / "kept.tenthwright").write_bytes(b"an earlier copy")
    with pytest.raises(BookFailure) as failed:
        told.book.back_up(tmp_path / "kept.tenthwright")
    assert failed.value.reasons[0].code == "file.exists"
    assert (tmp_path / "kept.tenthwright").read_bytes() == b"an earlier copy"


def test_a_damaged_book_gives_no_backup(story, tmp_path):
    """One page of the journal is nonsense: the copy would hold it too, so it gets no name."""
    content = bytearray(story.path.read_bytes())
    middle = len(content) // 8192 * 4096
    content[middle : middle + 4096] = bytes([0xA5]) * 4096
    story.path.write_bytes(content)
    (tmp_path / "out").mkdir()
    try:
        with Book.open(story.path) as book, pytest.raises(BookFailure) as failed:
            book.back_up(tmp_path / "out" / "copy.tenthwright")
    except BookFailure as at_opening:
        assert at_opening.reasons[0].code == "book.damaged"
    else:
        assert failed.value.reasons[0].code == "book.damaged"
    assert list((tmp_path / "out").iterdir()) == []
