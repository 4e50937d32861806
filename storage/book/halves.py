"""Going through a large book in two processes: each half of the journal for itself, the second read in another one."""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from storage.book.chain import Progress
from storage.book.engines import Engines, driver_connection
from storage.book.opening import open_book
from storage.book.passages import last_entry
from storage.book.streams import Through, go_through

T = TypeVar("T")

#: A book of fewer entries is gone through sooner than another process has begun.
WORTH_IT = 12_000
#: As many more of the entries are this process's share, which the other one spends on beginning.
HEAD_START = 1_750
#: The other process finds the program where this one does, and shares nothing else with it.
_BEGIN = "import sys; sys.path[:] = {path!r}; from storage.book.halves import second; second()"


def go_through_all(engines: Engines, before: Callable[[], T], progress: Progress | None = None) -> tuple[T, Through]:
    """What ``before`` finds, and all of a book as ``go_through`` does it, on two cores where that is sooner: the other
    process begins while this one looks before.

    A second process that cannot be had, or that ends early, costs time and no more. ``progress`` takes both to
    go on alike.
    """
    connection = driver_connection(engines.reading)
    last = last_entry(connection)
    if last < WORTH_IT:
        return before(), go_through(connection, progress, stretch=(0, last))

    def tell(done: int, _of: int = 0) -> None:
        if progress is not None:
            progress(min(done * last // middle, last), last)

    middle = min(last // 2 + HEAD_START, last)
    halves = (0, middle), (middle, last)
    other = _begun(engines.path, halves[1])
    try:
        found = before()
        first = go_through(connection, tell, stretch=halves[0])
        then = _found(other, lambda: tell(first.chain.entries)) if other else None
    finally:
        if other:
            other.kill()
            other.communicate()
    then = then or go_through(connection, lambda done, _: tell(middle), stretch=halves[1])
    return found, first.joined(then)


def _begun(path: Path, stretch: tuple[int, int]) -> subprocess.Popen[bytes] | None:
    if getattr(sys, "frozen", False) or not sys.executable:
        return None
    asked = [str(path.resolve()), *map(str, stretch)]
    begin = [sys.executable, "-c", _BEGIN.format(path=sys.path), *asked]
    flags = getattr(subprocess, "CREATE_NO_WINDOW", 0)
    try:
        return subprocess.Popen(
            begin,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            creationflags=flags,
        )
    except OSError:
        return None


def _found(other: subprocess.Popen[bytes], waiting: Callable[[], None]) -> Through | None:
    """What the other process found; None if it ended without."""
    while True:
        try:
            answer, _ = other.communicate(timeout=0.05)
        except subprocess.TimeoutExpired:
            waiting()
            continue
        found = pickle.loads(answer) if other.returncode == 0 else None
        return found if isinstance(found, Through) else None


def second() -> None:
    """What the other process does. Whatever stands in its way there is met, and told, by the one that began it."""
    path, after, last = sys.argv[1:]
    engines = open_book(Path(path), writable=False).engines
    try:
        found = go_through(driver_connection(engines.reading), stretch=(int(after), int(last)))
    finally:
        engines.close()
    sys.stdout.buffer.write(pickle.dumps(found))
