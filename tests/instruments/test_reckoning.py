"""What a row's budget rests on: certificates, checks, jaws, temperatures and repeats, one by one; and odd records.

Numbers are reckoned by hand from the design's table; 25 mm of nearness and the tenth of the band are common practice.
"""

from __future__ import annotations

import subprocess
import sys
from fractions import Fraction

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.assess import assess
from inspection.instruments.choice import FITNESS, choose
from inspection.instruments.method import Assessment, Fitness, InstrumentIssue, Method
from inspection.instruments.reckoning import NEAR, Reckoning, reckoning
from inspection.instruments.record import (
    CertifiedPoint,
    Contacts,
    Holding,
    Instrument,
    InstrumentKind,
    Permissible,
    Use,
)
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.instruments.ways import way_of
from inspection.measuring.bias import Checked, Handling
from inspection.measuring.known import NOTHING_KNOWN, Evidence, Known
from inspection.measuring.spread import Seen, Spread
from inspection.measuring.thermal import Measured
from inspection.words.say import say

MM, UM = 10**9, 10**6
DAY = "2026-11-25"
MICROMETER = Instrument(
    "m",
    3,
    "M-1",
    InstrumentKind.OUTSIDE_MICROMETER,
    "micrometer 0–100 mm",
    "mm",
    high=100 * MM,
    resolution=UM,
    permissible=(Permissible(Use.OUTSIDE, 100 * MM, 4 * UM),),
    repeatability=UM,
    certificate="now",
)
CALIPER = Instrument(
    "c",
    1,
    "C-1",
    InstrumentKind.DIGITAL_CALIPER,
    "caliper",
    "mm",
    high=150 * MM,
    resolution=10 * UM,
    permissible=tuple(Permissible(use, 150 * MM, 20 * UM) for use in (Use.OUTSIDE, Use.INSIDE)),
    repeatability=8 * UM,
)
SEEN = Spread(Fraction(UM * UM), 2, Seen.BLOCK)


def row(
    size: int, band: int | None = 80 * UM, kind: FeatureKind = FeatureKind.LENGTH, repeats: int = 1
) -> Characteristic:
    half = (band or 0) // 2
    limits = Requirement("x", Form.PLUS_MINUS, unit="mm", nominal=size, lower=size - 2 * half, upper=size, band=band)
    return Characteristic("r", "1", kind, limits, repeats=repeats)


def basic(size: int, kind: FeatureKind = FeatureKind.LENGTH) -> Characteristic:
    return replace(row(size, None, kind), requirement=Requirement("x", Form.BASIC, unit="mm", nominal=size))


def method(*parts: Instrument, use: Use = Use.OUTSIDE) -> tuple[Method, dict[tuple[str, int], Instrument]]:
    names = tuple(InstrumentIssue(part.identity, part.issue) for part in parts)
    return Method(use, names), {(part.identity, part.issue): part for part in parts}


def reckoned(
    asked: Characteristic,
    *parts: Instrument,
    use: Use = Use.OUTSIDE,
    known: Known = NOTHING_KNOWN,
    rules: Rules | None = None,
    before: Instrument | None = None,
    material: str = "",
) -> Reckoning:
    made, issues = method(*parts, use=use)
    if before is not None:
        issues[before.identity, before.issue] = before
    way = way_of(made, issues)
    assert way is not None
    return reckoning(asked, way, parts, issues, rules or Rules(temperature_spread=0), known, material)


def assessed(
    asked: Characteristic,
    *parts: Instrument,
    use: Use = Use.OUTSIDE,
    known: Known = NOTHING_KNOWN,
    rules: Rules | None = None,
) -> Assessment:
    """By the one-pair path; the arrays must say the same."""
    rules = rules or Rules()
    made, issues = method(*parts, use=use)
    found = assess(asked, made, issues, rules, DAY, "", known)
    choice = choose([asked], {part.identity: part for part in parts}, rules, DAY, "", known)
    column = next(j for j, offer in enumerate(choice.offers) if offer.method == made)
    assert FITNESS[choice.fitness[0, column]] is found.fitness
    return found


def lines(found: Reckoning, repeats: int = 1) -> dict[str, Fraction]:
    return {line.name: line.variance for line in found.budget(repeats).lines}


def of(evidence: Evidence, item: Instrument = MICROMETER) -> Known:
    return Known({item.identity: evidence})


def told(found: Assessment) -> list[str]:
    return [say(reason, "mm") for reason in found.against]


# --- scatter, zero, repeats ---------------------------------------------------------------------------------------


def test_without_evidence_the_record_speaks() -> None:
    found = reckoned(row(20 * MM), MICROMETER)
    assert lines(found) == {
        "permissible": Fraction(16 * UM**2, 3),
        "reading": Fraction(UM**2),
        "zero": Fraction(UM**2, 12),
    }
    assert (found.read.tag, found.unit, found.size, found.band) == ("M-1", "mm", 20 * MM, 80 * UM)


@pytest.mark.parametrize(
    ("block", "study", "square"),
    [(2, None, 4), (Fraction(1, 2), None, 1), (2, Fraction(1, 2), Fraction(1, 4)), (None, 3, 9)],
)
def test_a_study_on_parts_comes_first_and_a_block_never_betters_a_part(
    block: Fraction | int | None, study: Fraction | int | None, square: Fraction | int
) -> None:
    def spread(s: Fraction | int | None, seen: Seen) -> Spread | None:
        return None if s is None else Spread(Fraction(s) ** 2 * UM**2, 7, seen)

    evidence = Evidence(block=spread(block, Seen.BLOCK), study=spread(study, Seen.STUDY))
    assert lines(reckoned(row(20 * MM), MICROMETER, known=of(evidence)))["reading"] == square * UM**2


def test_a_record_that_states_no_scatter_has_that_of_its_kind() -> None:
    """A micrometer by steps of .001 mm: .0008 mm, from the table of usual deviations."""
    assert lines(reckoned(row(20 * MM), replace(MICROMETER, repeatability=0)))["reading"] == (800_000) ** 2


def test_the_mean_of_declared_repeats_is_what_is_weighed() -> None:
    shaky = replace(MICROMETER, repeatability=4 * UM)
    once, four = (assessed(row(20 * MM, 50 * UM, repeats=m), shaky) for m in (1, 4))
    assert (once.fitness, four.fitness) == (Fitness.MARGINAL, Fitness.FIT)
    assert once.expanded is not None and four.expanded is not None and four.expanded < once.expanded
    assert lines(reckoned(row(20 * MM), shaky), 4)["reading"] == 4 * UM**2


def test_a_row_that_declares_no_repeats_is_read_once() -> None:
    """And takes no other row's instruments away."""
    asked = [row(20 * MM, repeats=0), row(20 * MM)]
    choice = choose(asked, {"m": MICROMETER}, Rules(), DAY)
    assert (
        [FITNESS[k] for k in choice.fitness[:, 0]]
        == [choice.assess(i, 0).fitness for i in range(2)]
        == [Fitness.FIT] * 2
    )


@pytest.mark.parametrize(
    ("total", "handling", "settings"),
    [(0, None, 4), (4 * 2 * UM, Handling.LEFT, 1), (4 * 3 * UM, Handling.CORRECTED, 4)],
)
def test_zeros_that_are_taken_off_are_averaged(total: int, handling: Handling | None, settings: int) -> None:
    """A tenth of 25 µm may stay. s0 is 3 µm, of the mean of four 1.5 µm."""
    zeros = Spread(Fraction(9 * UM**2), 8, Seen.ZERO)
    found = reckoned(row(20 * MM, 25 * UM), MICROMETER, known=of(Evidence(zeros=zeros, zero_total=total, zero_of=4)))
    seen = [each for each in found.corrections() if each.name == "zero"]
    assert [each.handling for each in seen] == ([] if handling is None else [handling])
    assert [each.amount for each in seen] == ([] if handling is None else [Fraction(-total, 4)])
    assert lines(found)["zero"] == Fraction(9 * UM**2, settings)
    assert found.budget().uncorrected == 0


def test_a_small_hole_gauge_over_a_micrometer_reckoned_by_hand() -> None:
    """⌀.150 + .002 by S-01 over M-01 of the starter crib. In tenths²: the micrometer by E 1 1/3, by s .3 .09, its zero
    (step of 1) 1/12; the gauge by E 2 4/3 and by the scatter of setting it by feel 2² = 4; .152 in within 1 °C
    .000102. Together 5.84010, U is twice its root, 4.8333 tenths, rounded up. Four settings leave of the scatter 1, and
    of the reading what its step does, 1/12."""
    tenth = 2_540_000
    held = {one.tag: replace(one, identity=one.tag, issue=1) for one in starter_crib()}
    micrometer, gauge = held["M-01"], held["S-01"]
    low, band = 1500 * tenth, 20 * tenth
    limits = Requirement("x", Form.PLUS_MINUS, nominal=low, lower=low, upper=low + band, band=band)
    asked = Characteristic("r", "1", FeatureKind.BORE, limits)
    found = reckoned(asked, micrometer, gauge, use=Use.INSIDE, rules=Rules())
    told = [(line.name, line.variance / tenth**2) for line in found.budget().lines]
    assert told[:-1] == [
        ("permissible", Fraction(1, 3)),
        ("reading", Fraction(9, 100)),
        ("zero", Fraction(1, 12)),
        ("permissible", Fraction(4, 3)),
        ("transfer", Fraction(4)),
    ]
    assert told[-1][0] == "part against instrument" and float(told[-1][1]) == pytest.approx(0.000102, abs=1e-6)
    four = {line.name: line.variance / tenth**2 for line in found.budget(4).lines}
    assert (four["transfer"], four["reading"]) == (1, Fraction(1, 12))
    result = assessed(asked, micrometer, gauge, use=Use.INSIDE)
    assert (result.fitness, result.expanded) == (Fitness.MARGINAL, 49 * tenth // 10)
    assert [each.got for each in result.ratios] == ["20", "10", "2.06"]


# --- blocks ---------------------------------------------------------------------------------------------------------


def block(error: int, size: int = 25 * MM, of: int = 3) -> Checked:
    return Checked(of * (size + error), of, size, Fraction(0), SEEN)


@pytest.mark.parametrize(
    ("error", "band", "handling"),
    [(2 * UM, 20 * UM, Handling.LEFT), (3 * UM, 20 * UM, Handling.CORRECTED), (9 * UM, 200 * UM, Handling.REFUSED)],
)
def test_what_a_block_showed(error: int, band: int, handling: Handling) -> None:
    """± 4 µm is permitted, the mean known to .58 µm; what is left is within ±E, which the budget holds already."""
    known = of(Evidence(checked=block(error)))
    found = reckoned(row(20 * MM, band), MICROMETER, known=known)
    (seen,) = found.corrections()
    assert (seen.handling, seen.amount) == (handling, -error)
    assert found.budget().uncorrected == 0
    assert ("check" in lines(found)) is (handling is Handling.CORRECTED)
    result = assessed(row(20 * MM, band), MICROMETER, known=known)
    assert (result.fitness is Fitness.UNSUITABLE) is (handling is Handling.REFUSED)
    if handling is Handling.REFUSED:
        assert [check.name for check in result.checks if not check.holds] == ["check"]
        assert told(result) == [
            "M-1 read the block of 25 mm with an error of 0.00900 mm; ± 0.004 mm is permitted: set it right or have it "
            "calibrated before it is used"
        ]


@pytest.mark.parametrize(("away", "serves"), [(NEAR, True), (-NEAR, True), (NEAR + 1, False)])
def test_a_block_serves_sizes_near_it_and_holds_the_zero_s_error(away: int, serves: bool) -> None:
    size = 30 * MM
    known = of(Evidence(checked=block(3 * UM, size - away), zero_total=9 * UM, zero_of=3))
    found = reckoned(row(size, 20 * UM), MICROMETER, known=known)
    assert [each.name for each in found.corrections()] == ["check" if serves else "zero"]
    assert found.read.settings == (1 if serves else 3)


def test_what_the_outside_jaws_showed_says_nothing_of_the_inside_ones() -> None:
    known = of(Evidence(checked=block(30 * UM), zero_total=90 * UM, zero_of=3), CALIPER)
    slot = row(20 * MM, 500 * UM, FeatureKind.SLOT)
    assert reckoned(slot, CALIPER, use=Use.INSIDE, known=known).corrections() == ()
    assert [each.handling for each in reckoned(row(20 * MM), CALIPER, known=known).corrections()] == [Handling.REFUSED]


# --- certificates ---------------------------------------------------------------------------------------------------

POINTS = (CertifiedPoint(Use.OUTSIDE, 10 * MM, 0, UM), CertifiedPoint(Use.OUTSIDE, 50 * MM, 4 * UM, UM))
CERTIFIED = replace(MICROMETER, points=POINTS)
BEFORE = replace(CERTIFIED, issue=2, certificate="before", points=tuple(replace(p, error=p.error - UM) for p in POINTS))


def test_a_certificate_stands_in_place_of_the_permissible_error() -> None:
    found = reckoned(row(30 * MM), CERTIFIED)
    assert lines(found)["certificate"] == Fraction(UM**2, 4)
    assert lines(found)["drift"] == Fraction(16 * UM**2, 3)  # E, for there is no certificate before
    assert lines(found)["interpolation"] == Fraction(4 * UM**2, 3)
    assert [(each.name, each.amount) for each in found.corrections()] == [("certificate", -2 * UM)]
    assert lines(reckoned(row(30 * MM), CERTIFIED, before=BEFORE))["drift"] == Fraction(UM**2, 3)


def test_two_certificates_mend_the_accuracy_ratio() -> None:
    """T .016 mm: by E 2 : 1, by U + drift = 1 + 1 µm 4 : 1."""
    asked = row(30 * MM, 16 * UM)
    made, issues = method(CERTIFIED)
    found = assess(asked, made, issues | {("m", 2): BEFORE}, Rules(), DAY)
    assert [each.got for each in found.ratios][1] == "4"
    assert [check.name for check in found.checks if check.name in ("error", "certificate")] == ["certificate"]
    assert [each.got for each in assessed(asked, MICROMETER).ratios][1] == "2"


@pytest.mark.parametrize("size", [10 * MM - 1, 50 * MM + 1])
def test_beyond_a_certificate_the_permissible_error_stands(size: int) -> None:
    found = reckoned(row(size), CERTIFIED)
    assert "permissible" in lines(found) and found.corrections() == ()
    assert assessed(row(size), CERTIFIED).fitness is Fitness.FIT


def test_beyond_a_certificate_without_a_permissible_error_nothing_is_known() -> None:
    bare = replace(CERTIFIED, permissible=())
    found = assessed(row(60 * MM), bare)
    assert [check.name for check in found.checks if not check.holds] == ["doubt"]
    assert told(found)[0].startswith("Certificate now of M-1 says nothing at this size")


def test_a_certificate_and_a_block_take_one_error_off_once() -> None:
    """At 50 mm the certificate says + 4 µm, and the block shows as much: nothing is left to take off."""
    known = of(Evidence(checked=block(4 * UM, 50 * MM)))
    found = reckoned(row(40 * MM, 20 * UM), CERTIFIED, known=known)
    assert sum(each.amount for each in found.corrections() if each.handling is Handling.CORRECTED) == -3 * UM
    assert [each.amount for each in found.corrections() if each.name == "check"] == [0]


def test_a_reading_is_corrected_where_it_was_read() -> None:
    found = reckoned(row(30 * MM), CERTIFIED)
    assert found.corrections(40 * MM)[0].amount == -3 * UM
    assert found.corrections(Fraction(40 * MM * 3, 3))[0].amount == -3 * UM
    for lost in (-5, 0, 51 * MM, 10**15):  # no reading is refused where the row is not
        assert found.corrections(lost)[0].amount == -2 * UM


# --- jaws -----------------------------------------------------------------------------------------------------------

BORE = FeatureKind.BORE
MEASURED = replace(CALIPER, contacts=Contacts(jaws=300 * UM, jaws_within=50 * UM))


def test_jaws_that_were_measured_are_corrected() -> None:
    """D 4 mm, w .3: 11.3 µm, with u(D) = w·u(w)/D; the design's own figure."""
    found = reckoned(row(4 * MM, 500 * UM, BORE), MEASURED, use=Use.INSIDE)
    (jaws,) = found.corrections()
    assert (jaws.handling, round(jaws.amount / UM, 1)) == (Handling.CORRECTED, Fraction(113, 10))
    assert lines(found)["jaws"] == (Fraction(3, 40) * 50 * UM) ** 2 / 3
    assert [line.name for line in found.budget().lines].count("jaws") == 1
    assert found.corrections(2 * MM)[0].amount > jaws.amount
    assert found.corrections(-1)[0].amount == jaws.amount


def test_usual_jaws_are_left_or_bar_the_caliper() -> None:
    """w .4 on D 10 mm: w²/2D is 8 µm, so that a band of 80 µm is the least."""
    left = reckoned(row(10 * MM, 80 * UM, BORE), CALIPER, use=Use.INSIDE)
    assert [each.handling for each in left.corrections()] == [Handling.LEFT]
    assert round(left.budget().uncorrected / UM) == 8
    found = assessed(row(10 * MM, 78 * UM, BORE), CALIPER, use=Use.INSIDE)
    assert (found.fitness, found.choosable) == (Fitness.UNSUITABLE, False)
    assert [check.name for check in found.checks if not check.holds] == ["bias"]
    assert told(found) == [
        "the jaws of C-1, 0.4 mm across flats and gap as is usual, stand on a chord and read about 0.00800 mm small in "
        "a bore of 10 mm, more than a tenth of the band allows: measure flats and gap closed and enter them, so that "
        "it can be corrected, or take another instrument"
    ]


def test_slots_have_no_chord_and_a_basic_bore_no_band() -> None:
    assert reckoned(row(10 * MM, UM, FeatureKind.SLOT), CALIPER, use=Use.INSIDE).corrections() == ()
    found = assessed(basic(10 * MM, BORE), CALIPER, use=Use.INSIDE)
    assert found.fitness is Fitness.FIT
    assert found.expanded is not None and found.expanded > 8 * UM


# --- temperature ----------------------------------------------------------------------------------------------------


def test_temperature_by_rule_and_by_log() -> None:
    """Aluminium 100 mm read by steel at 25 °C: 6.05 µm."""
    asked = row(100 * MM)
    warm = Known(measured=Measured(5_000, 5_000))
    made = reckoned(asked, MICROMETER, known=warm, material="6061")
    assert [(each.handling, each.amount) for each in made.corrections()] == [(Handling.CORRECTED, -6_050_000)]
    left = reckoned(
        asked, MICROMETER, known=warm, material="6061", rules=Rules(temperature_corrected=False, temperature_spread=0)
    )
    assert left.budget().uncorrected == 6_050_000
    assert left.budget().variance == made.budget().variance
    room = reckoned(asked, MICROMETER, material="6061", rules=Rules(temperature_spread=0, temperature_room=5_000))
    assert room.corrections() == ()
    assert lines(room)["room"] == Fraction(6_050_000**2, 3)
    glass = reckoned(asked, replace(MICROMETER, expansion=8_000), known=warm, material="6061")
    assert [each.amount for each in glass.corrections()] == [-7_800_000]


# --- nothing raises -------------------------------------------------------------------------------------------------


ODD = {
    "negative scatter": replace(MICROMETER, repeatability=-1),
    "negative zero": replace(MICROMETER, zero=-1),
    "negative step": replace(MICROMETER, resolution=-1),
    "negative error": replace(MICROMETER, permissible=(Permissible(Use.OUTSIDE, 100 * MM, -1),)),
    "nothing known": replace(
        MICROMETER,
        kind=InstrumentKind.RULE,
        permissible=(Permissible(Use.OUTSIDE, 100 * MM, 0),),
        resolution=0,
        repeatability=0,
    ),
    "no error": replace(MICROMETER, permissible=()),
    "error to a size": replace(MICROMETER, permissible=(Permissible(Use.OUTSIDE, 19 * MM, 4 * UM),)),
    "certificate without U": replace(CERTIFIED, points=(replace(POINTS[0], expanded=0), POINTS[1])),
    "certificate without k": replace(CERTIFIED, points=(replace(POINTS[0], factor=0), POINTS[1])),
    "certificate without drift": replace(CERTIFIED, permissible=()),
    "negative tilt": replace(MICROMETER, holding=Holding(tilt=-1)),
    "eye along the scale": replace(MICROMETER, holding=Holding(scale_height=1, eye_off=90 * 3_600_000_000)),
}


@pytest.mark.parametrize("name", ODD)
def test_an_odd_record_is_a_failed_check_with_its_sentence(name: str) -> None:
    found = assessed(row(20 * MM), ODD[name], rules=Rules(temperature_spread=0))
    assert (found.fitness, found.choosable) == (Fitness.UNSUITABLE, False)
    assert [check.name for check in found.checks if not check.holds] in (["doubt"], ["error"])
    assert told(found) and all("[" not in each for each in told(found))


@pytest.mark.parametrize(("of_so_many", "size"), [(0, 25 * MM), (3, 0)])
def test_an_odd_check_is_a_failed_check(of_so_many: int, size: int) -> None:
    checked = Checked(3, of_so_many, size, Fraction(0), SEEN)
    found = assessed(row(20 * MM), MICROMETER, known=of(Evidence(checked=checked)))
    assert [check.name for check in found.checks if not check.holds] == ["doubt"]


@pytest.mark.parametrize(("jaws", "within"), [(4 * MM, 0), (5 * MM, 0), (-1, 0), (1, -1)])
def test_odd_jaws_are_a_failed_check(jaws: int, within: int) -> None:
    odd = replace(CALIPER, contacts=Contacts(smallest_bore=MM, jaws=jaws, jaws_within=within))
    found = assessed(row(4 * MM, 500 * UM, BORE), odd, use=Use.INSIDE)
    assert [check.name for check in found.checks if not check.holds] == ["doubt"]
    assert all("[" not in each for each in told(found))


def test_a_transfer_gauge_without_an_error_carries_nothing() -> None:
    """It used to count as perfect."""
    gauge = Instrument(
        "g",
        1,
        "S-1",
        InstrumentKind.SMALL_HOLE_GAUGE,
        "small-hole gauge",
        "mm",
        high=20 * MM,
        permissible=(Permissible(Use.INSIDE, 20 * MM, 5 * UM),),
        repeatability=5 * UM,
        read_over=(InstrumentKind.OUTSIDE_MICROMETER,),
    )
    asked = row(10 * MM, 300 * UM, BORE)
    assert assessed(asked, MICROMETER, gauge, use=Use.INSIDE).fitness is Fitness.FIT
    found = assessed(asked, MICROMETER, replace(gauge, permissible=()), use=Use.INSIDE)
    assert told(found) == [
        "S-1 has no permissible error for inside use at 10 mm: enter it with the instrument, or take another"
    ]


def test_the_quick_path_loads_nothing_heavy() -> None:
    """Where nothing has few degrees of freedom, a verdict waits for no library."""
    code = """
import sys
import inspection.instruments.assess
print(sorted({"numpy", "scipy"} & set(sys.modules)))
from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.method import InstrumentIssue, Method
from inspection.instruments.record import Instrument, InstrumentKind, Permissible, Use
from inspection.instruments.rules import Rules
item = Instrument("m", 1, "M-1", InstrumentKind.OUTSIDE_MICROMETER, "m", high=10**11, resolution=10**6,
                  permissible=(Permissible(Use.OUTSIDE, 10**11, 10**6),))
limits = Requirement("x", Form.LIMITS, lower=10**10, upper=10**10 + 10**8, band=10**8)
asked = Characteristic("c", "1", FeatureKind.LENGTH, limits)
found = inspection.instruments.assess.assess(
    asked, Method(Use.OUTSIDE, (InstrumentIssue("m", 1),)), {("m", 1): item}, Rules(), "2026-11-25")
print(found.fitness.value, sorted({"numpy", "scipy"} & set(sys.modules)))
"""
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said.splitlines() == ["[]", "fit []"]
