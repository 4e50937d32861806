"""What a found error makes of a result: by hand, and against shifting every value."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.measuring.found_error import TO_BE_SEEN, Outcome, weigh

LOWER, UPPER = 4_950, 5_050


@pytest.mark.parametrize(
    ("read", "error", "outcome", "after"),
    [
        (5_000, 10, Outcome.STILL_IN, 40),  # read 10 large: it is 4990
        (5_045, -6, Outcome.TAKEN_OUT, -1),  # read 6 small: it is 5051
        (5_045, -5, Outcome.NEAR, 0),  # on the limit is inside, and near it
        (4_955, 6, Outcome.TAKEN_OUT, -1),
        (5_052, 2, Outcome.TAKEN_IN, 0),
        (5_060, 2, Outcome.STILL_OUT, -8),
        (5_040, -4, Outcome.NEAR, 6),  # g is 8
        (5_040, -2, Outcome.STILL_IN, 8),
        (5_000, 0, Outcome.STILL_IN, 50),
    ],
)
def test_one_reading(read: int, error: int, outcome: Outcome, after: int) -> None:
    found = weigh(read, read, 1, LOWER, UPPER, error, guard=8)
    assert (found.outcome, found.after) == (outcome, after)


def test_places_are_weighed_at_both_ends() -> None:
    assert weigh(4_952, 5_048, 1, LOWER, UPPER, 3).outcome is Outcome.TAKEN_OUT
    assert weigh(4_952, 5_048, 1, LOWER, UPPER, -3).outcome is Outcome.TAKEN_OUT
    assert weigh(4_952, 5_000, 1, LOWER, UPPER, -3).outcome is Outcome.STILL_IN


def test_a_mean_is_shifted_by_the_share_that_the_instrument_gave() -> None:
    """Three readings of 5048 in the mean, two of them with an instrument that reads 3 small: the mean is 5050."""
    total = 3 * 5_048
    assert weigh(total, total, 3, LOWER, UPPER, -3, shared=2).after == 0
    assert weigh(total, total, 3, LOWER, UPPER, -3).after == -1
    assert weigh(total, total, 3, LOWER, UPPER, -4, shared=1).after == Fraction(2, 3)


def test_one_limit_natural_zero_and_none() -> None:
    assert weigh(3, 3, 1, None, 10, -8).outcome is Outcome.TAKEN_OUT
    assert weigh(3, 3, 1, None, 10, 8).outcome is Outcome.STILL_IN, "no lower limit: under zero is nothing"
    assert weigh(3, 3, 1, 2, None, 8).outcome is Outcome.TAKEN_OUT
    assert weigh(3, 3, 1, None, None, 8).outcome is Outcome.NOT_JUDGED
    assert weigh(None, None, 1, 2, 9, 8).outcome is Outcome.NOT_NUMBERED


@given(st.integers(4_800, 5_200), st.integers(-100, 100), st.integers(0, 60))
def test_against_the_true_value(true: int, error: int, guard: int) -> None:
    """What is read is true + e; the verdict after is that of the true value, and a change is always to be seen."""
    read = true + error
    found = weigh(read, read, 1, LOWER, UPPER, error, guard=guard)
    was, now = LOWER <= read <= UPPER, LOWER <= true <= UPPER
    assert (found.after is not None and found.after >= 0) is now
    assert (was != now) <= (found.outcome in TO_BE_SEEN)
    assert (found.outcome is Outcome.NEAR) is (was and now and min(true - LOWER, UPPER - true) < guard)
