"""What one entry costs in the rules alone, without a book: it does not grow with the sheet."""

from __future__ import annotations

import gc
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest

from inspection.instruments.starter import starter_crib
from inspection.measuring.slots import slots_of
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts, reading_life
from inspection.sheet.cells import instrument_of
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.life import decide

KINDS = (
    ("length", ".{:03d} ±.005", 500),
    ("outside diameter", "⌀.{:03d}0 ±.0005", 300),
    ("bore", "⌀.{:03d}0 +.0010 -.0005", 300),
)
#: After so many rows the same kinds and sizes come again.
PERIOD = 3 * 199


def rows(n: int) -> list[dict[str, str]]:
    return [
        {"number": str(i + 1), "kind": kind, "requirement": text.format(first + i % 199)}
        for i in range(n)
        for kind, text, first in (KINDS[i % 3],)
    ]


class Large:
    """A sheet of many rows on one piece, with the whole starter crib at hand; ``read`` reads rows without a life."""

    def __init__(self, life: Any, n: int) -> None:
        self.life = life.open(tuple(starter_crib(due="2027-01-01")))
        self.sheet = life.make(("1",), *rows(n))

    def act(self, place: int) -> acts.TakeReading:
        row = self.sheet.plan.characteristics[place]
        assert row.requirement.nominal is not None
        quantity = Quantity(row.requirement.nominal, Kind.LENGTH, "in", f"row {row.number}", 4)
        piece = self.sheet.pieces[0].identity
        slot = slots_of(row, instrument_of(self.life.shop, self.sheet, row.identity))[0]
        return acts.TakeReading(
            sheet=self.sheet.identity, characteristic=row.identity, piece=piece, slot=slot, quantity=quantity
        )

    def read(self, place: int) -> None:
        """What the door does with one reading, apart from the disk."""
        act, entry = self.act(place), self.life.entry(number=100 + place)
        events = decide(self.life.shop, self.sheet, self.life.plans, act, entry)
        self.sheet = fold_sheet(self.sheet, [(event, entry) for event in events], self.life.plans)


@pytest.fixture(scope="module")
def small(life_kind: Any) -> Large:
    return Large(life_kind(), 30)


@pytest.fixture(scope="module")
def larger(life_kind: Any) -> Large:
    return Large(life_kind(), 2 * PERIOD)


def calls(act: Callable[[], None]) -> int:
    """How many functions of Python are called."""
    count = 0

    def called(_frame: Any, event: str, _given: Any) -> None:
        nonlocal count
        count += event == "call"

    before = sys.getprofile()
    gc.collect()
    gc.disable()  # what is called when others' garbage is collected is no work of ours
    sys.setprofile(called)
    try:
        act()
    finally:
        sys.setprofile(before)
        gc.enable()
    return count


def test_an_entry_assesses_and_judges_its_own_cell_only(
    small: Large, larger: Large, monkeypatch: pytest.MonkeyPatch
) -> None:
    counted: Counter[str] = Counter()
    for name in ("assessed", "judge"):
        plain = getattr(reading_life, name)

        def counting(*given: Any, name: str = name, plain: Any = plain) -> Any:
            counted[name] += 1
            return plain(*given)

        monkeypatch.setattr(reading_life, name, counting)
    seen = []
    for large in (small, larger):
        counted.clear()
        for place in range(6):
            large.read(place)
        seen.append(dict(counted))
    assert seen[0] == seen[1] == {"assessed": 6, "judge": 6}


def test_an_entry_calls_no_more_functions_on_a_larger_sheet(small: Large, larger: Large) -> None:
    """Forty times the rows, and the same work but for the copying of mappings, which is no call."""
    for large in (small, larger):
        large.read(6)  # whatever is read once from a table is read now
        large.read(7)
        large.read(8)
    few = [calls(lambda place=place: small.read(place)) for place in range(9, 15)]
    many = [calls(lambda place=place: larger.read(place)) for place in range(9, 15)]
    assert few == many
    assert all(few)


def test_an_entry_calls_no_more_functions_when_many_rows_are_read(larger: Large) -> None:
    before = [calls(lambda place=place: larger.read(place)) for place in range(30, 36)]
    for place in range(36, 30 + PERIOD):
        larger.read(place)
    after = [calls(lambda place=place: larger.read(place)) for place in range(30 + PERIOD, 36 + PERIOD)]
    assert before == after


@pytest.mark.measured
def test_the_time_of_an_entry_on_5000_rows(life_kind: Any) -> None:
    large = Large(life_kind(), 5_000)
    for place in range(3_000):
        large.read(place)
    gc.collect()
    times = []
    for place in range(3_000, 5_000):
        began = time.perf_counter()
        large.read(place)
        times.append((time.perf_counter() - began) * 1_000)
    p99 = sorted(times)[len(times) * 99 // 100]
    print(f"\ndecide and fold on 5,000 rows: median {statistics.median(times):.2f} ms, p99 {p99:.2f} ms")
    assert p99 < 5
