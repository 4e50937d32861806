"""What the choice must give for well-known pairs of tolerance and instrument; the list is common practice."""

from __future__ import annotations

import pytest

from inspection.drawing.characteristic import Access, Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.assess import assess
from inspection.instruments.choice import FITNESS, choose
from inspection.instruments.method import Assessment, Fitness, InstrumentIssue, Method
from inspection.instruments.record import (
    Contacts,
    Direction,
    Instrument,
    InstrumentKind,
    Member,
    Permissible,
    Standing,
    Use,
)
from inspection.instruments.rules import Rules
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.measuring.thermal import Measured
from inspection.words.say import say

IN = 25_400_000_000
MM = 1_000_000_000
DAY = "2026-11-25"
FIT, MARGINAL, UNSUITABLE = Fitness.FIT, Fitness.MARGINAL, Fitness.UNSUITABLE


def inch(text: str) -> int:
    whole, _, part = text.partition(".")
    return int((whole or "0") + part) * IN // 10 ** len(part)


def row(kind: FeatureKind, nominal: int, minus: int, plus: int, **more: object) -> Characteristic:
    requirement = Requirement(
        "as drawn", Form.PLUS_MINUS, nominal=nominal, lower=nominal - minus, upper=nominal + plus, band=minus + plus
    )
    return Characteristic("c", "1", kind, requirement, **more)  # type: ignore[arg-type]


def caliper(**more: object) -> Instrument:
    fields: dict[str, object] = {
        "identity": "cal",
        "issue": 1,
        "tag": "C-1",
        "kind": InstrumentKind.DIGITAL_CALIPER,
        "name": "caliper",
        "high": 12 * IN,
        "resolution": inch(".0005"),
        "repeatability": inch(".0003"),
        "contacts": Contacts(smallest_bore=4 * MM),
        "permissible": (
            Permissible(Use.OUTSIDE, 6 * IN, inch(".001")),
            Permissible(Use.OUTSIDE, 12 * IN, inch(".0015")),
            Permissible(Use.INSIDE, 6 * IN, inch(".0015")),
        ),
    }
    return Instrument(**(fields | more))  # type: ignore[arg-type]


def micrometer(low: int = 0, high: int = 6, error: str = ".0001", s: str = ".00003") -> Instrument:
    return Instrument(
        "mic",
        1,
        "M-1",
        InstrumentKind.OUTSIDE_MICROMETER,
        "micrometer",
        low=low * IN,
        high=high * IN,
        resolution=inch(".0001"),
        repeatability=inch(s),
        permissible=(Permissible(Use.OUTSIDE, 6 * IN, inch(error)),),
    )


def pins(t: str, direction: Direction, sizes: list[str]) -> Instrument:
    members = tuple(Member(inch(size)) for size in sizes)
    kind = InstrumentKind.GAUGE_PINS
    return Instrument("pin", 1, "P-1", kind, "pins", members=members, class_tolerance=inch(t), direction=direction)


ALUMINIUM = "6061-T6 aluminium"


def judged(
    asked: Characteristic,
    *held: Instrument,
    use: Use = Use.OUTSIDE,
    rules: Rules | None = None,
    known: Known = NOTHING_KNOWN,
    material: str = "",
) -> Assessment:
    """Assess by the one-pair path; the arrays must agree."""
    method = Method(use, tuple(InstrumentIssue(item.identity, item.issue) for item in held))
    issues = {(item.identity, item.issue): item for item in held}
    found = assess(asked, method, issues, rules or Rules(), DAY, material, known)
    choice = choose([asked], {item.identity: item for item in held}, rules or Rules(), DAY, material, known)
    column = next(j for j, offer in enumerate(choice.offers) if offer.method == method)
    assert FITNESS[choice.fitness[0, column]] is found.fitness
    return found


def printed(found: Assessment, *expected: float | None) -> None:
    """Compare ratios with the printed digits: half a unit of the last one."""
    for got, want in zip(found.ratios, expected, strict=True):
        if want is not None:
            assert float(got.got) == pytest.approx(want, abs=0.051)


def test_caliper_to_six_inches() -> None:
    od = FeatureKind.OUTSIDE_DIAMETER
    found = judged(row(od, 6 * IN - inch(".005"), inch(".005"), inch(".005")), caliper())
    assert found.fitness is FIT
    printed(found, 20, 5, 3.7)
    three = judged(row(od, 2 * IN, inch(".003"), inch(".003")), caliper())
    assert three.fitness is MARGINAL
    printed(three, 12, 3, None)
    assert judged(row(od, 2 * IN, inch(".002"), inch(".002")), caliper()).fitness is MARGINAL


def test_caliper_beyond_six_inches_is_marginal_by_accuracy() -> None:
    found = judged(row(FeatureKind.LENGTH, 9 * IN, inch(".005"), inch(".005")), caliper())
    assert found.fitness is MARGINAL
    printed(found, 20, 3.3, None)


def test_micrometer() -> None:
    od, half = FeatureKind.OUTSIDE_DIAMETER, inch(".0005")
    found = judged(row(od, 3 * IN - half, half, half), micrometer())
    assert found.fitness is FIT
    printed(found, 10, 5, 3.4)
    larger = judged(row(od, 4 * IN - half, half, half), micrometer(3, 4, ".00015"))
    assert larger.fitness is MARGINAL
    printed(larger, 10, 3.3, None)
    shaky = judged(row(od, IN - half, half, half), micrometer(s=".00007"))
    assert shaky.fitness is MARGINAL
    printed(shaky, 10, 5, 2.6)


@pytest.mark.parametrize(
    ("size", "corrected", "fitness", "ratio"), [(1, False, FIT, 3.1), (2, False, MARGINAL, 2.4), (2, True, FIT, 3.2)]
)
def test_aluminium_at_25_degrees(size: int, corrected: bool, fitness: Fitness, ratio: float) -> None:
    half = inch(".0005")
    asked = row(FeatureKind.OUTSIDE_DIAMETER, size * IN - half, half, half)
    known = Known(measured=Measured(5_000, 5_000)) if corrected else NOTHING_KNOWN
    found = judged(asked, micrometer(), rules=Rules(temperature_room=5_000), known=known, material=ALUMINIUM)
    assert found.fitness is fitness
    printed(found, 10, 5, ratio)


def test_aluminium_measured_at_25_degrees_and_left() -> None:
    """A known error is no bound: |C|, 60.5 µin on 1 in, is added to U whole, and 2.4 : 1 is left of 3.1 : 1."""
    half = inch(".0005")
    asked = row(FeatureKind.OUTSIDE_DIAMETER, IN - half, half, half)
    rules, known = Rules(temperature_corrected=False), Known(measured=Measured(5_000, 5_000))
    found = judged(asked, micrometer(), rules=rules, known=known, material=ALUMINIUM)
    assert found.fitness is MARGINAL
    printed(found, 10, 5, 2.4)


def test_rule_in_64ths() -> None:
    rule = Instrument(
        "rule",
        1,
        "R-1",
        InstrumentKind.RULE,
        "rule",
        high=6 * IN,
        resolution=IN // 64,
        permissible=(Permissible(Use.OUTSIDE, 6 * IN, MM // 5),),
    )
    found = judged(row(FeatureKind.LENGTH, 3 * IN, inch(".08"), inch(".08")), rule)
    assert found.fitness is FIT
    printed(found, 10.2, 10.2, 5.1)
    for part in (16, 32):
        assert judged(row(FeatureKind.LENGTH, 3 * IN, IN // part, IN // part), rule).fitness is MARGINAL


def by_height(plate_error: str) -> Assessment:
    """A ⌀.010 position by a height gauge with E .001, a tenths indicator and a plate that is so flat."""
    height = (Permissible(Use.HEIGHT, 12 * IN, inch(".001")),)
    gauge = caliper(identity="h", kind=InstrumentKind.HEIGHT_GAUGE, permissible=height)
    indicator = Instrument("i", 1, "I-1", InstrumentKind.INDICATOR, "indicator", high=IN, resolution=inch(".0001"))
    flat = (Permissible(Use.HEIGHT, 24 * IN, inch(plate_error)),) if plate_error else ()
    plate = Instrument("p", 1, "H-1", InstrumentKind.SURFACE_PLATE, "plate", high=24 * IN, permissible=flat)
    requirement = Requirement(
        "position", Form.MAXIMUM, upper=inch(".010"), band=inch(".010"), natural_zero=True, diameter=True
    )
    asked = Characteristic("c", "1", FeatureKind.GEOMETRIC, requirement)
    return judged(asked, gauge, indicator, plate, use=Use.HEIGHT)


def test_diametral_position_by_height_gauge() -> None:
    found = by_height(".0001")
    assert found.fitness is MARGINAL
    printed(found, 10, 2.5, 1.9)


def test_a_plate_of_which_nobody_says_how_flat_it_is_carries_nothing() -> None:
    """It used to count as perfect; an indicator is set at its own zero on it and adds its reading only."""
    found = by_height("")
    assert found.fitness is UNSUITABLE
    assert [say(reason) for reason in found.against] == [
        "H-1 has no permissible error for height use at 0.01 in: enter it with the instrument, or take another"
    ]


@pytest.mark.parametrize(
    "contacts", [Contacts(smallest_bore=4 * MM), Contacts(), Contacts(jaws=MM // 5, jaws_within=MM // 100)]
)
def test_small_bore_is_never_given_to_caliper_jaws(contacts: Contacts) -> None:
    """Whether the record says what its jaws enter or not, and however well the flats of the jaws are known."""
    asked = row(FeatureKind.BORE, inch(".100"), inch(".02"), inch(".02"))
    found = judged(asked, caliper(contacts=contacts), use=Use.INSIDE)
    assert found.fitness is UNSUITABLE and not found.choosable
    assert [reason.code for reason in found.against] == ["reach.bore.not"]


@pytest.mark.parametrize(("t", "fitness"), [(".00002", FIT), (".00004", MARGINAL), (".00007", UNSUITABLE)])
def test_pins_for_half_a_thou(t: str, fitness: Fitness) -> None:
    """Classes XX, X and Y to .825 in: 4 %, 8 % and 14 % of the band each."""
    asked = row(FeatureKind.BORE, inch(".2500"), 0, inch(".0005"))
    held = pins(t, Direction.PLUS, [".2499", ".2500", ".2501", ".2502", ".2503", ".2504", ".2505"])
    assert judged(asked, held, use=Use.INSIDE).fitness is fitness


def test_minus_set_that_may_be_under_the_limit_is_refused() -> None:
    asked = row(FeatureKind.BORE, inch(".1000"), 0, inch(".0010"))
    held = pins(".0002", Direction.MINUS, [".099", ".100", ".101", ".102"])
    found = judged(asked, held, use=Use.INSIDE)
    assert found.fitness is UNSUITABLE
    assert [reason.code for reason in found.against] == ["reach.sizes.not"]


@pytest.mark.parametrize(
    "state", [{"due": "2026-11-24"}, {"standing": Standing.REFERENCE_ONLY}, {"as_calibrated": False}]
)
def test_nobody_can_choose_what_may_not_serve(state: dict[str, object]) -> None:
    asked = row(FeatureKind.LENGTH, IN, inch(".01"), inch(".01"))
    assert judged(asked, caliper(due=DAY)).fitness is FIT  # the due date is the last good day
    found = judged(asked, caliper(**state))
    assert found.fitness is UNSUITABLE and not found.choosable


@pytest.mark.parametrize(
    ("access", "contacts", "code"),
    [
        (Access(reach=2), Contacts(reach=1), "reach.depth.not"),
        (Access(corner_radius=2), Contacts(relief=1), "reach.corner.not"),
        (Access(wall=1), Contacts(width=2), "reach.width.not"),
        (Access(soft=True), Contacts(), "reach.force.not"),
    ],
)
def test_what_stands_in_the_way(access: Access, contacts: Contacts, code: str) -> None:
    asked = row(FeatureKind.LENGTH, IN, inch(".01"), inch(".01"), access=access)
    found = judged(asked, caliper(contacts=contacts))
    assert found.fitness is UNSUITABLE
    assert [reason.code for reason in found.against] == [code]


def test_a_missing_use_is_never_read_as_outside() -> None:
    asked = row(FeatureKind.DEPTH, IN, inch(".01"), inch(".01"))
    found = judged(asked, caliper(), use=Use.DEPTH)
    assert [reason.code for reason in found.against] == ["reach.error.not"]


def test_ratios_at_the_threshold_hold_and_one_step_under_do_not() -> None:
    mic = micrometer()
    for less, fitness in ((0, FIT), (1, MARGINAL)):
        asked = row(FeatureKind.LENGTH, IN, inch(".0005") - less, inch(".0005"))
        found = judged(asked, mic)
        assert found.fitness is fitness
        assert found.ratios[0].got == ("10" if fitness is FIT else "9.99")
