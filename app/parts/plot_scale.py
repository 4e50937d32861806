"""Labels beside a plot that would overlap, and the steps written below it."""

from __future__ import annotations

from collections.abc import Sequence


def apart(places: Sequence[float], height: float, top: float, bottom: float) -> list[float]:
    """Places (pixels down, in rising order) moved as little as keeps them ``height`` from each other, between ``top``
    and ``bottom`` as far as there is room; in the same order."""
    moved: list[float] = []
    for place in places:
        moved.append(max(place, moved[-1] + height if moved else top))
    limit = bottom
    for at in range(len(moved) - 1, -1, -1):
        moved[at] = min(moved[at], limit)
        limit = moved[at] - height
    return moved


def steps_across(first: int, last: int, room: int) -> tuple[int, ...]:
    """Whole numbers from ``first`` to ``last`` that are written below a plot: ``room`` of them at most, round ones.

    >>> steps_across(1, 10, 20), steps_across(1, 40, 9)
    ((1, 2, 3, 4, 5, 6, 7, 8, 9, 10), (5, 10, 15, 20, 25, 30, 35, 40))
    """
    step, times = 1, 0
    while (last - first + 1) / step > max(room, 1):
        times += 1
        step = (1, 2, 5)[times % 3] * 10 ** (times // 3)
    return tuple(n for n in range(first, last + 1) if n % step == 0)
