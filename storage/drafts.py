"""Plans under way, kept outside the book in the user's data folder until they are issued or dropped."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import msgspec
from msgspec import Struct

from inspection.drawing.editing import Draft
from inspection.reasons import Reason
from storage.book.failures import telling
from storage.files import write_file
from storage.own_files import folder_of

ENDING = ".draft.json"
#: More drafts of one book than anybody writes at a time; older ones stay on disk.
MOST_DRAFTS = 200


class KeptDraft(Struct, frozen=True):
    """A draft by its name among the book's drafts, with when it was last kept (seconds since 1970)."""

    name: str
    draft: Draft
    kept_at: int = 0


def drafts_place(book: Path) -> Path:
    """The folder of a book's drafts, named after where the book lies."""
    return folder_of("drafts", book)


def keep_draft(book: Path, name: str, draft: Draft) -> None:
    """Keep a draft under a name (letters, digits and dashes), in place of what was kept under it.

    Raises BookFailure for what folder or disk would not do; what was kept before is untouched then.
    """
    folder = drafts_place(book)
    with telling(folder, "file"):
        folder.mkdir(parents=True, exist_ok=True)
    write_file(folder / f"{name}{ENDING}", msgspec.json.encode(draft))


def drop_draft(book: Path, name: str) -> None:
    """Forget a draft; one that is not there is no matter."""
    path = drafts_place(book) / f"{name}{ENDING}"
    with telling(path, "file"), suppress(FileNotFoundError):
        path.unlink()


def kept_drafts(book: Path) -> tuple[tuple[KeptDraft, ...], tuple[Reason, ...]]:
    """The drafts of a book, the one kept last first, and what is to be said of files that could not be read.

    Such a file is left as it is.
    """
    folder = drafts_place(book)
    found: list[KeptDraft] = []
    said: list[Reason] = []
    for path in folder.glob(f"*{ENDING}") if folder.is_dir() else ():
        try:
            draft = msgspec.json.decode(path.read_bytes(), type=Draft)
            found.append(KeptDraft(path.name.removesuffix(ENDING), draft, int(path.stat().st_mtime)))
        except (OSError, msgspec.MsgspecError, UnicodeDecodeError):
            said.append(Reason("drafts.unreadable", {"file": str(path)}))
    found.sort(key=lambda kept: (-kept.kept_at, kept.name))
    return tuple(found[:MOST_DRAFTS]), tuple(said)
