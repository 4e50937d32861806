"""A plain text table for a terminal of any width and encoding."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

GAP = "  "
WIDEST = 32  # a cell longer than this is broken over lines


def width(text: str) -> int:
    """Columns that a text takes on a terminal: wide characters two, combining ones none."""
    return sum(
        0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1
        for letter in text
    )


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """Lines of a table: heads, a rule, rows; long cells are broken at spaces and never cut."""
    broken = [[_broken(cell) for cell in row] for row in rows]
    columns = [
        max([width(head), *(width(line) for row in broken for line in row[place])]) for place, head in enumerate(heads)
    ]
    lines = [_line(heads, columns), GAP.join("-" * size for size in columns)]
    for row in broken:
        height = max(len(cell) for cell in row)
        for line in range(height):
            lines.append(_line([cell[line] if line < len(cell) else "" for cell in row], columns))
    return lines


def _line(cells: Sequence[str], columns: Sequence[int]) -> str:
    return GAP.join(cell + " " * (size - width(cell)) for cell, size in zip(cells, columns, strict=True)).rstrip()


def _broken(cell: str) -> list[str]:
    lines = [""]
    for word in cell.split():
        if lines[-1] and width(lines[-1]) + 1 + width(word) > WIDEST:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
