"""Points of dates that are out of order: calibrated after use, certificates that came later or have yet to come,
readings before there was a sheet or after the last signature."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

from inspection.instruments.record import Instrument
from inspection.measuring.reading import Reading
from inspection.sheet.missing_record import of_evidence
from inspection.sheet.points_look import At, Look
from inspection.sheet.points_table import Point, grades


def of_dates(look: Look) -> Iterator[Point]:
    """Points of dates, readings with the same cause together."""
    yield from _calibrated_late(look)
    yield from _certificates(look)
    yield from _readings(look)


def _calibrated_late(look: Look) -> Iterator[Point]:
    """Instruments whose record, as the reading names it, says that they were calibrated after that day."""
    groups: dict[tuple[str, str, str], list[tuple[At, Reading]]] = {}
    for at, reading in look.counting:
        for part in look.parts(reading):
            if part.certified and part.certified > reading.day:
                key = (part.identity, part.tag, part.certified)
                groups.setdefault(key, []).append((at, reading))
    for (identity, tag, certified), group in groups.items():
        cells, names = (at.cell for at, _ in group), [reading.identity for _, reading in group]
        first = min(reading.day for _, reading in group)
        about = f"{identity} {certified}"
        yield look.point("calibrated_late", cells, names, about=about, tag=tag, certified=certified, used=first)


def _certificates(look: Look) -> Iterator[Point]:
    """Certificates of materials, processes and tests of a day after their use, or after today; those of instruments and
    thermometers after today."""
    for lack in of_evidence(look.sheet):
        if lack.reason.code == "missing.certificate_late":
            grade = grades()["certificate_late"]
            yield Point("certificate_late", lack.reason, (), (), grade.weight, grade.must_answer, about=lack.evidence)
    dated = [(one.identity, one.name, one.certified) for one in look.sheet.evidence.values()]
    dated += [(one.identity, f"{one.tag} {one.name}", one.certified) for one in _used(look).values()]
    for identity, name, day in dated:
        if look.day and day > look.day:
            yield look.point("certificate_future", about=identity, name=name, certified=day)


def _used(look: Look) -> dict[str, Instrument]:
    """The instruments that readings which count were taken with, and the thermometers of the log."""
    used = {part.identity: part for _, reading in look.counting for part in look.parts(reading)}
    for log in look.sheet.temperatures:
        held = look.shop.issues.get((log.thermometer_identity, log.thermometer_issue))
        if held is not None:
            used[held.identity] = held
    return used


def _readings(look: Look) -> Iterator[Point]:
    """Readings taken before the sheet was made, unless it stands in another one's place and holds its readings; and,
    once it was signed, those that no signature covers."""
    sheet = look.sheet
    early = [(at, reading) for at, reading in look.counting if reading.taken < sheet.made_at and not sheet.amends]
    if early:
        cells, names = (at.cell for at, _ in early), (reading.identity for _, reading in early)
        first = min(reading.day for _, reading in early)
        yield look.point("read_before_sheet", cells, names, count=len(early), first=first)
    late = [(at, reading) for at, reading in look.counting if sheet.seals and reading.identity not in sheet.under_seal]
    if late:
        cells, names = (at.cell for at, _ in late), (reading.identity for _, reading in late)
        seal = sheet.seals[-1]
        yield look.point("read_after_signing", cells, names, count=len(late), round=seal.round, signed=_day(seal.at))


def _day(at: int) -> str:
    return datetime.fromtimestamp(at // 1_000_000, UTC).date().isoformat()
