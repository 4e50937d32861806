"""Who holds a lock on a book, where the system tells without opening the file.

Opening and closing the file to ask would drop this process's own locks on it (POSIX locks belong to process and
file, not to the descriptor), so only the kernel's list of locks is read.
"""

from __future__ import annotations

import os
from pathlib import Path

_LOCKS = Path("/proc/locks")

# Bytes that SQLite locks in every database file (its file format, "pending", "reserved" and "shared").
_PENDING_BYTE = 0x40000000
_RESERVED_BYTE = _PENDING_BYTE + 1


def holder_of(path: Path) -> str:
    """The name and number of another process that holds a lock on this file; empty if none is known."""
    pids = [pid for pid, *_ in _locks_on(path) if pid != os.getpid()]
    return _named(pids[0]) if pids else ""


def being_written(path: Path) -> bool:
    """Whether some process holds the lock of a writer on this file, as far as the system tells."""
    return any(first <= _RESERVED_BYTE <= last and kind == "WRITE" for _, kind, first, last in _locks_on(path))


def _locks_on(path: Path) -> list[tuple[int, str, int, int]]:
    """(process, kind, first byte, last byte) of every lock on this file."""
    try:
        status = path.stat()
        lines = _LOCKS.read_text(encoding="ascii").splitlines()
    except (OSError, ValueError):
        return []
    place = f"{os.major(status.st_dev):02x}:{os.minor(status.st_dev):02x}:{status.st_ino}"
    found = []
    for line in lines:
        words = [word for word in line.split() if word != "->"]
        if len(words) >= 8 and words[5] == place:
            last = 2**63 if words[7] == "EOF" else int(words[7])
            found.append((int(words[4]), words[3], int(words[6]), last))
    return found


def _named(pid: int) -> str:
    try:
        name = Path(f"/proc/{pid}/comm").read_text(encoding="utf-8", errors="replace").strip()
    except OSError:
        name = ""
    return f"{name} ({pid})" if name else str(pid)
