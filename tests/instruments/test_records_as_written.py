"""A record as cells of text: the same value back, and every fault at its cell and character."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.instruments.as_written import FIELDS, carried_cells, read_instrument, unsaid, written_cells
from inspection.instruments.changes import changes, same_table_of_another, taking
from inspection.instruments.record import (
    CertifiedPoint,
    Contacts,
    Direction,
    Holding,
    Instrument,
    InstrumentKind,
    Member,
    Permissible,
    Standing,
    Use,
)
from inspection.instruments.sets import members_text, missing_text, read_members, read_missing
from inspection.instruments.starter import starter_crib
from inspection.instruments.templates import copied, from_template, in_series, templates, whole_crib
from inspection.quantity.units import LARGEST_COUNT, UNITS, Kind
from inspection.reasons import Refused
from inspection.words.say import say

IN = UNITS["in"].count
THOU = IN // 1000
MM = UNITS["mm"].count
CALIPER = {
    "tag": "C-05",
    "kind": "digital caliper",
    "name": "digital caliper 6 in",
    "unit": "in",
    "range": "0–6",
    "resolution": ".0005",
    "permissible": "outside up to 6 in ±.001; inside up to 6 ±.0015",
}


def faults(**cells: str) -> list[tuple[str, str, int]]:
    with pytest.raises(Refused) as refused:
        read_instrument({**CALIPER, **cells})
    for reason in refused.value.reasons:
        assert say(reason)[0] != "[", reason
    return [(str(r.parts["field"]), r.code, int(str(r.parts["at"]))) for r in refused.value.reasons]


# --- there and back -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tag", [item.tag for item in starter_crib()])
def test_every_starter_item_comes_back_from_its_cells(tag: str) -> None:
    item = next(item for item in starter_crib("2027-06-30") if item.tag == tag)
    cells = written_cells(item)
    assert set(cells) == set(FIELDS)
    assert read_instrument(cells) == item


words = st.text(st.characters(categories=("Lu", "Ll", "Nd"), include_characters=" -./()&°⌀"), max_size=30).map(
    lambda text: " ".join(text.split())
)
days = st.dates().map(lambda day: f"{day:%Y-%m-%d}".rjust(10, "0"))
counts = st.one_of(
    st.integers(1, 12 * 10_000).map(lambda n: n * IN // 10_000),
    st.integers(1, 12 * 64).map(lambda n: n * IN // 64),
    st.integers(1, 300_000).map(lambda n: n * MM // 1000),
    st.integers(1, 2**50),
)


angles = st.integers(0, 10 * UNITS["°"].count)


@st.composite
def certified(draw: st.DrawFn, low: int, high: int) -> tuple[CertifiedPoint, ...]:
    """Points within a range, in uses that no permissible error is stated for."""
    uses = st.sampled_from([Use.HEIGHT, Use.SIGHT])
    errors, factors = counts.flatmap(lambda n: st.sampled_from([n, -n, 0])), st.integers(1_000, 14_000)
    point = st.builds(CertifiedPoint, uses, st.integers(low, high), errors, counts, factors)
    return tuple(draw(st.lists(point, max_size=4, unique_by=lambda point: (point.use, point.size))))


@st.composite
def holdings(draw: st.DrawFn) -> Holding:
    pairs = [draw(st.just((0, 0)) | st.tuples(counts, angles)) for _ in range(3)]
    return Holding(draw(angles), *pairs[0], *pairs[1], *pairs[2])


KINDS = [kind for kind in InstrumentKind if kind is not InstrumentKind.THERMOMETER]


@st.composite
def records(draw: st.DrawFn) -> Instrument:
    """Any record of lengths, whatever units its numbers are whole in."""
    unit, other = draw(st.sampled_from(["in", "mm", "µin", "µm"])), draw(st.sampled_from(["", "in", "mm"]))
    high, low = draw(counts), 0
    if draw(st.booleans()):
        low, high = sorted((draw(counts), high))
    other = other if other != unit else ""
    step = draw(st.integers(1, 50)) * UNITS[other].count // 10_000 if other else 0
    uses = [use for use in Use if use not in (Use.HEIGHT, Use.SIGHT)]
    lines = draw(st.lists(st.tuples(st.sampled_from(uses), counts, counts), max_size=6))
    kind = draw(st.sampled_from(KINDS))
    contacts = Contacts(*(draw(st.none() | counts) for _ in range(4)), hard=draw(st.booleans()))
    if "jaws" not in unsaid(kind) and draw(st.booleans()):
        contacts = replace(contacts, smallest_bore=None, jaws=draw(st.integers(2, MM)), jaws_within=1)
    points = draw(certified(low, high))
    lines = list({(use, up_to): (use, up_to, error) for use, up_to, error in lines}.values())
    plain = draw(st.lists(counts, max_size=4))
    start, by, n = draw(counts), draw(counts), draw(st.integers(0, 40))
    sizes = {size for size in (*plain, *(start + i * by for i in range(n))) if size < LARGEST_COUNT}
    labels = draw(st.sampled_from(["", "GO", "NOT GO", "7.1"]))
    members = tuple(sorted((Member(size, labels) for size in sizes), key=lambda member: member.size))
    missing = tuple(size for size in sorted(sizes) if draw(st.booleans())) if len(sizes) < 12 else ()
    return Instrument(
        identity="i",
        issue=4,
        tag=draw(words.filter(bool)),
        kind=kind,
        name=draw(words.filter(bool)),
        unit=unit,
        low=low,
        high=high,
        resolution=draw(st.just(0) | counts),
        other_unit=other,
        other_resolution=step,
        permissible=tuple(Permissible(*line) for line in lines),
        contacts=contacts,
        repeatability=draw(st.just(0) | counts),
        zero=draw(st.just(0) | counts),
        members=members,
        missing=missing,
        gauge_class=draw(st.sampled_from(["", "X", "ZZ"])),
        class_tolerance=draw(st.just(0) | counts),
        direction=draw(st.none() | st.sampled_from(list(Direction))),
        read_over=tuple(draw(st.lists(st.sampled_from(list(InstrumentKind)), max_size=3))),
        thread=draw(words),
        due=draw(st.just("") | days),
        certificate=draw(words.filter(bool) if points else words),
        certified=draw(days if points else st.just("") | days),
        laboratory=draw(words),
        standing=draw(st.sampled_from(list(Standing))),
        as_calibrated=draw(st.booleans()),
        handling_seconds=draw(st.integers(0, 9999)),
        place=draw(words),
        holder=draw(words),
        note=draw(words),
        files=(Attached("c.pdf", "ab", 2),),
        points=points,
        holding=draw(holdings()),
        expansion=draw(st.integers(0, 30_000)),
    )


@given(records())
def test_any_record_comes_back_from_its_cells(record: Instrument) -> None:
    assert read_instrument(written_cells(record), record) == record


@given(st.lists(counts, min_size=1, max_size=60, unique=True), st.data())
def test_any_missing_sizes_come_back(sizes: list[int], data: st.DataObject) -> None:
    members = tuple(Member(size) for size in sorted(sizes))
    missing = tuple(sorted(data.draw(st.sets(st.sampled_from(sizes)))))
    for unit in ("in", "mm"):
        assert read_members(members_text(members, unit), unit) == members
        assert read_missing(missing_text(missing, members, unit), members, unit) == missing


@given(st.dictionaries(st.sampled_from(FIELDS), st.text(max_size=25)))
def test_any_text_is_read_or_refused_at_a_character_of_its_cell(cells: dict[str, str]) -> None:
    try:
        read_instrument({**CALIPER, **cells})
    except Refused as refused:
        for reason in refused.reasons:
            field, at = str(reason.parts["field"]), reason.parts["at"]
            assert field in FIELDS
            assert isinstance(at, int)
            assert 0 <= at <= len({**CALIPER, **cells}.get(field, ""))
            assert not say(reason).startswith("[")


# --- as a machinist writes it ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "unit", "low", "high"),
    [
        ("0–6 in", "in", 0, 6 * IN),
        ("0 to 6", "in", 0, 6 * IN),
        ("0-1", "in", 0, IN),
        ("0-1 1/2", "in", 0, IN * 3 // 2),
        (".5–1 in", "mm", IN // 2, IN),
        ("1 in – 2", "mm", IN, 2 * IN),
        ("0…150 mm", "in", 0, 150 * MM),
        (".061-.250", "in", 61 * THOU, 250 * THOU),
    ],
)
def test_ranges(written: str, unit: str, low: int, high: int) -> None:
    found = read_instrument({**CALIPER, "unit": unit, "range": written, "permissible": ""})
    assert (found.low, found.high) == (low, high)


def test_permissible_errors_are_a_table_by_use_and_length() -> None:
    written = "outside up to 6 in ±.001\nOUTSIDE to 12 +/- .0015; depth ±2 thou\nstep up to 100 mm ±.05"
    found = read_instrument({**CALIPER, "permissible": written}).permissible
    assert found == (
        Permissible(Use.OUTSIDE, 6 * IN, THOU),
        Permissible(Use.OUTSIDE, 12 * IN, THOU * 3 // 2),
        Permissible(Use.DEPTH, 6 * IN, 2 * THOU),  # without a length: to the end of the range
        Permissible(Use.STEP, 100 * MM, MM // 20),  # in the unit of its length
    )


def test_members_and_missing_as_typed() -> None:
    members = read_members(".061–.070 by .001; .125, .126 and NOT GO .2510", "in")
    assert [m.size // THOU for m in members] == [*range(61, 71), 125, 126, 251]
    assert members[-1].label == "NOT GO"
    assert [size // THOU for size in read_missing("0.125, 0.126 or .061–.065", members, "in")] == [
        61, 62, 63, 64, 65, 125, 126,
    ]  # fmt: skip
    assert members_text(members, "in") == ".061–.07 by .001; .125; .126; .251 (NOT GO)"


def test_words_are_read_however_they_are_spaced() -> None:
    found = read_instrument({**CALIPER, "kind": "Small Hole Gauge", "standing": "reference-only", "soft": "Y"})
    assert (found.kind, found.standing) == (InstrumentKind.SMALL_HOLE_GAUGE, Standing.REFERENCE_ONLY)
    assert not found.contacts.hard


def test_an_instrument_of_angles() -> None:
    found = read_instrument(
        {**CALIPER, "unit": "°", "range": "0–180", "resolution": "5'", "permissible": "angle up to 180° ±5'"}
    )
    assert found.quantity is Kind.ANGLE
    assert found.permissible == (Permissible(Use.ANGLE, 180 * UNITS["°"].count, 5 * UNITS["'"].count),)


def test_identity_issue_and_files_stay_those_of_the_record() -> None:
    base = replace(read_instrument(CALIPER), identity="i", issue=7, files=(Attached("c.pdf", "ab", 2),))
    found = read_instrument({**CALIPER, "name": "another"}, base)
    assert (found.identity, found.issue, found.files, found.name) == ("i", 7, base.files, "another")


MICROMETER = {
    **CALIPER,
    "kind": "outside micrometer",
    "permissible": "outside up to 1 in ±.0001",
    "certificate": "17/26",
    "certified": "2026-03-02",
    "points": "outside 1 in +.0001 U .00005; outside 2 in 0 U .00005 k 2.1",
}


def test_what_a_record_can_say_for_a_budget() -> None:
    found = read_instrument({**MICROMETER, "tilt": "1°", "askew": "30' at .25", "parallax": "10° at .04", "rock": ""})
    assert found.points == (
        CertifiedPoint(Use.OUTSIDE, IN, THOU // 10, THOU // 20),
        CertifiedPoint(Use.OUTSIDE, 2 * IN, 0, THOU // 20, 2_100),
    )
    degree = UNITS["°"].count
    assert found.holding == Holding(degree, IN // 4, degree // 2, 0, 0, IN // 25, 10 * degree)
    jaws = read_instrument({**CALIPER, "smallest_bore": ".1575", "jaws": ".016 ±.002", "expansion": "glass"})
    assert (jaws.contacts.jaws, jaws.contacts.jaws_within, jaws.expansion) == (16 * THOU, 2 * THOU, 8_000)


THERMOMETER = {"tag": "K-01", "kind": "thermometer", "name": "contact thermometer", "kelvin": "±0.5 °C"}


def test_a_thermometer_has_its_own_few_fields() -> None:
    found = read_instrument({**THERMOMETER, "due": "2027-03-01", "certificate": "9"})
    assert (found.kind, found.kelvin, found.due) == (InstrumentKind.THERMOMETER, 500, "2027-03-01")
    assert read_instrument(written_cells(found)) == found
    assert {field for field, text in written_cells(found).items() if text} <= set(FIELDS) - unsaid(found.kind)


def test_a_thermometer_needs_its_half_width_and_has_nothing_of_a_feature() -> None:
    with pytest.raises(Refused) as refused:
        read_instrument({**THERMOMETER, "kelvin": "", "range": "0–50 °C", "points": "outside 1 0 U .1", "unit": "°C"})
    told = [(reason.parts["field"], reason.code) for reason in refused.value.reasons]
    assert ("kelvin", "crib.cell.needed") in told
    assert [field for field, code in told if code == "crib.cell.thermometer"] == ["unit", "range", "points"]


def test_a_table_goes_with_the_number_of_its_certificate() -> None:
    held = read_instrument(MICROMETER)
    assert read_instrument(carried_cells(held, {"due": "2027-03-01"})).points == held.points
    assert read_instrument(carried_cells(held, {"certificate": "18"})).points == ()
    again = read_instrument(carried_cells(held, {"certificate": "18", "points": written_cells(held)["points"]}))
    assert again.points == held.points
    assert same_table_of_another(held, again)
    assert not same_table_of_another(held, replace(held, due="2027-03-01"))
    assert not same_table_of_another(replace(held, points=()), replace(again, points=()))


def test_a_due_date_left_over_from_the_certificate_before_is_none_of_the_next_one() -> None:
    held = read_instrument({**MICROMETER, "due": "2027-03-02", "interval": "12 months"})
    cells = written_cells(held)
    # another day or another interval: left as it stood, the due date follows; written anew, it stands as written
    assert read_instrument({**cells, "certified": "2027-02-20"}, held).due == "2028-02-20"
    assert read_instrument({**cells, "interval": "6 months"}, held).due == "2026-09-02"
    assert read_instrument({**cells, "certified": "2027-02-20", "due": "2027-08-01"}, held).due == "2027-08-01"
    # nothing that it hangs on changed, or nothing says what follows
    assert read_instrument({**cells, "note": "new anvil"}, held).due == "2027-03-02"
    assert read_instrument({**cells, "certified": "2027-02-20", "interval": "900 readings"}, held).due == "2027-03-02"
    by_hand = replace(held, due="2026-12-24")
    assert read_instrument({**written_cells(by_hand), "holder": "Bo"}, by_hand).due == "2026-12-24"


# --- faults ---------------------------------------------------------------------------------------------------------


def test_all_faults_are_told_together() -> None:
    told = faults(
        tag=" ",
        kind="digital calliper",
        range="0-6 inn",
        permissible="outside up to 6 in ±.001; outsied up to 12 ±.0015; depth up to x ±.002",
        due="3/1/27",
        members=".061–.250; .1–.2 by .03",
        standing="lost",
        handling_seconds="-1",
    )
    assert told == [
        ("tag", "crib.cell.needed", 0),
        ("kind", "crib.cell.unknown_near", 0),
        ("range", "reader.unknown_unit", 4),
        ("permissible", "crib.cell.use", 26),
        ("permissible", "reader.not_a_number", 63),
        ("members", "crib.cell.no_step", 0),
        ("members", "crib.cell.step", 20),
        ("due", "crib.cell.day", 0),
        ("standing", "crib.cell.unknown", 0),
        ("handling_seconds", "crib.cell.whole_number", 0),
    ]


@pytest.mark.parametrize(
    ("field", "text", "code", "at"),
    [
        ("unit", "furlong", "crib.cell.unit", 0),
        ("range", "6", "crib.cell.one_end", 0),
        ("range", "  6–", "crib.cell.one_end", 2),
        ("range", "6–0", "crib.cell.backwards", 0),
        ("resolution", ".0005x", "reader.unknown_unit", 5),
        ("other", ".001", "crib.cell.same_unit", 0),
        ("other", "inch", "crib.cell.same_unit", 0),
        ("due", "2027-02-30", "crib.cell.no_such_day", 0),
        ("due", "20270301", "crib.cell.day", 0),
        ("certified", "March 2026", "crib.cell.day", 0),
        ("permissible", "outside up to 6", "crib.cell.no_error", 8),
        ("permissible", "outside up to 6 ±0", "crib.cell.no_error", 16),
        ("permissible", "outside ±.001; outside up to 6 ±.002", "crib.cell.use_twice", 15),
        ("members", ".1; 0", "crib.cell.no_size", 4),
        ("members", "0.0001–9 by .0001", "crib.cell.too_many", 12),
        ("missing", ".125", "crib.cell.no_set", 0),
        ("points", "outside 1 in 0 U .0001", "crib.cell.no_certificate", 0),
        ("points", " outside 7 in 0 U .0001", "crib.cell.outside_range", 9),
        ("jaws", ".2", "crib.cell.jaws_within", 0),
        ("jaws", " .2 ±.01", "crib.cell.jaws_wide", 1),
        ("tilt", "-1°", "reader.sign", 0),
        ("rock", "2'", "crib.cell.angle_alone", 0),
        ("parallax", "90° at .04", "crib.cell.angle_large", 0),
        ("expansion", "wood", "crib.cell.expansion", 0),
        ("kelvin", "±0.5", "crib.cell.kelvin_kind", 0),
        ("soft", "maybe", "crib.cell.yes_or_no", 0),
        ("direction", "up", "crib.cell.unknown", 0),
        ("read_over", "outside micrometer; dog", "crib.cell.not_a_kind", 20),
        ("note", "x" * 401, "crib.cell.long", 0),
        ("note", "bell \x07", "crib.cell.odd_character", 5),
        ("holder", "Bo\u200b", "crib.cell.odd_character", 2),
    ],
)  # fmt: skip
def test_a_fault_points_at_its_character(field: str, text: str, code: str, at: int) -> None:
    assert faults(**{field: text}) == [(field, code, at)]


def test_a_missing_member_that_the_set_never_had_is_a_fault() -> None:
    assert faults(members=".1–.2 by .01", missing=".11; .115; .3–.4") == [
        ("missing", "crib.cell.no_member", 5),
        ("missing", "crib.cell.no_member", 11),
    ]


def test_a_class_of_pins_that_no_table_knows_needs_its_tolerance() -> None:
    pins = {"kind": "gauge pins", "permissible": "", "members": ".1–.2 by .01", "gauge_class": "Q"}
    assert faults(**pins) == [("gauge_class", "crib.cell.gauge_class", 0)]
    assert read_instrument({**CALIPER, **pins, "class_tolerance": ".0001"}).class_tolerance == THOU // 10
    assert read_instrument({**CALIPER, **pins, "gauge_class": "zz"}).gauge_class == "ZZ"


# --- changes --------------------------------------------------------------------------------------------------------


def test_what_changed_is_told_field_by_field() -> None:
    before = replace(read_instrument(CALIPER), due="2026-03-01", holder="Bo")
    after = replace(
        before,
        due="2027-03-01",
        holder="",
        place="drawer 3",
        permissible=(replace(before.permissible[0], error=2 * THOU), before.permissible[1]),
        files=(Attached("certificate.pdf", "ab", 2),),
    )
    assert [say(reason) for reason in changes(before, after)] == [
        "permissible error: no longer outside up to 6 in ±.001 in",
        "permissible error: now outside up to 6 in ±.002 in",
        "due date 2026-03-01 → 2027-03-01",
        "place: now drawer 3",
        "holder: no longer Bo",
        "file: now certificate.pdf",
    ]
    assert changes(before, replace(before, issue=9)) == ()


def test_a_certificate_s_table_is_told_point_by_point() -> None:
    before = read_instrument(MICROMETER)
    after = read_instrument({**MICROMETER, "points": "outside 1 in +.0002 U .00005; outside 2 in 0 U .00005 k 2.1"})
    assert [say(reason) for reason in changes(before, after)] == [
        "certificate table: no longer outside at 1 in +.0001 in U .00005 in",
        "certificate table: now outside at 1 in +.0002 in U .00005 in",
    ]
    held = replace(before, holding=Holding(tilt=UNITS["°"].count))
    assert [say(reason) for reason in changes(before, held)] == ["out of square by: now 1°"]


def test_what_taking_records_in_would_do() -> None:
    held = replace(read_instrument(CALIPER), identity="i", issue=2)
    other = replace(held, identity="j", tag="C-06")
    crib = {"i": held, "j": other}
    found = taking(crib, [replace(held, due="2027-03-01"), other, replace(held, identity="", tag="C-07")])
    assert [one.tag for one in found.new] == ["C-07"]
    assert [(one.before.tag, len(one.what)) for one in found.changed] == [("C-05", 1)]
    assert found.same == 1
    assert [one.tag for one in found.issues] == ["C-07", "C-05"]


# --- templates ------------------------------------------------------------------------------------------------------


def test_a_template_gets_tag_due_date_and_place() -> None:
    held = {item.tag: item for item in templates()}
    made = from_template(held["C-05"], tag="C-90", due="2027-03-01", place="drawer 3")
    assert (made.tag, made.due, made.place, made.identity, made.issue) == ("C-90", "2027-03-01", "drawer 3", "", 0)
    assert from_template(held["R-01"], tag="R-90", due="2027-03-01").due == ""  # a rule needs none


def test_tags_go_on_in_series() -> None:
    assert in_series("C-05", set()) == "C-05"
    assert in_series("C-05", {"C-05"}) == "C-06"
    assert in_series("C-99", {"C-99"}) == "C-100"
    assert in_series("EYE", {"EYE"}) == "EYE-2"


def test_the_whole_crib_comes_in_beside_what_is_there() -> None:
    taken = {"C-05", "C-07", "EYE"}
    made = whole_crib(taken, due="2027-03-01", place="crib")
    tags = [item.tag for item in made]
    assert len(set(tags)) == len(tags) == len(templates())
    assert not taken & set(tags)
    assert {item.due for item in made} == {"", "2027-03-01"}


def test_a_copy_has_nothing_that_belongs_to_the_first_alone() -> None:
    first = replace(read_instrument(CALIPER), due="2027-03-01", certificate="77", holder="Bo", note="dropped")
    second = copied(first, {"C-05"})
    assert (second.tag, second.due, second.certificate, second.holder, second.note) == ("C-06", "", "", "", "")
    assert second.permissible == first.permissible
    known = replace(first, points=(CertifiedPoint(Use.OUTSIDE, IN, 0, THOU),), contacts=Contacts(IN // 8, jaws=THOU))
    assert copied(known, set()).points == ()
    assert copied(known, set()).contacts == Contacts(IN // 8)
