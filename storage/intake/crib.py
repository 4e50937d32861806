"""A crib file, csv or workbook: one row an instrument, cells as the record is written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from inspection.instruments.as_written import carried_cells, read_instrument
from inspection.instruments.changes import older_certificate, same_table_of_another
from inspection.instruments.record import Instrument
from inspection.reasons import Part, Reason, Refused
from storage.intake.faults import Faults
from storage.intake.grid import Grid, Row, names, read_grid

MOST_INSTRUMENTS = 20_000
REQUIRED = ("tag",)


class CribFile(Struct, frozen=True):
    """Records in the file's order: one whose tag the crib knows has that identity, a new one none. ``notices`` are
    what is to be said of the file that is no fault."""

    records: tuple[Instrument, ...]
    notices: tuple[Reason, ...] = ()


def read_crib(data: bytes, name: str, crib: Mapping[str, Instrument]) -> CribFile:
    """The records that a file holds; ``name`` is the file's, ``crib`` the newest issues by identity.

    A column that the file leaves out keeps what the crib holds, but for a table beside the number of a certificate that
    it is not of; an empty cell empties it. Raises ``FileRefused`` with every fault by its cell; nothing was taken then.
    """
    grid, faults = read_grid(data, name, names("crib"), REQUIRED, MOST_INSTRUMENTS)
    held = {instrument.tag: instrument for instrument in crib.values()}
    records: list[Instrument] = []
    first: dict[str, int] = {}
    if "tag" in grid.heads:
        for row in grid.rows:
            records += _record(row, grid, held, first, faults)
    if not grid.rows:
        faults.note(0, "", Reason("intake.no_rows"))
    faults.settle()
    return CribFile(tuple(records), (*grid.notices, *_overlooked(records, crib)))


def _overlooked(records: Iterable[Instrument], crib: Mapping[str, Instrument]) -> Iterator[Reason]:
    """Where another certificate came with the table of the one before, or with a day before its, which may have been
    overlooked."""
    for record in records:
        before = crib.get(record.identity)
        if before is None:
            continue
        parts: dict[str, Part] = {"tag": record.tag, "number": record.certificate, "before": before.certificate}
        if same_table_of_another(before, record):
            yield Reason("crib.file.same_table", parts)
        if older_certificate(before, record):
            yield Reason("crib.file.older", {**parts, "day": record.certified, "last": before.certified})


def _record(
    row: Row, grid: Grid, held: Mapping[str, Instrument], first: dict[str, int], faults: Faults
) -> tuple[Instrument, ...]:
    base = held.get(row.cells.get("tag", ""))
    given = {**dict.fromkeys(grid.heads, ""), **row.cells}
    try:
        record = read_instrument(carried_cells(base, given) if base else given, base)
    except Refused as refused:
        for reason in refused.reasons:
            field = str(reason.parts["field"])
            if field not in row.flawed:  # said already, of the cell itself
                faults.note(row.number, grid.heads.get(field, names("crib")[field][0]), reason)
        return ()
    if first.setdefault(record.tag, row.number) != row.number:
        twice = Reason("crib.file.tag_twice", {"tag": record.tag, "row": first[record.tag]})
        faults.note(row.number, grid.heads["tag"], twice)
    return (record,)
