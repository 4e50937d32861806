"""Whether people or instruments differ: NIST/SEMATECH 3.2.3.1, scipy on random data."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from inspection.studies.groups import groups_of

SIZE = 12_700_000_000
GROUPS = st.lists(
    st.lists(st.integers(-(10**6), 10**6).map(lambda off: SIZE + off), min_size=2, max_size=12), min_size=2, max_size=5
)


def test_five_machines(
    data: Callable[[str, int], dict[tuple[str, str], int]], stated: Callable[[str, str], str]
) -> None:
    """NIST/SEMATECH 3.2.3.1. Its F of 4.86 is of rounded mean squares; the data give 5.206."""
    machines: dict[str, list[int]] = {}
    for (_, column), value in data("NIST 3.2.3.1 turned diameters", 6).items():
        machines.setdefault(column, []).append(value)
    found = groups_of(machines)
    assert found is not None
    assert found.freedoms == (4, 20)
    assert float(found.between) / 1e12 == pytest.approx(float(stated("NIST 3.2.3.1", "SS machine")), rel=1e-12)
    assert float(found.within) / 1e12 == pytest.approx(float(stated("NIST 3.2.3.1", "SS residual")), rel=1e-12)
    assert found.ratio == pytest.approx(float(stated("NIST 3.2.3.1", "F")), rel=1e-7)
    assert found.is_told()


@given(GROUPS)
def test_against_scipy(values: list[list[int]]) -> None:
    found = groups_of({str(place): of for place, of in enumerate(values)})
    assert found is not None
    assume(found.within > 0)
    assume(found.between * 10**9 > found.within)  # scipy's own sums lose what lies beneath
    oracle = stats.f_oneway(*([each - SIZE for each in of] for of in values))
    assert found.ratio == pytest.approx(oracle.statistic, rel=1e-9, abs=1e-9)
    assert found.chance == pytest.approx(oracle.pvalue, rel=1e-7, abs=1e-12)


def test_a_difference_under_a_step_is_told_of_nobody() -> None:
    found = groups_of({"A": [0, 1] * 200, "B": [3, 4] * 200})
    assert found is not None
    assert found.is_told()
    assert not found.is_told(step=3)


def test_single_values_and_single_groups_say_nothing() -> None:
    assert groups_of({"A": [1, 2, 3], "B": [7]}) is None
    flat = groups_of({"A": [5, 5], "B": [5, 5]})
    apart = groups_of({"A": [5, 5], "B": [6, 6]})
    assert flat is not None and apart is not None
    assert (flat.chance, apart.chance) == (1.0, 0.0)
    assert (flat.is_told(), apart.is_told()) == (False, True)
