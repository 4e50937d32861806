"""Reference values and data of the studies, as counts."""

from __future__ import annotations

import csv
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def stated() -> Callable[[str, str], str]:
    """A value of tests/reference/studies_stats.csv as written, by item and quantity."""
    held = {(row["item"], row["quantity"]): row["value"] for row in rows("studies_stats.csv")}
    return lambda item, quantity: held[item, quantity]


@pytest.fixture(scope="session")
def data() -> Callable[[str, int], dict[tuple[str, str], int]]:
    """A set of data by its row and column, as counts of 10^−places."""
    held = [*rows("studies_data.csv"), *rows("spread_data.csv")]

    def read(name: str, places: int) -> dict[tuple[str, str], int]:
        found: dict[tuple[str, str], int] = {}
        for row in held:
            if row["dataset"] == name:
                count = Fraction(row["value"]) * 10**places
                assert count.denominator == 1
                found[row["row"], row["column"]] = int(count)
        return found

    return read
