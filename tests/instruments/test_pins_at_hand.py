"""What the shop's sets of pins hold for a bore: pairs by class and direction, and the sure pins beside a size."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.instruments.pins_at_hand import Bore, bore_asked, offered, pair_reasons, pairs_at_hand, pin_sets
from inspection.instruments.record import Direction, Instrument, Member, Standing
from inspection.instruments.starter import starter_crib
from inspection.quantity.units import UNITS
from inspection.reasons import Refused
from inspection.words.say import say

INCH, MM = UNITS["in"].count, UNITS["mm"].count
THOU, TENTH = INCH // 1000, INCH // 10_000
DAY = "2026-03-02"


def held(tag: str, **changes: Any) -> Instrument:
    found = next(one for one in starter_crib(due="2027-01-01") if one.tag == tag)
    return replace(found, identity=tag, **changes)


def sentences(tag: str, text: str, unit: str = "in", **changes: Any) -> list[str]:
    one = held(tag, **changes)
    return [say(reason) for reason in pair_reasons(one, bore_asked(text, unit))]


# --- what is asked ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "lower", "upper"),
    [
        (".1360 +.004/-.001", "in", 1350, 1400),
        ("⌀.1350–.1400", "in", 1350, 1400),
        (".135 to .140", "in", 1350, 1400),
        (".1000 MIN", "in", 1000, None),
        (".1000 MAX", "in", None, 1000),
    ],
)
def test_a_bore_is_named_as_it_is_drawn(text: str, unit: str, lower: int | None, upper: int | None) -> None:
    bore = bore_asked(text, unit)
    ends = tuple(None if end is None else end // TENTH for end in (bore.lower, bore.upper))
    assert ends == (lower, upper)
    assert not bore.is_size
    assert (bore.band is None) == (None in ends)


def test_a_fit_and_a_plain_size_are_bores_as_well() -> None:
    """6 H7 is 6.000 … 6.012 mm (ISO 286-2, as in tests/reference/iso286.csv)."""
    assert bore_asked("6 H7", "mm") == Bore(6 * MM, 6_012 * MM // 1000, "mm", 12 * MM // 1000)
    assert bore_asked("⌀.1365").is_size
    assert bore_asked("3.45 mm") == Bore(3_450 * MM // 1000, 3_450 * MM // 1000, "mm")


@pytest.mark.parametrize("text", ["abc", "", ".135 ±", "60°"])
def test_what_is_no_bore_is_refused(text: str) -> None:
    with pytest.raises(Refused):
        bore_asked(text)


# --- what is held -----------------------------------------------------------------------------------------------


@given(
    st.sampled_from(["P-02", "P-06", "P-08", "P-13", "P-17", "P-19", "P-41"]),
    st.integers(700, 2400),
    st.integers(1, 120),
)
def test_a_pair_is_held_exactly_where_two_pins_are_surely_within(tag: str, lower: int, band: int) -> None:
    """Directions as in ASME B89.1.5 practice: from a minus set (N − t … N) GO N ≥ L + t and NO-GO N ≤ U, from a plus
    set (N … N + t) GO N ≥ L and NO-GO N ≤ U − t; t by hand to .825 in: ZZ .0002, Z .0001, X .00004."""
    one = held(tag)
    t = {"ZZ": 2 * TENTH, "Z": TENTH, "X": 4 * TENTH // 10}[one.gauge_class]
    low, high = lower * TENTH, (lower + band) * TENTH
    plus = one.direction is Direction.PLUS
    sizes = [member.size for member in one.members]
    go = min((size for size in sizes if size >= (low if plus else low + t)), default=None)
    no_go = max((size for size in sizes if size <= (high - t if plus else high)), default=None)
    found = offered(one, Bore(low, high, "in", high - low))
    if go is None or no_go is None or go >= no_go:
        assert found is None
        return
    assert found is not None and found.pair.go is not None and found.pair.no_go is not None
    assert (found.pair.go.size, found.pair.no_go.size) == (go, no_go)
    assert found.share == 100 * (high - low) // t
    assert {go, no_go} <= {gauge.size for gauge in found.take}


def test_the_finest_class_comes_first_and_a_missing_pin_is_no_answer() -> None:
    bore = bore_asked(".134–.140")
    sets = pin_sets(starter_crib(due="2027-01-01"), DAY)
    found = pairs_at_hand(sets, bore)
    assert [one.instrument.tag for one in found[:2]] == ["P-10", "P-21"]
    assert [one.share for one in found] == sorted((one.share or 0 for one in found), reverse=True)
    lost = held("P-02", missing=(135 * THOU, 136 * THOU))
    (one,) = pairs_at_hand([lost], bore)
    assert one.pair.go is not None and one.pair.go.size == 137 * THOU
    assert not {gauge.size for gauge in one.take} & set(lost.missing)


def test_sets_that_nobody_may_use_are_not_offered() -> None:
    crib = [held("P-02", standing=Standing.OUT_OF_SERVICE), held("P-06", due="2026-03-01"), held("P-10"), held("C-05")]
    assert [one.tag for one in pin_sets(crib, DAY)] == ["P-10"]


# --- in words ---------------------------------------------------------------------------------------------------


def test_the_pair_is_told_with_its_class_and_what_to_take() -> None:
    assert sentences("P-02", ".1360 +.004/-.001") == [
        "P-02: GO 0.136 in, NO-GO 0.140 in.",
        "By class ZZ minus, 25 : 1 of the band to the class tolerance.",
        "To size the bore step up from 0.135 in to 0.141 in, 7 pins.",
    ]
    assert sentences("P-13", ".100 MIN")[0] == "P-13: GO 0.100 in."
    assert sentences("P-13", ".100 MAX")[0] == "P-13: NO-GO 0.099 in."
    assert sentences("P-02", ".1340–.1341") == ["P-02: no GO and NO-GO for a bore of 0.1340 in to 0.1341 in."]


def test_a_plain_size_gets_the_pins_on_either_side_whatever_their_true_sizes() -> None:
    """Minus by .0002: .136 may be .1358, so that of .1358 only .136 and up may be the bore; .137 is .1368 at least."""
    assert sentences("P-02", ".1365") == [
        "P-02: 0.136 in surely enters a bore of 0.1365 in, 0.137 in surely does not, wherever the two lie in their "
        "class."
    ]
    assert "0.135 in surely enters a bore of 0.1359 in, 0.137 in surely does not" in sentences("P-02", ".1359")[0]
    assert sentences("P-02", ".3") == [
        "P-02: 0.250 in surely enters a bore of 0.3 in; the set has no pin that surely does not."
    ]
    assert sentences("P-02", ".05") == [
        "P-02: 0.061 in surely does not enter a bore of 0.05 in; the set has no pin that surely does."
    ]


def test_what_is_no_set_of_pins_or_has_no_class_is_refused() -> None:
    for one in (held("G-01"), held("P-02", gauge_class="", members=(Member(136 * THOU),))):
        with pytest.raises(Refused):
            pair_reasons(one, bore_asked(".134–.140"))
        with pytest.raises(Refused):
            pair_reasons(one, bore_asked(".1365"))
