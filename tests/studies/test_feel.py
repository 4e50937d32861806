"""One block read again and again: bias, scatter and drift against certified values, and what is said of them."""

from __future__ import annotations

import csv
from fractions import Fraction
from math import sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy import stats

from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks_outcome import Repeated
from inspection.measuring.quantiles import chi_square
from inspection.measuring.spread import Spread
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE as MM
from inspection.reasons import Amount, Refused
from inspection.studies.feel import (
    MOST_READINGS,
    Feel,
    Should,
    Trial,
    begun,
    feel_of,
    is_sound,
    read_take,
    should_of,
    slip_of,
    square_over,
    square_under,
    with_take,
    without_last,
)
from inspection.studies.feel_told import findings, stated
from inspection.words.say import say

REFERENCE = Path(__file__).parents[1] / "reference"
CRIB = {one.tag: one for one in starter_crib("2099-01-01")}
TENTH = INCH // 10_000


def trial(tag: str, block: str, texts: str = "") -> Trial:
    made = begun(CRIB[tag], block, "T", "2026-03-01")
    for at, text in enumerate(texts.split()):
        made = with_take(made, read_take(made, text, at))
    return made


def feel(tag: str, block: str, texts: str) -> Feel:
    found = feel_of(trial(tag, block, texts), CRIB[tag])
    assert found is not None
    return found


def said(found: Feel) -> dict[str, bool | None]:
    """Every finding by its code; each of them has its sentence."""
    for one in findings(found):
        assert "[" not in say(one.reason), one.reason
    return {one.reason.code: one.good for one in findings(found)}


def certified(item: str, quantity: str) -> float:
    with (REFERENCE / "spread_stats.csv").open(encoding="utf-8", newline="") as file:
        return next(
            float(row["value"]) for row in csv.DictReader(file) if row["item"] == item and row["quantity"] == quantity
        )


def data(name: str) -> list[str]:
    with (REFERENCE / "spread_data.csv").open(encoding="utf-8", newline="") as file:
        return [row["value"] for row in csv.DictReader(file) if row["dataset"] == f"StRD {name}"]


#: NumAcc1 as its file has it; the others by the recipe that stands beside their certified values.
DATA = {
    "Michelso": data("Michelso"),
    "Mavro": data("Mavro"),
    "NumAcc1": ["10000001", "10000003", "10000002"],
    "NumAcc2": ["1.2", *["1.1", "1.3"] * 500],
    "NumAcc3": ["1000000.2", *["1000000.1", "1000000.3"] * 500],
    "NumAcc4": ["10000000.2", *["10000000.1", "10000000.3"] * 500],
}


@pytest.mark.parametrize("name", DATA)
def test_certified_means_and_deviations(name: str) -> None:
    """NIST StRD, univariate: mean and s with fifteen digits, up to the sets made to defeat floating point."""
    counts = [int(Fraction(value) * 10**6) for value in DATA[name]]
    size = counts[0] - 17
    found = Feel("mm", Repeated(tuple(counts), size), Should())
    assert float((found.read.bias + size) / 10**6) == pytest.approx(certified(name, "mean"), rel=1e-15)
    assert found.spread is not None
    assert found.spread.freedom == len(counts) - 1
    assert sqrt(found.spread.square) / 10**6 == pytest.approx(certified(name, "standard deviation (n-1)"), rel=1e-14)


# --- chi-square and the bound for s -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("probability", "freedom", "value", "digits"),
    [
        ("0.95", 1, 3.841, 3),
        ("0.95", 10, 18.307, 3),
        ("0.05", 10, 3.940, 3),
        ("0.975", 20, 34.170, 3),
        ("0.025", 20, 9.591, 3),
        ("0.99", 5, 15.086, 3),
        ("0.95", 100, 124.342, 3),
        ("0.05", 2, 0.103, 3),
    ],
)
def test_tabled_values_of_chi_square(probability: str, freedom: int, value: float, digits: int) -> None:
    """As any textbook's table prints them (from memory; NIST/SEMATECH e-Handbook 1.3.6.7.4 has the same table)."""
    assert round(chi_square(Fraction(probability), freedom), digits) == value


@given(st.integers(1, 999), st.integers(1, 300))
def test_chi_square_agrees_with_its_distribution(thousandths: int, freedom: int) -> None:
    assert stats.chi2.cdf(chi_square(Fraction(thousandths, 1000), freedom), freedom) == pytest.approx(
        thousandths / 1000, rel=1e-9
    )


@pytest.mark.parametrize(("n", "least", "most"), [(10, 0.9148, 2.4279), (50, 0.8025, 1.1971)])
def test_bounds_agree_with_the_interval_of_a_capability(n: int, least: float, most: float) -> None:
    """Cp is inversely as s, so that its 95 % interval is that of s turned over; values computed by the formula of
    NIST/SEMATECH e-Handbook 6.1.6 for Cp 1.67 at n = 10 and 1.0 at n = 50."""
    spread, cp = Spread(Fraction(1), n - 1), 1.67 if n == 10 else 1.0
    half = Fraction(975, 1000)
    assert cp / sqrt(square_under(spread, half)) == pytest.approx(least, abs=5e-5)
    assert cp / sqrt(square_over(spread, half)) == pytest.approx(most, abs=5e-5)


def test_a_deviation_taken_as_known_is_its_own_bound() -> None:
    assert square_under(Spread(Fraction(9))) == square_over(Spread(Fraction(9))) == 9


# --- a trial ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("block", [".5", "12.7 mm", ".25 + .25", "1/2", " .4+.1 in "])
def test_a_block_or_a_stack_as_it_is_written(block: str) -> None:
    assert trial("M-01", block).size == INCH // 2
    assert trial("M-01", block).written == block.strip()


@pytest.mark.parametrize(
    ("tag", "block", "code", "at"),
    [
        ("M-01", ".5o", "reader.unknown_unit", 2),
        ("M-01", ".25 + .2x", "reader.unknown_unit", 8),
        ("M-01", ".25 +", "reader.empty", 5),
        ("M-01", "", "reader.empty", 0),
        ("M-01", "1.5", "feel.refused.outside", None),
        ("M-02", ".5", "feel.refused.outside", None),
        ("M-01", "0", "check.refused.size", None),
        ("R-01", "1", "feel.refused.kind", None),
        ("S-01", ".15", "feel.refused.kind", None),
    ],
)
def test_what_cannot_be_begun_is_refused_with_its_place(tag: str, block: str, code: str, at: int | None) -> None:
    with pytest.raises(Refused) as refused:
        trial(tag, block)
    (reason,) = refused.value.reasons
    assert (reason.code, reason.parts.get("at")) == (code, at)
    assert "[" not in say(reason)


def test_every_fault_of_a_stack_is_told_together() -> None:
    with pytest.raises(Refused) as refused:
        trial("M-01", ".2x + .3 + .1 mil")
    assert [reason.parts["at"] for reason in refused.value.reasons] == [2, 14]


def test_readings_are_kept_as_written_and_the_last_is_taken_away() -> None:
    made = trial("M-01", ".5", ".5001 12.7mm 1/2")
    assert [take.quantity.written for take in made.takes] == [".5001", "12.7mm", "1/2"]
    assert made.read.readings == (INCH // 2 + TENTH, INCH // 2, INCH // 2)
    assert [take.at for take in without_last(made).takes] == [0, 1]
    assert without_last(trial("M-01", ".5")) == trial("M-01", ".5")


def test_a_trial_is_full_at_last() -> None:
    made = replace(trial("M-01", ".5", ".5"), takes=trial("M-01", ".5", ".5").takes * MOST_READINGS)
    with pytest.raises(Refused, match=r"feel\.refused\.many"):
        with_take(made, made.takes[0])


def test_a_trial_from_outside_is_looked_at_before_it_is_reckoned_with() -> None:
    good = trial("M-01", ".5", ".5001 .5")
    take = good.takes[0]
    assert is_sound(good)
    for bad in (
        replace(good, unit="furlong"),
        replace(good, unit="°"),
        replace(good, size=0),
        replace(good, size=2**60),
        replace(good, takes=good.takes * 200),
        replace(good, takes=(replace(take, quantity=replace(take.quantity, unit="'")),)),
        replace(good, takes=(replace(take, quantity=replace(take.quantity, count=-5)),)),
    ):
        assert not is_sound(bad)


# --- what the instrument should do --------------------------------------------------------------------------------


def test_what_an_instrument_should_do_is_what_its_record_says() -> None:
    assert should_of(trial("M-01", ".5"), CRIB["M-01"]) == Should(Use.OUTSIDE, TENTH, TENTH, 762_000)
    assert should_of(trial("M-31", ".5"), CRIB["M-31"]).use is Use.DEPTH
    assert should_of(trial("C-06", "11"), CRIB["C-06"]).error == 15 * TENTH


def test_without_a_figure_of_its_own_the_usual_one_of_its_kind_stands_in() -> None:
    bare = replace(CRIB["C-05"], repeatability=0)
    assert should_of(trial("C-05", ".5"), bare) == Should(Use.OUTSIDE, 10 * TENTH, 5 * TENTH, 3 * TENTH, usual=True)
    odd = Instrument("i", 1, "X-1", InstrumentKind.OUTSIDE_MICROMETER, "odd", high=INCH, resolution=INCH)
    assert should_of(begun(odd, ".5", "", ""), odd) == Should(Use.OUTSIDE, None, INCH, None, usual=True)
    assert should_of(trial("C-05", ".5"), None) == Should()


def test_the_step_is_that_of_the_unit_read_in() -> None:
    """A caliper that shows both has steps of .0005 in and .01 mm; readings in both are as coarse as the coarser."""
    steps = {
        texts: should_of(trial("C-05", ".5", texts), CRIB["C-05"]).step
        for texts in ("", ".5 .5005", "12.70mm 12.71mm", ".5 12.71mm")
    }
    assert list(steps.values()) == [5 * TENTH, 5 * TENTH, MM // 100, 5 * TENTH]


# --- what it shows ------------------------------------------------------------------------------------------------


def test_a_steady_hand_on_the_block() -> None:
    found = feel("C-05", ".5", ".5 .5005 .4995 .5 .5005 .5 .4995 .5 .5 .5005 .4995 .5")
    assert said(found) == {
        "feel.within": True,
        "feel.bias.chance": True,
        "feel.spread.alike": True,
        "feel.drift.chance": True,
    }


def test_a_hand_that_presses_reads_small() -> None:
    found = feel("M-01", ".5", ".4997 .4996 .4998 .4997 .4996 .4998 .4997 .4997 .4996 .4998")
    told = said(found)
    assert told["feel.beyond"] is False
    assert "feel.bias.small" in told
    assert "feel.hint.small" in told
    assert float(found.read.bias / INCH) == pytest.approx(-0.0003)
    bias = next(one.reason for one in findings(found) if one.reason.code == "feel.bias.small")
    assert bias.parts["bias"] == Amount(3 * TENTH, bias.parts["bias"].kind, "in", 6)  # said as small, not as minus


def test_hints_are_for_outside_use_alone() -> None:
    assert said(feel("M-32", ".5", " .5003" * 10)).keys().isdisjoint({"feel.hint.large", "feel.hint.small"})
    assert "feel.hint.large" in said(feel("M-01", ".5", " .5003" * 10))


def test_a_force_that_grows_is_a_drift() -> None:
    found = feel("M-11", "12", "12.002 12.002 12.001 12.001 12 12 11.999 11.999 11.998 11.998")
    assert said(found)["feel.drift.down"] is False
    assert found.trend is not None
    oracle = stats.linregress(range(10), [2, 2, 1, 1, 0, 0, -1, -1, -2, -2])
    assert float(found.trend.slope / MM) == pytest.approx(oracle.slope / 1000)


def test_equal_readings_are_no_evidence_of_no_scatter() -> None:
    found = feel("M-01", ".5", " .5000" * 12)
    assert found.all_equal
    assert found.spread is None
    told = said(found)
    assert told["feel.all_equal"] is None
    assert not any(code.startswith("feel.spread") for code in told)
    assert stated(found).deviation == stated(found).under == ""
    assert "0.0001 in hides it" in " ".join(say(one.reason) for one in findings(found))


def test_readings_one_step_apart_say_nothing_of_the_hand() -> None:
    """Between two marks rounding alone gives s = r/2, which is more than many a hand."""
    found = feel("M-01", ".5", ".5 .5001" * 1 + " .5 .5001 .5001 .5 .5 .5001 .5 .5001")
    told = said(found)
    assert told["feel.spread.hidden"] is None
    assert "feel.spread.more" not in told


def test_a_hand_steadier_or_less_steady_than_the_instrument_is_known_for() -> None:
    steady = replace(CRIB["C-05"], repeatability=20 * TENTH)
    few = trial("C-05", ".5", ".5 .501 .5005 .4995 .5 .5005 .5 .501 .4995 .5 .5005 .5")
    loose = trial("C-05", ".5", ".5 .503 .4975 .5045 .497 .5 .502 .4985")
    for made, instrument, code, good in (
        (few, steady, "feel.spread.less", True),
        (loose, CRIB["C-05"], "feel.spread.more", False),
    ):
        found = feel_of(made, instrument)
        assert found is not None
        assert said(found)[code] is good


def test_one_reading_says_little_and_two_do_not_drift() -> None:
    assert said(feel("C-05", ".5", ".5")) == {"feel.few": None}
    assert feel("C-05", ".5", ".5 .5005").trend is None
    assert feel_of(trial("C-05", ".5"), CRIB["C-05"]) is None


def test_without_its_record_a_trial_still_has_its_numbers() -> None:
    found = feel_of(trial("C-05", ".5", ".5 .5005 .502 .499"), None)
    assert found is not None
    assert {"feel.no_error", "feel.spread.unknown"} <= said(found).keys()
    same = feel_of(trial("C-05", ".5", ".5 .5 .5"), None)
    assert same is not None
    assert "feel.all_equal.stepless" in said(same)
    assert not same.bias_is_told()


def test_a_bias_smaller_than_the_step_can_show_is_not_told() -> None:
    """All readings a step off are told, for rounding moves a value by half a step at most; half a step never is."""
    assert feel("M-01", ".5", " .5001" * 8).bias_is_told()
    assert not feel("M-01", ".49995", " .5" * 8).bias_is_told()
    assert not feel("M-01", ".5", ".5 .5001 " * 40).bias_is_told()


@given(st.lists(st.integers(-20, 20), min_size=2, max_size=30))
def test_whether_a_bias_is_told_agrees_with_a_t_test(steps: list[int]) -> None:
    """scipy.stats.ttest_1samp as oracle, the scale taken as fine."""
    size = INCH // 2
    found = Feel("in", Repeated(tuple(size + step * TENTH for step in steps), size), Should())
    if found.spread is None:
        assert not found.bias_is_told()
        return
    oracle = stats.ttest_1samp(steps, 0)
    if abs(oracle.pvalue - 0.0455) > 1e-3:
        assert found.bias_is_told() == (oracle.pvalue < 0.0455)


def test_what_leaves_is_decimal_strings() -> None:
    found = stated(feel("M-01", ".5", ".5001 .5 .4999 .4998 .5 .4997"))
    assert found.bias == "-0.0000833"  # by hand: −5 tenths over 6
    assert (found.n, found.unit, found.freedom, found.error, found.step) == (6, "in", "5", "0.0001", "0.0001")
    assert found.deviation == "0.000147"  # by hand: √(10.83 / 5) tenths
    assert found.usual == "0.00003"
    assert found.confidence == 9545


# --- slips --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("texts", "what"),
    [
        (".5 .5001 .4750", "turn"),
        (".5 .4999 .0500", "point"),
        (".5 .5001 .6001", "tenth_inch"),
        (".5001 12.7", "unit"),
    ],
)
def test_a_reading_with_the_mark_of_a_slip_is_pointed_out(texts: str, what: str) -> None:
    made = trial("M-01", ".5", texts)
    reason = slip_of(made, CRIB["M-01"])
    assert reason is not None
    assert (reason.code, reason.parts["what"]) == ("feel.slip", what)
    assert "[" not in say(reason)


def test_a_reading_off_the_graduations_is_pointed_out_and_a_good_one_is_not() -> None:
    between = slip_of(trial("M-01", ".5", ".5 .50003"), CRIB["M-01"])
    assert between is not None
    assert between.code == "feel.graduation"
    assert "0.0001 in" in say(between)
    assert slip_of(trial("M-01", ".5", ".5 .5002 .4997"), CRIB["M-01"]) is None
    assert slip_of(trial("M-01", ".5"), CRIB["M-01"]) is None
