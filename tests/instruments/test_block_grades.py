"""Limit deviations of gauge blocks by grade: the inch table, remembered, against the metric one, read in print."""

from __future__ import annotations

from itertools import pairwise

import pytest
from msgspec.structs import replace

from inspection.instruments.blocks import stack_of
from inspection.instruments.blocks_grades import grade_limit, stack_limit
from inspection.instruments.record import Instrument, InstrumentKind, Member
from inspection.standards.tables import rows, steps

MM, MICRON, MICROINCH, INCH = 10**9, 10**6, 25_400, 25_400_000_000


@pytest.mark.parametrize(("inch_grade", "metric_grade"), [("00", "00"), ("0", "0"), ("AS-1", "1"), ("AS-2", "2")])
def test_the_inch_grades_are_the_metric_ones_in_microinches(inch_grade: str, metric_grade: str) -> None:
    """Two sources: figures remembered of ASME B89.1.9-2002 and a print of DIN 861 / ISO 3650. They agree to a
    microinch, to which the one is rounded."""
    for size in (INCH // 4, 9 * INCH // 10, 3 * INCH // 2, 5 * INCH // 2, 7 * INCH // 2):
        inch, metric = grade_limit(inch_grade, size, "in"), grade_limit(metric_grade, size, "mm")
        assert inch is not None and metric is not None
        assert abs(inch - metric) <= MICROINCH


@pytest.mark.parametrize(
    ("grade", "size", "limit"),
    [
        ("0", 10 * MM, 120_000),  # up to and including
        ("0", 10 * MM + 1, 140_000),
        ("0", MM // 4, 120_000),
        ("k", 100 * MM, 600_000),
        ("2", 1000 * MM, 8_000_000),
        ("2", 1000 * MM + 1, None),
        ("5", 10 * MM, None),
        ("0", 0, None),
    ],
)
def test_bands_hold_their_upper_end(grade: str, size: int, limit: int | None) -> None:
    assert grade_limit(grade, size) == limit


def test_an_inch_set_of_a_metric_grade_goes_by_the_metric_table() -> None:
    assert grade_limit("1", INCH, "in") == grade_limit("1", INCH)


def test_every_grade_grows_with_size_without_a_gap() -> None:
    bands: dict[tuple[str, str], list[tuple[int, int, int]]] = {}
    for row in rows("block_grades"):
        over, up_to = steps(row["over"], row["unit"]), steps(row["up_to"], row["unit"])
        deviation = steps(row["deviation"], row["deviation_unit"])
        bands.setdefault((row["grade"], row["system"]), []).append((over, up_to, deviation))
    assert len(bands) == 10
    for found in bands.values():
        for (_, end, less), (start, _, more) in pairwise(found):
            assert end == start and less <= more


def test_a_stack_may_err_by_all_its_blocks() -> None:
    held = Instrument(
        "g", 1, "G", InstrumentKind.GAUGE_BLOCKS, "blocks", "mm", members=(Member(5 * MM), Member(20 * MM))
    )
    stack = stack_of([held], [20 * MM, 5 * MM])
    assert stack_limit(stack, [held]) is None
    assert stack_limit(stack, [replace(held, gauge_class="1")]) == 300_000 + 200_000
