"""ISO 2768-1. The table is from memory of the 1989 edition; ``tests/reference/iso2768_1.csv`` was read from a public
transcription and a web table. Five angular values there are themselves from memory: for those this is a
transcription, not a check."""

from __future__ import annotations

import csv
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from inspection.quantity.units import MICRO_ARCSECONDS_PER_DEGREE as DEGREE
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE as MM
from inspection.standards import general

REFERENCE = Path(__file__).parents[1] / "reference" / "iso2768_1.csv"
LOOK_UP: dict[str, Callable[[str, int], int | None]] = {
    "linear": general.linear,
    "external_radius_chamfer": general.broken_edge,
    "angular": general.angle,
    "worked_lookup": general.linear,
}


def reference() -> list[dict[str, str]]:
    with REFERENCE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def expected(row: dict[str, str]) -> int | None:
    if row["tolerance_pm_arcmin"]:
        return int(row["tolerance_pm_arcmin"]) * DEGREE // 60
    return int(Decimal(row["tolerance_pm_mm"]) * MM) if row["tolerance_pm_mm"] else None


def test_tables_equal_the_transcriptions() -> None:
    found = reference()
    assert len(found) == 81
    for row in found:
        size = int(Decimal(row["up_to_mm"] or "3999") * MM)
        assert LOOK_UP[row["table"]](row["class"], size) == expected(row), row


@pytest.mark.parametrize(
    ("tolerance_class", "millimetres", "half_width"),
    [("c", "2", "0.2"), ("c", "4", "0.3"), ("m", "12.5", "0.2"), ("m", "0.5", "0.1"), ("m", "0.49", None)],
)
def test_linear_sizes(tolerance_class: str, millimetres: str, half_width: str | None) -> None:
    """Coarse 0.2 and 0.3 in the two lowest bands, where one copy prints the older 0.15 and 0.2."""
    wanted = None if half_width is None else int(Decimal(half_width) * MM)
    assert general.linear(tolerance_class, int(Decimal(millimetres) * MM)) == wanted


def test_coarse_angle_over_120_is_fifteen_minutes() -> None:
    """One web page prints 20 minutes; 15 is from memory of the standard."""
    assert general.angle("c", 200 * MM) == 15 * DEGREE // 60


def test_no_value_beyond_four_metres() -> None:
    assert general.linear("m", 4001 * MM) is None
