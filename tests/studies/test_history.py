"""A characteristic in time: what counts of it, beside the limits as they were; and the worst first."""

from __future__ import annotations

from fractions import Fraction

from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.measuring.verdict import Verdict
from inspection.studies.capability import Lack
from inspection.studies.history import Result, Series, series_of, worst_first

THOU = 25_400_000
SIZE = 500 * THOU


def row(name: str, half: int = 5, nominal: int = SIZE, **more: object) -> Characteristic:
    asked = Requirement(
        "",
        Form.PLUS_MINUS,
        decimals=3,
        nominal=nominal,
        lower=nominal - half * THOU,
        upper=nominal + half * THOU,
        band=2 * half * THOU,
    )
    return Characteristic(name, name, FeatureKind.LENGTH, replace(asked, **more))


def plan(name: str, issue: int, *rows: Characteristic) -> Plan:
    return Plan(name, "part", issue, Part("HB-7", chr(64 + issue)), TitleBlock(), rows)


def result(
    at: int, off: int | None, issue: str = "one", verdict: Verdict = Verdict.CONFORMING, **more: object
) -> Result:
    count = None if off is None else SIZE + off * THOU
    held = Result("r", f"sheet {at}", str(at), "2026-03-02", at, verdict, count, count, plan=issue)
    return replace(held, **more)


def series(results: list[Result], **rows: Characteristic) -> Series:
    plans = {name: plan(name, place, each) for place, (name, each) in enumerate(rows.items(), 1)}
    return series_of(list(rows.values())[-1], results, plans)


def test_results_stand_in_time_beside_the_limits_as_they_were() -> None:
    """Five before the limits were closed in, in any order, and two after: only the two are reckoned with."""
    before = [result(at, 0, "one") for at in (3, 1, 5, 2, 4)]
    found = series([*before, result(6, 1, "two"), result(7, 2, "two")], one=row("r"), two=row("r", half=3))
    assert [each.at for each in found.results] == [1, 2, 3, 4, 5, 6, 7]
    halves = [each.requirement.upper - SIZE for each in found.then if each is not None]
    assert halves == [5 * THOU] * 5 + [3 * THOU] * 2
    assert found.places == (5, 6)
    assert found.values == (SIZE + THOU, SIZE + 2 * THOU)
    assert found.capability is not None and found.capability.lack is Lack.TOO_FEW
    assert found.tightest == Fraction(1, 3)


def test_an_issue_that_moves_nothing_goes_on() -> None:
    found = series([result(1, 0, "one"), result(2, 1, "two")], one=row("r"), two=row("r"))
    assert len(found.values) == 2
    assert series([result(1, 0, "gone")], one=row("r")).then == (None,)


def test_means_and_single_readings_meet_on_one_scale() -> None:
    """A mean of three that came to 500.001/3 thousandths over, beside a single reading: nothing is rounded."""
    total = 3 * SIZE + THOU
    mean = replace(result(1, 0), smallest=total, largest=total, of=3)
    found = series([mean, result(2, 1)], one=row("r"))
    assert found.scale == 3
    assert found.values == (total, 3 * (SIZE + THOU))
    assert found.chart is not None and found.chart.mean / 3 == SIZE + Fraction(2 * THOU, 3)


def test_of_places_the_one_nearer_a_limit_counts() -> None:
    over = replace(result(1, 0), smallest=SIZE - THOU, largest=SIZE + 2 * THOU)
    under = replace(result(2, 0), smallest=SIZE - 3 * THOU, largest=SIZE + 2 * THOU)
    assert series([over, under], one=row("r")).values == (SIZE + 2 * THOU, SIZE - 3 * THOU)


def test_what_was_seen_and_not_read_has_no_value() -> None:
    found = series([result(1, None), result(2, None, verdict=Verdict.NOT_CONFORMING)], one=row("r"))
    assert (found.values, found.chart, found.tightest, found.room, found.out) == ((), None, None, None, 1)


def test_people_and_instruments_are_held_apart() -> None:
    told = [result(at, at % 2, by="ann", instrument="M-1") for at in range(10)]
    told += [result(at, 3 + at % 2, by="bo", instrument="M-1") for at in range(10, 20)]
    found = series(told, one=row("r"))
    people = found.by_person()
    assert people is not None
    assert {name: sample.n for name, sample in people.samples.items()} == {"ann": 10, "bo": 10}
    assert people.is_told()
    assert found.by_instrument() is None


def test_the_worst_comes_first() -> None:
    """Out, then by the room that is left: 3 s of many, the nearest of few; no number, or no result, last."""
    calm, near = [result(at, at % 2) for at in range(30)], [result(1, 4)]
    wild = [result(at, 4 * (-1) ** at) for at in range(30)]
    out = [result(1, 6, verdict=Verdict.NOT_CONFORMING)]
    made = {
        "none": series([], none=row("r")),
        "seen": series([result(1, None, "seen")], seen=row("r")),
        "calm": series([replace(each, plan="calm") for each in calm], calm=row("r")),
        "near": series([replace(each, plan="near") for each in near], near=row("r")),
        "wild": series([replace(each, plan="wild") for each in wild], wild=row("r")),
        "out": series([replace(each, plan="out") for each in out], out=row("r")),
    }
    order = [next(name for name, each in made.items() if each is found) for found in worst_first(made.values())]
    assert order == ["out", "wild", "near", "calm", "seen", "none"]


def test_a_natural_zero_has_one_side() -> None:
    zero = row("r", nominal=0, lower=0, upper=10 * THOU, band=10 * THOU, natural_zero=True)
    told = [replace(result(at, 0), smallest=at % 3 * THOU, largest=at % 3 * THOU) for at in range(30)]
    found = series(told, one=replace(zero, requirement=replace(zero.requirement, nominal=None)))
    assert found.capability is not None and found.capability.overall is not None
    assert found.capability.overall.room is None
    assert found.tightest == Fraction(8, 5)
