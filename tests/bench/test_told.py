"""Words of rows and entries, without a window."""

from __future__ import annotations

import pytest

from app.bench import told
from app.bench.meaning import meaning_of
from app.bench.reading_text import observed_of, scanned
from inspection.drawing.plan import TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.measuring.reading import Observed, Reading, Role, Slot
from inspection.quantity.reader import read
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.reasons import Refused

BLOCK = TitleBlock(unit="in", inch={2: INCH // 100, 3: INCH // 200}, angle=1_800_000_000)


def row(requirement: str, kind: str = "length", **more: str):
    (made,) = characteristic({"number": "1", "kind": kind, "requirement": requirement, **more}, BLOCK)
    return made


@pytest.mark.parametrize(
    ("requirement", "kind", "unit", "shown", "in_mm"),
    [
        ("1.250 ±.005", "length", "", "1.245 … 1.255", "31.623 … 31.877 mm"),
        (".7500 +.0000/-.0005", "length", "", "0.7495 … 0.7500", "19.0373 … 19.0500 mm"),
        ("9.5 ±0.1", "width", "mm", "9.4 … 9.6 mm", "9.4 … 9.6 mm"),
        (".060 MAX", "width", "", "≤ 0.060", "≤ 1.524 mm"),
        (".100 MIN", "width", "", "≥ 0.100", "≥ 2.54 mm"),
        (".002", "geometric tolerance", "", "≤ 0.002", "≤ 0.0508 mm"),
        ("60°", "angle", "", "59.5 … 60.5°", "59.5 … 60.5°"),
        ("8-32 UNC-2B", "thread", "", "GO, NOT GO", "GO, NOT GO"),
        ("2.200 BASIC", "length", "", "basic", "basic"),
        ("DEBURR", "note", "", "", ""),
    ],
)
def test_limits_are_exact_in_either_unit(requirement, kind, unit, shown, in_mm):
    asked = row(requirement, kind, **({"unit": unit} if unit else {})).requirement
    assert told.limits(asked, home="in") == shown
    assert told.limits(asked, "mm", home="in") == in_mm


def test_metric_limits_in_inches_are_rounded_inward():
    asked = row("9.5 ±0.1", "width", unit="mm").requirement
    low, high = told.limit_pair(asked, "in")
    assert float(low) * 25.4 >= 9.4
    assert float(high) * 25.4 <= 9.6
    assert (float(low) - 0.001) * 25.4 < 9.4
    assert (float(high) + 0.001) * 25.4 > 9.6


def taken(written: str, unit: str = "in") -> Reading:
    quantity = read(written, unit=unit)
    told_in = {"count": quantity.count, "unit": quantity.unit, "decimals": quantity.decimals}
    return Reading("r", "c", "p", Slot(), Method("m", ()), "plan", "a", 0, "2026-03-02", written=written, **told_in)


@pytest.mark.parametrize(
    ("requirement", "unit", "written", "read_in", "units", "shown"),
    [
        ("1.250 ±.005", "in", "1.2505", "in", "", "1.2505"),
        ("1.250 ±.005", "in", "1.2505", "in", "mm", "≈ 31.763"),  # of .0001 in, .001 mm; 31.7627 exactly
        ("1.250 ±.005", "in", "1.25", "in", "mm", "31.75"),  # as fine as the row is drawn, and exact
        ("1.250 ±.005", "in", "1.24505", "in", "mm", "≈ 31.6243"),
        ("1.250 ±.005", "in", "1 1/4", "in", "mm", "31.75"),
        ("1.250 ±.005", "in", "1 15/64", "in", "mm", "≈ 31.35"),  # 31.353125: no finer than the row is drawn
        ("1.250 ±.005", "in", "31.74 mm", "in", "mm", "31.74"),
        ("1.250 ±.005", "in", "31.74 mm", "in", "", "1.2496"),  # 1.249606, as fine as .01 mm
        (".7500 +.0000/-.0005", "in", ".7495", "in", "mm", "19.0373"),  # on its limit, and not seen below it
        ("9.5 ±0.1", "mm", "9.4", "mm", "in", "≈ 0.3701"),  # 0.370079
        ("9.5 ±0.1", "mm", "9.39999", "mm", "in", "≈ 0.3700783"),  # seen below its limit as the limit is seen above
    ],
)
def test_a_reading_converted_is_shown_as_fine_as_it_was_written(requirement, unit, written, read_in, units, shown):
    """Exact conversions by 25.4 mm an inch, worked by hand."""
    asked = row(requirement, unit=unit).requirement
    assert told.reading(taken(written, read_in), asked, units) == shown


CALIPER = Instrument("i", 1, "C-1", InstrumentKind.DIGITAL_CALIPER, "caliper", "in")
RULE = Instrument("i", 1, "R-1", InstrumentKind.RULE, "rule", "in")


@pytest.mark.parametrize(
    ("text", "unit", "instrument", "words"),
    [
        ("1.1575", "in", CALIPER, ("1.1575 in", "29.4005 mm", "1 inch 157 thou and 5 tenths")),
        ("12.7", "mm", CALIPER, ("12.7 mm", "0.5 in", "12 point 7 millimetres")),
        ("5/64", "in", CALIPER, ("0.078125 in", "1.984375 mm", "5/64 in", "about 78 thou and 1 tenth")),
        (".5", "in", RULE, ("0.5 in", "12.7 mm", "1/2 in", "500 thou")),
    ],
)
def test_an_entry_in_inch_millimetre_and_aloud(text, unit, instrument, words):
    found = meaning_of(text, unit, row("1.250 ±.005"), instrument).words
    assert found[: len(words) - 1] == words[:-1]
    assert found[-1] in (words[-1], words[-1].removeprefix("about ")) or found[-1].startswith("78 thou")


@pytest.mark.parametrize("text", ["", " ", ".", "1 5/", "12.7m m", "-"])
def test_an_unfinished_entry_means_nothing(text):
    assert meaning_of(text, "in", row("1.250 ±.005"), CALIPER).words == ()


@pytest.mark.parametrize(
    ("text", "role", "seen"),
    [
        ("e", Role.GO, Observed.ENTERS),
        ("N", Role.NOT_GO, Observed.DOES_NOT_ENTER),
        ("As Required", Role.FINDING, Observed.AS_REQUIRED),
        ("n", Role.FINDING, Observed.NOT_AS_REQUIRED),
        ("1.25", Role.VALUE, None),
    ],
)
def test_what_was_seen(text, role, seen):
    assert observed_of(text, "1", Slot(role=role)) is seen


@pytest.mark.parametrize(("text", "role"), [("pass", Role.GO), ("1.25", Role.FINDING), ("e", Role.VALUE)])
def test_what_does_not_answer_a_slot_is_refused(text, role):
    with pytest.raises(Refused):
        observed_of(text, "1", Slot(role=role))


@pytest.mark.parametrize(
    ("text", "role", "is_mark"),
    [
        ("M-01", Role.VALUE, True),
        ("enters", Role.GO, False),
        ("e", Role.GO, False),
        ("1.25", Role.VALUE, False),
        ("C-04", Role.FINDING, True),
    ],
)
def test_a_mark_begins_with_a_letter_and_is_no_answer(text, role, is_mark):
    assert scanned(text, Slot(role=role)) is is_mark


def test_slots_are_named_by_place_and_repeat():
    asked = row("1.250 ±.005", places="left end; right end", repeats="3")
    assert told.slot_words(asked, Slot("left end", 2)) == "left end, 2 of 3"
    assert told.slot_words(row("1.250 ±.005"), Slot()) == ""
