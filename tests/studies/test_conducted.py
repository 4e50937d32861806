"""The order in which a gauge study is read, for any study; and what is told of it while it is read."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from inspection.measuring.checks import Configuration
from inspection.studies.conducted import Conducted, Specimen, StudyKind, StudyPlan, StudyReading, in_random_order


@given(st.uuids(), st.integers(1, 5), st.integers(1, 12), st.integers(1, 5))
def test_everybody_reads_everything_equally_often_round_by_round(
    identity: object, people: int, parts: int, trials: int
) -> None:
    """All parts once before any again, no part twice running, and the same order for the same identity."""
    runs = in_random_order(str(identity), people, parts, trials)
    assert runs == in_random_order(str(identity), people, parts, trials)
    assert Counter(runs) == Counter(dict.fromkeys(runs, 1)) and len(runs) == people * parts * trials
    for person in range(people):
        mine = [run for run in runs if run.person == person]
        for trial in range(trials):
            assert {run.specimen for run in mine[trial * parts : (trial + 1) * parts]} == set(range(parts))
        if parts > 1:
            assert all(one.specimen != other.specimen for one, other in pairwise(mine))


def test_no_two_people_or_rounds_share_an_order() -> None:
    """Of ten parts a chance of one in millions; the order is drawn anew for each."""
    runs = in_random_order("a study", 3, 10, 3)
    rounds = [tuple(run.specimen for run in runs[at : at + 10]) for at in range(0, 90, 10)]
    assert len(set(rounds)) == 9


def test_a_correction_made_once_all_was_read_is_counted_apart() -> None:
    runs = in_random_order("a study", 1, 2, 1)
    specimens = (Specimen("1"), Specimen("2"))
    plan = StudyPlan("s", StudyKind.ATTRIBUTE, "t", "i", 1, Configuration("in"), ("p",), specimens, 1, runs, "p", 0)
    held = Conducted(plan)
    readings = [("a", 0, 1, ""), ("b", 0, 2, "a"), ("c", 1, 3, ""), ("d", 1, 4, "c")]
    for name, run, at, replaces in readings:
        assert held.is_told == held.is_complete
        held = held.with_reading(StudyReading(name, run, "p", at, observed="EN", replaces=replaces))
    assert held.corrected() == (2, 1) and held.is_told
