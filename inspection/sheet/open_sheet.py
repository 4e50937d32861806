"""A sheet as open data tells it: part, instruments, characteristics with limits, and what was measured of each piece.

Numbers are plain decimal strings in the row's own unit, with the decimals that the printed sheet has.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.quantity.speaker import fewest_decimals
from inspection.sheet import figures
from inspection.sheet.report import Budget, Line, Report, Result
from inspection.sheet.state import Sheet, Shop

_NUMBER = re.compile(r"-?\d+(\.\d+)?")


class Device(Struct, frozen=True):
    """An instrument that was read: its tag, name and the last good day of its calibration (ISO, empty if none)."""

    tag: str
    name: str
    due: str = ""


class Measurement(Struct, frozen=True):
    """What one row came to on one piece: ``value``, or ``smallest`` and ``largest`` of several places; ``text`` is what
    is printed, ``state`` the Verdict's value. ``uncertainty`` is u_c, ``expanded`` U. ``at`` is the moment of the last
    reading (UTC, ISO)."""

    serial: str
    text: str
    state: str
    value: str = ""
    smallest: str = ""
    largest: str = ""
    uncertainty: str = ""
    expanded: str = ""
    devices: tuple[str, ...] = ()
    nonconformance: str = ""
    at: str = ""


class OpenRow(Struct, frozen=True):
    """One characteristic. Limits are empty where open; ``form`` is the requirement's, ``kind`` the feature's."""

    number: str
    requirement: str
    form: str
    kind: str
    name: str = ""
    sheet: str = ""
    zone: str = ""
    key: str = ""
    unit: str = ""
    nominal: str = ""
    lower: str = ""
    upper: str = ""
    measured: tuple[Measurement, ...] = ()


class OpenSheet(Struct, frozen=True):
    """A whole sheet. ``made`` is the moment that it was last signed, or begun if never (UTC, ISO); ``inspector`` who
    signed it, empty if nobody did. ``chain`` is the head of the book's chain as files write it."""

    identity: str
    entry: str
    shop: str
    part: str
    part_revision: str
    part_name: str
    drawing: str
    drawing_revision: str
    changes: str
    customer: str
    supplier_code: str
    order: str
    partial: bool
    unit: str
    made: str
    inspector: str
    serials: tuple[str, ...]
    devices: tuple[Device, ...]
    rows: tuple[OpenRow, ...]
    chain: str = ""


def open_sheet(sheet: Sheet, shop: Shop, report: Report) -> OpenSheet:
    """The sheet as open data, from the same report that is printed."""
    part, head = sheet.plan.part, sheet.head
    lines = {line.number: line for line in report.lines}
    budgets = {budget.name: budget for budget in report.budgets}
    rows = sorted(sheet.plan.characteristics, key=lambda row: natural_key(row.number))
    seal = sheet.seals[-1] if sheet.sealed else None
    signer = shop.people.get(seal.by) if seal else None
    return OpenSheet(
        identity=sheet.identity,
        entry=sheet.last_entry,
        shop=shop.name,
        part=part.number,
        part_revision=part.revision,
        part_name=part.name,
        drawing=part.drawing,
        drawing_revision=part.drawing_revision,
        changes=part.changes,
        customer=head.customer or part.customer,
        supplier_code=head.supplier_code,
        order=head.order,
        partial=head.extent == "partial",
        unit=sheet.plan.title_block.unit,
        made=moment_told(seal.at if seal else sheet.made_at),
        inspector=signer.name if signer else "",
        serials=tuple(piece.serial for piece in sheet.pieces),
        devices=tuple(_devices(sheet, shop)),
        rows=tuple(_row(sheet, shop, row, lines[row.number], budgets) for row in rows),
        chain=report.chain.written if report.chain is not None else "",
    )


def moment_told(at: int) -> str:
    """A moment (UTC microseconds) to the second, as ISO 8601 writes it."""
    return datetime.fromtimestamp(at // 1_000_000, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _devices(sheet: Sheet, shop: Shop) -> Iterator[Device]:
    used = {part for reading in sheet.readings.values() for part in reading.method.parts}
    found = {}
    for part in sorted(used, key=lambda each: (each.identity, each.issue)):
        one = shop.issues.get((part.identity, part.issue))
        if one is not None:
            found[one.tag] = Device(one.tag, one.name, one.due)
    yield from (found[tag] for tag in sorted(found))


def _row(sheet: Sheet, shop: Shop, row: Characteristic, line: Line, budgets: dict[str, Budget]) -> OpenRow:
    asked = row.requirement
    exact = asked.nominal is not None and fewest_decimals(asked.nominal, asked.unit) is not None
    return OpenRow(
        number=row.number,
        requirement=asked.written,
        form=str(asked.form),
        kind=str(row.kind),
        name=row.name,
        sheet=row.sheet,
        zone=row.zone,
        key=row.key,
        unit=line.unit,
        nominal=figures.number(asked.nominal, asked) if line.unit and exact and asked.nominal is not None else "",
        lower=line.lower_number,
        upper=line.upper_number,
        measured=tuple(_measured(sheet, shop, row, line, result, budgets) for result in line.results),
    )


def _measured(
    sheet: Sheet, shop: Shop, row: Characteristic, line: Line, result: Result, budgets: dict[str, Budget]
) -> Measurement:
    piece = next(piece for piece in sheet.pieces if piece.serial == result.serial)
    readings = sheet.counting(row.identity, piece.identity)
    tags = (
        shop.issues[part.identity, part.issue].tag
        for reading in readings
        for part in reading.method.parts
        if (part.identity, part.issue) in shop.issues
    )
    numbers = result_numbers(line, result)
    budget = budgets.get(result.budget)
    held = (each for each in sheet.nonconformances.values() if each.piece == piece.identity)
    return Measurement(
        serial=result.serial,
        text=result.text,
        state=result.state,
        value=numbers[0] if len(numbers) == 1 else "",
        smallest=numbers[0] if len(numbers) > 1 else "",
        largest=numbers[-1] if len(numbers) > 1 else "",
        uncertainty=budget.combined if budget else "",
        expanded=result.expanded,
        devices=tuple(sorted(set(tags))),
        nonconformance=", ".join(each.number for each in held if row.identity in each.rows),
        at=moment_told(max(reading.taken for reading in readings)) if readings else "",
    )


def result_numbers(line: Line, result: Result) -> list[str]:
    """The reported numbers of one result, in ascending order: one, or those of several places; none of what is no
    number."""
    found = list(result.numbers) or [result.number or result.text]
    numbers = [each for each in found if _NUMBER.fullmatch(each)]
    if not numbers and result.text:
        own = (value for value in line.values if value.serial == result.serial and value.counts and not value.role)
        numbers = [value.number for value in own if value.number]
    return sorted(numbers, key=float)
