"""The lead's list of a sheet of five thousand rows is there at once."""

from __future__ import annotations

import gc
import time
from random import Random
from typing import Any

import pytest

from inspection.instruments.starter import starter_crib
from inspection.measuring.slots import slots_of
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts
from inspection.sheet.cells import instrument_of
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.life import decide
from inspection.sheet.points import points
from inspection.sheet.points_history import Earlier
from inspection.sheet.state import Sheet
from tests.sheet.points_bench import DAY

ROWS = 5_000
KINDS = (
    ("length", ".{:03d} ±.005", 500),
    ("outside diameter", "⌀.{:03d}0 ±.0005", 300),
    ("bore", "⌀.{:03d}0 +.0010 -.0010", 300),
)
HALF_THOU = 12_700_000


def rows() -> list[dict[str, str]]:
    kinds = ((i, *KINDS[i % 3]) for i in range(ROWS))
    return [
        {"number": str(i + 1), "kind": kind, "requirement": text.format(first + i % 199)}
        for i, kind, text, first in kinds
    ]


def read(life: Any, sheet: Sheet, chance: Random) -> Sheet:
    """Every row read beside its nominal, a minute after the one before."""
    for place, row in enumerate(sheet.plan.characteristics):
        assert row.requirement.nominal is not None
        off = chance.choice((-2, -1, 0, 1, 2)) * (HALF_THOU if place % 3 == 0 else HALF_THOU // 5)
        quantity = Quantity(row.requirement.nominal + off, Kind.LENGTH, "in", f"row {row.number}", 4)
        slot = slots_of(row, instrument_of(life.shop, sheet, row.identity))[0]
        act = acts.TakeReading(
            sheet=sheet.identity,
            characteristic=row.identity,
            piece=sheet.pieces[0].identity,
            slot=slot,
            quantity=quantity,
        )
        entry = life.entry(number=100 + place)
        events = decide(life.shop, sheet, life.plans, act, entry)
        sheet = fold_sheet(sheet, [(event, entry) for event in events], life.plans)
    return sheet


def history(sheet: Sheet, chance: Random) -> dict[str, tuple[Earlier, ...]]:
    """Twelve earlier pieces."""
    found: dict[str, tuple[Earlier, ...]] = {}
    for row in sheet.plan.characteristics:
        asked = row.requirement
        assert asked.nominal is not None
        values = [asked.nominal + chance.randint(-3, 3) * HALF_THOU for _ in range(12)]
        ends = (asked.nominal, asked.lower, asked.upper)
        found[row.identity] = tuple(Earlier(f"s{i}", f"E{i}", DAY, v, v, 1, *ends) for i, v in enumerate(values))
    return found


@pytest.mark.slow
@pytest.mark.measured
def test_five_thousand_rows_are_looked_through_in_the_blink_of_an_eye(life_kind: Any) -> None:
    life, chance = life_kind().open(tuple(starter_crib(due="2027-01-01")), checks=True), Random(5)
    sheet = read(life, life.make(("1",), *rows()), chance)
    before = history(sheet, chance)
    times = []
    for _ in range(7):
        gc.collect()
        began = time.perf_counter()
        found = points(life.shop, sheet, before, DAY)
        times.append((time.perf_counter() - began) * 1_000)
    print(f"\nthe list of {ROWS} rows: {sorted(times)[3]:.0f} ms, {len(found)} points")
    assert {"check_missing"} <= {point.code for point in found}
    assert sorted(times)[3] < 300
