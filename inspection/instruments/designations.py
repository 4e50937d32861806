"""Thread designations as drawings and gauges write them, read just far enough to tell whether two name one thread."""

from __future__ import annotations

import re
from functools import cache

from msgspec import Struct

from inspection.standards.tables import rows

_UNIFIED = re.compile(
    r"(?P<size>#?\d+(?:[ -]\d+/\d+)?(?:/\d+)?|\.\d+)\s*-\s*(?P<pitch>\d+(?:\.\d+)?)\s*-?\s*"
    r"UN(?:C|F|EF|S|R|RC|RF|J|JC|JF)?\s*-?\s*(?P<grade>[123][AB])",
    re.IGNORECASE,
)
_METRIC = re.compile(
    r"\bM\s*(?P<size>\d+(?:\.\d+)?)(?:\s*[x×]\s*(?P<pitch>\d+(?:\.\d+)?))?\s*-?\s*(?P<grade>(?:\d[A-Ha-h]){1,2})",
)


class Designation(Struct, frozen=True):
    """A thread: its system, size and pitch as written numbers without idle marks, and its tolerance class."""

    system: str
    size: str
    pitch: str
    grade: str

    @property
    def internal(self) -> bool:
        """Whether it is a nut's thread: class B of Unified, a capital letter of metric."""
        return self.grade[-1] == "B" if self.system == "unified" else self.grade[-1].isupper()


def _plain(number: str) -> str:
    return f"{float(number):g}"


@cache
def _coarse() -> dict[str, str]:
    """Coarse pitches by size, for metric designations that leave the pitch out."""
    return {_plain(row["size_mm"]): _plain(row["pitch_mm"]) for row in rows("coarse_pitches")}


@cache
def read_designation(written: str) -> Designation | None:
    """The thread that a text names; None if it names none, or a metric size without a coarse pitch.

    >>> read_designation("4X 1/4-20 UNC-2B THRU")
    Designation(system='unified', size='1/4', pitch='20', grade='2B')
    """
    found = _UNIFIED.search(written)
    if found:
        size = found["size"].lstrip("#").replace(" ", "-")
        return Designation("unified", size, _plain(found["pitch"]), found["grade"].upper())
    found = _METRIC.search(written)
    if found is None:
        return None
    size = _plain(found["size"])
    pitch = _plain(found["pitch"]) if found["pitch"] else _coarse().get(size)
    return Designation("metric", size, pitch, found["grade"]) if pitch else None
