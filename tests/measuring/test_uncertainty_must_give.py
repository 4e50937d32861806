"""The well-known pairs of tolerance and instrument with real budgets; the list is common practice.

Defaults: s .0003 in for a caliper, .00003 for a tenths micrometer; steel, part within 1 °C of the instrument.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from msgspec.structs import replace

from inspection.instruments.record import Instrument, InstrumentKind, Permissible, Use
from inspection.measuring.remedies import Case, Needed, Ratios, ratios_of
from inspection.measuring.spread import Seen, Spread, taken_as_known
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty_sources import Source, budget_of

IN, MM = 25_400_000_000, 10**9
FIT, MARGINAL = True, False


def inch(text: str) -> int:
    return int(Fraction(text) * IN)


def source_of(instrument: Instrument, use: Use) -> Source:
    """The instrument whose scale is read, by its record alone."""
    return Source(
        instrument.tag,
        use,
        instrument.unit,
        tuple((step.up_to, step.error) for step in instrument.permissible if step.use is use),
        resolution=instrument.resolution,
        spread=taken_as_known(instrument.repeatability),
        zero=taken_as_known(instrument.zero),
    )


CALIPER = source_of(
    Instrument(
        "cal",
        1,
        "C-1",
        InstrumentKind.DIGITAL_CALIPER,
        "caliper",
        high=12 * IN,
        resolution=inch(".0005"),
        repeatability=inch(".0003"),
        permissible=(
            Permissible(Use.OUTSIDE, 6 * IN, inch(".001")),
            Permissible(Use.OUTSIDE, 12 * IN, inch(".0015")),
            Permissible(Use.INSIDE, 6 * IN, inch(".0015")),
        ),
    ),
    Use.OUTSIDE,
)


def micrometer(error: str = ".0001", s: str = ".00003") -> Source:
    return source_of(
        Instrument(
            "mic",
            1,
            "M-1",
            InstrumentKind.OUTSIDE_MICROMETER,
            "micrometer",
            high=6 * IN,
            resolution=inch(".0001"),
            repeatability=inch(s),
            permissible=(Permissible(Use.OUTSIDE, 6 * IN, inch(error)),),
        ),
        Use.OUTSIDE,
    )


def found(source: Source, size: str, band: str, temperatures: Temperatures | None = None) -> Ratios:
    return ratios_of(Case((source,), inch(size), inch(band), temperatures=temperatures or Temperatures()))


def printed(got: Ratios, *expected: float | None) -> bool:
    """Compare with the printed digits, half a unit of the last one; whether all hold."""
    for one, want in zip(got, expected, strict=True):
        if want is not None:
            assert one / 100 == pytest.approx(want, abs=0.051)
    return got.hold(Needed())


@pytest.mark.parametrize(
    ("source", "size", "band", "ratios", "fit"),
    [
        (CALIPER, "6", ".010", (20, 5, 3.7), FIT),
        (CALIPER, "2", ".006", (12, 3, None), MARGINAL),
        (CALIPER, "2", ".004", (8, 2, None), MARGINAL),
        (CALIPER, "9", ".010", (20, 3.3, None), MARGINAL),
        (micrometer(), "3", ".001", (10, 5, 3.4), FIT),
        (micrometer(".00015"), "4", ".001", (10, 3.3, None), MARGINAL),
        (micrometer(s=".00007"), "1", ".001", (10, 5, 2.6), MARGINAL),
    ],
)
def test_steel(source: Source, size: str, band: str, ratios: tuple[float | None, ...], fit: bool) -> None:
    assert printed(found(source, size, band), *ratios) is fit


@pytest.mark.parametrize(("size", "ratio", "fit"), [("1", 3.1, FIT), ("2", 2.4, MARGINAL)])
def test_aluminium_in_a_room_within_5_degrees(size: str, ratio: float, fit: bool) -> None:
    room = Temperatures(part_expansion=23_600, room=5_000)
    assert printed(found(micrometer(), size, ".001", room), 10, 5, ratio) is fit


def test_aluminium_measured_at_25_degrees_and_corrected() -> None:
    warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000), corrected=True)
    assert printed(found(micrometer(), "2", ".001", warm), 10, 5, 3.2) is FIT


def test_aluminium_measured_at_25_degrees_and_not_corrected() -> None:
    """U' = U + |C|: 145 µin and 60.5 µin on 1 in, so T / 2U' = 2.4."""
    warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000))
    assert printed(found(micrometer(), "1", ".001", warm), 10, 5, 2.4) is MARGINAL


@pytest.mark.parametrize(("band", "fit"), [(".16", FIT), ("1/8", MARGINAL), ("1/16", MARGINAL)])
def test_rule_in_64ths(band: str, fit: bool) -> None:
    rule = Source("R-1", Use.OUTSIDE, steps=((6 * IN, MM // 5),), resolution=IN // 64, zero=Spread(Fraction(0)))
    got = found(rule, "3", band)
    assert got.hold(Needed()) is fit
    if fit:
        printed(got, 10.2, 10.2, 5.1)


def test_diametral_position_by_a_height_gauge() -> None:
    """⌀.010: half of it for one coordinate; read with an indicator of its own step, on a plate."""
    gauge = replace(CALIPER, tag="H-1", use=Use.HEIGHT, steps=((12 * IN, inch(".001")),))
    indicator = Source("I-1", Use.HEIGHT, resolution=inch(".0001"))
    case = Case((gauge, indicator), IN, inch(".005"), temperatures=Temperatures())
    assert printed(ratios_of(case), 10, 2.5, 1.9) is MARGINAL


def test_few_degrees_of_freedom_cost() -> None:
    """The shaky micrometer's s from five readings of a part: ν_eff 13.8, k 2.21, and the ratio falls."""
    few = replace(micrometer(), spread=Spread(Fraction(inch(".00007") ** 2), 4, Seen.STUDY))
    budget = budget_of([few], IN, 1, Temperatures())
    assert budget.effective is not None
    assert float(budget.effective) == pytest.approx(13.8, abs=0.1)
    assert float(budget.factor()) == pytest.approx(2.21, abs=0.005)
    known = replace(few, spread=taken_as_known(inch(".00007")))
    assert found(few, "1", ".001").uncertainty < found(known, "1", ".001").uncertainty
