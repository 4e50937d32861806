"""Whether a book at another place can be looked at now: a share whose server is gone keeps whoever opens it waiting.

A read that waits in the system cannot be called off, so that the first one is another process's: that one is let go
where nothing came back, and this one goes on.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from time import monotonic

#: So many seconds a place has to answer.
PATIENCE = 10.0
#: So often it is told that it is still waited for, in seconds.
EVERY = 0.05
_READ = "import sys; open(sys.argv[1], 'rb').read(1)"


def answers(place: Path, waiting: Callable[[], None]) -> bool:
    """Whether reading the file at a place comes to anything within ``PATIENCE``, be it that there is none. ``waiting``
    is called meanwhile, and may raise to call it off."""
    if getattr(sys, "frozen", False) or not sys.executable:
        return True
    flags = getattr(subprocess, "CREATE_NO_WINDOW", 0)
    quiet = subprocess.DEVNULL
    try:
        other = subprocess.Popen(
            [sys.executable, "-I", "-S", "-c", _READ, str(place)],
            stdin=quiet,
            stdout=quiet,
            stderr=quiet,
            creationflags=flags,
        )
    except (OSError, ValueError):
        return True
    try:
        return _ended(other, waiting)
    finally:
        other.kill()
        with suppress(subprocess.TimeoutExpired):
            other.wait(EVERY)


def _ended(other: subprocess.Popen[bytes], waiting: Callable[[], None]) -> bool:
    until = monotonic() + PATIENCE
    while monotonic() < until:
        with suppress(subprocess.TimeoutExpired):
            other.wait(EVERY)
            return True
        waiting()
    return False
