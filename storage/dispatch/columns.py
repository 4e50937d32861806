"""The columns of the printed sheet, for a width of paper and a number of pieces.

Up to four pieces have a column each, headed by the serial. More stand in a grid inside the column of readings, each
under its serial, for a column each would be too narrow to read from arm's length.
"""

from __future__ import annotations

from msgspec import Struct

GAP = 7.0
MOST_COLUMNS = 4
GRID = 4  # pieces side by side in the grid

_FIXED = {"number": 34.0, "zone": 32.0, "limits": 84.0, "verdict": 98.0}
_STRIP = 54.0
_PIECE = {1: 96.0, 2: 74.0, 3: 58.0, 4: 52.0}
_GRID_WIDTH = 236.0
_REQUIREMENT_SHARE = 0.47


class Column(Struct, frozen=True):
    """A column: left edge counted from the left margin, and width, points."""

    left: float
    width: float


class Columns(Struct, frozen=True):
    """All columns of a sheet. ``pieces`` has one column a piece, or a single one that holds a grid."""

    number: Column
    zone: Column
    requirement: Column
    limits: Column
    instrument: Column
    pieces: tuple[Column, ...]
    strip: Column
    verdict: Column
    width: float
    grid: bool

    @property
    def details(self) -> Column:
        """Notes and withdrawn readings: from the requirement to the readings, a width that reads well."""
        return Column(self.requirement.left, self.strip.left - GAP - self.requirement.left)


def columns_for(width: float, pieces: int) -> Columns:
    """Divide ``width`` (points) among the columns of a sheet with so many pieces."""
    grid = pieces > MOST_COLUMNS
    widths = [_GRID_WIDTH] if grid else [_PIECE[max(pieces, 1)]] * max(pieces, 1)
    gaps = GAP * (6 + len(widths))
    free = width - sum(_FIXED.values()) - _STRIP - sum(widths) - gaps
    requirement = free * _REQUIREMENT_SHARE
    order = [
        _FIXED["number"], _FIXED["zone"], requirement, _FIXED["limits"], free - requirement,
        *widths, _STRIP, _FIXED["verdict"],
    ]  # fmt: skip
    made: list[Column] = []
    left = 0.0
    for each in order:
        made.append(Column(round(left, 2), round(each, 2)))
        left += each + GAP
    number, zone, asked, limits, instrument, *readings, strip, verdict = made
    return Columns(number, zone, asked, limits, instrument, tuple(readings), strip, verdict, width, grid)
