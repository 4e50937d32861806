"""A feature file as values: the lines about the drawing, and one characteristic a row and place."""

from __future__ import annotations

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Part, TitleBlock
from inspection.drawing.rows import characteristic, faults_of_its_own, general_row
from inspection.reasons import Reason, Refused
from inspection.sheet.head import Head
from storage.intake.faults import Faults
from storage.intake.front import Front, read_front
from storage.intake.grid import Grid, Row, names, read_grid

MOST_FEATURES = 10_000
REQUIRED = ("number", "kind", "requirement")


class FeatureFile(Struct, frozen=True):
    """A whole feature file. Characteristics are new ones (identity empty), in the file's order; ``head`` and
    ``serials`` are for the sheet made on it, ``serials`` empty if the file names no piece; ``notices`` are to be said
    of it."""

    part: Part
    title_block: TitleBlock
    head: Head
    serials: tuple[str, ...]
    characteristics: tuple[Characteristic, ...]
    notices: tuple[Reason, ...] = ()


def read_features(data: bytes, name: str) -> FeatureFile:
    """What a feature file (csv or workbook) holds; ``name`` is the file's, for the sentences.

    Raises ``FileRefused`` with every fault by its cell.
    """
    file, faults = look_at_features(data, name)
    faults.settle()
    return file


def look_at_features(data: bytes, name: str) -> tuple[FeatureFile, Faults]:
    """As much of a feature file as can be read, and its faults by cell. Raises ``FileRefused`` if nothing can."""
    grid, faults = read_grid(data, name, names("features"), REQUIRED, MOST_FEATURES)
    if not grid.rows and not faults.found:
        faults.note(0, "", Reason("intake.no_rows"))
    front = read_front(grid.front, faults)
    found: list[Characteristic] = []
    numbers: dict[str, int] = {}
    if set(REQUIRED) <= grid.heads.keys():
        for row in grid.rows:
            if faults.full:
                break
            found += _characteristics(row, grid, front, numbers, faults)
    found += general_row(front.title_block, found)
    file = FeatureFile(front.part, front.title_block, front.head, front.serials, tuple(found), grid.notices)
    return file, faults


def _characteristics(
    row: Row, grid: Grid, front: Front, numbers: dict[str, int], faults: Faults
) -> tuple[Characteristic, ...]:
    try:
        found = characteristic(row.cells, front.title_block)
    except Refused as refused:
        for reason in faults_of_its_own(row.cells, refused.reasons, front.meant):
            field = str(reason.parts.get("field", ""))
            if field in row.flawed or (field == "requirement" and "kind" in row.flawed):
                continue  # said already, of the cell itself
            faults.note(row.number, grid.heads.get(field, field), reason)
        if number := row.cells.get("number", "").strip():
            _note_twice(number, row, grid, numbers, faults)
        return ()
    for one in found:
        _note_twice(one.number, row, grid, numbers, faults)
    return found


def _note_twice(number: str, row: Row, grid: Grid, numbers: dict[str, int], faults: Faults) -> None:
    """Note a number that another row has; a row that is at fault otherwise has one too."""
    first = numbers.setdefault(number, row.number)
    if first != row.number:
        faults.note(row.number, grid.heads["number"], Reason("intake.number_twice", {"number": number, "row": first}))
