"""Mean, deviation and autocorrelation: NIST StRD to all its certified digits, and exactly against the library's."""

from __future__ import annotations

import statistics
from collections.abc import Callable
from fractions import Fraction
from itertools import islice, pairwise
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.studies.sample import lag_one, sample_of

Stated = Callable[[str, str], str]
CERTIFIED = ("mean", "standard deviation (n-1)", "lag-1 autocorrelation")


def digits_of_pi() -> list[int]:
    """The digits of π one after another (S. Rabinowitz and S. Wagon's spigot, in J. Gibbons' unbounded form)."""

    def spigot() -> object:
        q, r, t, k, m, x = 1, 0, 1, 1, 3, 3
        while True:
            if 4 * q + r - t < m * t:
                yield m
                q, r, m = 10 * q, 10 * (r - m * t), (10 * (3 * q + r)) // t - 10 * m
            else:
                q, r, t, k, m, x = (
                    q * k,
                    (2 * q + r) * x,
                    t * x,
                    k + 1,
                    (q * (7 * k + 2) + r * x) // (t * x),
                    x + 2,
                )

    return list(islice(spigot(), 5_000))  # type: ignore[call-overload]


def pairs(first: int) -> list[int]:
    """The recipe of NumAcc2 to 4, in tenths: the middle once, then the ones beside it 500 times."""
    return [first, *[first - 1, first + 1] * 500]


def agrees(found: Fraction | float, certified: str) -> None:
    """To every digit certified: the found value rounds to it, but for one unit of its last digit's tenth."""
    digits = max(1, len(certified.lstrip("-0.").replace(".", "")))
    exact = Fraction(found)
    assert abs(exact - Fraction(certified)) <= abs(Fraction(certified)) * Fraction(6, 10**digits)


@pytest.fixture(scope="module")
def sets(data: Callable[[str, int], dict[tuple[str, str], int]]) -> dict[str, tuple[list[int], int]]:
    """Every set of NIST StRD's univariate summary statistics: counts, and how many of them make one."""
    places = {"Lew": 0, "Lottery": 0, "Mavro": 5, "Michelso": 2, "NumAcc1": 0}
    found = {name: (list(data(f"StRD {name}", of).values()), 10**of) for name, of in places.items()}
    found |= {"NumAcc2": (pairs(12), 10), "NumAcc3": (pairs(10_000_002), 10), "NumAcc4": (pairs(100_000_002), 10)}
    as_filed = digits_of_pi()
    assert as_filed[956] == 8
    as_filed[956] = 3  # the data file has 3 there, and is certified as it is
    return found | {"PiDigits": (as_filed, 1)}


@pytest.mark.parametrize(
    "name", ["Lew", "Lottery", "Mavro", "Michelso", "NumAcc1", "NumAcc2", "NumAcc3", "NumAcc4", "PiDigits"]
)
def test_certified_values(name: str, sets: dict[str, tuple[list[int], int]], stated: Stated) -> None:
    """NIST StRD, univariate summary statistics: all three certified values, to all digits."""
    values, one = sets[name]
    sample = sample_of(values)
    for quantity, found in zip(
        CERTIFIED, (sample.mean / one, Fraction(sample.deviation) / one, lag_one(values)), strict=True
    ):
        agrees(found, stated(name, quantity))


def test_true_digits_of_pi_are_not_the_file(stated: Stated) -> None:
    """Computed from the true digits (mpmath)."""
    item = "true digits of pi (not the NIST file)"
    sample = sample_of(digits_of_pi())
    agrees(sample.mean, stated(item, "mean"))
    agrees(sample.deviation, stated(item, "standard deviation (n-1)"))


COUNTS = st.lists(st.integers(-(2**53), 2**53), min_size=2, max_size=30)


@given(COUNTS)
def test_exact_against_the_standard_library(values: list[int]) -> None:
    sample, exact = sample_of(values), [Fraction(each) for each in values]
    assert (sample.n, sample.total) == (len(values), sum(values))
    assert sample.mean == statistics.mean(exact)
    assert sample.square == statistics.variance(exact)
    assert sample.deviation == sqrt(sample.square)


@given(COUNTS)
def test_autocorrelation_by_its_definition(values: list[int]) -> None:
    mean = Fraction(sum(values), len(values))
    off = [value - mean for value in values]
    below = sum(each * each for each in off)
    expected = sum(a * b for a, b in pairwise(off)) / below if below else 0
    assert lag_one(values) == expected
