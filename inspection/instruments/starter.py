"""The starter crib: instruments as a small shop may hold them, from ``resources/crib``.

Permissible errors, steps and scatter are those of common practice or of a named source, row by row; a shop replaces
them by its own records and certificates.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from msgspec.structs import replace

from inspection.instruments.record import Contacts, Direction, Instrument, InstrumentKind, Member, Permissible, Use
from inspection.quantity.reader import read
from inspection.quantity.units import Kind
from inspection.standards.tables import Row, rows


def _count(text: str, unit: str, quantity: Kind = Kind.LENGTH) -> int:
    """A number of the crib's files, a decimal or a fraction, as a count; an empty field is 0."""
    return read(text, unit=unit, kind=quantity).count if text else 0


def _maybe(text: str, unit: str) -> int | None:
    return _count(text, unit) if text else None


@cache
def _permissible(key: str, quantity: Kind) -> tuple[Permissible, ...]:
    return tuple(
        Permissible(
            Use(row["use"]),
            _count(row["up_to"], row["unit"], quantity),
            _count(row["error"], row["error_unit"], quantity),
        )
        for row in rows("permissible", "crib")
        if row["key"] == key
    )


def series(first: int, last: int, step: int) -> tuple[int, ...]:
    """Sizes from ``first`` to ``last`` by ``step``, all included; a step of 0 is one size."""
    return tuple(range(first, last + 1, step)) if step else (first,)


@cache
def _members(key: str) -> tuple[Member, ...]:
    sizes: list[int] = []
    for row in rows("members", "crib"):
        if row["set"] == key:
            sizes += series(*(_count(row[name], row["unit"]) for name in ("from", "to", "step")))
    return tuple(Member(size) for size in sorted(sizes))


def _contacts(row: Row) -> Contacts:
    unit = row["unit"]
    if Kind(row["quantity"]) is Kind.ANGLE:
        return Contacts()
    return Contacts(
        smallest_bore=_maybe(row["smallest_bore"], unit),
        reach=_maybe(row["reach"], unit),
        relief=_maybe(row["relief"], unit),
        width=_maybe(row["width"], unit),
        hard=row["soft_safe"] != "yes",
    )


def _instrument(row: Row, due: str) -> Instrument:
    unit, quantity = row["unit"], Kind(row["quantity"])
    return Instrument(
        identity="",
        issue=0,
        tag=row["tag"],
        kind=InstrumentKind(row["kind"]),
        name=row["name"],
        unit=unit,
        quantity=quantity,
        low=_count(row["low"], unit, quantity),
        high=_count(row["high"], unit, quantity),
        resolution=_count(row["resolution"], unit, quantity),
        other_unit=row["other_unit"],
        other_resolution=_count(row["other_resolution"], row["other_unit"], quantity),
        permissible=_permissible(row["permissible"], quantity),
        contacts=_contacts(row),
        repeatability=_count(row["repeatability"], unit, quantity),
        zero=_count(row["zero"], unit, quantity),
        members=_members(row["set"]),
        gauge_class=row["gauge_class"],
        direction=Direction(row["direction"]) if row["direction"] else None,
        read_over=tuple(InstrumentKind(name) for name in row["read_over"].split(";") if name),
        thread=row["thread"],
        due=due if row["calibrated"] == "yes" else "",
        handling_seconds=int(row["handling_seconds"]),
        place=row["place"],
        kelvin=int(Decimal(row["kelvin"] or 0) * 1_000),
    )


@cache
def _starter() -> tuple[Instrument, ...]:
    return tuple(_instrument(row, "due") for row in rows("instruments", "crib"))


def starter_crib(due: str = "") -> tuple[Instrument, ...]:
    """Every instrument of the starter crib, without identity and with issue 0, which the book gives.

    ``due`` (an ISO date, or empty) becomes the calibration due date of those that need one.
    """
    return tuple(replace(item, due=due) if item.due else item for item in _starter())
