"""A file of a gauge study: one reading a row, by whom and of which part."""

from __future__ import annotations

from inspection.quantity.reader import read
from inspection.quantity.units import UNITS
from inspection.reasons import Reason, Refused
from inspection.studies.gauge_study import Study, study
from storage.intake.faults import Faults
from storage.intake.grid import Row, names, read_grid

MOST_READINGS = 5_000
REQUIRED = ("person", "part", "reading")


def read_gauge_study(data: bytes, name: str, unit: str = "in") -> Study:
    """The study of a file, csv or workbook; readings without a unit are in ``unit``. People and parts stand in the
    order met, trials in the file's.

    Raises ``FileRefused`` with every fault by its cell, Refused where the readings make no study.
    """
    grid, faults = read_grid(data, name, names("gauge_study"), REQUIRED, MOST_READINGS)
    cells: dict[tuple[str, str], list[int]] = {}
    trials: dict[tuple[str, str, str], int] = {}
    for row in grid.rows:
        count = _count(row, grid.heads, faults, unit)
        person, part, trial = (row.cells.get(field, "") for field in ("person", "part", "trial"))
        first = trials.setdefault((person, part, trial), row.number) if trial else row.number
        if first != row.number:
            told = Reason("gauge.refused.twice", {"person": person, "part": part, "trial": trial, "row": first})
            faults.note(row.number, grid.heads["trial"], told)
        if count is not None:
            cells.setdefault((person, part), []).append(count)
    if not grid.rows and not faults.found:
        faults.note(0, "", Reason("intake.no_rows"))
    faults.settle()
    people, parts = (tuple(dict.fromkeys(key[place] for key in cells)) for place in (0, 1))
    return study(people, parts, [[cells.get((person, part), []) for part in parts] for person in people])


def _count(row: Row, heads: dict[str, str], faults: Faults, unit: str) -> int | None:
    """The reading of a row in counts; None where something is wrong with the row, which is noted."""
    missing = [field for field in REQUIRED if field not in row.cells]
    for field in missing:
        if field not in row.flawed:
            head = heads.get(field, field)
            faults.note(row.number, head, Reason("intake.cell_empty", {"head": head}))
    if missing:
        return None
    try:
        return read(row.cells["reading"], unit=unit, kind=UNITS[unit].kind, signed=True).count
    except Refused as refused:
        faults.note(row.number, heads["reading"], *refused.reasons)
        return None
