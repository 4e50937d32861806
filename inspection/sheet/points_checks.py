"""Points of checks before use: missing, failed or aged, readings re-opened or in question, and the check at the end."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from inspection.measuring.checks import closing_wanted
from inspection.measuring.reading import Reading
from inspection.reasons import Reason
from inspection.sheet.points_look import Look
from inspection.sheet.points_table import Point
from inspection.sheet.proof_life import closing_checks_missing

#: Under which code of the table a reading goes by why it rests on no check; any other is a missing one.
_UNPROVEN = {"unproven.failed": "check_failed", "unproven.upset": "check_failed", "unproven.aged": "check_aged"}


def of_checks(look: Look) -> Iterator[Point]:
    """Points of checks, the readings with the same cause together."""
    sheet = look.sheet
    standing = {name: sheet.readings[name] for names in sheet.standing.values() for name in names}
    yield from _failed(look, "suspect", {name: c for name, c in sheet.suspect.items() if name in standing})
    yield from _failed(look, "reopened", {name: c for name, c in sheet.reopened.items() if name in standing})
    yield from _unproven(look)
    yield from _closing(look)


def _failed(look: Look, code: str, readings: Mapping[str, str]) -> Iterator[Point]:
    """Readings that a failed check re-opened or put in question, by check, with what failed."""
    by_check: dict[str, list[Reading]] = {}
    for name, check in readings.items():
        by_check.setdefault(check, []).append(look.sheet.readings[name])
    for check, group in by_check.items():
        record = look.sheet.checks[check]
        held = look.shop.crib.get(record.instrument)
        yield look.point(
            code,
            _cells(group),
            (reading.identity for reading in group),
            about=check,
            why=tuple(finding.reason for finding in record.findings if not finding.holds),
            tag=held.tag if held else "–",
            count=len(group),
        )


def _cells(readings: Iterable[Reading]) -> Iterator[tuple[str, str]]:
    return ((reading.characteristic, reading.piece) for reading in readings)


def _unproven(look: Look) -> Iterator[Point]:
    """Readings that rest on no check, by why."""
    groups: dict[tuple[str, str], list[Reading]] = {}
    whys: dict[tuple[str, str], Reason] = {}
    for _, reading in look.counting:
        for why in reading.unproven:
            key = (why.code, str(why.parts.get("tag", "")))
            groups.setdefault(key, []).append(reading)
            whys.setdefault(key, why)
    for key, group in groups.items():
        code = _UNPROVEN.get(key[0], "check_missing")
        names = (reading.identity for reading in group)
        yield look.point(code, _cells(group), names, about=" ".join(key), why=(whys[key],), tag=key[1])


def _closing(look: Look) -> Iterator[Point]:
    """Instruments that narrow rows were measured with and that were not checked after the last of them."""
    for tag in closing_checks_missing(look.shop, look.sheet):
        held = look.shop.by_tag(tag)
        identity = held.identity if held else ""
        named = [
            (at, reading)
            for at, reading in look.counting
            if reading.count is not None
            and reading.method.parts[0].identity == identity
            and closing_wanted([(at.row.requirement.kind, at.row.requirement.band)], look.sheet.rules.closing_band)
        ]
        cells = (at.cell for at, _ in named)
        yield look.point("closing_check", cells, (reading.identity for _, reading in named), about=identity, tag=tag)
