"""Tables of the printed sheet beside the one of the rows: columns by their shares of the page, heads of their own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inspection.sheet.report import Report
from storage.dispatch.blocks import Band, Cell, Item, Row
from storage.dispatch.labels import label
from storage.dispatch.sections import LABEL, section
from storage.dispatch.setting import set_text

GAP = 8.0

Column = tuple[str, float]
"""The code of a heading, and the column's share of the page."""


def table(
    report: Report,
    code: str,
    columns: Sequence[Column],
    rows: Sequence[Sequence[Sequence[Item]]],
    below: Sequence[Sequence[Item]],
    width: float,
) -> Iterator[Row]:
    """A heading, and below it rows of cells; what stands ``below`` a row begins under its second column."""
    yield section(label(report, code), width)
    under = heads(report, columns, width)
    for row, more in zip(rows, below, strict=True):
        bands = [Band(cells(row, columns, width))]
        if more:
            bands.append(Band((Cell(left(width, columns, 1), width - left(width, columns, 1), tuple(more)),), pad=2))
        yield Row(tuple(bands), heads=under, ruled=True)


def heads(report: Report, columns: Sequence[Column], width: float) -> Band:
    """The headings of a table."""
    named = [set_text(label(report, name), room(width, columns, at), LABEL) for at, (name, _) in enumerate(columns)]
    return Band(cells(named, columns, width), pad=3)


def cells(row: Sequence[Sequence[Item]], columns: Sequence[Column], width: float) -> tuple[Cell, ...]:
    """Items placed in their columns; an empty cell is none."""
    placed = [Cell(left(width, columns, at), room(width, columns, at), tuple(items)) for at, items in enumerate(row)]
    return tuple(cell for cell in placed if cell.items)


def room(width: float, columns: Sequence[Column], at: int) -> float:
    """The width of a column."""
    return columns[at][1] * _share(width, columns)


def left(width: float, columns: Sequence[Column], at: int) -> float:
    """Where a column begins."""
    return sum(share for _, share in columns[:at]) * _share(width, columns) + GAP * at


def _share(width: float, columns: Sequence[Column]) -> float:
    return (width - GAP * (len(columns) - 1)) / sum(share for _, share in columns)
