"""A budget as it leaves: canonical, read back alike, every line in words, in both systems of units."""

from __future__ import annotations

from fractions import Fraction

import msgspec
import pytest

from inspection.instruments.record import Use
from inspection.measuring.bias import Jaws
from inspection.measuring.certificates import Certificate, Point
from inspection.measuring.spread import Seen, Spread, taken_as_known
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty_parts import gauge_class
from inspection.measuring.uncertainty_sources import Held, Source, budget_of
from inspection.measuring.uncertainty_stated import StatedBudget, stated
from inspection.sheet.canonical.canonical import dumps
from inspection.words.say import known, say

MM, DEGREE = 10**9, 3_600_000_000

FULL = Source(
    "C-1",
    Use.INSIDE,
    "mm",
    ((150 * MM, 20_000_000),),
    certificate=Certificate("22", "2026-03-02", (Point(0, 0, 4_000_000), Point(100 * MM, 5_000_000, 4_000_000))),
    resolution=10_000_000,
    spread=Spread(Fraction(7_620_000**2), 9, Seen.BLOCK),
    zero=taken_as_known(1_000_000),
    fixed=(gauge_class(2_000_000, None, "C-1", "mm"),),
    jaws=Jaws(300_000_000, 50_000_000),
    held=Held(
        tilt=DEGREE,
        contact_width=6 * MM,
        contact_askew=DEGREE // 4,
        jaw_distance=30 * MM,
        jaw_rock=DEGREE // 50,
        scale_height=MM,
        eye_off=5 * DEGREE,
    ),
)
WARM = Temperatures(part_expansion=23_600, measured=Measured(5_000, 4_500, 300))
MICROMETER = Source("M-1", Use.OUTSIDE, "in", ((25 * MM, 2_540_000),), resolution=2_540_000, zero=taken_as_known(0))
GAUGE = Source("G-1", Use.INSIDE, spread=taken_as_known(7_000_000))


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_it_can_be_sealed_and_read_back(unit: str) -> None:
    told = stated(budget_of([FULL, MICROMETER, GAUGE], 10 * MM, 3, WARM), unit)
    sealed = dumps(told)
    assert msgspec.json.decode(sealed, type=StatedBudget) == told
    assert b"." in sealed


def test_every_line_has_its_words() -> None:
    told = stated(budget_of([FULL, MICROMETER, GAUGE], 10 * MM, 3, WARM), "mm")
    names = {line.name for line in told.lines}
    assert {"certificate", "drift", "interpolation", "reading", "zero", "gauge class", "jaws", "tilt"} <= names
    assert {"askew", "jaw play", "parallax", "transfer", "permissible", "part expansion", "thermometer"} <= names
    for line in told.lines:
        assert known(f"doubt.part.{line.name}"), line.name
        assert known(f"doubt.distribution.{line.distribution}")
        for reason in (line.what, line.estimate):
            for units in ("", "in", "mm"):
                said = say(reason, units)
                assert "[" not in said, said


def test_the_figures_can_be_reckoned_again_by_hand() -> None:
    """Standard uncertainty times sensitivity is the contribution; their squares add up; times k gives U."""
    told = stated(budget_of([FULL], 10 * MM, 3, WARM), "mm")
    total = 0.0
    for line in told.lines:
        contribution = abs(float(line.standard) * float(line.sensitivity))
        assert contribution == pytest.approx(float(line.contribution), rel=0.015)
        total += contribution**2
    assert total**0.5 == pytest.approx(float(told.combined), rel=0.01)
    left = told.uncorrected / MM
    assert float(told.factor) * float(told.combined) + left <= told.expanded / MM * 1.006
    assert sum(line.share for line in told.lines) == pytest.approx(100, abs=len(told.lines) / 2)


def test_degrees_of_freedom_as_stated() -> None:
    told = stated(budget_of([MICROMETER], 10 * MM), "in")
    assert (told.freedom, told.factor, told.uncorrected, told.confidence) == ("", "2.000", 0, 9545)
    alone = Source("M-2", Use.OUTSIDE, "mm", spread=Spread(Fraction(10**12), 9, Seen.STUDY))
    told = stated(budget_of([alone], 10 * MM), "mm")
    assert (told.freedom, told.factor) == ("9", "2.320")
    assert told.expanded == 2_400_000  # 2.32 µm, rounded up


def test_what_is_left_uncorrected_is_added_to_u() -> None:
    cold, warm = budget_of([MICROMETER], 25 * MM), budget_of([MICROMETER], 25 * MM, temperatures=WARM)
    assert cold.uncorrected == 0
    assert warm.uncorrected == 25 * MM * (Fraction(23_600 * 5_000 - 11_500 * 4_500, 10**12))
    assert stated(budget_of([MICROMETER], 25 * MM - 1, temperatures=WARM), "mm").uncorrected == 1_656_250  # up
    assert warm.expanded(MM) == 5_400_000  # 3.7 µm and 1.66 µm
