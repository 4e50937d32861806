"""Slip questions: each pattern is known by its mark, rejects are rarely asked, no question tells a passing value."""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form
from inspection.instruments.record import Instrument, InstrumentKind, Member
from inspection.measuring.slips import question, scatter
from inspection.quantity.units import Kind
from inspection.reasons import Amount
from inspection.words.say import known, say

INCH = 25_400_000_000
MM = 1_000_000_000
TENTH = INCH // 10_000
Rows = Callable[..., Characteristic]
Micrometers = Callable[..., Instrument]


def asked(count: int, row: Characteristic, instrument: Instrument | None = None, **given: object) -> str:
    """The code of the question, empty if none."""
    reason = question(count, row, instrument, **given)  # type: ignore[arg-type]
    return reason.code if reason else ""


# --- (a) out by the band, and a slip puts it in the middle half ----------------------------------------------


def at(inches: str) -> int:
    """Decimal inches, at most four decimals, in picometres."""
    return round(float(inches) * 10_000) * TENTH


@pytest.mark.parametrize(
    ("count", "code"),
    [
        (at(".5250"), "slip.turn"),
        (at(".4750"), "slip.turn"),
        (at("12.7000"), "slip.unit"),
        (at(".0197"), "slip.unit"),
        (at(".6000"), "slip.tenth_inch"),
        (at(".4000"), "slip.tenth_inch"),
        (at("1.5000"), "slip.inch"),
        (at("5.0000"), "slip.point"),
        (at(".0500"), "slip.point"),
        (-at(".5000"), "slip.sign"),
        (at(".2500"), "slip.radius"),
        (at(".5010"), ""),
        (at(".5029"), ""),
        (at(".5030"), "slip.digits"),
        (at(".5260"), ""),
    ],
)
def test_each_slip_is_known_by_its_mark(row: Rows, micrometer: Micrometers, count: int, code: str) -> None:
    bore = row(at(".4990"), at(".5010"), nominal=at(".5000"))
    assert asked(count, bore, micrometer(), unit="in", decimals=4) == code


def test_swapped_digits(row: Rows) -> None:
    bore = row(at(".3745"), at(".3755"), nominal=at(".3750"))
    assert asked(at(".3570"), bore) == asked(at(".7350"), bore) == "slip.digits"
    assert asked(at(".5730"), bore) == "slip.far", "only digits that stand side by side"
    assert asked(at("2.1350"), row(at("1.2345"), at("1.2355"))) == "slip.digits"
    assert asked(at("2.1530"), row(at("1.2345"), at("1.2355"))) == "slip.far", "two pairs are no single slip"


def test_digits_are_those_written(row: Rows) -> None:
    """1.20 for 1.02 has its pair in the decimals as written; the 0 of 12 thousandths was never typed."""
    bore = row(at("1.0195"), at("1.0205"))
    assert asked(at("1.2000"), bore, unit="in", decimals=2) == "slip.digits"
    assert asked(at("1.2000"), bore, unit="in", decimals=1) == ""


def test_metric_steps(row: Rows, micrometer: Micrometers) -> None:
    bore = row(20 * MM - 10**7, 20 * MM + 10**7, unit="mm")
    assert asked(20 * MM + MM // 2, bore, micrometer("mm"), unit="mm") == "slip.turn"
    assert asked(30 * MM, bore, micrometer("mm"), unit="mm") == "slip.ten_millimetres"
    assert asked(20 * MM + INCH // 40, bore, micrometer("mm"), unit="mm") == ""


def test_a_thimble_turn_needs_a_thimble(row: Rows, caliper: Instrument) -> None:
    assert asked(at(".5250"), row(at(".4990"), at(".5010")), caliper) == ""


def test_the_neighbours_nominal(row: Rows) -> None:
    bore = row(at(".4990"), at(".5010"), nominal=at(".5000"))
    assert asked(at(".8123"), bore, neighbours=[at(".3125"), at(".8125")]) == "slip.neighbour"
    assert asked(at(".8123"), bore, neighbours=[at(".3125")]) == "slip.far"


def test_a_diameter_for_a_radius(row: Rows) -> None:
    fillet = row(at(".0600"), at(".0640"), feature=FeatureKind.RADIUS)
    assert asked(at(".1240"), fillet) == "slip.diameter"
    assert asked(at(".0310"), fillet) == ""


def test_the_middle_half_and_the_whole_band_are_the_bounds(row: Rows, micrometer: Micrometers) -> None:
    """A band of .0100: .0250 is more than the band away; .0025 to .0075 of it is the middle half."""
    bore = row(at("1.0000"), at("1.0100"))
    edge = at("1.0000") + 25 * TENTH
    assert asked(edge + INCH // 40, bore, micrometer()) == "slip.turn"
    assert asked(edge - TENTH + INCH // 40, bore, micrometer()) == ""
    wide = row(at("1.0000"), at("1.0260"))
    assert asked(at("1.0130") + INCH // 40, wide, micrometer()) == ""


def test_an_open_side_is_never_out(row: Rows, micrometer: Micrometers) -> None:
    most = row(None, at(".5000"), band=at(".0100"), form=Form.MAXIMUM)
    assert asked(at(".0495"), most, micrometer()) == ""
    assert asked(at(".5200"), most, micrometer()) == "slip.turn"


def test_an_upper_limit_with_a_natural_zero_is_a_band_from_zero(row: Rows) -> None:
    """Ra 63 µin read 1.6 times as large in a unit that is no inch: 25.4 times 32 is 812.8 µin."""
    microinch = INCH // 10**6
    finish = row(None, 63 * microinch, band=63 * microinch, natural_zero=True, feature=FeatureKind.ROUGHNESS)
    assert asked(812_800 * microinch // 1000, finish, unit="µin") == "slip.unit"
    assert asked(100 * microinch, finish, unit="µin") == ""


def test_a_first_reading_that_is_nowhere_near_is_asked_about_and_no_reject_is(row: Rows, caliper: Instrument) -> None:
    """1574 in a row of 62 ±.02 mm, at a part that nobody read before: 25.4 times smaller it is 61.969, out as well, so
    that no known slip would bring it in. A reject out by nine bands, or by a third of the size, is none of this."""
    plate = row(61_980_000_000, 62_020_000_000, nominal=62 * MM, unit="mm")
    assert asked(1_574 * MM, plate) == "slip.far"
    assert asked(1_574 * MM, plate, siblings=[1_574 * MM]) == "", "it was let stand once: the part is like that"
    assert asked(61_600 * MM // 1_000, plate) == ""
    assert asked(45_123 * MM // 1_000, plate) == ""
    assert asked(1_574 * MM, row(60 * MM, None, band=1 * MM, form=Form.MINIMUM, unit="mm")) == "", "an open side"
    assert asked(1_574 * MM, plate, caliper) == "slip.beyond"


def test_what_an_instrument_cannot_show_is_asked_about(row: Rows, micrometer: Micrometers) -> None:
    """A twentieth of its range past its last mark it may show something, as a thimble turns on; farther nothing."""
    outside = replace(micrometer(), high=INCH)
    last, over = outside.high, (outside.high - outside.low) // 20
    slack = row(last - 200 * TENTH, last, nominal=last - 100 * TENTH)
    assert asked((last + over) // TENTH * TENTH, slack, outside) == ""
    assert asked((last + over) // TENTH * TENTH + TENTH, slack, outside) == "slip.beyond"
    assert asked(3 * last + 7 * TENTH, slack, outside, over=outside) == "slip.far", (
        "set on blocks it shows a difference"
    )


def test_basic_and_reference_have_no_band_to_ask_by(row: Rows, micrometer: Micrometers) -> None:
    assert asked(at(".5250"), row(form=Form.REFERENCE, nominal=at(".5000")), micrometer()) == ""


def test_angles_know_no_inches(row: Rows) -> None:
    degree = 3_600_000_000
    slope = row(44 * degree, 46 * degree, kind=Kind.ANGLE, unit="°", feature=FeatureKind.ANGLE)
    assert asked(54 * degree, slope) == "slip.digits"
    assert asked(-45 * degree, slope) == "slip.sign"
    assert asked(1143 * degree, slope) == "slip.far"


def test_rejects_are_rarely_asked(row: Rows, micrometer: Micrometers, caliper: Instrument) -> None:
    """Rejects spread evenly over half a ±.010 band outside: "one turn inside" alone would ask half of them."""
    band = row(at(".9900"), at("1.0100"), nominal=at("1.0000"))
    spread = random.Random(4)
    beyond = [spread.randrange(1, 101) * TENTH for _ in range(2_000)]
    rejects = [at("1.0100") + by if n % 2 else at(".9900") - by for n, by in enumerate(beyond)]
    naive = sum(
        at(".9900") <= abs(count - INCH // 40 * (1 if count > INCH else -1)) <= at("1.0100") for count in rejects
    )
    assert naive > 900
    assert sum(bool(asked(count, band, micrometer())) for count in rejects) == 0
    siblings = [at("1.0000") + spread.randrange(-20, 21) * TENTH for _ in range(8)]
    beside = sum(bool(asked(count, band, micrometer(), siblings=siblings)) for count in rejects)
    assert beside < 0.1 * len(rejects)


# --- (b) apart from its siblings ------------------------------------------------------------------------------


@pytest.mark.parametrize("off", [-3, 0, 3])
def test_a_turn_away_from_siblings_is_asked_inside_the_limits_too(row: Rows, micrometer: Micrometers, off: int) -> None:
    wide = row(at(".9500"), at("1.0500"))
    siblings = [at("1.0000") + step * TENTH for step in (-2, -1, 0, 1, 2, 0)]
    assert asked(at("1.0250") + off * TENTH, wide, micrometer(), siblings=siblings) == "slip.turn_beside"
    assert asked(at("1.0200"), wide, micrometer(), siblings=siblings) == ""
    assert asked(at("1.0001"), wide, micrometer(), siblings=siblings) == ""


def test_one_sibling_is_enough_for_a_plain_slip(row: Rows, micrometer: Micrometers) -> None:
    bore = row(at(".4990"), at(".5010"))
    assert asked(at(".5258"), bore, micrometer(), siblings=[at(".5007")]) == "slip.turn_beside"
    assert asked(at(".5258"), bore, micrometer()) == ""


def test_a_slip_smaller_than_the_scatter_is_not_asked(row: Rows, micrometer: Micrometers) -> None:
    wide = row(at(".9000"), at("1.1000"))
    siblings = [at("1.0000") + step * TENTH for step in (-100, 100, -60, 60, 0, 20)]
    assert asked(at("1.0250"), wide, micrometer(), siblings=siblings) == ""


@pytest.mark.parametrize("siblings", [[at("1.0000")] * 9, [at("1.0000")]])
def test_equal_siblings_are_no_evidence_of_no_scatter(row: Rows, micrometer: Micrometers, siblings: list[int]) -> None:
    unjudged = row(form=Form.REFERENCE, nominal=at("1.0000"))
    assert scatter(siblings, unjudged, micrometer()) == 10**6
    assert scatter(siblings, unjudged, None) == 0


def test_scatter_is_the_standard_deviation_of_enough_siblings(row: Rows) -> None:
    """2, 4, 4, 4, 5, 5, 7, 9: squares about the mean 5 sum to 32; s² = 32/7 (by hand)."""
    bore = row(0, 10**12)
    assert scatter([n * 1000 for n in (2, 4, 4, 4, 5, 5, 7, 9)], bore, None) == 2138
    assert scatter([2, 4], bore, None) == 10**12 // 12


# --- (d) far inside a limit from zero, in the other unit -------------------------------------------------------


UM, UIN = 1_000_000, 25_400


def microtester(unit: str, step: int) -> Instrument:
    return Instrument("t", 1, "Q-1", InstrumentKind.ROUGHNESS_TESTER, "roughness tester", unit, resolution=step)


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        (1.2, "slip.unit_inside"),  # the part is in
        (3.2, "slip.unit_inside"),  # the part is out, and would pass
        (6.3, ""),  # in µin a tenth of the limit: it may be so
        (32, ""),
        (63, ""),
        (0.2, ""),  # as µm an eighth of the limit: no more of a value than as µin
    ],
)
def test_micrometres_typed_at_a_tester_in_microinches_are_asked_about(row: Rows, typed: float, code: str) -> None:
    """Ra 1.6 µm is about 63 µin (ISO 1302 and common practice: N7); 1 µin = 0.0254 µm exactly."""
    rough = row(None, 16 * UM // 10, unit="µm", natural_zero=True, band=16 * UM // 10)
    assert asked(round(typed * 10) * UIN // 10, rough, microtester("µin", UIN // 10)) == code
    assert asked(round(typed * 10) * UM // 10, rough, microtester("µm", UM // 10)) != "slip.unit_inside", (
        "one system, nothing to mistake"
    )


def test_inches_typed_at_a_metric_indicator_are_asked_about_and_a_size_with_one_limit_is_not(row: Rows) -> None:
    out = row(None, at(".0020"), natural_zero=True, band=at(".0020"))
    metric = Instrument("i", 1, "I-2", InstrumentKind.INDICATOR, "indicator", "mm", resolution=MM // 1000)
    assert asked(3 * MM // 1000, out, metric) == "slip.unit_inside"
    assert asked(20 * MM // 1000, out, metric) == ""
    assert asked(3 * MM // 1000, row(None, at(".0020"), band=at(".0020")), metric) == ""


# --- (c) graduations ------------------------------------------------------------------------------------------


def test_a_reading_between_graduations_is_asked(row: Rows, caliper: Instrument) -> None:
    bore = row(at(".4990"), at(".5010"))
    reason = question(at(".5002"), bore, caliper, unit="in")
    assert reason is not None
    assert reason.code == "slip.graduation"
    assert "digital caliper shows steps of 0.0005 in" in say(reason)
    assert asked(at(".5005"), bore, caliper, unit="in") == ""


def test_the_unit_it_was_read_in_has_its_own_graduations(row: Rows, caliper: Instrument) -> None:
    bore = row(at(".4990"), at(".5010"))
    assert asked(12_710_000_000, bore, caliper, unit="mm") == ""
    assert asked(12_713_000_000, bore, caliper, unit="mm") == "slip.graduation"
    assert asked(12_710_000_000, bore, replace(caliper, other_unit=""), unit="mm") == "slip.graduation"


def test_a_radius_gauge_has_only_its_leaves(row: Rows, caliper: Instrument) -> None:
    leaves = replace(caliper, kind=InstrumentKind.RADIUS_GAUGE, members=(Member(INCH // 16), Member(INCH // 8)))
    fillet = row(INCH // 20, INCH // 10, feature=FeatureKind.RADIUS)
    assert asked(INCH // 16, fillet, leaves) == ""
    assert asked(INCH // 17, fillet, leaves) == "slip.no_leaf"


def test_pins_are_never_asked(row: Rows, caliper: Instrument) -> None:
    pins = replace(caliper, kind=InstrumentKind.GAUGE_PINS)
    assert asked(at(".5252"), row(at(".4990"), at(".5010")), pins, siblings=[at(".5002")]) == ""


# --- what a question may tell ---------------------------------------------------------------------------------


PATTERNS: dict[str, Callable[[int], int]] = {
    "turn": lambda tenths: tenths + 250,
    "tenth": lambda tenths: tenths - 1_000,
    "inch": lambda tenths: tenths + 10_000,
    "point": lambda tenths: tenths * 10,
    "sign": lambda tenths: -tenths,
    "radius": lambda tenths: tenths // 2,
    "none": lambda tenths: tenths,
}


@given(
    nominal=st.integers(400, 60_000),
    half=st.integers(1, 100),
    off=st.integers(-100, 100),
    pattern=st.sampled_from(sorted(PATTERNS)),
    siblings=st.lists(st.integers(-20, 20), max_size=7),
)
def test_no_question_holds_a_number_that_would_pass(
    row: Rows, micrometer: Micrometers, nominal: int, half: int, off: int, pattern: str, siblings: list[int]
) -> None:
    bore = row((nominal - half) * TENTH, (nominal + half) * TENTH, nominal=nominal * TENTH)
    read = PATTERNS[pattern](nominal + off)
    beside = [(nominal + each) * TENTH for each in siblings]
    reason = question(read * TENTH, bore, micrometer(), siblings=beside, neighbours=[nominal * 2 * TENTH])
    if pattern in ("turn", "inch") and abs(off) <= half // 2 and half < 60:
        assert reason is not None
    if reason is not None:
        assert known(reason.code)
        assert not any(isinstance(part, Amount | int) for part in reason.parts.values())
        assert not any(character.isdigit() for character in say(reason))


@pytest.mark.measured
def test_a_question_costs_little(row: Rows, micrometer: Micrometers) -> None:
    """Well under a keystroke; the time set for it is 50 µs, held here with room for a busy machine."""
    bore = row(at(".4990"), at(".5010"), nominal=at(".5000"))
    instrument, siblings = micrometer(), [at(".5002"), at(".5001"), at(".4998")]
    best = min(_seconds(lambda: asked(at(".5003"), bore, instrument, siblings=siblings)) for _ in range(5))
    assert best < 200e-6


def _seconds(act: Callable[[], object], times: int = 200) -> float:
    began = time.perf_counter()
    for _ in range(times):
        act()
    return (time.perf_counter() - began) / times
