"""What a row in time says: drift, shape, people and instruments, and whether the instrument shows the process at all;
held against scipy where numbers are told."""

from __future__ import annotations

from random import Random

import pytest
from msgspec.structs import replace
from scipy import stats

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument
from inspection.instruments.starter import starter_crib
from inspection.measuring.verdict import Verdict
from inspection.studies.history import Result, Series, series_of
from inspection.studies.history_told import discrimination_of, findings, stated, stated_groups
from inspection.words.say import say

THOU, TENTH = 25_400_000, 2_540_000
SIZE = 500 * THOU
ASKED = Requirement("", Form.PLUS_MINUS, decimals=3, nominal=SIZE, lower=SIZE - 5 * THOU, upper=SIZE + 5 * THOU,
                    band=10 * THOU)  # fmt: skip
ROW = Characteristic("r", "7", FeatureKind.LENGTH, ASKED)
CRIB: dict[str, Instrument] = {one.tag: replace(one, identity=one.tag) for one in starter_crib(due="2035-01-01")}
MICROMETER, CALIPER = "M-01", "C-03"


def seen(offs: list[int], expanded: int | None = None, tag: str = MICROMETER, by: str = "ann") -> Series:
    """Values so many tenths of a thousandth off the nominal, read with one instrument."""
    results = [
        Result("r", f"s{at}", str(at), "2026-03-02", at, Verdict.CONFORMING, SIZE + off * TENTH, SIZE + off * TENTH,
               1, expanded, "p", by, tag, 1)
        for at, off in enumerate(offs)
    ]  # fmt: skip
    return series_of(ROW, results, {"p": Plan("p", "part", 1, Part("HB-7", "A"), TitleBlock(), (ROW,))})


def codes(series: Series) -> dict[str, str]:
    said = findings(series, {"ann": "Ann Ames", "bo": "Bo Tran"}, CRIB)
    return {each.code.removeprefix("history.found."): say(each) for each in said}


def scattered(s: float, n: int = 60, seed: int = 5, slope: float = 0.0) -> list[int]:
    source = Random(seed)
    return [round(slope * at + source.gauss(0, s)) for at in range(n)]


def test_a_calm_process_is_told_no_more_of_than_its_share_outside() -> None:
    assert set(codes(seen(scattered(10.0, seed=8)))) == {"steady", "expected"}


def test_what_a_question_waits_about_is_named_and_moves_no_figure() -> None:
    """One in a row of sixty typed 25.4 times too large: figures, chart and findings are those without it."""
    calm = seen(scattered(10.0, seed=8))
    slip = Result("r", "1a2b3c4d-and-more", "61", "2026-03-03", 61, Verdict.NOT_CONFORMING, 25 * SIZE, 25 * SIZE,
                  plan="p", waits=True)  # fmt: skip
    found = series_of(ROW, [*calm.results, slip], {"p": Plan("p", "part", 1, Part("HB-7", "A"), TitleBlock(), (ROW,))})
    assert replace(stated(found), waiting=0) == stated(calm)
    assert (found.out, stated(found).waiting, found.chart) == (0, 1, calm.chart)
    told = codes(found)
    assert "piece 61 of 2026-03-03, sheet 1a2b3c4d)" in told.pop("waiting")
    assert told == codes(calm)


def test_the_same_values_in_an_order_that_tells_of_a_change_foretell_no_share_outside() -> None:
    """Shape, mean and scatter are the same to the digit: what differs is whether they are those of one process."""
    calm = scattered(10.0, seed=8)
    above = [place for place, each in enumerate(calm) if each > sum(calm) / len(calm)][:8]
    moved = [calm[place] for place in above] + [each for place, each in enumerate(calm) if place not in above]
    worn = sorted(calm[:30]) + sorted(calm[30:])  # two tools, each worn down
    assert sorted(calm) == sorted(moved) == sorted(worn)
    for order, why in ((moved, "runs"), (worn, "runs"), (sorted(calm), "rises")):
        told = codes(seen(order))
        assert {"moved", why} <= set(told) and not {"expected", "steady"} & set(told), why
    assert "no share outside the limits is foretold" in codes(seen(moved))["moved"]


def test_a_drift_is_told_with_its_way_and_no_drift_is_not() -> None:
    rising = scattered(6.0, slope=0.5)
    slope = stats.linregress(range(60), rising).slope
    told = codes(seen(rising))
    over = float(told["rises"].split("about ")[1].split(" in")[0])
    assert over == pytest.approx(slope * 59 / 10_000, abs=6e-6)
    assert "falls" in codes(seen([-each for each in rising]))
    assert not {"rises", "falls"} & set(codes(seen(rising[:19]))), "of fewer than a chart wants nothing is told"


def test_values_that_are_not_normal_foretell_no_share_outside() -> None:
    source = Random(2)
    skew = [round(source.expovariate(1 / 12)) for _ in range(60)]
    told = codes(seen(skew))
    assert "not_normal" in told
    assert "expected" not in told


def test_a_step_coarser_than_the_scatter_is_told_and_the_shape_is_not() -> None:
    step = CRIB[CALIPER].resolution // TENTH
    coarse = [step * (each // 8) for each in scattered(7.0)]
    series = seen([each if abs(each) <= step else step for each in coarse], tag=CALIPER)
    found = discrimination_of(series, CRIB)
    assert found is not None
    assert found.step == CRIB[CALIPER].resolution
    assert found.is_hidden_by_step
    told = codes(series)
    assert "step" in told
    assert not {"not_normal", "expected"} & set(told)
    flat = seen([0, step] + [0] * 28, tag=CALIPER)
    assert "step" in codes(flat)


@pytest.mark.parametrize(("expanded", "code"), [(10 * TENTH, "doubt"), (40 * TENTH, "doubt_all")])
def test_how_much_of_what_is_seen_the_uncertainty_accounts_for(expanded: int, code: str) -> None:
    offs = scattered(10.0)
    told, share = codes(seen(offs, expanded)), (expanded / TENTH / 2) ** 2 / stats.tvar(offs)
    assert code in told
    if code == "doubt":
        assert f" {int(100 * share) + 1} %" in told[code]
        groups = int((2 * (1 / share - 1)) ** 0.5)
        assert f": {groups} groups" in told[code]


def test_groups_are_told_by_their_means_and_a_difference_under_a_mark_is_not() -> None:
    ann, bo = seen(scattered(10.0)), seen(scattered(10.0, seed=6, n=40), by="bo")
    both = replace(ann, results=(*ann.results, *bo.results), then=ann.then + bo.then,
                   values=ann.values + bo.values, places=tuple(range(100)))  # fmt: skip
    groups = stated_groups(both, both.by_person(), {"ann": "Ann Ames", "bo": "Bo Tran"})
    assert {each.name: each.n for each in groups} == {"Ann Ames": 60, "Bo Tran": 40}
    assert [each.mean for each in groups] == sorted((each.mean for each in groups), key=float)
    apart = replace(both, values=ann.values + tuple(each + 20 * TENTH for each in bo.values))
    assert "Bo Tran read is larger" in codes(apart)["people"]
    near = replace(both, values=(SIZE,) * 59 + (SIZE + 1,) + (SIZE + TENTH,) * 39 + (SIZE + TENTH - 1,))
    assert "people" not in codes(near), "means a mark apart are of no use to anybody"
