"""Reader and speaker against tables of conversions and roundings (tests/reference; each row names its source).

Rows "computed" there are arithmetic from the definition of the inch, done with other means than ours.
"""

from __future__ import annotations

import csv
import re
from decimal import Decimal
from pathlib import Path

import pytest

from inspection.quantity.reader import read
from inspection.quantity.speaker import as_64ths, nearest, plain, rounded_inward
from inspection.quantity.units import UNITS, Kind

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROUNDING = rows("rounding_units.csv")


def chosen(topic: str, case: str = "") -> list[dict[str, str]]:
    found = [row for row in ROUNDING if row["topic"] == topic and row["case"].startswith(case)]
    assert found, f"{topic}, {case} is not in the table"
    return found


def named(rows: list[dict[str, str]]) -> list[object]:
    return [pytest.param(row, id=f"{row['input']} {row['case']}".replace(" ", "_")) for row in rows]


@pytest.mark.parametrize("row", [pytest.param(row, id=row["fraction_in"]) for row in rows("fractions.csv")])
def test_every_64th(row: dict[str, str]) -> None:
    step = UNITS["in"].count // 64
    count = int(row["sixty_fourths"]) * step
    assert read(row["decimal_in"], unit="in").count == count
    assert plain(count, "in") == row["decimal_in"]
    assert plain(count, "mm") == row["exact_mm"]
    assert nearest(count, "mm", 3) == row["mm_rounded_3dp_half_even"]
    assert as_64ths(count) == (row["fraction_in"], 0)
    if "/" in row["fraction_in"]:
        assert read(row["fraction_in"], unit="in").count == count


@pytest.mark.parametrize("row", named(chosen("inch to mm")))
def test_inch_to_millimetre_is_exact(row: dict[str, str]) -> None:
    assert plain(read(row["input"], unit="in").count, "mm") == row["value"]


@pytest.mark.parametrize("row", named(chosen("mm to inch")))
def test_millimetre_to_inch_to_the_digits_given(row: dict[str, str]) -> None:
    digits = len(row["value"].partition(".")[2])
    assert nearest(read(row["input"], unit="mm").count, "in", digits) == row["value"]


@pytest.mark.parametrize("row", named(chosen("roughness Ra", "um to uin")))
def test_roughness_to_microinches(row: dict[str, str]) -> None:
    assert nearest(read(row["input"], unit="µm").count, "µin", 2) == row["value"]


@pytest.mark.parametrize("row", named(chosen("roughness Ra", "preferred pairs")))
def test_the_exact_conversion_of_a_preferred_pair(row: dict[str, str]) -> None:
    """The pairs themselves are rounded by their standard; the note holds the exact conversion."""
    assert nearest(read(row["input"], unit="µm").count, "µin", 2) == row["note"].removeprefix("exact conversion ")


@pytest.mark.parametrize("row", named(chosen("angle", "DMS to decimal")))
def test_degrees_minutes_and_seconds(row: dict[str, str]) -> None:
    degrees, minutes, seconds = row["input"].split()
    count = read(f"{degrees}°{minutes}'{seconds}\"", unit="°", kind=Kind.ANGLE).count
    assert nearest(count, "°", 8) == row["value"]


@pytest.mark.parametrize(
    "row", named([row for row in chosen("rounding", "decimal arithmetic") if row["quantity"] == "half even"])
)
def test_the_nearest_takes_a_tie_to_the_even_digit(row: dict[str, str]) -> None:
    text, place = row["input"].split(" to ")
    decimals = -int(Decimal(place).as_tuple().exponent)
    assert nearest(read(text, unit="mm", signed=True).count, "mm", decimals) == row["value"]


@pytest.mark.parametrize("row", named(chosen("unit conversion of limits", "round inward")))
def test_limits_are_rounded_inward(row: dict[str, str]) -> None:
    found = re.fullmatch(r"([\d.]+)\.\.([\d.]+) in to ([\d.]+) mm", row["input"])
    assert found is not None
    lower, upper = (read(text, unit="in").count for text in found.group(1, 2))
    assert rounded_inward(lower, upper, "mm", len(found[3]) - 2) == tuple(row["value"].split(".."))
    assert f"exact {plain(lower, 'mm')}..{plain(upper, 'mm')}" == row["note"]
