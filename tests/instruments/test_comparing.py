"""An indicator set on a stack of gauge blocks: what it reaches, how far it can be trusted, and when it is taken.

Budgets are reckoned by hand from the design's table; limits of blocks are those of ISO 3650 grade 1 and ASME B89.1.9
grade 0, from memory. What the way answers, and what its parts cost, is common practice.
"""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.assess import assess
from inspection.instruments.blocks_arrays import stacks_at
from inspection.instruments.blocks_grades import stack_lines
from inspection.instruments.choice import FITNESS, choose
from inspection.instruments.comparing import compared, nearest_stack
from inspection.instruments.crib import offers
from inspection.instruments.method import Assessment, Fitness, InstrumentIssue, Method
from inspection.instruments.reckoning import Reckoning, reckoning
from inspection.instruments.record import CertifiedPoint, Instrument, InstrumentKind, Member, Permissible, Use
from inspection.instruments.route import plan_route
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.instruments.ways import way_of, ways
from inspection.measuring.bias import Checked, Handling
from inspection.measuring.known import NOTHING_KNOWN, Evidence, Known
from inspection.measuring.spread import Seen, Spread, taken_as_known
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty import Distribution, bounded, deviating
from inspection.measuring.uncertainty_parts import certified_size
from inspection.measuring.uncertainty_sources import Source, budget_of
from inspection.quantity.units import UNITS
from inspection.reasons import Reason, Refused
from inspection.words.say import say

MM, UM, NM = 10**9, 10**6, 10**3
IN = UNITS["in"].count
THOU = IN // 1000
DAY = "2026-11-25"
INDICATOR = Instrument(
    "i",
    1,
    "I-9",
    InstrumentKind.INDICATOR,
    "lever indicator 0.8 mm",
    "mm",
    high=800 * UM,
    resolution=UM,
    permissible=(Permissible(Use.HEIGHT, 100 * UM, 2 * UM), Permissible(Use.HEIGHT, 2 * MM, 4 * UM)),
    repeatability=UM,
    handling_seconds=20,
)
PLATE = Instrument(
    "p",
    1,
    "H-9",
    InstrumentKind.SURFACE_PLATE,
    "plate",
    "mm",
    permissible=(Permissible(Use.HEIGHT, 600 * MM, 2 * UM),),
    handling_seconds=0,
)


def starter(tag: str, **changes: object) -> Instrument:
    found = next(each for each in starter_crib(due="2027-01-01") if each.tag == tag)
    return replace(found, identity=tag, issue=1, **changes)


BLOCKS = starter("G-02")


def row(
    size: int, half: int = 20 * UM, kind: FeatureKind = FeatureKind.LENGTH, unit: str = "mm", repeats: int = 1
) -> Characteristic:
    limits = Requirement(
        "x", Form.PLUS_MINUS, unit=unit, nominal=size, lower=size - half, upper=size + half, band=2 * half
    )
    return Characteristic("r", "1", kind, limits, repeats=repeats)


def comparing(*parts: Instrument) -> tuple[Method, dict[tuple[str, int], Instrument]]:
    names = tuple(InstrumentIssue(part.identity, part.issue) for part in parts)
    return Method(Use.HEIGHT, names), {(part.identity, part.issue): part for part in parts}


def reckoned(
    asked: Characteristic, *parts: Instrument, known: Known = NOTHING_KNOWN, rules: Rules | None = None
) -> Reckoning:
    method, issues = comparing(*parts)
    way = way_of(method, issues)
    assert way is not None
    return reckoning(asked, way, parts, issues, rules or Rules(), known)


def assessed(asked: Characteristic, *parts: Instrument, known: Known = NOTHING_KNOWN) -> Assessment:
    """By the one-pair path; the arrays must say the same."""
    method, issues = comparing(*parts)
    found = assess(asked, method, issues, Rules(), DAY, "", known)
    choice = choose([asked], {part.identity: part for part in parts}, Rules(), DAY, "", known)
    column = next(j for j, offer in enumerate(choice.offers) if offer.method == method)
    assert FITNESS[choice.fitness[0, column]] is found.fitness
    return found


def failed(found: Assessment) -> dict[str, str]:
    return {check.name: say(check.reason) for check in found.checks if not check.holds}


# --- the budget -----------------------------------------------------------------------------------------------------


def test_a_comparison_reckoned_by_hand() -> None:
    """41.36 ± .02 mm over 40 + 1.36. In µm²: the indicator by E ± 2 where it moves no more than .1 mm 4/3, by s 1, its
    zero on the stack (step of 1) 1/12; the plate 4/3; the blocks within .4 and .2, (.16 + .04)/3; a film of a
    microinch .0254²/3; part and blocks within 1 °C of each other (.0115 · 41.38)²/3 = .07549. Together 3.8924, and U is
    twice its root, 3.9458."""
    asked = row(41_360 * UM)
    budget = reckoned(asked, INDICATOR, PLATE, BLOCKS).budget()
    by_hand = {
        "permissible": [Fraction(4, 3), Fraction(4, 3)],
        "reading": [Fraction(1)],
        "zero": [Fraction(1, 12)],
        "gauge class": [Fraction(16, 300), Fraction(4, 300)],
        "film": [Fraction(254**2, 3 * 10**8)],
        "part against instrument": [(Fraction(115, 10_000) * Fraction(4138, 100)) ** 2 / 3],
    }
    told = {name: [line.variance / UM**2 for line in budget.lines if line.name == name] for name in by_hand}
    assert {name: sorted(each) for name, each in told.items()} == {name: sorted(each) for name, each in by_hand.items()}
    assert len(budget.lines) == 8
    assert float(budget.expanded_square()) ** 0.5 / UM == pytest.approx(3.9458, abs=0.0001)
    found = assessed(asked, INDICATOR, PLATE, BLOCKS)
    assert (found.fitness, found.expanded) == (Fitness.FIT, 4 * UM)
    assert [(each.name, each.got) for each in found.ratios] == [
        ("resolution", "40"),
        ("accuracy", "10"),
        ("uncertainty", "5.06"),
    ]


def test_the_comparison_of_a_gauge_block_as_a_calibration_laboratory_reckons_it() -> None:
    """EA-4/02, example S4, from memory: a block of 50 mm compared with a standard one. The standard's certificate
    U 30 nm, k 2; its drift within 30 nm, triangular; s 12 nm, mean of five; the comparator within 32 nm; .05 °C between
    the two, 11.5 millionths; 11.8 nm for the expansions in a room within .5 °C, and 6.7 nm for touching off centre.
    u = 34.3 nm and U = 69 nm."""
    said = Reason("")
    standard = (
        certified_size(30 * NM, 2_000, "standard", "mm"),
        bounded("drift", said, said, 30 * NM, Distribution.TRIANGULAR),
        deviating("expansions", said, said, Fraction(118, 10) ** 2 * NM**2),
        bounded("off centre", said, said, Fraction(67, 10) * NM),
    )
    blocks = Source("standard", Use.HEIGHT, "mm", fixed=standard)
    comparator = Source(
        "comparator", Use.HEIGHT, "mm", ((UM, 32 * NM),), travel=UM, spread=taken_as_known(12 * NM), resolution=1
    )
    budget = budget_of([comparator, blocks], 50 * MM, 5, Temperatures(spread=50))
    u = {line.name: round(float(line.variance) ** 0.5 / NM, 2) for line in budget.lines}
    assert u["certified size"] == 15
    assert (u["drift"], u["reading"], u["permissible"]) == (12.25, 5.37, 18.48)
    assert (u["part against instrument"], u["off centre"]) == (16.6, 3.87)
    assert float(budget.variance) ** 0.5 / NM == pytest.approx(34.3, abs=0.05)
    assert float(budget.expanded_square()) ** 0.5 / NM == pytest.approx(69, abs=0.5)


def test_the_indicator_errs_by_how_far_it_moves_and_not_by_the_size() -> None:
    for half, error in ((100 * UM, 2), (101 * UM, 4)):
        found = reckoned(row(41_360 * UM, half), INDICATOR, PLATE, BLOCKS)
        assert found.read.limit_at(found.size) == error * UM
    lopsided = replace(row(41_360 * UM), requirement=replace(row(41_360 * UM).requirement, lower=41_200 * UM))
    assert reckoned(lopsided, INDICATOR, PLATE, BLOCKS).read.travel == 160 * UM


def test_an_open_side_is_taken_as_far_as_its_band() -> None:
    least = Requirement(".050 MIN", Form.MINIMUM, unit="mm", nominal=5 * MM, lower=5 * MM, band=300 * UM)
    asked = replace(row(5 * MM), requirement=least)
    assert reckoned(asked, INDICATOR, PLATE, BLOCKS).read.travel == 300 * UM
    most = replace(least, lower=None, upper=5 * MM)
    assert reckoned(replace(asked, requirement=most), INDICATOR, PLATE, BLOCKS).read.travel == 300 * UM
    drawn = Requirement("(5)", Form.REFERENCE, unit="mm", nominal=5 * MM)
    assert reckoned(replace(asked, requirement=drawn), INDICATOR, PLATE, BLOCKS).read.travel == 0


def test_a_plunger_out_of_square_reads_long_on_what_it_moves() -> None:
    """Half a degree on 20 µm is under a picometre; on the whole 41 mm it would be over a micron."""
    leaning = replace(INDICATOR, holding=replace(INDICATOR.holding, tilt=1_800_000_000))
    budget = reckoned(row(41_360 * UM), leaning, PLATE, BLOCKS).budget()
    (tilt,) = [line for line in budget.lines if line.name == "tilt"]
    assert tilt.variance < (UM // 1000) ** 2


def test_temperature_is_that_of_part_and_blocks() -> None:
    """Steel at 25 °C over carbide at 24 °C, 4.5 millionths: 50 · (4.5 · 4 − 11.5 · 5) nm are 1.975 µm to take off."""
    carbide = replace(BLOCKS, expansion=4_500)
    known = Known(measured=Measured(5_000, 4_000))
    found = reckoned(row(50 * MM - 20 * UM), replace(INDICATOR, expansion=23_600), PLATE, carbide, known=known)
    (warm,) = found.corrections()
    assert (warm.name, warm.handling, warm.amount) == ("temperature", Handling.CORRECTED, -1_975_000)


def test_wherever_on_its_scale_it_is_set_a_certificate_and_an_earlier_zero_say_nothing() -> None:
    points = (CertifiedPoint(Use.HEIGHT, 0, 0, UM // 2), CertifiedPoint(Use.HEIGHT, 800 * UM, 3 * UM, UM // 2))
    spread = Spread(Fraction(4 * UM**2), 9, Seen.STUDY)
    checked = Checked(3 * 40 * MM + 9 * UM, 3, 40 * MM, Fraction(0), spread)
    known = Known({"i": Evidence(study=spread, zeros=spread, checked=checked, zero_total=9 * UM, zero_of=3)})
    found = reckoned(row(41_360 * UM), replace(INDICATOR, points=points), PLATE, BLOCKS, known=known)
    assert found.corrections() == ()
    lines = {line.name: line.variance / UM**2 for line in found.budget().lines if line.name in ("reading", "zero")}
    assert lines == {"reading": 4, "zero": 4}
    bare = replace(INDICATOR, points=points, permissible=())
    assert list(failed(assessed(row(41_360 * UM), bare, PLATE, BLOCKS))) == ["error"]


# --- what it reaches --------------------------------------------------------------------------------------------------


def test_the_size_is_the_blocks_and_not_the_indicators_range() -> None:
    found = assessed(row(100 * MM), INDICATOR, PLATE, BLOCKS)
    assert found.fitness is Fitness.FIT
    said = {check.name: say(check.reason) for check in found.checks}
    assert said["stack"] == "G-02 holds 100 mm as one block to set I-9 on"
    assert said["travel"] == "I-9 moves 0.8 mm; from the stack of 100 mm and over the limits it has to move 0.04 mm"
    assert "range" not in said


def test_a_size_that_is_not_built_is_read_from_the_nearest_stack() -> None:
    found = assessed(row(41_360 * UM + 300_000), INDICATOR, PLATE, BLOCKS)
    (told,) = [say(check.reason) for check in found.checks if check.name == "stack"]
    assert told == ("G-02 does not build 41.3603 mm; its nearest is 41.36 mm from 2 blocks, and I-9 reads the rest")
    assert reckoned(row(41_360 * UM + 300_000), INDICATOR, PLATE, BLOCKS).read.travel == 20 * UM + 300_000


def test_a_set_with_gaps_serves_as_far_as_the_indicator_moves() -> None:
    gaps = replace(BLOCKS, members=(Member(40 * MM), Member(42 * MM)))
    near, far = row(40_780 * UM), row(40_790 * UM)
    assert failed(assessed(near, INDICATOR, PLATE, gaps)) == {}
    assert failed(assessed(far, INDICATOR, PLATE, gaps)) == {
        "travel": "I-9 moves 0.8 mm only; from the stack of 40 mm and over the limits it has to move 0.81 mm"
    }


@pytest.mark.parametrize(
    ("blocks", "name", "said"),
    [
        (replace(BLOCKS, gauge_class=""), "stack", "how far the blocks of G-02 may be off is not known"),
        (replace(BLOCKS, members=()), "stack", "Every block of G-02 is entered as missing"),
        (replace(BLOCKS, members=(*BLOCKS.members, Member(MM + 1))), "stack", "The sizes of G-02 have no common step"),
        (replace(BLOCKS, due="2026-01-01"), "due", "calibration of G-02 was due 2026-01-01"),
    ],
)
def test_a_set_that_carries_no_size_is_not_set_on(blocks: Instrument, name: str, said: str) -> None:
    found = assessed(row(41_360 * UM), INDICATOR, PLATE, blocks)
    assert not found.choosable
    assert failed(found)[name].startswith(said)


def test_a_row_without_a_size_has_no_stack() -> None:
    bare = replace(row(MM), requirement=Requirement("x", Form.GENERAL, unit="mm"))
    told = failed(assessed(bare, INDICATOR, PLATE, BLOCKS))
    assert told == {"stack": "no. 1 states no size to build a stack for"}


def test_stack_and_difference_are_in_one_unit() -> None:
    """An inch set is not offered to a metric indicator, and says why where it is named; one that shows both is."""
    inch = starter("G-01")
    crib = {each.identity: each for each in (INDICATOR, PLATE, BLOCKS, inch)}
    over = [offer.parts[-1].tag for offer in offers(crib, DAY) if offer.way.set_on is not None]
    assert over == ["G-02"]
    method, issues = comparing(INDICATOR, PLATE, inch)
    found = assess(row(50 * MM), method, issues, Rules(), DAY)
    assert failed(found)["blocks_unit"] == (
        "I-9 reads in mm and G-01 is marked in in: stack and difference do not add up; take a set in mm"
    )
    both = {**crib, "i": replace(INDICATOR, other_unit="in", other_resolution=IN // 20_000)}
    assert [offer.parts[-1].tag for offer in offers(both, DAY) if offer.way.set_on is not None] == ["G-01", "G-02"]


def test_which_features_it_answers() -> None:
    (way,) = [each for each in ways() if each.set_on is not None]
    assert {each.value for each in way.features} == {"outside diameter", "length", "width", "step"}
    assert failed(assessed(row(5 * MM, kind=FeatureKind.STEP), INDICATOR, PLATE, BLOCKS)) == {}
    method, issues = comparing(INDICATOR, PLATE, BLOCKS)
    for kind in (FeatureKind.BORE, FeatureKind.DEPTH, FeatureKind.CENTRE_DISTANCE, FeatureKind.GEOMETRIC):
        found = assess(row(5 * MM, kind=kind), method, issues, Rules(), DAY)
        assert list(failed(found)) == ["use"]


# --- stacks for many sizes -------------------------------------------------------------------------------------------


def _sets() -> list[Instrument]:
    chance = random.Random(4)
    pair = (Member(2 * MM, "wear"), Member(2 * MM, "wear"))
    found = [starter("G-01"), BLOCKS]
    found += [replace(each, missing=tuple(m.size for m in chance.sample(each.members, 60))) for each in found]
    found += [replace(BLOCKS, members=(*BLOCKS.members, *pair)), replace(BLOCKS, members=pair)]
    found.append(replace(BLOCKS, members=(*BLOCKS.members[:20], *pair, Member(3 * MM, "wear"), Member(3 * MM, "wear"))))
    found.append(replace(BLOCKS, gauge_class="AS-2", unit="mm"))
    return [*found, replace(BLOCKS, members=(Member(7 * MM), Member(7 * MM), Member(9 * MM)))]


@pytest.mark.parametrize("blocks", _sets(), ids=range(9))
def test_stacks_for_many_sizes_are_those_for_each(blocks: Instrument) -> None:
    """Sizes on the set's own steps and beside them, too small and too large."""
    chance = random.Random(9)
    step = THOU // 10 if blocks.unit == "in" else UM
    sizes = [chance.randint(1, 3 * IN // step) * step for _ in range(60)]
    sizes += [chance.randint(1, 3 * IN) for _ in range(30)]
    sizes += [0, 1, 4 * MM, 6 * MM, 13 * MM, 23 * MM, 10**12]
    found = stacks_at(blocks, np.array(sizes), 10**9)
    for size, got, square, known in zip(sizes, *found, strict=True):
        stack = nearest_stack(blocks, size) if size else None
        lines = stack_lines(stack, (blocks,)) if stack is not None else None
        if stack is None or abs(stack.size - size) > 10**9:
            assert not known or abs(got - size) > 10**9
            continue
        assert (got, known) == (stack.size, lines is not None), size
        if lines is not None:
            assert square == pytest.approx(float(sum(line.variance for line in lines)), rel=1e-12)


# --- when it is taken ------------------------------------------------------------------------------------------------


def taken(asked: Characteristic) -> str:
    crib = {each.tag: replace(each, identity=each.tag, issue=1) for each in starter_crib(due="2027-01-01")}
    ((assignment,), _) = plan_route([asked], crib, Rules(), DAY)
    assert assignment.assessment is not None
    return assignment.assessment.method.key


def test_it_is_taken_where_nothing_quicker_is_fit() -> None:
    """Wringing and zeroing take longer than a micrometer; beyond the largest micrometer, and for a step that is too
    fine for a caliper and larger than a depth micrometer keeps it, blocks and a tenths indicator are what is left."""
    assert taken(row(IN // 2, THOU, FeatureKind.WIDTH, "in")) == "outside+M-01"
    assert taken(row(6 * IN + IN // 2, THOU, FeatureKind.LENGTH, "in")) == "height+I-01+H-11+G-01"
    assert taken(row(4 * IN, THOU, FeatureKind.STEP, "in")) == "height+I-01+H-11+G-01"
    assert taken(row(IN // 8, 3 * THOU, FeatureKind.STEP, "in")) == "depth+M-32"


def test_what_nobody_knows_of_the_stack_refuses_the_budget_too() -> None:
    with pytest.raises(Refused) as caught:
        compared(row(41_360 * UM), replace(BLOCKS, gauge_class=""))
    assert [reason.code for reason in caught.value.reasons] == ["reach.grade.not"]
    found = assessed(row(41_360 * UM), INDICATOR, PLATE, replace(BLOCKS, gauge_class=""))
    assert len(found.against) == 1
