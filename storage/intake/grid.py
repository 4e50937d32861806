"""A file as rows of named cells, whether it is csv or a workbook: heads and sizes, strict, nothing about the trade."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path, PurePath

from msgspec import Struct

from inspection.layout.cell_names import letters
from inspection.reasons import Reason, Refused
from storage.book.failures import failure, telling
from storage.intake.csv_lines import csv_lines
from storage.intake.faults import Faults, Places, whole_refused
from storage.intake.heads import (
    HEAD_MARK,
    MOST_HEADS,
    MOST_IN_FRONT,
    Names,
    field_of,
    in_front,
    is_unmarked,
    names,
    plain,
    unknown_head,
)
from storage.intake.lines import LONGEST_CELL, Line, unfit

__all__ = [
    "HEAD_MARK", "LARGEST_FILE", "LONGEST_CELL", "FrontLine", "Grid", "Names", "Row", "field_of", "names", "plain",
    "read_bytes", "read_grid",
]  # fmt: skip

LARGEST_FILE = 32_000_000  # bytes
#: Beginnings of files that are no table of ours, and what they are.
_FOREIGN = (
    (b"%PDF", "intake.is_pdf"),
    (b"\xff\xfe", "intake.is_utf16"),
    (b"\xfe\xff", "intake.is_utf16"),
)


class Row(Struct, frozen=True):
    """One row: its number in the file, the texts of its known, filled cells by field, and the fields whose cells were
    filled with what could not be taken (which is noted already)."""

    number: int
    cells: dict[str, str]
    flawed: tuple[str, ...] = ()


class FrontLine(Struct, frozen=True):
    """A line in front of the table: its row, name and value; ``sheet`` if it stands on a worksheet of its own, and the
    value's cell in a workbook. What a line at ``fault`` says is not known; that it is there is."""

    row: int
    name: str
    value: str
    sheet: str = ""
    cell: str = ""
    fault: bool = False


class Grid(Struct, frozen=True):
    """A whole file: the lines in front of the table, the heads as written by field, the rows; how its cells are named;
    what is to be said of it that is no fault."""

    front: tuple[FrontLine, ...]
    heads: dict[str, str]
    rows: tuple[Row, ...]
    places: Places = Places()
    notices: tuple[Reason, ...] = ()


def read_bytes(path: Path) -> bytes:
    """The bytes of a file that is to be taken in.

    Raises BookFailure if it cannot be read, ``Refused`` if it is larger than any such file is.
    """
    if not path.exists():
        raise failure("file.missing", path)
    with telling(path, "file"), path.open("rb") as stream:
        data = stream.read(LARGEST_FILE + 1)
    if len(data) > LARGEST_FILE:
        raise Refused(Reason("intake.too_large", {"file": path.name, "most": LARGEST_FILE // 1_000_000}))
    return data


def read_grid(data: bytes, name: str, known: Names, required: tuple[str, ...], most_rows: int) -> tuple[Grid, Faults]:
    """Rows of named cells out of the bytes of a csv file or a workbook, and the faults found so far by cell.

    Which of the two it is follows from the bytes; a ``name`` whose ending says otherwise is refused. A workbook's cells
    are named by sheet and cell. What keeps the table from being read at all (encoding, no known head, a workbook that
    holds what none of ours may) raises ``FileRefused`` at once.
    """
    for mark, code in _FOREIGN:
        if data.startswith(mark):
            raise whole_refused(name, Reason(code))
    if not data.strip():
        raise whole_refused(name, Reason("intake.empty"))
    from storage.intake.workbook.kinds import is_workbook

    faults = Faults(name)
    if is_workbook(data, PurePath(name).suffix, name):
        from storage.intake.workbook.table import Table

        table = Table(data, faults, known, required, most_rows)
        grid = _gather(table.lines(), known, required, most_rows, faults, table.sheet)
        table.finish(grid)
        return Grid(grid.front, grid.heads, grid.rows, grid.places, tuple(table.notices)), faults
    return _gather(csv_lines(data, faults, known, required), known, required, most_rows, faults), faults


class _Heads(Struct, frozen=True):
    """Field and text of every head by its column, and how many columns the head row has."""

    by_column: dict[int, tuple[str | None, str]]
    width: int


def _gather(
    lines: Iterable[Line], known: Names, required: tuple[str, ...], most_rows: int, faults: Faults, sheet: str = ""
) -> Grid:
    """Rows out of lines. In a workbook (``sheet`` given) faults get the places of its cells."""
    front: list[FrontLine] = []
    heads: _Heads | None = None
    rows: list[Row] = []
    for line in lines:
        if line.sheet or (heads is None and in_front(line.cells)):
            front.extend(_front_line(line, faults, sheet))
            if len(front) > MOST_IN_FRONT:
                faults.note(line.number, "", Reason("intake.too_many_in_front", {"most": MOST_IN_FRONT}))
                return Grid((), {}, ())
        elif heads is None and not sheet and is_unmarked(line.cells, known):
            name = line.cells[0][:60]
            faults.note(line.number, name, Reason("intake.head_line_unmarked", {"name": name, "mark": HEAD_MARK}))
            front.append(FrontLine(line.number, name, line.cells.get(1, ""), fault=True))
        elif heads is None:
            faults.places = Places(
                sheet, {text: letters(index + 1) for index, text in line.cells.items()} if sheet else {}
            )
            heads = _heads(line, known, required, faults)
            if len(line.cells) > MOST_HEADS:
                break
        elif line.cells or line.problems:
            if len(rows) >= most_rows:
                faults.note(line.number, "", Reason("intake.too_many_rows", {"most": most_rows}))
                break
            rows.append(_row(line, heads, faults))
            if faults.full:
                break
    named = {field: written for field, written in heads.by_column.values() if field} if heads else {}
    return Grid(tuple(front), named, tuple(rows), faults.places)


def _front_line(line: Line, faults: Faults, table: str) -> Iterator[FrontLine]:
    """The line as name and value; what is wrong with it is noted at the value's cell."""
    filled = sorted({*line.cells, *line.problems})
    if not filled:
        return
    first = filled[0]
    name = line.cells.get(first, "").removeprefix(HEAD_MARK).strip().rstrip(":")
    sheet = line.sheet or table
    cell = f"{letters(first + 2)}{line.number}" if sheet else ""
    value = line.cells.get(first + 1, "")
    problem = line.problems.get(first) or line.problems.get(first + 1) or unfit(value)
    if filled[-1] > first + 1:
        problem = Reason("xlsx.head_line_split" if sheet else "intake.head_line_split", {"name": name[:60]})
    if problem:
        faults.note(line.number, name[:60], problem, sheet=sheet, cell=cell)
    yield FrontLine(line.number, name, value, sheet, cell, fault=problem is not None)


def _heads(line: Line, known: Names, required: tuple[str, ...], faults: Faults) -> _Heads:
    heads: dict[int, tuple[str | None, str]] = {}
    for index, problem in line.problems.items():
        faults.note(line.number, "", problem, cell=_cell(index, line, faults))
    if len(line.cells) > MOST_HEADS:
        faults.note(line.number, "", Reason("intake.too_many_heads", {"most": MOST_HEADS}))
    for index, written in sorted(line.cells.items())[:MOST_HEADS]:
        field = field_of(written, known)
        if field is None:
            faults.note(line.number, written[:60], unknown_head(written, known), cell=_cell(index, line, faults))
        elif any(field == other for other, _ in heads.values()):
            twice = Reason("intake.head_twice", {"head": written})
            faults.note(line.number, written, twice, cell=_cell(index, line, faults))
        heads[index] = (field, written)
    found = {field for field, _ in heads.values()}
    for field in required:
        if field not in found:
            faults.note(line.number, "", Reason("intake.head_missing", {"head": known[field][0]}))
    return _Heads(heads, line.width)


def _row(line: Line, heads: _Heads, faults: Faults) -> Row:
    if line.hidden:
        faults.note(line.number, "", Reason("xlsx.row_hidden"))
    cells: dict[str, str] = {}
    flawed: list[str] = []
    for index in sorted({*line.cells, *line.problems}):
        if index >= heads.width and not faults.places.sheet:
            faults.note(line.number, "", Reason("intake.too_many_cells", {"got": line.width, "heads": heads.width}))
            break
        field, written = heads.by_column.get(index, (None, ""))
        text = line.cells.get(index, "")
        if problem := line.problems.get(index) or unfit(text):
            faults.note(line.number, written[:60], problem, cell=_cell(index, line, faults))
            flawed.append(field or "")
        elif not written:
            without = Reason("intake.cell_without_head", {"text": text[:60]})
            faults.note(line.number, "", without, cell=_cell(index, line, faults))
        elif field is not None:
            cells.setdefault(field, text)
    return Row(line.number, cells, tuple(flawed))


def _cell(index: int, line: Line, faults: Faults) -> str:
    """The name of a line's cell in a workbook; in csv it has none."""
    return f"{letters(index + 1)}{line.number}" if faults.places.sheet else ""
