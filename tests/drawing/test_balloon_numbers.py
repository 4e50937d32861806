"""Balloon numbers: text in natural order, split over a count, complete or not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.numbers import completeness, natural_key, split_count
from inspection.drawing.requirement import Form, Requirement


def row(number: str, written: str = ".5", kind: FeatureKind = FeatureKind.LENGTH, name: str = "") -> Characteristic:
    return Characteristic("", number, kind, Requirement(written, Form.NOTE), name)


def test_natural_order() -> None:
    ordered = ["1", "7", "7.1", "7.9", "7.10", "7.10.2", "7A", "7B", "12", "100", "A1", "A2", "A10", "B1"]
    scrambled = ordered[::-1]
    assert sorted(scrambled, key=natural_key) == ordered


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


def test_rows_are_counted_against_the_highest_balloon() -> None:
    rows = [row("1"), row("2.1"), row("2.2"), row("4A"), row("6")]
    assert completeness(rows).missing == ("3", "5")
    assert completeness(rows, highest=8).missing == ("3", "5", "7", "8")
    assert completeness(rows[:3], highest=2).complete


def test_notes_need_rows() -> None:
    rows = [row("1", "DEBURR  all edges", FeatureKind.NOTE), row("2", "6061-T6", FeatureKind.NOTE, "Note 2"), row("3")]
    notes = ["Deburr all edges", "NOTE 2", "ISO 2768-2 K"]
    assert completeness(rows, notes=notes).notes == ("ISO 2768-2 K",)


def test_a_number_used_twice_is_told() -> None:
    found = completeness([row("2"), row("1"), row("2")])
    assert found.doubled == ("2",) and not found.complete
