"""Rows of feature data to characteristics, all faults of a row together."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.characteristic import Access, Characteristic, Condition, FeatureKind
from inspection.drawing.plan import TitleBlock
from inspection.drawing.requirement import Form
from inspection.drawing.rows import FIELDS, characteristic
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE as MM
from inspection.reasons import Refused
from inspection.words.say import say

BLOCK = TitleBlock(inch={3: INCH // 200})


def rows(**fields: str) -> tuple[Characteristic, ...]:
    return characteristic({"number": "7", "kind": "bore", "requirement": "⌀.250 ±.005", **fields}, BLOCK)


def faults(**fields: str) -> dict[str, tuple[str, int]]:
    """Code and place by field; every sentence can be said."""
    with pytest.raises(Refused) as refused:
        rows(**fields)
    assert all(say(reason) for reason in refused.value.reasons)
    found = {}
    for reason in refused.value.reasons:
        field, at = reason.parts["field"], reason.parts["at"]
        assert isinstance(field, str) and isinstance(at, int) and "text" in reason.parts
        found[field] = (reason.code, at)
    return found


def test_a_plain_row() -> None:
    (found,) = rows()
    assert (found.identity, found.number, found.kind, found.count) == ("", "7", FeatureKind.BORE, 1)
    assert (found.requirement.lower, found.requirement.upper) == (INCH * 245 // 1000, INCH * 255 // 1000)


def test_every_field() -> None:
    (found,) = rows(
        name="dowel hole", sheet="2", zone="C4", key="◇", condition="after plating", set_up="op 20",
        reach=".75", corner_radius="1/32", wall="3 mm", bore_length=".5", soft="yes", attribute_allowed="x", blind="no",
        places="top; bottom", repeats="3", sampling="first-last", note="deburr first",
    )  # fmt: skip
    assert found.access == Access(INCH * 3 // 4, INCH // 32, 3 * MM, INCH // 2, soft=True)
    assert (found.name, found.sheet, found.zone, found.key, found.set_up) == ("dowel hole", "2", "C4", "◇", "op 20")
    assert found.condition is Condition.AFTER_COATING
    assert (found.attribute_allowed, found.blind) == (True, False)
    assert (found.places, found.repeats, found.sampling) == (("top", "bottom"), 3, "first-last")
    assert found.note == "deburr first"


def test_a_count_opens_a_row_for_each_place() -> None:
    found = rows(requirement=" 4X ⌀.250 ±.005 ", place="N;E;S;W")
    assert [(one.number, one.place, one.count) for one in found] == [
        ("7.1", "N", 4),
        ("7.2", "E", 4),
        ("7.3", "S", 4),
        ("7.4", "W", 4),
    ]
    assert {one.requirement.written for one in found} == {"4X ⌀.250 ±.005"}
    assert [one.number for one in rows(count="2")] == ["7.1", "7.2"]
    assert [one.number for one in rows(requirement="2X ⌀.250", count="2")] == ["7.1", "7.2"]


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        ("Bore", FeatureKind.BORE),
        ("outside diameter", FeatureKind.OUTSIDE_DIAMETER),
        ("OD", FeatureKind.OUTSIDE_DIAMETER),
        ("Centre_Distance", FeatureKind.CENTRE_DISTANCE),
        ("surface finish", FeatureKind.ROUGHNESS),
        ("material", FeatureKind.NOTE),
    ],
)
def test_kinds_by_their_words(written: str, kind: FeatureKind) -> None:
    assert rows(kind=written, requirement=".250")[0].kind is kind


def test_a_note_row_takes_any_text_and_an_angle_row_any_unit() -> None:
    assert rows(kind="note", requirement="6061-T6 PER SPEC")[0].requirement.form is Form.NOTE
    assert rows(kind="angle", requirement="45° ±1°", unit="in")[0].requirement.unit == "°"


def test_a_metric_row_of_an_inch_drawing() -> None:
    (found,) = rows(requirement="25 H7", unit="mm", reach="20")
    assert (found.requirement.unit, found.requirement.upper, found.access.reach) == ("mm", 25_021_000_000, 20 * MM)


def test_band_and_shorter_side_answer_what_was_asked() -> None:
    assert rows(kind="length", requirement=".5 MAX", band=".004")[0].requirement.band == INCH // 250
    found = characteristic(
        {"number": "1", "kind": "angle", "requirement": "45°", "shorter_side": "25"}, TitleBlock(unit="mm", general="m")
    )
    assert found[0].requirement.form is Form.GENERAL
    assert faults(kind="length", requirement=".5 MAX")["requirement"] == ("band.ask", 0)


def test_all_faults_of_a_row_are_told_together() -> None:
    assert faults(
        number="", requirement="4X ⌀.250 ±1,157", unit="ell", reach="deep", soft="maybe", repeats="0",
        condition="painted", sampling="some", place="N;S",
    ) == {
        "number": ("row.number_missing", 0),
        "unit": ("row.unit", 0),
        "requirement": ("reader.comma", 11),
        "condition": ("row.unknown", 0),
        "reach": ("reader.not_a_number", 0),
        "soft": ("row.yes_or_no", 0),
        "repeats": ("row.whole_number", 0),
        "sampling": ("row.sampling", 0),
        "place": ("row.places_differ", 0),
    }  # fmt: skip


def test_single_faults() -> None:
    assert faults(kind="spline") == {"kind": ("row.unknown", 0)}
    assert faults(kind="") == {"kind": ("row.unknown", 0)}
    assert faults(number="7" * 25) == {"number": ("row.number_long", 24)}
    assert faults(requirement="") == {"requirement": ("callout.empty", 0)}
    assert faults(requirement="2X .250", count="3") == {"count": ("row.count_differs", 0)}
    assert faults(requirement="0X .250") == {"requirement": ("callout.count", 0)}
    assert faults(requirement=" 2X .2505.5 ") == {"requirement": ("reader.two_marks", 9)}
    assert faults(kind="length", requirement=".5 MAX", band="0") == {
        "band": ("row.band", 0),
        "requirement": ("band.ask", 0),
    }


@given(st.dictionaries(st.sampled_from(FIELDS), st.text(max_size=12)))
def test_any_row_is_read_or_refused(row: dict[str, str]) -> None:
    try:
        found = characteristic(row, BLOCK)
    except Refused as refused:
        assert refused.reasons
        assert all(reason.parts["field"] in FIELDS and say(reason) for reason in refused.reasons)
        return
    assert found and len({one.number for one in found}) == len(found)
