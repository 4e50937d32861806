"""What a report tells of doubt: the rule, U, guard bands, corrections, checks, temperatures, budgets.

The formulas behind the numbers are tested with their sources in tests/measuring; here it is what is said of them.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Slot
from inspection.quantity.units import UNITS
from inspection.sheet import acts, figures
from inspection.sheet.report import Line, Report
from inspection.sheet.reporting import report
from inspection.words.catalogue import catalogue

INCH = UNITS["in"].count
TENTH = INCH // 10_000
GUARDED = DecisionRule(RuleKind.GUARDED)
#: ∂y/∂x of a length in inches by the unit of x.
PER = {"in": "", "°C": "in/°C", "10⁻⁶/°C": "in/(10⁻⁶/°C)"}
ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005", "places": "top; foot"},
    {"number": "3", "kind": "length", "requirement": "1.250 ±.005", "repeats": "3"},
    {"number": "4", "kind": "outside diameter", "requirement": "⌀.6250 ±.0005"},
)


class Told:
    """A sheet of ``ROWS`` on two pieces whose shop asks for checks, and its report."""

    def __init__(self, life: Any) -> None:
        self.life = life
        life.open(checks=True).make(("001", "002"), *ROWS)

    def rule(self, decision: DecisionRule, reason: str = "agreed by letter") -> None:
        self.life.do(acts.ChooseDecisionRule(sheet=self.life.sheet_id, decision=decision, reason=reason))

    def warm(self, part: int = 24_000, instrument: int = 22_500, thermometer: str = "TH-1") -> None:
        log = {"part": part, "instrument": instrument, "thermometer": thermometer, "within": 200, "soak_minutes": 45}
        self.life.do(acts.LogTemperature(sheet=self.life.sheet_id, note="by the window", **log))

    def check(self, *tags: str) -> None:
        for tag in tags or ("C-05", "M-01"):
            self.life.check(tag)

    @property
    def report(self) -> Report:
        made = report(self.life.sheet, self.life.shop)
        assert "[report" not in repr(made), "a code without words"
        assert "[doubt" not in repr(made), "a code without words"
        return made

    def line(self, number: str) -> Line:
        return next(each for each in self.report.lines if each.number == number)

    @property
    def head(self) -> dict[str, str]:
        return dict(self.report.head)


@pytest.fixture
def told(life_kind: Any) -> Told:
    return Told(life_kind())


# --- the rule -------------------------------------------------------------------------------------------------------


def test_the_shops_own_rule_is_named_without_a_reason(told: Told) -> None:
    assert told.head["decision rule"] == "simple acceptance: on the limit is inside"
    assert "why this rule" not in told.head
    assert "uncertainty" not in told.head  # nothing was computed yet


def test_another_rule_is_named_with_what_was_agreed(told: Told) -> None:
    told.rule(GUARDED, "agreed by letter")
    told.life.take("1", ".5010")
    assert told.head["decision rule"].startswith("guarded acceptance (ISO 14253-1)")
    assert told.head["why this rule"] == "agreed by letter"
    assert "95.45 %" in told.head["uncertainty"]


# --- U, guard bands, probability --------------------------------------------------------------------------------------


def test_a_result_tells_its_uncertainty_and_the_limits_it_was_accepted_by(told: Told) -> None:
    told.rule(GUARDED)
    told.check()
    told.life.take("1", ".5010")
    (result, _) = told.line("1").results
    judgement = told.life.judgement("1")
    assert Fraction(result.expanded) * INCH == judgement.expanded
    assert len(result.expanded.lstrip("0.")) == 2
    low, high = (Fraction(each) * INCH for each in (result.accept_lower, result.accept_upper))
    exact = (4950 * TENTH + judgement.guard, 5050 * TENTH - judgement.guard)
    assert exact[0] <= low <= exact[0] + TENTH
    assert exact[1] - TENTH <= high <= exact[1]
    assert 0 <= Fraction(result.guard) * INCH - judgement.guard < TENTH


def test_simple_acceptance_tells_the_uncertainty_and_no_guard_band(told: Told) -> None:
    told.check()
    told.life.take("1", ".5010")
    result = told.line("1").results[0]
    assert result.expanded
    assert (result.guard, result.accept_lower, result.accept_upper, result.probability) == ("", "", "", "")


def test_a_doubt_is_the_worst_but_for_what_is_out_and_says_why(told: Told) -> None:
    told.rule(GUARDED)
    told.check()
    told.life.take("4", ".6254")
    line = told.line("4")
    assert (line.state, line.verdict) == ("in doubt, measured inside", "in doubt, measured inside (1 of 2 pieces)")
    assert "conformity is shown from" in line.results[0].reasons[0]
    assert "1 in doubt, measured inside" in told.report.totals[0]
    told.life.take("4", ".6260", 1)
    assert told.line("4").state == "not conforming"


def test_a_probability_is_shown_to_whom_it_was_agreed_with_and_to_nobody_else(told: Told) -> None:
    """The sentence of a doubt names it too."""
    told.check()
    told.life.take("4", ".6254")
    for rule, shown in (
        (DecisionRule(RuleKind.PROBABILITY), False),
        (DecisionRule(RuleKind.PROBABILITY, printed=True), True),
        (DecisionRule(RuleKind.GUARDED, printed=True), True),
    ):
        told.rule(rule)
        result = told.line("4").results[0]
        got = figures_of(told.life.judgement("4").probability)
        assert result.probability == (got if shown else "")
        assert result.state.startswith("in doubt")
        if not shown:
            assert got not in " ".join(result.reasons)
            assert "95 % is agreed" in result.reasons[0]


def figures_of(probability: str) -> str:
    """A probability in per cent as it is written, without idle zeros."""
    return str(float(Fraction(probability) * 100)).removesuffix(".0")


def when(at: int) -> str:
    """A moment (UTC microseconds) to the minute."""
    return datetime.fromtimestamp(at // 1_000_000, UTC).strftime("%Y-%m-%d %H:%M")


# --- corrections ------------------------------------------------------------------------------------------------------


def test_a_corrected_reading_is_shown_as_read_and_as_corrected_with_the_reason(told: Told) -> None:
    told.warm()
    told.check()
    told.life.take("4", ".6252")
    line, judgement = told.line("4"), told.life.judgement("4")
    result = line.results[0]
    (temperature,) = [each for each in judgement.corrections if each.name == "temperature"]
    assert line.values[0].text == "0.6252"
    assert result.read == ("0.6252",)
    assert result.numbers == (result.text,)
    assert len(result.text.partition(".")[2]) == len(result.expanded.partition(".")[2])
    assert abs(Fraction(result.text) * INCH - judgement.results[0]) <= TENTH // 10
    (said,) = result.corrections
    assert said.startswith(f"read 0.6252, corrected {result.text}: temperature ")
    assert Fraction(said.rpartition(" ")[2].replace("−", "-")) * INCH == pytest.approx(temperature.amount, abs=TENTH)
    assert line.corrections == ("001: " + said,)


def test_pieces_with_the_same_correction_are_told_together(told: Told) -> None:
    told.warm()
    told.check()
    told.life.take("4", ".6252")
    told.life.take("4", ".6251", 1)
    (same,) = told.line("4").corrections
    assert same.startswith("001: read 0.6252, corrected ")
    assert "; 002: read 0.6251, corrected " in same
    assert same.count("temperature") == 1


def test_every_known_error_that_can_be_taken_off_has_its_cause_in_words() -> None:
    taken_off = {code.split(".")[1] for code in catalogue() if re.fullmatch(r"doubt\.\w+\.corrected", code)}
    assert taken_off - {"handling"} == {"jaws", "temperature", "certificate", "zero", "check", "tilt"}
    for name in taken_off - {"handling"}:
        assert catalogue()[f"report.cause.{name}"].names <= catalogue()[f"doubt.{name}.corrected"].names


def test_several_places_and_a_mean_are_told_before_and_after(told: Told) -> None:
    told.warm()
    told.check()
    told.life.take("2", ".7501", slot=Slot("top"))
    told.life.take("2", ".7498", slot=Slot("foot"))
    for repeat, written in enumerate(("1.2505", "1.2515", "1.2510"), 1):
        told.life.take("3", written, slot=Slot(repeat=repeat))
    places, mean = told.line("2").results[0], told.line("3").results[0]
    assert places.read == ("0.7498", "0.7501")
    assert places.text == f"{places.numbers[0]} … {places.numbers[1]} (n = 2)"
    assert mean.read == ("1.2510",)
    assert mean.text == f"mean {mean.numbers[0]} (n = 3)"


def test_a_reading_with_nothing_taken_off_prints_as_read(told: Told) -> None:
    told.check()
    told.life.take("4", ".6252")
    result = told.line("4").results[0]
    assert (result.text, result.numbers, result.read, result.corrections) == ("0.6252", (), (), ())


def test_repeats_set_after_a_doubt_are_said(told: Told) -> None:
    told.rule(GUARDED)
    told.check()
    told.life.take("4", ".6254")
    row, piece = told.life.cell("4")
    told.life.do(acts.DeclareRepeats(sheet=told.life.sheet_id, characteristic=row, piece=piece, repeats=3))
    for repeat, written in ((2, ".6252"), (3, ".6252")):
        told.life.take("4", written, slot=Slot(repeat=repeat))
    line = told.line("4")
    assert [value.role for value in line.values] == ["1 of 3", "2 of 3", "3 of 3"]
    assert line.results[0].text.startswith("mean 0.6252")
    assert line.results[0].text.endswith("(n = 3)")
    assert any("was set after a doubt" in reason for reason in line.results[0].reasons)


# --- digits -----------------------------------------------------------------------------------------------------------


@given(
    total=st.integers(3 * 4980 * TENTH, 3 * 5020 * TENTH),
    of=st.sampled_from([1, 3]),
    expanded=st.integers(TENTH // 100, 8 * TENTH),
    guard=st.integers(0, 9 * TENTH),
)
def test_no_printed_result_crosses_a_limit_or_a_printed_acceptance_limit(
    total: int, of: int, expanded: int, guard: int
) -> None:
    """Rule: to the place of U, never fewer decimals than the limit, more digits rather than across a limit."""
    requirement = Requirement("", Form.LIMITS, decimals=4, lower=4990 * TENTH, upper=5010 * TENTH)
    total = total if of == 3 else total // 3
    accepted = figures.acceptance(requirement, guard, expanded, (total,), of)
    text = figures.computed(total, requirement, expanded, of, accepted)
    printed, exact = Fraction(text) * INCH, Fraction(total, of)
    low, high = 4990 * TENTH, 5010 * TENTH
    assert (printed < low, printed > high) == (exact < low, exact > high)
    shown_low, shown_high = Fraction(accepted.lower) * INCH, Fraction(accepted.upper) * INCH
    assert (printed >= shown_low) == (exact >= low + guard)
    assert (printed <= shown_high) == (exact <= high - guard)
    assert low + guard <= shown_low <= low + guard + TENTH
    assert high - guard >= shown_high >= high - guard - TENTH
    assert len(text.partition(".")[2]) >= max(4, figures.decimals_of(expanded, "in"))


# --- checks -----------------------------------------------------------------------------------------------------------


def test_a_reading_tells_the_check_it_rests_on_or_that_there_was_none(told: Told) -> None:
    told.life.take("1", ".5010")
    made = told.life.check("C-05")
    told.life.take("1", ".5010", 1)
    without, with_one = told.line("1").values
    assert without.check == "C-05 was not checked before use."
    assert with_one.check == f"checked {when(made.at)} by Ann Ames"
    assert "One reading rests on no check before use." in told.report.totals


def test_where_the_shop_asks_for_none_nothing_is_said(shop_life: Any) -> None:
    shop_life.make(("001",), *ROWS)
    shop_life.take("1", ".5010")
    line = report(shop_life.sheet, shop_life.shop).lines[0]
    assert (line.values[0].check, line.results[0].reasons) == ("", ())


def test_a_reopened_reading_stays_with_the_check_that_failed(told: Told) -> None:
    told.check()
    told.life.take("1", ".5010")
    failed = told.life.check("C-05", bad="wipe")
    told.life.take("1", ".5020", slot=Slot())
    first, second = told.line("1").values
    assert not first.counts
    said = f"C-05 failed the check of {when(failed.at)} by Ann Ames. Not as it should be: "
    assert first.reopened.startswith(said)
    assert (second.reopened, second.counts) == ("", True)
    assert told.line("1").results[0].text == "0.5020"
    assert "One reading counts no longer after a failed check and stays legible." in told.report.totals


def test_a_check_that_failed_after_signing_is_told_beside_what_was_sealed(told: Told) -> None:
    told.check()
    told.life.take("1", ".5010")
    told.life.sign(incomplete="the rest comes tomorrow")
    told.life.check("C-05", bad="wipe")
    line = told.line("1")
    assert line.values[0].counts
    assert line.values[0].suspect.startswith("C-05 failed the check of ")
    assert line.results[0].text == "0.5010"
    assert "One reading was put in question by a check that failed after signing." in told.report.totals


# --- temperatures -----------------------------------------------------------------------------------------------------


def test_the_log_names_thermometer_soak_and_the_rows_that_inherit_it(told: Told) -> None:
    told.warm()
    told.check()
    told.life.take("1", ".5010")
    told.life.take("4", ".6250")
    told.life.take("4", ".6250", 1)
    (line,) = told.report.temperatures
    assert (line.part, line.instrument, line.within, line.soak) == ("24", "22.5", "0.2", "45")
    assert (line.thermometer, line.by, line.when) == ("TH-1", "Ann Ames", when(told.life.sheet.temperatures[0].at))
    assert (line.rows, line.note) == ("1, 4", "by the window")
    assert told.line("4").values[1].temperature == "part 24 °C, instrument 22.5 °C"


def test_a_thermometer_of_the_crib_is_named_with_its_calibration(told: Told) -> None:
    pen = Instrument("", 0, "TH-2", InstrumentKind.THERMOMETER, "pen thermometer", due="2027-05-01", certificate="T-9")
    told.life.do(acts.IssueInstrument(instrument=replace(pen, kelvin=200)))
    told.warm(thermometer="TH-2")
    (line,) = told.report.temperatures
    assert line.thermometer == "TH-2 pen thermometer"
    assert line.calibration == "calibrated, due 2027-05-01, certificate T-9"


# --- budgets ----------------------------------------------------------------------------------------------------------


def test_rows_that_share_the_same_numbers_share_one_budget(told: Told) -> None:
    told.check()
    for number, written in (("1", ".5010"), ("4", ".6250")):
        told.life.take(number, written)
        told.life.take(number, written, 1)
    made = told.report
    names = {line.number: {result.budget for result in line.results} for line in made.lines if line.number in "14"}
    assert names == {"1": {"B1"}, "4": {"B2"}}
    assert [(budget.name, budget.rows) for budget in made.budgets] == [("B1", "1"), ("B2", "4")]


def test_a_row_read_with_two_instruments_names_its_pieces(told: Told) -> None:
    told.check()
    told.life.take("4", ".6250")
    told.life.take("4", ".6250", 1, method=told.life.method("C-05"), reason="micrometer lent")
    assert [budget.rows for budget in told.report.budgets] == ["4 (001)", "4 (002)"]


def test_a_budget_adds_up_as_it_is_printed(told: Told) -> None:
    """JCGM 100:2008, 5.1.2: u_c² is the sum of (c·u(x))²; 6.2: U = k·u_c, with what is left uncorrected."""
    told.warm()
    told.check()
    told.life.take("4", ".6252")
    (budget,) = told.report.budgets
    assert sum(int(line.share) for line in budget.lines) == pytest.approx(100, abs=len(budget.lines) / 2)
    contributions = [float(line.contribution) for line in budget.lines]
    for line, contribution in zip(budget.lines, contributions, strict=True):
        assert abs(float(line.standard) * float(line.sensitivity)) == pytest.approx(contribution, rel=0.012)
        assert line.sensitivity_unit == PER[line.unit]
    combined = sum(each * each for each in contributions) ** 0.5
    assert float(budget.combined) == pytest.approx(combined, rel=0.01)
    whole = float(budget.factor) * combined + float(budget.uncorrected or 0)
    assert whole <= float(budget.expanded) * 1.005
    assert float(budget.expanded) <= whole * 1.12
    assert budget.confidence == "95.45"
    assert {line.distribution for line in budget.lines} <= {"normal", "rectangular", "triangular", "U-shaped"}


def test_what_is_left_uncorrected_stands_with_the_budget(told: Told) -> None:
    told.life.shop = replace(told.life.shop, rules=replace(told.life.shop.rules, temperature_corrected=False))
    told.life.do(acts.MakeSheet(plan=told.life.sheet.plan.identity, serials=("003",)))
    told.warm()
    told.check()
    told.life.take("4", ".6252")
    (budget,) = told.report.budgets
    assert budget.uncorrected
    assert any("for temperature not added" in said for said in budget.left)
    assert told.line("4").corrections == ()
    assert any("for temperature not added" in said for said in told.line("4").results[0].corrections)


def test_a_judgement_of_before_there_were_budgets_prints_as_it_did(told: Told) -> None:
    told.life.take("1", ".5010")
    sheet = told.life.sheet
    old = {
        cell: replace(kept, budget=None, corrections=(), raw=(), guard=None) for cell, kept in sheet.judgements.items()
    }
    told.life.sheets[sheet.identity] = replace(sheet, judgements=old)
    result = told.line("1").results[0]
    assert (result.text, result.expanded, result.budget, result.numbers) == ("0.5010", "", "", ())
    assert told.report.budgets == ()
    assert "uncertainty" not in told.head
