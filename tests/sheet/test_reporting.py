"""The report: every reading appears, in the drawing's unit and decimals, and nothing is rounded across a limit."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from datetime import timedelta, timezone
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.method import Assessment, Assignment, Fitness, InstrumentIssue, Method
from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.measuring.judge import judge
from inspection.measuring.reading import Observed, Reading, Role, Slot
from inspection.measuring.slots import slots_of
from inspection.measuring.verdict import Question
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Reason
from inspection.sheet import events as ev
from inspection.sheet import figures
from inspection.sheet.certificates import fingerprint
from inspection.sheet.head import Head, Piece
from inspection.sheet.people import Person
from inspection.sheet.report import Line, Report
from inspection.sheet.reporting import report
from inspection.sheet.state import Note, Rows, Seal, Sheet, Shop, Withdrawal

INCH = 25_400_000_000
TENTH = INCH // 10_000
MM = 1_000_000_000
NOON = 1_772_452_800_000_000  # 2026-03-02 12:00 UTC

CALIPER = Instrument(
    "c", 1, "C-2", InstrumentKind.DIGITAL_CALIPER, "digital caliper", due="2026-09-01", certificate="9917"
)
PINS = Instrument("p", 1, "P-1", InstrumentKind.GAUGE_PINS, "gauge pins", due="2026-02-01")
EYE = Instrument("e", 1, "E-0", InstrumentKind.EYE, "by eye")
INSTRUMENTS = {one.identity: one for one in (CALIPER, PINS, EYE)}
SHOP = Shop(
    "Harrow Lane Works",
    {"ann": Person("ann", "Ann Field"), "bo": Person("bo", "Bo Marsh")},
    INSTRUMENTS,
    {(one.identity, one.issue): one for one in INSTRUMENTS.values()},
)


def size(identity: str, number: str, lower: int | None, upper: int | None, **given: object) -> Characteristic:
    requirement = Requirement(f"as drawn {number}", Form.LIMITS, unit="in", decimals=4, lower=lower, upper=upper)
    return Characteristic(identity, number, FeatureKind.BORE, requirement, **given)  # type: ignore[arg-type]


BORE = size("bore", "7.10", 4990 * TENTH, 5010 * TENTH)
SHAFT = size("shaft", "7.9", 9990 * TENTH, 10010 * TENTH, places=("top", "foot"))
MEAN = size("mean", "3", 1000 * TENTH, 2000 * TENTH, repeats=3)
HOLE = size("hole", "12", 2500 * TENTH, 2510 * TENTH)
REFERENCE = Characteristic(
    "ref", "2", FeatureKind.LENGTH, Requirement("(1.000)", Form.REFERENCE, decimals=3, nominal=INCH)
)
NOTE = Characteristic("note", "N1", FeatureKind.NOTE, Requirement("Break sharp edges", Form.NOTE))
ROWS = (BORE, SHAFT, MEAN, HOLE, REFERENCE, NOTE)


def use(instrument: Instrument) -> Method:
    return Method(Use.INSIDE, (InstrumentIssue(instrument.identity, 1),))


def read(row: Characteristic, value: int | Observed, piece: str = "p1", name: str = "", **given: object) -> Reading:
    """A reading; written in tenths of the row's unit where it is a number."""
    seen = isinstance(value, Observed)
    slot = given.pop("slot", Slot(role=Role.FINDING if seen else Role.VALUE))
    assert isinstance(slot, Slot)
    fields: dict[str, object] = {
        "identity": name or f"{row.identity}/{piece}/{slot.place}/{slot.repeat}/{slot.role}",
        "method": use(EYE if seen else PINS if slot.role in (Role.ENTERS, Role.STOPS) else CALIPER),
        "by": "ann",
        "taken": NOON,
        "day": "2026-03-02",
        "unit": "" if seen else "in",
        "decimals": None if seen else 4,
        "written": "" if seen else figures.number(int(value), row.requirement),
        **given,
    }
    return Reading(
        characteristic=row.identity,
        piece=piece,
        slot=slot,
        plan="plan",
        count=None if seen else int(value),
        observed=value if isinstance(value, Observed) else None,
        **fields,  # type: ignore[arg-type]
    )


def sheet_of(
    readings: list[Reading],
    rows: tuple[Characteristic, ...] = ROWS,
    withdrawn: Mapping[str, Withdrawal] | None = None,
    **given: object,
) -> Sheet:
    """A sheet on which these readings stand, judged; all with a fit instrument."""
    withdrawn = withdrawn or {}
    part = Part("FB-12", "C", "focuser carrier", "D-12", "B", material="6061-T6", customer="Northlight")
    plan = Plan("plan", "part", 2, part, TitleBlock(), rows)
    pieces = (Piece("p1", "001"), Piece("p2", "002"))
    standing: dict[tuple[str, str], tuple[str, ...]] = {}
    for reading in readings:
        cell = (reading.characteristic, reading.piece)
        if reading.identity not in withdrawn:
            standing[cell] = (*standing.get(cell, ()), reading.identity)
    sheet = Sheet(
        identity="sheet",
        plan=plan,
        head=Head(order="PO 4471", order_line="3"),
        pieces=pieces,
        rules=SHOP.rules,
        made_by="ann",
        made_at=NOON,
        assignments={row.identity: Assignment(row.identity, Assessment(use(CALIPER), Fitness.FIT)) for row in rows},
        readings={reading.identity: reading for reading in readings},
        standing=standing,
        withdrawn=withdrawn,
        rows=Rows.of(plan),
    )
    fit = {name: Assessment(reading.method, Fitness.FIT) for name, reading in sheet.readings.items()}
    judgements = {
        (row, piece): judge(
            sheet.characteristic(row),
            sheet.counting(row, piece),
            fit,
            slots_of(sheet.characteristic(row), INSTRUMENTS[sheet.counting(row, piece)[-1].method.parts[0].identity]),
        )
        for row, piece in standing
    }
    return replace(sheet, judgements=judgements, **given)


def told(sheet: Sheet) -> Report:
    """The report, in which no code may be left without words and no part without its value."""
    made = report(sheet, SHOP)
    assert "[report" not in repr(made)
    assert "[verdict" not in repr(made)
    return made


def line(made: Report, number: str) -> Line:
    return next(each for each in made.lines if each.number == number)


# --- the whole ------------------------------------------------------------------------------------------------


def test_the_head_says_what_the_book_holds_and_leaves_out_what_is_empty() -> None:
    made = told(sheet_of([]))
    head = dict(made.head)
    assert head["purchase order"] == "PO 4471"
    assert (head["part revision"], head["drawing revision"]) == ("C", "B")
    assert head["customer"] == "Northlight"
    assert head["pieces"] == "001, 002"
    assert "supplier code" not in head
    assert all(label and text for label, text in made.head)
    assert (made.title, made.shop, made.serials) == (
        "Inspection of FB-12 revision C",
        "Harrow Lane Works",
        ("001", "002"),
    )
    assert len(made.cautions) == 4


def test_times_are_local() -> None:
    made = report(sheet_of([read(BORE, 5000 * TENTH)]), SHOP, zone=timezone(timedelta(hours=-5)))
    assert line(made, "7.10").values[0].taken == "2026-03-02 07:00"
    assert dict(made.head)["times in"] == "UTC-05:00"


def test_nothing_read_is_open_everywhere_but_where_nothing_is_judged() -> None:
    made = told(sheet_of([]))
    assert {each.number: each.state for each in made.lines} == {
        "2": "not judged",
        "3": "open",
        "7.9": "open",
        "7.10": "open",
        "12": "open",
        "N1": "open",
    }
    assert made.totals == ("6 rows on 2 pieces: 2 not judged, 10 open.",)


# --- values and verdicts --------------------------------------------------------------------------------------


def test_a_value_keeps_the_drawings_decimals_and_names_its_instrument() -> None:
    made = told(sheet_of([read(BORE, INCH // 2, decimals=1, written=".5"), read(BORE, 5012 * TENTH, "p2")]))
    row = line(made, "7.10")
    assert (row.lower, row.upper, row.unit) == ("0.4990", "0.5010", "in")
    first, second = row.values
    assert (first.text, first.number, first.decimals, first.written) == ("0.5000", "0.5000", 4, "")
    assert (first.instrument, first.by) == ("C-2 digital caliper", "Ann Field")
    assert first.calibration == "calibrated, due 2026-09-01, certificate 9917"
    assert [result.verdict for result in row.results] == ["conforming", "not conforming, .0002 over"]
    assert [result.text for result in row.results] == [first.text, second.text]
    assert row.results[1].reasons == ("It is 0.0002 in over the upper limit 0.5010 in.",)
    assert (row.state, row.verdict) == ("not conforming", "not conforming (1 of 2 pieces)")


def test_an_overdue_instrument_is_told_on_the_readings_own_day() -> None:
    pins = [
        read(HOLE, count * TENTH, slot=Slot(role=role)) for count, role in ((2503, Role.ENTERS), (2504, Role.STOPS))
    ]
    row = line(told(sheet_of(pins)), "12")
    assert row.values[0].calibration == "calibration overdue since 2026-02-01"
    assert [value.role for value in row.values] == ["largest that enters", "smallest that does not enter"]
    assert row.results[0].text == "0.2503 enters, 0.2504 does not enter"
    early = [replace(reading, day="2026-02-01") for reading in pins]
    assert line(told(sheet_of(early)), "12").values[0].calibration == "calibrated, due 2026-02-01"


def test_places_are_told_as_smallest_and_largest() -> None:
    readings = [read(SHAFT, 9995 * TENTH, slot=Slot("top")), read(SHAFT, 10001 * TENTH, slot=Slot("foot"))]
    row = line(told(sheet_of(readings)), "7.9")
    assert row.results[0].text == "0.9995 … 1.0001 (n = 2)"
    assert [value.place for value in row.values] == ["top", "foot"]


def test_a_mean_says_how_many() -> None:
    readings = [read(MEAN, count * TENTH, slot=Slot(repeat=n)) for n, count in enumerate((1500, 1501, 1501), 1)]
    row = line(told(sheet_of(readings)), "3")
    assert row.results[0].text == "mean 0.15007 (n = 3)"
    assert row.results[0].number == "0.15007"
    assert [value.role for value in row.values] == ["1 of 3", "2 of 3", "3 of 3"]


def test_what_was_written_in_another_unit_is_noted() -> None:
    readings = [
        read(BORE, 12_700_000_000, unit="mm", written="12.7", decimals=1),
        read(BORE, 12_710_000_000, "p2", unit="mm", written="12.71mm", decimals=2),
    ]
    values = line(told(sheet_of(readings)), "7.10").values
    assert [(value.text, value.written) for value in values] == [("0.5000", "12.7 mm"), ("0.5004", "12.71mm")]
    assert all(value.converted for value in values)


def test_a_fraction_of_the_rows_own_unit_was_only_written_otherwise() -> None:
    readings = [
        read(BORE, INCH // 2, written="1/2", decimals=None),
        read(BORE, INCH // 2, "p2", written="1/2 in", decimals=None),
    ]
    values = line(told(sheet_of(readings)), "7.10").values
    assert [(value.text, value.written, value.converted) for value in values] == [
        ("0.5000", "1/2", False),
        ("0.5000", "1/2 in", False),
    ]


def test_a_conversion_keeps_the_step_it_was_written_with() -> None:
    """139.65 mm is 5.49803… in; on a row of two decimals it would print as the limit 5.49."""
    requirement = Requirement("5.50", Form.PLUS_MINUS, decimals=2, lower=549 * INCH // 100, upper=551 * INCH // 100)
    row = Characteristic("lug", "30", FeatureKind.LENGTH, requirement)
    reading = read(row, 139_650_000_000, unit="mm", written="139.65", decimals=2)
    made = line(told(sheet_of([reading], (row,))), "30")
    assert (made.values[0].text, made.results[0].text) == ("5.4980", "5.4980")


def test_a_conversion_takes_more_digits_rather_than_cross_a_limit() -> None:
    """One picometre to either side of the limit, .5010 in or 12.7254 mm, must print on its own side of it."""
    row = line(told(sheet_of([read(BORE, 12_725_399_999, unit="mm", written="12.725399999", decimals=9)])), "7.10")
    assert row.results[0].state == "conforming"
    assert Fraction(row.values[0].number) <= Fraction(row.upper_number)
    over = line(told(sheet_of([read(BORE, 12_725_400_001, unit="mm", written="12.725400001", decimals=9)])), "7.10")
    assert over.state == "not conforming"
    assert Fraction(over.values[0].number) > Fraction(over.upper_number)


@given(count=st.integers(12_600 * 10**6, 12_800 * 10**6), lower=st.booleans(), upper=st.booleans())
def test_no_printed_number_crosses_a_limit(count: int, lower: bool, upper: bool) -> None:
    requirement = Requirement(
        "", Form.LIMITS, decimals=4, lower=4990 * TENTH if lower else None, upper=5010 * TENTH if upper else None
    )
    printed = Fraction(figures.number(count, requirement)) * INCH
    low, high = (Fraction(end) if end else None for end in figures.limits(requirement))
    if low is not None:
        assert (printed < low * INCH) == (count < 4990 * TENTH)
    if high is not None:
        assert (printed > high * INCH) == (count > 5010 * TENTH)
    assert abs(printed - count) <= TENTH


def test_a_reference_dimension_is_told_and_not_judged() -> None:
    row = line(told(sheet_of([read(REFERENCE, INCH)])), "2")
    assert (row.verdict, row.lower, row.upper) == ("reference, not judged", "", "")
    assert row.results[0].text == "1.0000"


def test_a_finding() -> None:
    row = line(told(sheet_of([read(NOTE, Observed.NOT_AS_REQUIRED)])), "N1")
    assert (row.results[0].text, row.results[0].verdict) == ("not as required", "not conforming")
    assert (row.values[0].calibration, row.unit) == ("needs no calibration", "")


def test_go_and_not_go() -> None:
    thread = Characteristic("thread", "20", FeatureKind.THREAD, Requirement("1/4-20 UNC-2B", Form.THREAD))
    readings = [
        read(thread, Observed.ENTERS, slot=Slot(role=Role.GO)),
        read(thread, Observed.DOES_NOT_ENTER, slot=Slot(role=Role.NOT_GO)),
    ]
    row = line(told(sheet_of(readings, (thread,))), "20")
    assert row.results[0].text == "GO enters, NOT GO does not enter"


def test_an_angle_that_degrees_cannot_hold_is_written_in_minutes_and_seconds() -> None:
    degree = UNITS["°"].count
    third = Requirement("", Form.LIMITS, Kind.ANGLE, "°", 1, lower=45 * degree, upper=46 * degree)
    assert figures.text(45 * degree + degree // 3, third) == "45°20'"
    assert figures.out_text(-degree // 2, third, "en") == "0.5° under"
    assert figures.out_text(2 * TENTH, BORE.requirement, "en") == ".0002 over"
    metric = replace(BORE.requirement, unit="mm", decimals=3)
    assert figures.out_text(MM // 200, metric, "en") == "0.005 over"


def test_an_uncertainty_gives_a_mean_its_place() -> None:
    assert [figures.decimals_of(count * TENTH // 10, "in") for count in (1, 21, 210, 10_000, 2_000_000)] == [
        6,
        5,
        4,
        2,
        0,
    ]


def test_pieces_outside_the_sampling_have_no_result() -> None:
    first = replace(BORE, sampling="1")
    assert [result.serial for result in line(told(sheet_of([], (first,))), "7.10").results] == ["001"]
    extra = sheet_of([read(first, INCH // 2, "p2")], (first,))
    assert [result.state for result in line(told(extra), "7.10").results] == ["open", "conforming"]


# --- what was withdrawn, questioned, noted, signed ------------------------------------------------------------


def test_a_withdrawn_reading_stays_legible_with_who_when_and_why() -> None:
    readings = [
        read(BORE, 5012 * TENTH, name="first"),
        read(BORE, 5002 * TENTH, name="second", replaces="first", reason="misread"),
        read(SHAFT, 10000 * TENTH, name="back", slot=Slot("top")),
    ]
    withdrawn = {
        "first": Withdrawal("bo", NOON, "misread", "second"),
        "back": Withdrawal("ann", NOON, "@slip.answered"),  # a person may write what looks like a code
    }
    made = told(sheet_of(readings, withdrawn=withdrawn))
    first, second = line(made, "7.10").values
    assert (first.text, first.withdrawn) == ("0.5012", "replaced by Bo Marsh, 2026-03-02 12:00: misread")
    assert (second.withdrawn, line(made, "7.10").results[0].verdict) == ("", "conforming")
    assert line(made, "7.9").values[0].withdrawn == "taken back by Ann Field, 2026-03-02 12:00: @slip.answered"
    assert "2 readings were withdrawn and stay legible." in made.totals


def test_questions_are_told_kept_or_changed() -> None:
    readings = [
        read(BORE, 5250 * TENTH, name="asked"),
        read(BORE, 5000 * TENTH, name="again", replaces="asked"),
        read(BORE, 5252 * TENTH, "p2", name="kept"),
    ]
    questions = {
        "q1": Question("q1", "asked", "bore", "p1", Reason("slip.turn")),
        "q2": Question("q2", "kept", "bore", "p2", Reason("slip.turn_beside")),
        "q3": Question("q3", "kept", "bore", "p2", Reason("slip.graduation")),
    }
    answers = {
        "q1": ev.QuestionAnswered(question="q1", answer="new reading", reading="again"),
        "q2": ev.QuestionAnswered(question="q2", answer="kept"),
    }
    withdrawn = {"asked": Withdrawal("ann", NOON, "", "again")}
    made = told(sheet_of(readings, withdrawn=withdrawn, questions=questions, answers=answers))
    assert line(made, "7.10").values[0].withdrawn.endswith("read again after a question")
    assert line(made, "7.10").notes == (
        "001: 0.5250 looked like one whole turn of the thimble; read again",
        "002: 0.5252 looked like one whole turn of the thimble; kept as written",
        "002: 0.5252 looked like a value between graduations; still to be answered",
    )
    assert made.totals[2:] == (
        "One questioned reading was kept as written.",
        "One questioned reading was read again.",
        "One of them was out and became in.",
        "One question is still to be answered.",
    )


@pytest.mark.parametrize("piece", ["", "p2"])
def test_notes_say_who_and_when(piece: str) -> None:
    made = told(sheet_of([], notes=(Note("bore", piece, "burr at the edge", "bo", NOON),)))
    where = "002: " if piece else ""
    assert line(made, "7.10").notes == (f"{where}burr at the edge (Bo Marsh, 2026-03-02 12:00)",)


def test_an_indication_is_told() -> None:
    made = told(sheet_of([read(BORE, 5000 * TENTH, indication=True)]))
    row = line(made, "7.10")
    assert (row.values[0].role, row.results[0].state) == ("indication only", "open")
    assert "One reading is an indication only." in made.totals


def test_signatures_carry_digest_and_fingerprint() -> None:
    der = b"not a real certificate, but bytes all the same"
    pem = f"-----BEGIN CERTIFICATE-----\n{base64.b64encode(der).decode()}\n-----END CERTIFICATE-----\n"
    seal = Seal(1, "ann", NOON, "{}", "ab" * 32, ev.Signature("ecdsa", "", pem), incomplete="gauge away")
    made = told(sheet_of([], seals=(seal,), sealed=True))
    assert made.sealed
    signed = made.signatures[0]
    assert (signed.person, signed.digest, signed.when) == ("Ann Field", "ab" * 32, "2026-03-02 12:00")
    assert signed.certificate == hashlib.sha256(der).hexdigest()
    assert signed.statement.endswith("rows still open: gauge away")
    assert fingerprint("") == fingerprint("-----BEGIN X-----\n!!\n") == ""


@given(
    counts=st.lists(st.integers(0, 2 * INCH), min_size=1, max_size=12),
    gone=st.sets(st.integers(0, 11)),
    which=st.lists(st.sampled_from([0, 1]), min_size=12, max_size=12),
)
def test_every_reading_appears_once(counts: list[int], gone: set[int], which: list[int]) -> None:
    readings = [
        read(
            (BORE, HOLE)[which[n]],
            count,
            ("p1", "p2")[n % 2],
            name=f"r{n}",
            unit="mm",
            written=f"written {n}",
            decimals=3,
        )
        for n, count in enumerate(counts)
    ]
    withdrawn = {f"r{n}": Withdrawal("bo", NOON, f"why {n}") for n in gone if n < len(counts)}
    made = told(sheet_of(readings, withdrawn=withdrawn))
    values = [value for each in made.lines for value in each.values]
    assert sorted(value.written.removesuffix(" mm") for value in values) == sorted(r.written for r in readings)
    for n, reading in enumerate(readings):
        value = next(value for value in values if value.written.removesuffix(" mm") == reading.written)
        assert bool(value.withdrawn) == (n in gone)
        assert abs(Fraction(value.number) * INCH - counts[n]) <= TENTH
