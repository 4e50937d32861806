"""How wide each column of the feature table is, and which are left out where there is no room."""

from __future__ import annotations

from app.bench.model import COLUMNS

#: Least widths in logical pixels at 100 %, and what share each takes of the room beyond.
LEAST = {
    "number": 56,
    "requirement": 184,
    "limits": 150,
    "instrument": 176,
    "readings": 174,
    "zone": 92,
    "verdict": 144,
    "note": 92,
}
SHARE = {"requirement": 20, "limits": 2, "instrument": 40, "readings": 12, "zone": 4, "verdict": 2, "note": 20}
#: Left out first to last; no., requirement, readings and verdict stay.
LEFT_OUT = ("note", "instrument", "zone", "limits")


def widths(room: float) -> tuple[int, ...]:
    """The width of every column for ``room`` logical pixels, 0 for one that is left out."""
    shown = list(COLUMNS)
    for name in LEFT_OUT:
        if sum(LEAST[each] for each in shown) <= room:
            break
        shown.remove(name)
    least = sum(LEAST[each] for each in shown)
    beyond = room - least
    if beyond < 0:
        return tuple(int(LEAST[name] * room / least) if name in shown else 0 for name in COLUMNS)
    shares = sum(SHARE.get(name, 0) for name in shown)
    return tuple(int(LEAST[name] + beyond * SHARE.get(name, 0) / shares) if name in shown else 0 for name in COLUMNS)
