"""Writing a file so that it is there whole or not at all: beside its place, flushed to disk, then moved in."""

from __future__ import annotations

import hashlib
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from storage.book.failures import BookFailure, failure, telling, world_failure

#: This process's open files by number (proc(5)).
_OPEN_FILES = Path("/proc/self/fd")
#: What the name of a damaged file that was set aside ends in, before its suffix.
ASIDE = "-damaged"
_WHILE_WRITING = ("file.disk_full", "file.disk_trouble")


@contextmanager
def moved_in(path: Path, *, over: bool = True) -> Iterator[Path]:
    """Yield the path of an empty file beside ``path`` to write to; at the end of the block it takes that place.

    Until then, and if the block fails, what stood at ``path`` is untouched and nothing is left beside it. With
    ``over`` False an existing file is refused. A link is followed. The block must have closed the file. Raises
    BookFailure with a ``file.…`` reason for what the disk or folder would not do.
    """
    with telling(path, "file"):
        place = _place(path, over)
        beside = _empty_beside(place)
    try:
        try:
            yield beside
        except OSError as error:
            raise _told(error, path) from error
        with telling(path, "file"):
            with beside.open("r+b") as whole:
                _sync(whole.fileno())
            _put(beside, place, over)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise


@contextmanager
def writing(path: Path, *, over: bool = True) -> Iterator[BinaryIO]:
    """Yield a binary file to write to; otherwise as ``moved_in``.

    Where the disk can keep a file without a name, it gets one only when it is whole, so that not even a killed process
    leaves a part of it.
    """
    with telling(path, "file"):
        place = _place(path, over)
    number = _nameless(place)
    if number is None:
        with moved_in(path, over=over) as beside, beside.open("wb") as file:
            yield file
        return
    file = os.fdopen(number, "wb")
    try:
        try:
            yield file
        except OSError as error:
            raise _told(error, path) from error
        with telling(path, "file"):
            file.flush()
            _sync(number)
            _name(number, place, over)
    finally:
        with suppress(OSError):  # by now it is whole and on disk, or given up
            file.close()


def write_file(path: Path, content: bytes, *, over: bool = True) -> str:
    """Write a whole file and return the SHA-256 of its bytes in hex; see ``moved_in``."""
    with writing(path, over=over) as file:
        file.write(content)
    return hashlib.sha256(content).hexdigest()


def read_file(path: Path) -> bytes:
    """A file's bytes. Raises BookFailure if it cannot be read."""
    if not path.exists():
        raise failure("file.missing", path)
    with telling(path, "file"):
        return path.read_bytes()


def digest_of(path: Path) -> str:
    """The SHA-256 of a file's bytes in hex. Raises BookFailure if it cannot be read."""
    if not path.exists():
        raise failure("file.missing", path)
    with telling(path, "file"), path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def set_aside(path: Path) -> Path:
    """Move a file that cannot be read to a free name beside it, so that another may take its place; the new name.
    Raises OSError."""
    names = (path.with_name(f"{path.stem}{ASIDE}{'-' + str(n) if n else ''}{path.suffix}") for n in range(1_000))
    return path.replace(next(name for name in names if not name.exists()))


def _told(error: OSError, path: Path) -> Exception:
    """What the disk did while the block wrote; any other error in the block is not about this file."""
    reason = world_failure(error, path, "file")
    return BookFailure(reason) if reason is not None and reason.code in _WHILE_WRITING else error


def _place(path: Path, over: bool) -> Path:
    place = path.resolve()
    if place.is_dir():
        raise failure("file.is_folder", path)
    if place.exists() and not place.is_file():  # a device or a pipe, which a file must not take the place of
        raise failure("file.not_a_file", path)
    if not over and place.exists():
        raise failure("file.exists", path)
    if not place.parent.is_dir():
        raise failure("file.no_folder", path)
    if place.exists() and _open_elsewhere(place):
        raise failure("file.in_use", path)
    return place


def _open_elsewhere(place: Path) -> bool:
    """Whether an office program says beside a file that it has it open: what is saved there would undo what is written
    now. The names are those of its common practice."""
    return any(place.with_name(name).exists() for name in (f".~lock.{place.name}#", f"~${place.name}"))


def _beside(place: Path) -> Path:
    """A name in the same folder that no file has."""
    return place.with_name(f".{place.name[:40]}.{secrets.token_hex(4)}.part")


def _empty_beside(place: Path) -> Path:
    """A new empty file in the same folder, with the permissions of the one it will replace or the usual ones."""
    beside = _beside(place)
    beside.open("xb").close()
    with suppress(OSError):
        beside.chmod(place.stat().st_mode & 0o777)
    return beside


def _nameless(place: Path) -> int | None:
    """A new file without a name on the same disk, or None where system or disk know none (Linux does: open(2),
    O_TMPFILE; what else stands in the way is met, and told, by writing beside the place)."""
    if not hasattr(os, "O_TMPFILE") or not _OPEN_FILES.is_dir():
        return None
    try:
        return os.open(place.parent, os.O_TMPFILE | os.O_WRONLY | os.O_CLOEXEC, 0o666)
    except OSError:
        return None


def _name(number: int, place: Path, over: bool) -> None:
    """Give a nameless file, whole by now, its place."""
    with suppress(OSError):
        os.fchmod(number, place.stat().st_mode & 0o777)
    beside = _beside(place)
    folder = os.open(place.parent, os.O_RDONLY)
    try:  # only with a folder given does the call follow the link that an open file is
        os.link(_OPEN_FILES / str(number), beside.name, dst_dir_fd=folder, follow_symlinks=True)
    finally:
        os.close(folder)
    try:
        _put(beside, place, over)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise


def _sync(number: int) -> None:
    os.fsync(number)


def _put(beside: Path, place: Path, over: bool) -> None:
    if over:
        beside.replace(place)
    else:
        _put_new(beside, place)
    _sync_folder(place.parent)


def _put_new(beside: Path, place: Path) -> None:
    """Give the file its name unless another took it meanwhile; where the disk knows no links, look first."""
    try:
        place.hardlink_to(beside)
    except FileExistsError:
        raise failure("file.exists", place) from None
    except OSError:
        if place.exists():
            raise failure("file.exists", place) from None
        beside.replace(place)
    else:
        beside.unlink()


def _sync_folder(folder: Path) -> None:
    """Bring the new name itself to disk, where a folder can be synced at all."""
    with suppress(OSError):
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
