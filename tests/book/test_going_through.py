"""Verifying finds the same however the work is shared out and however little of the book is held meanwhile."""

from __future__ import annotations

import subprocess
from typing import Any

import pytest

from storage.book import halves, passages, streams
from storage.book.journal import CHUNK
from storage.book.verify import verify_book
from storage.seals.check import Verified
from tests.book.test_verify import behind

HALVED = {"WORTH_IT": 0, "HEAD_START": 0}
SHARED_OUT: dict[str, dict[Any, dict[str, Any]]] = {
    "let go at once": {streams: {"HELD": 0, "PARTS_HELD": 0}},
    "in two processes": {halves: HALVED},
    "in two processes, one of which fails": {
        halves: {"WORTH_IT": 0, "HEAD_START": 0, "_BEGIN": "raise SystemExit(1) # {path}"}
    },
}


@pytest.mark.parametrize("how", SHARED_OUT)
def test_the_same_is_found_however_it_is_shared_out(story: Any, monkeypatch: pytest.MonkeyPatch, how: str) -> None:
    whole, altered = verify_book(story.path), tampered(story)
    monkeypatch.setattr("storage.book.passages._PIECE", streams_in_pieces_of(7))
    for module, values in SHARED_OUT[how].items():
        for name, value in values.items():
            monkeypatch.setattr(module, name, value)
    again = verify_book(story.path)
    assert sorted(map(str, again.faults)) == sorted(map(str, altered.faults))
    assert len(altered.faults) > 10 and whole.whole
    assert again.statements == altered.statements


def streams_in_pieces_of(entries: int) -> str:
    return passages._PIECE.replace(f"LIMIT {CHUNK}", f"LIMIT {entries}")


def tampered(story: Any) -> Verified:
    """Something altered in the first half and in the second, in rows, in entries and in streams that cross over."""
    with behind(story.path) as connection:
        connection.execute("UPDATE reading SET amount = amount + 1")
        connection.execute("DELETE FROM standing WHERE sequence % 3 = 0")
        connection.execute(
            "UPDATE journal SET person = 'someone' WHERE sequence IN (3, (SELECT max(sequence) FROM journal))"
        )
    return verify_book(story.path)


def test_stopping_leaves_no_process_behind(story: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[subprocess.Popen[bytes]] = []
    begin = halves._begun
    monkeypatch.setattr(halves, "WORTH_IT", 0)
    monkeypatch.setattr(halves, "_begun", lambda *asked: begun.append(begin(*asked)) or begun[-1])  # type: ignore[arg-type,func-returns-value]

    class Stop(Exception):
        pass

    def stop(_done: int, _total: int) -> None:
        raise Stop

    with pytest.raises(Stop):
        verify_book(story.path, stop)
    assert [process.poll() is not None for process in begun] == [True]
