"""Roots rounded up: by their own definition, on squares about every whole number."""

from __future__ import annotations

import doctest
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from inspection.quantity import roots
from inspection.quantity.roots import root_up


def test_examples_in_the_source() -> None:
    assert doctest.testmod(roots).failed == 0


@given(st.fractions(min_value=0, max_value=10**30))
def test_it_is_the_smallest_whole_number_that_is_not_below(square: Fraction) -> None:
    found = root_up(square)
    assert found**2 >= square
    assert found == 0 or (found - 1) ** 2 < square


def test_whole_roots_stay_and_a_hair_more_goes_up() -> None:
    assert [root_up(Fraction(n * n)) for n in range(50)] == list(range(50))
    assert root_up(Fraction(49) + Fraction(1, 10**30)) == 8
