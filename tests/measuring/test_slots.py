"""Slots: what a row asks for depends on its kind, its declared places and repeats, and the instrument in hand."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form
from inspection.instruments.record import Instrument, InstrumentKind, Member
from inspection.measuring.reading import Role, Slot
from inspection.measuring.slots import needed, slots_of

Rows = Callable[..., Characteristic]


@pytest.fixture
def pins() -> Instrument:
    return Instrument("pins", 1, "P-1", InstrumentKind.GAUGE_PINS, "pins", members=(Member(1), Member(2)))


@pytest.fixture
def eye() -> Instrument:
    return Instrument("eye", 1, "E", InstrumentKind.EYE, "by eye")


def test_numbers_fill_each_place_with_its_repeats(row: Rows, caliper: Instrument) -> None:
    slots = slots_of(row(1, 2, places=("top", "foot"), repeats=2), caliper)
    assert slots == (Slot("top", 1), Slot("top", 2), Slot("foot", 1), Slot("foot", 2))
    assert slots_of(row(1, 2), None) == (Slot(),)


def test_pins_ask_what_enters_and_what_does_not_at_each_place(row: Rows, pins: Instrument) -> None:
    slots = slots_of(row(1, 2, places=("top", "foot"), repeats=3), pins)
    assert [(slot.place, slot.repeat, slot.role) for slot in slots] == [
        ("top", 1, Role.ENTERS),
        ("top", 1, Role.STOPS),
        ("foot", 1, Role.ENTERS),
        ("foot", 1, Role.STOPS),
    ]


@pytest.mark.parametrize("kind", [InstrumentKind.THREAD_PLUG, InstrumentKind.THREAD_RING])
def test_a_thread_asks_for_go_and_not_go(row: Rows, caliper: Instrument, kind: InstrumentKind) -> None:
    thread = row(form=Form.THREAD, feature=FeatureKind.THREAD)
    both = (Slot(role=Role.GO), Slot(role=Role.NOT_GO))
    assert slots_of(thread, replace(caliper, kind=kind)) == both
    assert slots_of(thread, None) == both


@pytest.mark.parametrize("labels", [("GO", "NOT GO"), ("go", "No-Go")])
def test_a_fixed_gauge_answers_a_size_only_where_an_attribute_is_allowed(
    row: Rows, pins: Instrument, labels: tuple[str, str]
) -> None:
    plug = replace(pins, members=tuple(Member(1, label) for label in labels))
    assert slots_of(row(1, 2), plug) == (Slot(),)
    assert slots_of(row(1, 2, attribute_allowed=True), plug) == (Slot(role=Role.GO), Slot(role=Role.NOT_GO))


def test_a_note_asks_for_a_finding(row: Rows, eye: Instrument, caliper: Instrument) -> None:
    note = row(form=Form.NOTE, feature=FeatureKind.NOTE)
    assert slots_of(note, eye) == slots_of(note, None) == slots_of(note, caliper) == (Slot(role=Role.FINDING),)


def test_the_eye_answers_a_size_only_where_an_attribute_is_allowed(row: Rows, eye: Instrument) -> None:
    assert slots_of(row(1, 2), eye) == (Slot(),)
    assert slots_of(row(1, 2, attribute_allowed=True), eye) == (Slot(role=Role.FINDING),)


@pytest.mark.parametrize(
    ("sampling", "wanted"),
    [
        ("all", [0, 1, 2, 3]),
        ("first-last", [0, 3]),
        ("2", [0, 1]),
        ("9", [0, 1, 2, 3]),
        ("0", [0]),
        ("", [0, 1, 2, 3]),
        ("some", [0, 1, 2, 3]),
    ],
)
def test_sampling_names_the_pieces(row: Rows, sampling: str, wanted: list[int]) -> None:
    sampled = row(1, 2, sampling=sampling)
    assert [piece for piece in range(4) if needed(sampled, piece, 4)] == wanted
