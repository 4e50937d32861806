"""How often which value came: counted in cells that each hold as many marks of the instrument as the next."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

#: More cells than this make no picture that is read at a glance.
MOST_CELLS = 24


class Histogram(Struct, frozen=True):
    """Cells side by side from ``start`` (counts), each ``width`` wide, with how many values fell in each.

    A cell holds its lower edge and not its upper one.
    """

    start: int
    width: int
    counts: tuple[int, ...]

    @property
    def edges(self) -> tuple[int, ...]:
        """The edges of the cells, one more than there are cells."""
        return tuple(self.start + place * self.width for place in range(len(self.counts) + 1))


def histogram(values: Sequence[int], step: int, most: int = MOST_CELLS) -> Histogram | None:
    """The histogram of values (counts) read in steps of ``step``: each cell is so many whole steps wide that ``most``
    cells hold all, and its marks lie within it, none on an edge. None without values.

    Cells of any other width hold now more and now fewer marks, and show a comb that no process made. Raises ValueError
    for a step or a number of cells under 1.

    >>> histogram([10, 20, 20, 40], 10)
    Histogram(start=5, width=10, counts=(1, 2, 0, 1))
    """
    if step < 1 or most < 1:
        raise ValueError("a step and a cell at the least")
    if not values:
        return None
    low, high = min(values), max(values)
    marks = (high - low) // step + 1
    each = -(-marks // most)  # marks in a cell
    width = each * step
    start = low - step // 2
    counts = [0] * ((high - start) // width + 1)
    for value in values:
        counts[(value - start) // width] += 1
    return Histogram(start, width, tuple(counts))
