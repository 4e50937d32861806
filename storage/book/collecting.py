"""The garbage collector while a book is folded."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collecting() -> Iterator[None]:
    """Let the garbage collector rest while values by the hundred thousand are made, none of which holds a cycle: it
    would go through all of them again and again (two thirds of the time to open a sheet of 5,000 readings). Afterwards
    they are taken for old, so that it does not begin by going through them either (a half of what is left)."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.freeze()
            gc.unfreeze()  # into the oldest generation
            gc.enable()
