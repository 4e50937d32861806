"""Reads the tables under ``resources/tables``: one csv a standard, read once, never altered.

Every table names, row by row, its source, the source's edition and how the value was obtained. The files hold basic
tables only; what a drawing needs (the limits of H7 at 25 mm) is computed from them.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from types import MappingProxyType

from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE, UNITS

PICOMETRES_PER_MICROMETRE = PICOMETRES_PER_MILLIMETRE // 1000

Row = Mapping[str, str]


@cache
def rows(standard: str, folder: str = "tables") -> tuple[Row, ...]:
    """Return the rows of ``resources/<folder>/<standard>.csv`` by their column names, as written."""
    text = (resources.files("resources") / folder / f"{standard}.csv").read_text(encoding="utf-8")
    return tuple(MappingProxyType(row) for row in csv.DictReader(text.splitlines()))


def steps(text: str, unit: str) -> int:
    """Return a table's decimal number as an exact count of its kind's step (pm or µas).

    Raises ArithmeticError if the table holds a number finer than one step.
    """
    count = Decimal(text) * UNITS[unit].count
    if count != count.to_integral_value():
        raise ArithmeticError(f"{text} {unit} is finer than one step")
    return int(count)
