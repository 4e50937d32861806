"""Balloon numbers: text in natural order, split and split over a count."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.numbers import in_short, natural_key, split_count


def test_natural_order() -> None:
    ordered = ["1", "7", "7.1", "7.9", "7.10", "7.10.2", "7A", "7B", "12", "100", "A1", "A2", "A10", "B1"]
    scrambled = ordered[::-1]
    assert sorted(scrambled, key=natural_key) == ordered


@pytest.mark.parametrize(
    ("most", "shown"), [(5, "1, 2, 3, 4, 5"), (4, "1, 2, 3 … 5"), (2, "1 … 5"), (9, "1, 2, 3, 4, 5")]
)
def test_a_long_list_ends_in_its_last_number_and_not_in_dots(most: int, shown: str) -> None:
    assert in_short(["1", "2", "3", "4", "5"], most) == shown


@given(st.lists(st.text(max_size=8)))
def test_any_texts_have_one_order(numbers: list[str]) -> None:
    assert sorted(numbers, key=natural_key) == sorted(sorted(numbers), key=natural_key)


def test_a_count_becomes_places() -> None:
    assert split_count("7", 4) == (("7.1", "1"), ("7.2", "2"), ("7.3", "3"), ("7.4", "4"))
    assert split_count("7", 2, ("upper", "lower")) == (("7.1", "upper"), ("7.2", "lower"))
    assert split_count("7", 1) == (("7", ""),)
    assert split_count("7", 1, ["rim"]) == (("7", "rim"),)
    with pytest.raises(ValueError, match="3 places"):
        split_count("7", 2, ("a", "b", "c"))
