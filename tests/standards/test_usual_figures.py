"""Usual repeatabilities and jaws: the tables read, agree with the starter crib, and answer for every kind they name."""

from __future__ import annotations

import doctest

import pytest

from inspection.instruments.record import InstrumentKind
from inspection.standards import usual_figures
from inspection.standards.tables import rows, steps
from inspection.standards.usual_figures import usual_deviation, usual_jaws, usual_smallest_bore

KINDS = {kind.value for kind in InstrumentKind}


def test_examples() -> None:
    assert doctest.testmod(usual_figures).failed == 0


def test_kinds_are_known() -> None:
    assert {row["kind"] for name in ("on_part_spreads", "inside_jaws") for row in rows(name)} <= KINDS


CRIB = [row for row in rows("instruments", "crib") if row["repeatability"] and row["resolution"][-1:].isdigit()]
SAME_AS_CRIB = [row for row in CRIB if row["quantity"] == "length" and "/" not in row["resolution"]]


@pytest.mark.parametrize("row", SAME_AS_CRIB, ids=lambda row: row["tag"])
def test_the_starter_crib_says_the_same(row: dict[str, str]) -> None:
    """Its records carry the usual figure as their default; two lists of one thing must not part."""
    if row["kind"] == "roughness tester":
        return
    step = steps(row["resolution"], row["unit"])
    assert usual_deviation(row["kind"], step) == steps(row["repeatability"], row["unit"])


JAWED = [row for row in rows("instruments", "crib") if row["kind"] in {row["kind"] for row in rows("inside_jaws")}]


@pytest.mark.parametrize("row", JAWED, ids=lambda row: row["tag"])
def test_the_starter_crib_enters_the_same_bores(row: dict[str, str]) -> None:
    """To the .0001 in that an inch record states."""
    usual = usual_smallest_bore(row["kind"])
    assert usual is not None
    assert abs(steps(row["smallest_bore"], row["unit"]) - usual) < steps(".0001", "in")


def test_a_finer_scale_of_a_kind_takes_the_next_coarser_figure() -> None:
    assert usual_deviation("outside micrometer", 500_000) == 800_000
    assert usual_deviation("outside micrometer", 25_400_000) == 5_080_000
    assert usual_deviation("outside micrometer", 10**9) is None
    assert usual_jaws("steel rule") is None
