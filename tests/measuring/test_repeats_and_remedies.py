"""How many repeats settle a doubt, when none do, and what would help a marginal row; all with real budgets."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.instruments.record import Use
from inspection.measuring.certificates import Certificate, Point
from inspection.measuring.guard import DecisionRule, Finding, Limits, RuleKind, decide
from inspection.measuring.remedies import Case, Check, Needed, Remedy, ratios_of, remedies
from inspection.measuring.repeats import MOST, Repeats, repeats_needed, rule_settles
from inspection.measuring.spread import Seen, Spread, taken_as_known
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty import Budget
from inspection.measuring.uncertainty_ratio import uncertainty_hundredths
from inspection.measuring.uncertainty_sources import Source, budget_of
from inspection.reasons import Refused
from inspection.sheet.canonical.canonical import dumps
from inspection.words.say import say

IN = 25_400_000_000
TENTH, THOU = IN // 10_000, IN // 1_000
GUARDED = DecisionRule(RuleKind.GUARDED)
STEEL = Temperatures()

#: Tenths micrometer of ± .0001, read with s .00007: marginal on ± .0005 (2.6), and repeats mend it.
SHAKY = Source(
    "M-1",
    Use.OUTSIDE,
    steps=((IN, TENTH),),
    resolution=TENTH,
    spread=taken_as_known(7 * TENTH // 10),
    zero=Spread(Fraction(0)),
)
#: Caliper of ± .001, read with s .0003.
CALIPER = Source(
    "C-1",
    Use.OUTSIDE,
    steps=((6 * IN, THOU), (12 * IN, 3 * THOU // 2)),
    resolution=THOU // 2,
    spread=taken_as_known(3 * TENTH),
    zero=Spread(Fraction(0)),
)


def micrometer(repeats: int) -> Budget:
    return budget_of([SHAKY], IN, repeats, STEEL)


def caliper(repeats: int) -> Budget:
    return budget_of([CALIPER], IN, repeats, STEEL)


def ratio_settles(band: int, needed: int) -> Callable[[Budget], bool]:
    """Whether a budget brings T / 2U to ``needed`` hundredths: a doubt of the choice, told as one of a verdict."""
    return lambda budget: uncertainty_hundredths(band, budget) >= needed


# --- repeats -----------------------------------------------------------------------------------------------------


def test_repeats_bring_the_ratio() -> None:
    settles = ratio_settles(THOU, 300)
    found = repeats_needed(micrometer, settles)
    assert found.needed is not None
    assert not settles(micrometer(found.needed - 1)) and settles(micrometer(found.needed))
    assert found.needed == 2 == repeats_needed(micrometer, settles, most=2).needed
    assert say(found.reason).startswith("the mean of 2 readings")


def test_repeats_end_where_the_permissible_error_dominates() -> None:
    found = repeats_needed(caliper, ratio_settles(6 * THOU, 300))
    assert found.needed is None
    assert say(found.reason) == (
        "no mean of up to 12 readings settles it: 89 % of what is left is permissible error, which repeats don't make "
        "smaller"
    )


def test_a_doubt_that_a_mean_of_four_settles() -> None:
    """± .0005 under guard bands, read .00016 inside: g .00024, .00016 and .00015 for m of 1, 3 and 4."""
    shaky = replace(SHAKY, spread=taken_as_known(13 * TENTH // 10))
    limits, total = Limits(IN - 5 * TENTH, IN + 5 * TENTH), IN + 5 * TENTH - 16 * TENTH // 10

    def at(repeats: int) -> Budget:
        return budget_of([shaky], IN, repeats, STEEL)

    assert decide(GUARDED, total, limits, at(1)).finding is Finding.DOUBT_INSIDE
    found = repeats_needed(at, rule_settles(GUARDED, total, limits))
    assert found.needed == 4
    assert decide(GUARDED, 4 * total, limits, at(4), 4).finding is Finding.CONFORMING


def test_a_doubt_that_stays() -> None:
    limits, total = Limits(IN - 5 * TENTH, IN + 5 * TENTH), IN + 5 * TENTH - TENTH // 2
    found = repeats_needed(micrometer, rule_settles(GUARDED, total, limits))
    assert found.needed is None
    assert found.reason.parts["part"] == "permissible"


def test_what_is_left_uncorrected_is_named() -> None:
    warm = Temperatures(part_expansion=23_600, measured=Measured(15_000, 15_000))
    found = repeats_needed(lambda m: budget_of([SHAKY], 3 * IN // 3, m, warm), ratio_settles(THOU, 300))
    assert found.needed is None
    assert found.reason.code == "doubt.repeats.uncorrected"


@given(st.integers(1, 10 * THOU), st.integers(0, 10**7), st.one_of(st.none(), st.integers(1, 30)), st.integers(1, 400))
def test_the_fewest_repeats_are_found(band: int, deviation: int, freedom: int | None, needed: int) -> None:
    source = replace(SHAKY, spread=Spread(Fraction(deviation**2), freedom, Seen.STUDY))

    def at(repeats: int) -> Budget:
        return budget_of([source], IN, repeats, STEEL)

    enough = [m for m in range(2, MOST + 1) if uncertainty_hundredths(band, at(m)) >= needed]
    assert repeats_needed(at, ratio_settles(band, needed)).needed == min(enough, default=None)


def test_repeats_are_at_least_two() -> None:
    with pytest.raises(Refused):
        repeats_needed(micrometer, ratio_settles(THOU, 300), most=1)


# --- the ratio ---------------------------------------------------------------------------------------------------


@given(st.integers(0, 10**11), st.integers(1, 10**9), st.fractions(0, 10**9), st.one_of(st.none(), st.integers(1, 50)))
def test_the_ratio_is_cut_exactly(band: int, deviation: int, left: Fraction, freedom: int | None) -> None:
    """⌊100 T / 2U⌋ = q: 2qU ≤ 100 T < 2(q + 1)U, in squares of fractions."""
    from inspection.measuring.uncertainty import combined, deviating
    from inspection.reasons import Reason

    budget = combined([deviating("a", Reason(""), Reason(""), deviation**2, freedom=freedom)], left)
    found = uncertainty_hundredths(band, budget)
    square = budget.expanded_square()
    rest = 100 * band - 2 * found * left
    assert rest >= 0 and (2 * found) ** 2 * square <= rest**2
    more = 100 * band - 2 * (found + 1) * left
    assert more < 0 or (2 * (found + 1)) ** 2 * square > more**2


# --- remedies ----------------------------------------------------------------------------------------------------


def named(found: tuple[Remedy, ...]) -> list[str]:
    return [f"{remedy.check}: {say(remedy.reason)} ({remedy.ratio})" for remedy in found]


def test_nothing_is_offered_where_all_holds() -> None:
    assert remedies(Case((CALIPER,), IN, 10 * THOU, temperatures=STEEL)) == ()


def test_a_shaky_micrometer() -> None:
    case = Case((SHAKY,), IN, THOU, temperatures=STEEL)
    assert ratios_of(case) == (1000, 500, 261)
    found = remedies(case)
    assert found[0] == replace(found[0], check=Check.UNCERTAINTY, repeats=2)
    assert named(found)[0] == "uncertainty: take the mean of 2 readings, lifted and replaced (3.06)"
    assert named(found)[-1].startswith("uncertainty: an instrument with a permissible error within ± 0.0000")


def test_a_caliper_that_is_not_accurate_enough() -> None:
    """± .003 by E .001: accuracy 3. Repeats and soaking don't touch that; the certificate and a better one do."""
    case = Case((CALIPER,), IN, 6 * THOU, temperatures=STEEL)
    assert ratios_of(case).accuracy == 300
    points = (Point(0, 0, 2 * TENTH), Point(IN, THOU // 2, 2 * TENTH), Point(6 * IN, THOU, 2 * TENTH))
    before = Certificate("21", "2025-03-02", (Point(0, 0, 2 * TENTH), Point(IN, 4 * TENTH, 2 * TENTH)))
    now = Certificate("22", "2026-03-02", points)
    found = named(remedies(case, {"C-1": (now, before)}))
    assert found == [
        "accuracy: correct C-1 by its certificate 22 (10)",
        "accuracy: an instrument with a permissible error within ± 0.00064 in (4.68)",
    ]
    # Without the one before, drift is as large as E: the certificate alone is no remedy and is not offered.
    assert named(remedies(case, {"C-1": (now, None)})) == found[1:]


def test_only_a_finer_instrument_mends_resolution() -> None:
    coarse = replace(CALIPER, steps=((6 * IN, TENTH),), spread=taken_as_known(TENTH))
    (only,) = remedies(Case((coarse,), IN, 4 * THOU, temperatures=STEEL))
    assert only.check is Check.RESOLUTION
    assert named((only,)) == [
        "resolution: a finer instrument: steps of 0.0004 in at most, permissible error within ± 0.0001 in (10)"
    ]
    # ± .001 by a scatter of .0003: whatever the scale shows, the scatter stays, so nothing is promised.
    assert remedies(Case((CALIPER,), IN, 2 * THOU, temperatures=STEEL)) == ()


def test_aluminium_at_25_degrees() -> None:
    """± .0005 on 2 in: marginal by 2.0 where the temperatures are known and not used; corrected 3.2."""
    fine = replace(SHAKY, steps=((6 * IN, TENTH),), spread=taken_as_known(3 * TENTH // 10))
    warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000))
    case = Case((fine,), 2 * IN, THOU, temperatures=warm)
    assert ratios_of(case).uncertainty < 300
    found = named(remedies(case))
    assert "uncertainty: measure the temperatures of part and instrument and correct to 20 °C (3.2)" in found


def test_soaking_helps_a_large_part() -> None:
    fine = replace(SHAKY, steps=((6 * IN, TENTH),), spread=taken_as_known(3 * TENTH // 10))
    case = Case((fine,), 5 * IN, THOU, temperatures=Temperatures(part_expansion=23_600, instrument_expansion=23_600))
    found = [remedy for remedy in remedies(case) if remedy.reason.code == "doubt.remedy.soak"]
    (soak,) = found
    within = int(Fraction(say(soak.reason).split("within ")[1].split(" ")[0]) * 1000)
    for spread, holds in ((within, True), (within + 100, False)):
        known = Temperatures(part_expansion=23_600, instrument_expansion=23_600, spread=spread)
        assert ratios_of(replace(case, temperatures=known)).hold(Needed()) is holds


@given(
    st.integers(TENTH, 20 * THOU),
    st.integers(IN // 10, 12 * IN),
    st.integers(1, 10 * TENTH),
    st.integers(0, 4_000),
)
def test_whatever_is_offered_makes_every_ratio_hold(band: int, size: int, deviation: int, spread: int) -> None:
    source = replace(CALIPER, spread=taken_as_known(deviation), resolution=THOU // 10)
    case = Case((source,), size, band, temperatures=Temperatures(part_expansion=23_600, spread=spread))
    found = remedies(case)
    if ratios_of(case).hold(case.needed):
        assert found == ()
    for remedy in found:
        assert "[" not in say(remedy.reason)
        assert Fraction(remedy.ratio) * 100 >= getattr(case.needed, remedy.check)
        if remedy.repeats:
            assert ratios_of(replace(case, repeats=remedy.repeats)).hold(case.needed)
            assert not ratios_of(replace(case, repeats=remedy.repeats - 1)).hold(case.needed)


def test_both_can_be_sealed_and_read_back() -> None:
    found = repeats_needed(micrometer, ratio_settles(THOU, 300))
    assert msgspec.json.decode(dumps(found), type=Repeats) == found
    for remedy in remedies(Case((SHAKY,), IN, THOU, temperatures=STEEL)):
        assert msgspec.json.decode(dumps(remedy), type=Remedy) == remedy


def test_what_a_check_left_counts_in_the_case_and_not_in_another_instrument() -> None:
    """.0001 in left uncorrected adds whole to U (JCGM 100:2008, F.2.4.5 as simplified); a tighter instrument has not
    shown it."""
    from inspection.measuring.bias import Correction, Handling
    from inspection.reasons import Reason

    left = Correction("check", Handling.LEFT, Fraction(TENTH), Reason("doubt.check.left_over"))
    shaky = replace(SHAKY, spread=taken_as_known(3 * TENTH // 10))
    case = Case((shaky,), IN, THOU, temperatures=STEEL)
    held = replace(case, corrections=(left,))
    assert ratios_of(case).uncertainty >= 300 > ratios_of(held).uncertainty
    assert held.budget().uncorrected == TENTH
    tighter = [remedy for remedy in remedies(held) if remedy.reason.code == "doubt.remedy.tighter"]
    assert [remedy.check for remedy in tighter] == [Check.UNCERTAINTY]
    assert int(float(tighter[0].ratio) * 100) >= ratios_of(case).uncertainty
