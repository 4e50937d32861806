"""The crib goes out and comes in again as the very same records, and a file is taken whole or not at all."""

from __future__ import annotations

import csv
from io import BytesIO, StringIO

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from openpyxl import load_workbook

from inspection.instruments.as_written import FIELDS, read_instrument, written_cells
from inspection.instruments.changes import taking
from inspection.instruments.record import CertifiedPoint, Holding, Instrument, Standing, Use
from inspection.instruments.starter import starter_crib
from inspection.reasons import Refused
from inspection.words.say import say
from storage.dispatch.crib import crib_csv, crib_heads, crib_workbook
from storage.intake.crib import read_crib
from storage.intake.faults import FileRefused
from storage.intake.heads import names

INCH = 25_400_000_000
WRITERS = {"crib.csv": crib_csv, "crib.xlsx": crib_workbook}


def crib() -> dict[str, Instrument]:
    """The starter crib as a book holds it, with a few records as they come to be in use."""
    held = {
        one.tag: replace(one, identity=f"id-{one.tag}", issue=2, certificate="77/26", laboratory="Northgate Metrology")
        for one in starter_crib("2027-06-30")
    }
    pins = held["P-02"]
    held["P-02"] = replace(pins, missing=tuple(member.size for member in pins.members[4:9]), holder="Mira Oduya")
    held["C-05"] = replace(held["C-05"], standing=Standing.OUT_OF_SERVICE, note="=dropped, -1 tooth", place="+drawer 3")
    held["C-06"] = replace(held["C-06"], note="'quoted", certified="2023-06-30")
    points = (CertifiedPoint(Use.OUTSIDE, INCH, -2_540_000, 1_270_000, 2_130), CertifiedPoint(Use.OUTSIDE, 0, 0, 10**6))
    held["M-01"] = replace(held["M-01"], certified="2023-06-30", points=points, expansion=8_000)
    contacts = replace(held["C-03"].contacts, jaws=380_000_000, jaws_within=20_000_000)
    holding = Holding(36 * 10**8, 6 * 10**9, 18 * 10**8, 4 * 10**10, 72 * 10**6, 10**9, 36 * 10**9)
    held["C-03"] = replace(held["C-03"], contacts=contacts, holding=holding)
    return {one.identity: one for one in held.values()}


def heads_and_rows(*rows: str) -> bytes:
    return "\n".join(rows).encode()


def refused(data: bytes, held: dict[str, Instrument] | None = None) -> list[tuple[int, str, str]]:
    with pytest.raises(FileRefused) as found:
        read_crib(data, "crib.csv", held if held is not None else crib())
    for reason in found.value.reasons:
        assert not say(reason).startswith("[")
    return [(fault.row, fault.column, fault.reason.code) for fault in found.value.faults]


@pytest.mark.parametrize("name", WRITERS)
def test_what_went_out_comes_in_as_equal_records(name: str) -> None:
    held = crib()
    file = read_crib(WRITERS[name](held.values()), name, held)
    assert {one.tag: one for one in file.records} == {one.tag: one for one in held.values()}
    assert taking(held, file.records).same == len(held)


@pytest.mark.parametrize("name", WRITERS)
def test_into_another_book_they_come_as_new_ones(name: str) -> None:
    held = crib()
    found = taking({}, read_crib(WRITERS[name](held.values()), name, {}).records)
    assert {one.tag: replace(one, identity="", issue=0) for one in held.values()} == {one.tag: one for one in found.new}


TYPED = st.text(st.characters(categories=("L", "N", "P", "S", "Zs"), include_characters="\n\t\r'=+-@#;,"), max_size=40)


@settings(max_examples=40)
@given(st.lists(TYPED, min_size=6, max_size=6), st.sampled_from(sorted(WRITERS)))
def test_any_text_that_a_record_takes_goes_out_and_comes_in(texts: list[str], name: str) -> None:
    base = next(one for one in crib().values() if one.tag == "C-06")
    fields = ("name", "certificate", "laboratory", "place", "holder", "note")
    typed = {**written_cells(base), **dict(zip(fields, texts, strict=True))}
    try:
        record = read_instrument(typed, base)
    except Refused:
        return
    held = {base.identity: base}
    assert read_crib(WRITERS[name]([record]), name, held).records == (record,)


def test_the_same_crib_gives_the_same_bytes() -> None:
    held = crib()
    for write in WRITERS.values():
        assert write(held.values()) == write(list(held.values())[::-1])


def test_no_text_is_a_formula() -> None:
    sheet = load_workbook(BytesIO(crib_workbook(crib().values()))).active
    assert sheet is not None
    assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value is not None} == {"s"}
    assert {cell.number_format for row in sheet.iter_rows(min_row=2) for cell in row} == {"@"}
    table = list(csv.reader(StringIO(crib_csv(crib().values()).decode("utf-8-sig"))))
    assert all(cell[:1] not in "=+-@" or not cell for row in table for cell in row)


def test_heads_are_known_by_their_own_names() -> None:
    assert tuple(names("crib")) == FIELDS
    assert crib_heads()[:4] == ("tag", "kind", "name", "unit")
    plain = [known for heads in names("crib").values() for known in heads]
    assert len(plain) == len(set(plain))


def test_heads_in_any_order_and_by_other_names() -> None:
    data = heads_and_rows(
        "Cal Due;Location;Gage Number;Type;Description;Units;Range;Accuracy;Graduation",
        "2027-03-01;drawer 3;C-90;digital caliper;Caliper 6 in;in;0-6;outside ±.001;.0005",
    )
    (record,) = read_crib(data, "crib.csv", {}).records
    assert (record.tag, record.due, record.place, record.identity) == ("C-90", "2027-03-01", "drawer 3", "")
    assert record.permissible[0].up_to == record.high


def test_a_column_left_out_keeps_what_the_crib_holds_and_an_empty_cell_empties_it() -> None:
    held = crib()
    (record,) = read_crib(heads_and_rows("tag,due,note", "C-05,2028-01-01,"), "crib.csv", held).records
    before = held["id-C-05"]
    assert record == replace(before, due="2028-01-01", note="")
    (changed,) = taking(held, [record]).changed
    assert [say(one) for one in changed.what] == [
        "due date 2027-06-30 → 2028-01-01",
        "note: no longer =dropped, -1 tooth",
    ]


def test_the_table_of_a_certificate_does_not_stay_beside_another_number() -> None:
    held = crib()
    table = written_cells(held["id-M-01"])["points"]
    renewed = "tag,due,certificate,certified"
    (lent,) = read_crib(heads_and_rows("tag,holder", "M-01,Mira Oduya"), "crib.csv", held).records
    assert lent.points == held["id-M-01"].points
    data = heads_and_rows(renewed, "M-01,2028-01-01,88/27,2027-01-01")
    (record,) = read_crib(data, "crib.csv", held).records
    assert (record.certificate, record.points) == ("88/27", ())
    (changed,) = taking(held, [record]).changed
    assert [say(one) for one in changed.what][-2:] == [
        f"certificate table: no longer {one}" for one in table.split("; ")
    ]
    data = heads_and_rows(f"{renewed},certificate table", f"M-01,2028-01-01,88/27,2027-01-01,{table}")
    (record,) = read_crib(data, "crib.csv", held).records
    assert record.points == held["id-M-01"].points
    (notice,) = read_crib(data, "crib.csv", held).notices
    assert say(notice).startswith("M-01 comes with another certificate, 88/27, and the very table of 77/26.")


def test_all_faults_are_told_by_cell_and_nothing_is_taken() -> None:
    data = heads_and_rows(
        "tag,kind,name,unit,range,due,missing",
        "N-1,digital caliper,new,in,0–6,2027-03-01,",
        "N-2,caliper,new,in,6–0,1/3/27,",
        "N-1,dial caliper,twice,in,0–6,,",
        "P-02,gauge pins,pins,in,.061–.250,,.9",
        ",rule,,,,,",
    )
    assert refused(data) == [
        (3, "kind", "crib.cell.unknown_near"),
        (3, "range", "crib.cell.backwards"),
        (3, "due", "crib.cell.day"),
        (4, "tag", "crib.file.tag_twice"),
        (5, "missing", "crib.cell.no_member"),
        (6, "tag", "crib.cell.needed"),
        (6, "name", "crib.cell.needed"),
        (6, "unit", "crib.cell.needed"),
        (6, "kind", "crib.cell.unknown"),
    ]


def test_what_is_no_crib_file_is_refused() -> None:
    assert refused(heads_and_rows("serial,reading", "1,.5"))[0][2] == "intake.no_heads"
    assert refused(heads_and_rows("tag,colour", "C-05,red"))[0][2].startswith("intake.head_unknown")
    assert refused(heads_and_rows("tag,due")) == [(0, "", "intake.no_rows")]
    assert refused(b"\xff\xfe")[0][2] == "intake.is_utf16"


def test_two_thousand_instruments_come_in_within_the_time_of_a_test() -> None:
    one = next(iter(crib().values()))
    held = [replace(one, identity="", issue=0, tag=f"X-{n}") for n in range(2000)]
    assert len(taking({}, read_crib(crib_csv(held), "crib.csv", {}).records).new) == 2000


def test_a_certificate_older_than_the_one_before_it_is_said_and_taken() -> None:
    file = heads_and_rows("tag,certificate,certified on", "M-01,77/25,2022-06-30", "C-06,77/26,2022-06-30")
    found = read_crib(file, "crib.csv", crib())
    assert [one.certified for one in found.records] == ["2022-06-30"] * 2
    assert [(reason.code, reason.parts["tag"]) for reason in found.notices] == [("crib.file.older", "M-01")]
    assert "which is older than 77/26 of 2023-06-30" in say(found.notices[0])
