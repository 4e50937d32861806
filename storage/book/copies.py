"""A book held against its copies at other places that this station knows: the same, behind, ahead, or parted.

A copy that can be read is compared by the chains themselves, which part at one entry and never come together again. Of
one that is gone, or lies where nothing answers, only the last head is left, and what can be said by that.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from pathlib import Path

from msgspec import Struct
from sqlalchemy import Connection, text

from inspection.reasons import Part, Reason
from inspection.sheet.chain_head import ChainHead
from inspection.words.say import word
from storage.book.failures import BookFailure
from storage.book.opening import open_book
from storage.book.queries.heads import digest_at, head_now, holds
from storage.book.reaching import PATIENCE
from storage.heads import SeenHead

#: So many sheets of each side are named, those that were worked on first after the two had parted.
NAMED = 3
_SHEETS = text(
    """SELECT issue.number || ' ' ||
    (SELECT group_concat(piece.serial, ', ') FROM piece WHERE piece.sheet = sheet.sheet)
    FROM sheet JOIN plan_issue AS issue ON issue.plan = sheet.plan
    JOIN (SELECT stream, min(sequence) AS first FROM journal WHERE sequence > :after GROUP BY stream) AS touched
    ON touched.stream = sheet.sheet ORDER BY touched.first"""
)


class Copy(Struct, frozen=True):
    """What is to be said of one copy, whether it is a fault, and up to which entry the copy shows the same chain as the
    book (0: nothing)."""

    told: Reason
    fault: bool = False
    proven: int = 0


def copies_of(
    path: Path,
    connection: Connection,
    copies: Iterable[SeenHead],
    settled: Container[ChainHead] = (),
    silent: Container[str] = (),
) -> list[Copy]:
    """What is to be said of the ``copies`` of the book at ``path``, to which ``connection`` leads; ``settled`` are the
    heads of those that somebody knows to have gone another way, ``silent`` the places where nothing answers. Of copies
    that are gone and had got no further than the book only the one that had got farthest is told."""
    found: list[Copy] = []
    gone: list[SeenHead] = []
    for seen in copies:
        compared = _compared(path, connection, seen, settled) if seen.place not in silent else None
        if compared is None:
            gone.append(seen)
        else:
            found.append(compared)
    unanswered = [
        Copy(Reason("head.copy_silent", {"place": seen.place, "n": int(PATIENCE)}))
        for seen in gone
        if seen.place in silent
    ]
    return [*_gone(path, connection, gone, settled), *found, *unanswered]


def _compared(path: Path, connection: Connection, seen: SeenHead, settled: Container[ChainHead]) -> Copy | None:
    """What a copy itself shows; None where it is gone, or another book lies there."""
    try:
        engines = open_book(Path(seen.place), writable=False).engines
    except (BookFailure, OSError, ValueError):
        return None
    try:
        with engines.reading.begin() as other:
            if digest_at(other, 1) != seen.first or not holds(other, seen.head):
                return None
            return _beside(path, connection, Path(seen.place), other, settled)
    finally:
        engines.close()


def _beside(path: Path, ours: Connection, place: Path, theirs: Connection, settled: Container[ChainHead]) -> Copy:
    here, there, same = head_now(ours), head_now(theirs), _parted(ours, theirs)
    parts: dict[str, Part] = {"name": path.name, "place": str(place), "head": here.told, "other": there.told}
    parts |= {"at": here.position, "entry": there.position, "parted": same}
    if here == there:
        return Copy(Reason("head.copy_same", parts), proven=same)
    if same == there.position:
        return Copy(Reason("head.copy_behind", {**parts, "n": here.position - same}), proven=same)
    if same == here.position:
        return Copy(Reason("head.copy_ahead", {**parts, "n": there.position - same}), proven=same)
    if there in settled:
        return Copy(Reason("head.copy_settled", parts), proven=same)
    ways: dict[str, Part] = {"here": _way(ours, same, here), "there": _way(theirs, same, there)}
    return Copy(Reason("head.copy_apart", {**parts, **ways}), fault=True, proven=same)


def _parted(ours: Connection, theirs: Connection) -> int:
    """The last entry that two chains share: since each entry holds the digest of the one before, looked for by
    halving."""
    low, high = 1, min(head_now(ours).position, head_now(theirs).position)
    while low < high:
        middle = (low + high + 1) // 2
        if digest_at(ours, middle) == digest_at(theirs, middle):
            low = middle
        else:
            high = middle - 1
    return low


def _way(connection: Connection, after: int, head: ChainHead) -> str:
    """What one of the two holds behind the entry at which they part: how much, and on which sheets."""
    sheets = connection.execute(_SHEETS, {"after": after}).scalars().all()
    named = "; ".join(sheets[:NAMED])
    on = word("head.way.on" if sheets else "head.way.no_sheet", sheets=named, n=max(len(sheets) - NAMED, 0))
    return word("head.way", n=head.position - after, head=head.told, on=on)


def _gone(path: Path, connection: Connection, gone: list[SeenHead], settled: Container[ChainHead]) -> Iterator[Copy]:
    at = head_now(connection)
    held = False
    for seen in gone:
        digest = digest_at(connection, seen.head.position)
        source = word("head.station_elsewhere", place=seen.place)
        parts: dict[str, Part] = {"name": path.name, "place": seen.place, "head": at.told, "other": seen.head.told}
        parts |= {"at": at.position, "entry": seen.head.position}
        if seen.head.is_at(digest):
            told = {**parts, "head": seen.head.told, "source": source, "n": at.position - seen.head.position}
            if not held:
                yield Copy(Reason("head.held", told), proven=seen.head.position)
            held = True
        elif seen.head in settled:
            yield Copy(Reason("head.copy_settled", parts))
        elif digest:
            yield Copy(Reason("head.copy_apart_gone", parts), fault=True)
        else:
            yield Copy(Reason("head.beyond", {**parts, "head": seen.head.told, "source": source}))
