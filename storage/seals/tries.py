"""How long one waits after wrong passphrases: growing, kept by book and person in the user's data folder.

It is a brake for whoever stands at the keyboard, so that closing the program does not take it off. Somebody who has the
book's file guesses without it; what stands against that is what a guess costs (``container.ROUNDS``).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct

from inspection.reasons import Reason, Refused
from inspection.sheet.people import Person
from storage.book.failures import BookFailure, telling
from storage.files import write_file
from storage.own_files import folder_of, mark_of

ENDING = ".tries.json"
#: Seconds to wait after so many wrong tries in a row; after more of them as after the last.
WAITS = (0, 0, 0, 2, 4, 8, 16, 32, 60)
#: So long after the last wrong try it is forgotten, in seconds.
FORGOTTEN = 3_600

_SECOND = 1_000_000
_Count = Annotated[int, Meta(ge=0)]


class Tries(Struct, frozen=True):
    """Wrong passphrases of one person that followed each other: how many, and when the last one was (UTC
    microseconds)."""

    wrong: _Count = 0
    last: _Count = 0


def seen_at(tries: Tries, now: int) -> Tries:
    """The tries as they count ``now``: forgotten after an hour. Where the clock was set back, the wait begins anew, so
    that it is neither shortened nor lasts until the clock has come round again."""
    if now < tries.last:
        return Tries(tries.wrong, now)
    return Tries() if now - tries.last >= FORGOTTEN * _SECOND else tries


def wait_after(tries: Tries, now: int) -> int:
    """How many seconds to wait, from ``now`` on, before the next passphrase is tried."""
    held = seen_at(tries, now)
    whole = WAITS[min(held.wrong, len(WAITS) - 1)]
    return max(0, whole - (now - held.last) // _SECOND)


# --- kept -----------------------------------------------------------------------------------------------------------


def tries_place(book: Path, person: str) -> Path:
    """The file of a person (their identity) of a book; there is none while nothing was tried wrong."""
    return folder_of("tries", book) / f"{mark_of(person)}{ENDING}"


def wait_of(book: Path, person: str, now: int) -> int:
    """How many seconds a person of a book (their identity) has to wait at ``now`` (UTC microseconds)."""
    kept = _kept(book, person)
    held = seen_at(kept, now)
    if held != kept:
        _keep(book, person, held)
    return wait_after(held, now)


def require_no_wait(book: Path, person: Person, now: int) -> None:
    """Raise Refused, with the seconds that are left, while a person has to wait at ``now`` (UTC microseconds)."""
    wait = wait_of(book, person.identity, now)
    if wait:
        raise Refused(Reason("seal.wait", {"person": person.name, "n": wait}))


@contextmanager
def one_try(book: Path, person: Person, now: int) -> Iterator[None]:
    """One try of a person's passphrase, in the block: refused while there is a wait, counted if it is the wrong one,
    and the end of all counting if it is right."""
    require_no_wait(book, person, now)
    held = seen_at(_kept(book, person.identity), now)
    try:
        yield
    except Refused as refused:
        if all(reason.code != "seal.wrong_passphrase" for reason in refused.reasons):
            raise
        held = Tries(held.wrong + 1, now)
        _keep(book, person.identity, held)
        following = wait_after(held, now)
        ahead = (Reason("seal.next_try", {"n": following}),) if following else ()
        raise Refused(*refused.reasons, *ahead) from None
    if held.wrong:
        _keep(book, person.identity, Tries())


def _kept(book: Path, person: str) -> Tries:
    """What is kept; a file that cannot be read holds nothing worth telling of, and the next wrong try replaces it."""
    try:
        return msgspec.json.decode(tries_place(book, person).read_bytes(), type=Tries)
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return Tries()


def _keep(book: Path, person: str, tries: Tries) -> None:
    """Keep the tries, or forget them; a folder that takes no file keeps nobody from signing."""
    path = tries_place(book, person)
    with suppress(BookFailure), telling(path, "file"):
        if tries == Tries():
            path.unlink(missing_ok=True)
            return
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_file(path, msgspec.json.encode(tries))
