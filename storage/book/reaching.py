"""Whether a book at another place can be looked at now: a share whose server is gone keeps whoever opens it waiting.

A read that waits in the system cannot be called off, so that the first one is another process's: that one is let go
where nothing came back, and this one goes on.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path
from time import monotonic

#: So many seconds a place has to answer.
PATIENCE = 10.0
#: So often it is told that it is still waited for, in seconds.
EVERY = 0.05
_READ = "import sys; open(sys.argv[1], 'rb').read(1)"


def silent_among(places: Iterable[Path], waiting: Callable[[], None]) -> frozenset[Path]:
    """The places where reading the file comes to nothing within ``PATIENCE``, be it that there is none; they are tried
    all at once. ``waiting`` is called meanwhile, and may raise to call it off."""
    asked = {place: other for place in places if (other := _begun(place)) is not None}
    until = monotonic() + PATIENCE
    try:
        while (still := [place for place, other in asked.items() if other.poll() is None]) and monotonic() < until:
            with suppress(subprocess.TimeoutExpired):
                asked[still[0]].wait(EVERY)
            waiting()
        return frozenset(still)
    finally:
        for other in asked.values():
            other.kill()
            with suppress(subprocess.TimeoutExpired):
                other.wait(EVERY)


def _begun(place: Path) -> subprocess.Popen[bytes] | None:
    """A process that reads a file's first byte; None where none can be had."""
    if getattr(sys, "frozen", False) or not sys.executable:
        return None
    quiet = subprocess.DEVNULL
    try:
        return subprocess.Popen(
            [sys.executable, "-I", "-S", "-c", _READ, str(place)],
            stdin=quiet,
            stdout=quiet,
            stderr=quiet,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
    except (OSError, ValueError):
        return None
