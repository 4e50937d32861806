"""What changed between two issues of a record, as reasons; and what a file of records would change in a crib."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from inspection.instruments.as_written import FIELDS, permissible_text, written_cells
from inspection.instruments.certificate_table import point_text
from inspection.instruments.record import Instrument
from inspection.reasons import Reason

#: Fields that are told line by line, since a whole table of them beside another says nothing.
_BY_LINE = ("permissible", "points", "files")


def changes(before: Instrument, after: Instrument) -> tuple[Reason, ...]:
    """One reason for each field that differs, with what stood there and what stands there now."""
    was, now = _told(before), _told(after)
    return tuple(reason for field in (*FIELDS, "files") for reason in _change(field, was[field], now[field]))


def same_table_of_another(before: Instrument, after: Instrument) -> bool:
    """Whether a record names another certificate and still holds the table of the one before."""
    return bool(after.points) and after.points == before.points and after.certificate != before.certificate


def older_certificate(before: Instrument, after: Instrument) -> bool:
    """Whether a record names another certificate, dated before the one that it had."""
    return after.certificate != before.certificate and "" < after.certified < before.certified


def _told(instrument: Instrument) -> dict[str, tuple[str, ...]]:
    cells = {field: (text,) if text else () for field, text in written_cells(instrument).items()}
    lines = tuple(permissible_text(line, instrument.unit) for line in instrument.permissible)
    points = tuple(point_text(point, instrument.unit) for point in instrument.points)
    files = tuple(one.name for one in instrument.files)
    return {**cells, "permissible": lines, "points": points, "files": files}


def _change(field: str, was: tuple[str, ...], now: tuple[str, ...]) -> Iterator[Reason]:
    if was == now:
        return
    if len(was) == len(now) == 1 and field not in _BY_LINE:
        yield Reason("crib.change", {"field": field, "was": was[0], "now": now[0]})
        return
    gone = [line for line in was if line not in now]
    new = [line for line in now if line not in was]
    yield from (Reason("crib.change.gone", {"field": field, "was": line}) for line in gone)
    yield from (Reason("crib.change.new", {"field": field, "now": line}) for line in new)
    if not gone and not new:
        yield Reason("crib.change.order", {"field": field})


class Changed(Struct, frozen=True):
    """A record that a crib holds otherwise: as it is, as it would be, and what differs."""

    before: Instrument
    after: Instrument
    what: tuple[Reason, ...]


class Taking(Struct, frozen=True):
    """What taking records in would do: new ones, changed ones, and how many are the same; in the records' order."""

    new: tuple[Instrument, ...]
    changed: tuple[Changed, ...]
    same: int

    @property
    def issues(self) -> tuple[Instrument, ...]:
        """The records to be issued."""
        return (*self.new, *(one.after for one in self.changed))


def taking(crib: Mapping[str, Instrument], records: Iterable[Instrument]) -> Taking:
    """Compare records with a crib (newest issues by identity); a record without identity is new."""
    new: list[Instrument] = []
    changed: list[Changed] = []
    same = 0
    for record in records:
        held = crib.get(record.identity)
        if held is None:
            new.append(record)
        elif what := changes(held, record):
            changed.append(Changed(held, record, what))
        else:
            same += 1
    return Taking(tuple(new), tuple(changed), same)
