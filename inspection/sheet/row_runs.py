"""Balloon numbers on one line, neighbours drawn together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

#: So many numbers in a row are told each; more by the first and the last.
LONGEST = 2


def runs_text(numbers: Iterable[str], order: Mapping[str, int]) -> str:
    """Numbers in their ``order``, neighbours in it drawn together; one that it does not hold stands first.

    >>> runs_text(["7", "2", "3", "4", "9"], {str(number): number for number in range(10)})
    '2 … 4, 7, 9'
    """
    runs: list[list[str]] = []
    for number in sorted(numbers, key=lambda each: order.get(each, 0)):
        if runs and order.get(number, 0) == order.get(runs[-1][-1], 0) + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]} … {run[-1]}" if len(run) > LONGEST else ", ".join(run) for run in runs)
