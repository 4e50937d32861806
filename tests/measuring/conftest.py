"""Rows, readings and instruments made by hand for the tests of measuring."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.method import Assessment, Fitness, InstrumentIssue, Method, Ratio
from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.measuring.reading import Observed, Reading, Role, Slot

INCH = 25_400_000_000
METHOD = Method(Use.INSIDE, (InstrumentIssue("caliper", 1),))


def make_row(lower: int | None = None, upper: int | None = None, **given: Any) -> Characteristic:
    """A bore with these limits in picometres; further fields of the requirement and the row by name."""
    wanted = {
        name: given.pop(name) for name in ("form", "nominal", "band", "kind", "unit", "natural_zero") if name in given
    }
    form = wanted.pop("form", Form.LIMITS)
    requirement = Requirement("as drawn", form, decimals=4, lower=lower, upper=upper, **wanted)
    feature = given.pop("feature", FeatureKind.BORE)
    return Characteristic("row", "1", feature, requirement, **given)


def make_reading(value: int | Observed, slot: Slot | None = None, name: str = "", **given: Any) -> Reading:
    """A reading of the row; a number in picometres or what was seen."""
    number = None if isinstance(value, Observed) else value
    seen = value if isinstance(value, Observed) else None
    slot = slot or Slot(role=Role.VALUE)
    name = name or f"{slot.place}/{slot.repeat}/{slot.role}"
    return Reading(
        name, "row", "piece", slot, METHOD, "plan", "me", 0, "2026-03-02", count=number, observed=seen, **given
    )


def make_assessment(fitness: Fitness = Fitness.FIT, **given: Any) -> Assessment:
    """How well the readings' method does; marginal ones fall short of accuracy."""
    short = fitness is Fitness.MARGINAL
    ratios = (Ratio("resolution", "20", "10", True), Ratio("accuracy", "2.5" if short else "5", "4", not short))
    return Assessment(METHOD, fitness, ratios=ratios, **given)


@pytest.fixture(scope="session")
def row() -> Callable[..., Characteristic]:
    """Makes rows: ``row(lower, upper, **fields)``."""
    return make_row


@pytest.fixture(scope="session")
def reading() -> Callable[..., Reading]:
    """Makes readings: ``reading(value, slot)``."""
    return make_reading


@pytest.fixture(scope="session")
def assessment() -> Callable[..., Assessment]:
    """Makes assessments: ``assessment(fitness)``."""
    return make_assessment


@pytest.fixture(scope="session")
def caliper() -> Instrument:
    """An inch caliper that shows steps of .0005 in, and .01 mm."""
    return Instrument(
        "caliper",
        1,
        "C-2",
        InstrumentKind.DIGITAL_CALIPER,
        "digital caliper",
        high=6 * INCH,
        resolution=INCH // 2000,
        other_unit="mm",
        other_resolution=10_000_000,
        repeatability=3 * INCH // 10_000,
    )


@pytest.fixture(scope="session")
def micrometer() -> Callable[..., Instrument]:
    """An outside micrometer, of inch or metric make."""

    def make(unit: str = "in") -> Instrument:
        step = INCH // 10_000 if unit == "in" else 1_000_000
        return Instrument(
            "mic", 1, "M-1", InstrumentKind.OUTSIDE_MICROMETER, "micrometer", unit, resolution=step, repeatability=10**6
        )

    return make
