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
from storage.book.chain import Progress
from storage.book.copies import copies_of
from storage.book.failures import telling
from storage.book.opening import open_book
from storage.book.queries.heads import digest_at, head_now
from storage.book.reaching import silent_among
from storage.heads import SeenHead, head_seen, heads_elsewhere
from storage.seals.check import Verified


class Carried(Struct, frozen=True):
    """A head, and what carried it, in words."""

    head: ChainHead
    source: str


def check_heads(path: Path, given: Sequence[Carried] = (), progress: Progress | None = None) -> Verified:
    """Hold a book against the heads ``given``, what this station saw of it, and its copies at other places that this
    station knows. A copy that went further is told and is no fault: people look into old copies on purpose; one that
    went another way is one, until somebody settled it. One that does not answer is told as that; ``progress`` is
    called while it is waited for. Raises BookFailure."""
    engines = open_book(path, writable=False).engines
    try:
        with telling(path):
            with engines.reading.begin() as connection:
                first = digest_at(connection, 1)
            elsewhere = heads_elsewhere(path, first)
            silent = _silent(elsewhere, progress)
        with telling(path), engines.reading.begin() as connection:
            at, here = head_now(connection).position, head_seen(path)
            heads = (*given, *([Carried(here.head, word("head.station"))] if here is not None else ()))
            told = [(each, digest_at(connection, each.head.position)) for each in heads]
            copies = copies_of(path, connection, elsewhere, here.settled if here is not None else (), silent)
    finally:
        engines.close()
    held = [each for each, digest in told if each.head.is_at(digest)]
    faults = tuple(_told(path, each, at, digest) for each, digest in told if each not in held)
    statements = [_told(path, each, at, each.head.digest) for each in held]
    proven = (*(each.head.position for each in held), *(each.proven for each in copies if each.proven))
    return Verified(
        (*statements, *(each.told for each in copies if not each.fault), *_unproved(bool(heads), proven, at)),
        (*faults, *(each.told for each in copies if each.fault)),
    )


def _silent(copies: Sequence[SeenHead], progress: Progress | None) -> frozenset[str]:
    """The places of copies where nothing answers. To be asked while no cursor is held: it may take a while."""

    def waiting() -> None:
        if progress is not None:
            progress(0, 1)

    found = silent_among([Path(seen.place) for seen in copies], waiting)
    if progress is not None and copies:
        progress(1, 1)
    return frozenset(seen.place for seen in copies if Path(seen.place) in found)


def _told(path: Path, carried: Carried, at: int, digest: str) -> Reason:
    """What a head says of a book that has ``digest`` at its position."""
    if carried.head.is_at(digest):
        return Reason("head.held", _parts(path, carried, at))
    return Reason("head.differs" if digest else "head.beyond", _parts(path, carried, at))


def _parts(path: Path, carried: Carried, at: int) -> dict[str, Part]:
    position = carried.head.position
    told: dict[str, Part] = {"name": path.name, "head": carried.head.told, "source": carried.source}
    return {**told, "entry": position, "at": at, "n": at - position}


def _unproved(carried: bool, proven: Sequence[int], at: int) -> Iterator[Reason]:
    """What stands behind the last entry that something outside is known to hold too, or that nothing was at hand."""
    if not carried and not proven:
        yield Reason("head.none_at_hand")
    elif at > max(proven, default=at):
        yield Reason("head.behind", {"n": at - max(proven)})
