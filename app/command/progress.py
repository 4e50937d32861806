"""How far long work has come, on a terminal: one line that is written over, and gone once the work is done."""

from __future__ import annotations

from collections.abc import Callable
from typing import TextIO

from inspection.words.say import word


def telling(stream: TextIO, code: str) -> Callable[[int, int], None] | None:
    """What tells the share done, in per cent, in the words of ``code``; None where nobody looks at the stream."""
    if not stream.isatty():
        return None
    last = ""

    def tell(done: int, total: int) -> None:
        nonlocal last
        said = word(code, percent=done * 100 // total if total else 100)
        if done >= total:
            stream.write("\r" + " " * len(last) + "\r")
            last = ""
        elif said != last:
            stream.write("\r" + said)
            last = said
        stream.flush()

    return tell
