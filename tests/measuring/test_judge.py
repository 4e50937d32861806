"""Judging: exact at the limits, equal to fractions, open until answered, out as soon as nothing can mend it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from math import ceil, floor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form
from inspection.instruments.method import Assessment, Fitness
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.judge import judge
from inspection.measuring.reading import Observed, Reading, Role, Slot
from inspection.measuring.slots import slots_of
from inspection.measuring.verdict import Judgement, Verdict
from inspection.reasons import Amount
from inspection.words.say import known, say

INCH = 25_400_000_000
Make = Callable[..., Reading]
Rows = Callable[..., Characteristic]
Assess = Callable[..., Assessment]
PINS = Instrument("pins", 1, "P-1", InstrumentKind.GAUGE_PINS, "pins")
PLUG = Instrument("plug", 1, "T-1", InstrumentKind.THREAD_PLUG, "thread plug")


def judged(
    row: Characteristic,
    readings: list[Reading],
    fit: Assessment | None,
    instrument: Instrument | None = None,
) -> Judgement:
    """Judge with one assessment for all readings; every reason must have its sentence."""
    assessments = {reading.identity: fit for reading in readings} if fit else {}
    judgement = judge(row, readings, assessments, slots_of(row, instrument))
    for reason in judgement.reasons:
        assert known(reason.code) or reason.code.startswith("ratio."), reason.code
        assert "[" not in say(reason) or reason.code.startswith("ratio.")
    return judgement


def codes(judgement: Judgement) -> list[str]:
    return [reason.code for reason in judgement.reasons]


# --- one value ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "verdict", "out_by"),
    [
        (999, Verdict.NOT_CONFORMING, -1),
        (1000, Verdict.CONFORMING, None),
        (1500, Verdict.CONFORMING, None),
        (2000, Verdict.CONFORMING, None),
        (2001, Verdict.NOT_CONFORMING, 1),
    ],
)
def test_on_the_limit_is_inside(
    row: Rows, reading: Make, assessment: Assess, count: int, verdict: Verdict, out_by: int | None
) -> None:
    judgement = judged(row(1000, 2000), [reading(count)], assessment())
    assert (judgement.verdict, judgement.out_by, judgement.results) == (verdict, out_by, (count,))


def test_an_open_side_bounds_nothing(row: Rows, reading: Make, assessment: Assess) -> None:
    assert judged(row(None, 10), [reading(-(10**9))], assessment()).verdict is Verdict.CONFORMING
    assert judged(row(10, None), [reading(10**9)], assessment()).verdict is Verdict.CONFORMING
    assert judged(row(None, 10), [reading(11)], assessment()).verdict is Verdict.NOT_CONFORMING


def test_nothing_read_is_open(row: Rows, assessment: Assess) -> None:
    judgement = judged(row(1, 2), [], assessment())
    assert (judgement.verdict, codes(judgement)) == (Verdict.OPEN, ["judge.missing"])


def test_no_limits_stay_open(row: Rows, reading: Make, assessment: Assess) -> None:
    judgement = judged(row(), [reading(1)], assessment())
    assert (judgement.verdict, codes(judgement)) == (Verdict.OPEN, ["judge.no_limits"])


def test_the_reason_says_by_how_much_and_which_limit(row: Rows, reading: Make, assessment: Assess) -> None:
    judgement = judged(row(INCH // 2, INCH), [reading(INCH + INCH // 5000)], assessment())
    assert judgement.reasons[0].parts["by"] == Amount(INCH // 5000, row(1, 2).requirement.kind, "in", 4)
    assert say(judgement.reasons[0]) == "It is 0.0002 in over the upper limit 1.0000 in."


@pytest.mark.parametrize("form", [Form.BASIC, Form.REFERENCE])
def test_basic_and_reference_keep_results_and_are_not_judged(row: Rows, reading: Make, form: Form) -> None:
    judgement = judged(row(form=form, nominal=5), [reading(7)], None)
    assert (judgement.verdict, judgement.results) == (Verdict.NOT_JUDGED, (7,))
    assert judged(row(form=form, nominal=5), [], None).verdict is Verdict.NOT_JUDGED


# --- places and repeats ---------------------------------------------------------------------------------------


def test_places_are_never_averaged(row: Rows, reading: Make, assessment: Assess) -> None:
    places = row(100, 200, places=("top", "foot"))
    readings = [reading(99, Slot("top")), reading(150, Slot("foot"))]
    judgement = judged(places, readings, assessment())
    assert (judgement.verdict, judgement.results, judgement.out_by) == (Verdict.NOT_CONFORMING, (99, 150), -1)
    assert codes(judgement) == ["judge.under_at"]


def test_a_place_out_is_not_mended_by_the_others(row: Rows, reading: Make, assessment: Assess) -> None:
    places = row(100, 200, places=("top", "foot"))
    judgement = judged(places, [reading(99, Slot("top"))], assessment())
    assert judgement.verdict is Verdict.NOT_CONFORMING
    assert codes(judgement) == ["judge.under_at", "judge.missing"]


def test_a_mean_waits_for_all_its_repeats(row: Rows, reading: Make, assessment: Assess) -> None:
    repeated = row(100, 200, repeats=3)
    readings = [reading(90, Slot(repeat=n)) for n in (1, 2)]
    assert judged(repeated, readings, assessment()).verdict is Verdict.OPEN
    judgement = judged(repeated, [*readings, reading(120, Slot(repeat=3))], assessment())
    assert (judgement.verdict, judgement.results, judgement.of) == (Verdict.CONFORMING, (300,), 3)


def test_a_mean_is_out_by_a_third_of_a_step(row: Rows, reading: Make, assessment: Assess) -> None:
    readings = [reading(count, Slot(repeat=n)) for n, count in enumerate((200, 200, 201), 1)]
    judgement = judged(row(100, 200, repeats=3), readings, assessment())
    assert (judgement.verdict, judgement.out_by) == (Verdict.NOT_CONFORMING, 1)


def test_two_readings_in_one_slot_both_count(row: Rows, reading: Make, assessment: Assess) -> None:
    readings = [reading(150, name="first"), reading(201, name="second")]
    judgement = judged(row(100, 200), readings, assessment())
    assert (judgement.verdict, judgement.results) == (Verdict.NOT_CONFORMING, (150, 201))
    repeated = [reading(count, Slot(repeat=n), f"{n}.{count}") for n, count in ((1, 199), (2, 200), (2, 300))]
    judgement = judged(row(100, 200, repeats=2), repeated, assessment())
    assert (judgement.results, judgement.of, judgement.out_by) == ((699,), 3, 33)


limits = st.integers(-(10**12), 10**12)


@given(
    ends=st.tuples(limits, limits).map(sorted),
    open_side=st.sampled_from(["", "lower", "upper"]),
    counts=st.lists(st.lists(limits, min_size=1, max_size=4), min_size=1, max_size=3).filter(
        lambda places: len({len(place) for place in places}) == 1
    ),
)
def test_a_judgement_equals_fractions(
    row: Rows, reading: Make, assessment: Assess, ends: list[int], open_side: str, counts: list[list[int]]
) -> None:
    lower = None if open_side == "lower" else ends[0]
    upper = None if open_side == "upper" else ends[1]
    places = tuple(f"place {n}" for n in range(len(counts)))
    judgement = judged(
        row(lower, upper, places=places, repeats=len(counts[0])),
        [
            reading(count, Slot(place, n))
            for place, read in zip(places, counts, strict=True)
            for n, count in enumerate(read, 1)
        ],
        assessment(),
    )
    means = [Fraction(sum(read), len(read)) for read in counts]
    over = [mean - upper for mean in means if upper is not None and mean > upper]
    under = [mean - lower for mean in means if lower is not None and mean < lower]
    out = [ceil(by) for by in over] + [floor(by) for by in under]
    assert judgement.verdict is (Verdict.NOT_CONFORMING if out else Verdict.CONFORMING)
    assert abs(judgement.out_by or 0) == max(map(abs, out), default=0)
    assert (judgement.out_by or 0) in ([*out] or [0])
    found = [Fraction(result, judgement.of) for result in judgement.results]
    assert found == ([min(means), max(means)] if len(means) > 1 else means)


def test_unequal_numbers_of_repeats_share_a_divisor(row: Rows, reading: Make, assessment: Assess) -> None:
    readings = [
        reading(10, Slot("a", 1)),
        reading(11, Slot("a", 2)),
        reading(20, Slot("b", 1)),
        reading(21, Slot("b", 2)),
        reading(21, Slot("b", 2), "again"),
    ]
    judgement = judged(row(1, 100, places=("a", "b"), repeats=2), readings, assessment())
    found = tuple(Fraction(result, judgement.of) for result in judgement.results)
    assert found == (Fraction(21, 2), Fraction(62, 3))


# --- pins, gauges, findings -----------------------------------------------------------------------------------


def pin(reading: Make, count: int, role: Role, place: str = "") -> Reading:
    return reading(count, Slot(place, 1, role))


@pytest.mark.parametrize(
    ("enters", "stops", "verdict", "out_by"),
    [
        (100, 101, Verdict.CONFORMING, None),
        (100, 110, Verdict.CONFORMING, None),
        (109, 110, Verdict.CONFORMING, None),
        (99, 105, Verdict.NOT_CONFORMING, -1),
        (105, 111, Verdict.NOT_CONFORMING, 1),
        (97, 111, Verdict.NOT_CONFORMING, -3),
        (105, 105, Verdict.OPEN, None),
        (106, 105, Verdict.OPEN, None),
    ],
)
def test_pins(
    row: Rows, reading: Make, assessment: Assess, enters: int, stops: int, verdict: Verdict, out_by: int | None
) -> None:
    readings = [pin(reading, enters, Role.ENTERS), pin(reading, stops, Role.STOPS)]
    judgement = judged(row(100, 110), readings, assessment(), PINS)
    assert (judgement.verdict, judgement.out_by, judgement.results) == (verdict, out_by, (enters, stops))


def test_a_pin_out_of_limits_says_so_of_the_pin_and_not_of_the_hole(
    row: Rows, reading: Make, assessment: Assess
) -> None:
    bore = row(100, 110)
    large = judged(bore, [pin(reading, 110, Role.ENTERS), pin(reading, 111, Role.STOPS)], assessment(), PINS)
    assert codes(large) == ["judge.pin_over"]  # the hole is between 110, which is inside, and 111
    small = judged(bore, [pin(reading, 99, Role.ENTERS, "top")], assessment(), PINS)
    assert codes(small) == ["judge.pin_under_at", "judge.missing"]


def test_one_pin_alone_is_open_unless_out(row: Rows, reading: Make, assessment: Assess) -> None:
    bore = row(100, 110)
    assert judged(bore, [pin(reading, 100, Role.ENTERS)], assessment(), PINS).verdict is Verdict.OPEN
    assert judged(bore, [pin(reading, 99, Role.ENTERS)], assessment(), PINS).verdict is Verdict.NOT_CONFORMING
    assert judged(bore, [pin(reading, 111, Role.STOPS)], assessment(), PINS).verdict is Verdict.NOT_CONFORMING


def test_pins_at_two_places_are_each_judged(row: Rows, reading: Make, assessment: Assess) -> None:
    readings = [
        pin(reading, 101, Role.ENTERS, "top"),
        pin(reading, 102, Role.STOPS, "top"),
        pin(reading, 108, Role.ENTERS, "foot"),
        pin(reading, 109, Role.STOPS, "foot"),
    ]
    judgement = judged(row(100, 110, places=("top", "foot")), readings, assessment(), PINS)
    assert (judgement.verdict, judgement.results) == (Verdict.CONFORMING, (101, 109))


@pytest.mark.parametrize(("go", "not_go"), list(product((Observed.ENTERS, Observed.DOES_NOT_ENTER), repeat=2)))
def test_go_enters_and_not_go_does_not(
    row: Rows, reading: Make, assessment: Assess, go: Observed, not_go: Observed
) -> None:
    thread = row(form=Form.THREAD, feature=FeatureKind.THREAD)
    readings = [reading(go, Slot(role=Role.GO)), reading(not_go, Slot(role=Role.NOT_GO))]
    right = go is Observed.ENTERS and not_go is Observed.DOES_NOT_ENTER
    judgement = judged(thread, readings, assessment(), PLUG)
    assert judgement.verdict is (Verdict.CONFORMING if right else Verdict.NOT_CONFORMING)
    assert judgement.out_by is None
    half = judged(thread, readings[:1], assessment(), PLUG).verdict
    assert half is (Verdict.OPEN if go is Observed.ENTERS else Verdict.NOT_CONFORMING)


def test_findings(row: Rows, reading: Make) -> None:
    note = row(form=Form.NOTE, feature=FeatureKind.NOTE)
    for seen, verdict in (
        (Observed.AS_REQUIRED, Verdict.CONFORMING),
        (Observed.NOT_AS_REQUIRED, Verdict.NOT_CONFORMING),
    ):
        assert judged(note, [reading(seen, Slot(role=Role.FINDING))], None).verdict is verdict


def test_a_key_characteristic_with_limits_is_not_closed_by_a_gauge(
    row: Rows, reading: Make, assessment: Assess
) -> None:
    readings = [
        reading(Observed.ENTERS, Slot(role=Role.GO)),
        reading(Observed.DOES_NOT_ENTER, Slot(role=Role.NOT_GO)),
    ]
    judgement = judged(row(1, 2, attribute_allowed=True, key="KC"), readings, assessment(), PLUG)
    assert (judgement.verdict, codes(judgement)) == (Verdict.MARGINAL, ["judge.key_by_attribute"])


# --- instruments ----------------------------------------------------------------------------------------------


def test_a_marginal_instrument_says_so_inside_and_fails_outside(row: Rows, reading: Make, assessment: Assess) -> None:
    marginal = assessment(Fitness.MARGINAL, expanded=7)
    inside = judged(row(1, 3), [reading(2)], marginal)
    assert (inside.verdict, inside.expanded, inside.ratios) == (Verdict.MARGINAL, 7, marginal.ratios)
    assert codes(inside) == ["ratio.short"]
    assert judged(row(1, 3), [reading(4)], marginal).verdict is Verdict.NOT_CONFORMING


def test_an_instrument_that_nothing_assessed_is_not_called_fit(row: Rows, reading: Make) -> None:
    judgement = judged(row(1, 3), [reading(2)], None)
    assert (judgement.verdict, codes(judgement)) == (Verdict.MARGINAL, ["judge.not_assessed"])


@pytest.mark.parametrize("count", [2, 4])
def test_an_indication_closes_nothing(row: Rows, reading: Make, assessment: Assess, count: int) -> None:
    marked = judged(row(1, 3), [reading(count, indication=True)], assessment())
    unsuitable = judged(row(1, 3), [reading(count)], assessment(Fitness.UNSUITABLE))
    barred = judged(row(1, 3), [reading(count)], assessment(choosable=False))
    for judgement in (marked, unsuitable, barred):
        assert (judgement.verdict, judgement.results) == (Verdict.OPEN, ())
        assert codes(judgement) == ["judge.missing", "judge.indication"]


def test_an_indication_beside_a_reading_is_told(row: Rows, reading: Make, assessment: Assess) -> None:
    readings = [reading(4, indication=True, name="indication"), reading(2)]
    judgement = judged(row(1, 3), readings, assessment())
    assert (judgement.verdict, codes(judgement)) == (Verdict.CONFORMING, ["judge.indication"])


def test_a_row_answered_by_numbers_stays_answered_when_pins_are_taken_up(
    row: Rows, reading: Make, assessment: Assess
) -> None:
    judgement = judged(row(1, 3), [reading(2)], assessment(), PINS)
    assert judgement.verdict is Verdict.CONFORMING
