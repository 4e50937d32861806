"""A whole book held against heads of its chain that were carried outside it.

The chain, checked by itself, ends where the book ends: an old copy that ends at a signature is as whole as the newest.
Only what stands outside the book can tell.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from inspection.reasons import Part, Reason
from inspection.sheet.chain_head import ChainHead
from inspection.words.say import word
from storage.book.failures import telling
from storage.book.opening import open_book
from storage.book.queries.heads import digest_at, head_now
from storage.heads import head_elsewhere, head_seen
from storage.seals.check import Verified


class Carried(Struct, frozen=True):
    """A head, and what carried it, in words."""

    head: ChainHead
    source: str


def check_heads(path: Path, given: Sequence[Carried] = ()) -> Verified:
    """Hold a book against the heads ``given`` and those that this station saw. What was seen of the same book at
    another place is told and is no fault: a copy is older, or went its own way, on purpose. Raises BookFailure."""
    engines = open_book(path, writable=False).engines
    try:
        with telling(path), engines.reading.begin() as connection:
            at, first = head_now(connection).position, digest_at(connection, 1)
            here, elsewhere = head_seen(path), head_elsewhere(path, first)
            heads = (*given, *([Carried(here.head, word("head.station"))] if here is not None else ()))
            there = (
                [Carried(elsewhere.head, word("head.station_elsewhere", place=elsewhere.place))] if elsewhere else []
            )
            found = {each.head.position: digest_at(connection, each.head.position) for each in (*heads, *there)}
    finally:
        engines.close()
    told = [(each, found[each.head.position]) for each in heads]
    held = [each for each, digest in told if each.head.is_at(digest)]
    faults = tuple(_told(path, each, at, digest) for each, digest in told if each not in held)
    statements = [_told(path, each, at, found[each.head.position]) for each in (*held, *there)]
    return Verified((*statements, *_unproved(heads, held, at)), faults)


def _told(path: Path, carried: Carried, at: int, digest: str) -> Reason:
    """What a head says of a book that has ``digest`` at its position."""
    if carried.head.is_at(digest):
        return Reason("head.held", _parts(path, carried, at))
    return Reason("head.differs" if digest else "head.beyond", _parts(path, carried, at))


def _parts(path: Path, carried: Carried, at: int) -> dict[str, Part]:
    position = carried.head.position
    told: dict[str, Part] = {"name": path.name, "head": carried.head.told, "source": carried.source}
    return {**told, "entry": position, "at": at, "n": at - position}


def _unproved(heads: Sequence[Carried], held: Sequence[Carried], at: int) -> Iterator[Reason]:
    """What stands behind the last head that was carried outside, or that none was at hand."""
    last = max((each.head.position for each in held), default=at)
    if not heads:
        yield Reason("head.none_at_hand")
    elif at > last:
        yield Reason("head.behind", {"n": at - last})
