"""Head, materials, processes and tests from the command line: entered, listed, refused by cell, and what is missing."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from app.command.main import run
from app.command.outcome import Exit
from inspection.sheet.evidence import Approval, EvidenceKind
from inspection.sheet.head import Head, SubItem
from inspection.sheet.measured import measurement
from inspection.words.say import word
from storage.book.attached import content_of
from storage.book.door import Book

FILE = """\
kind,name,row,specification,revision,heat,supplier,approved,certificate,certified on,required,result,passed,files,remark
material,6061-T6 plate,,QS-12,F,55-201,Ostrava Metals,yes,55-201,2026-02-20,,,,heat.pdf; mark.jpg,third sheet
special process,anodise,N1,QS-77,C,,Kestrel Finishing,n.a.,A-9,2026-03-02,,,,,
test,hardness,,,,,,,,,≥ 88.0 HRB,89.5,,,
test,runs without noise,,,,,,,,,,,yes,,
"""


class Line:
    """Command lines on the shop's book and its first sheet."""

    def __init__(self, shop: Any) -> None:
        self.shop = shop

    def say(self, *argv: str, sheet: bool = True) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        line = [*argv, "--book", str(self.shop.path), *(["--sheet", self.shop.sheets[0]] if sheet else [])]
        code = run(line, environ={}, out=out, err=err)
        return code, out.getvalue(), err.getvalue()

    def file(self, text: str, name: str = "record.csv") -> str:
        path = self.shop.path.with_name(name)
        path.write_text(text, encoding="utf-8")
        return str(path)


@pytest.fixture
def line(shop: Any) -> Line:
    for name, content in (("heat.pdf", b"%PDF heat"), ("mark.jpg", b"a photograph")):
        shop.path.with_name(name).write_bytes(content)
    return Line(shop)


def test_a_head_is_written_field_by_field_and_shown(line: Line) -> None:
    code, out, _ = line.say(
        "head", "PO=4711", "cause=New Part; change of tooling; moved", "detail or assembly=assembly"
    )
    assert code == Exit.DONE
    assert "new part; change of tooling; moved" in " ".join(out.split())
    assert (
        line.say("head", "order line=3", "--sub-item", "OB-1; C; drawtube; 14-1; sheet 7", "--sub-item", "OB-2")[0] == 0
    )
    assert line.shop.sheet().head == Head(
        order="4711",
        order_line="3",
        detail="assembly",
        cause="new_part; tooling; moved",
        sub_items=(SubItem("OB-1", "C", "drawtube", "14-1", "sheet 7"), SubItem("OB-2")),
    )
    code, out, _ = line.say("head", "--json")
    assert (code, json.loads(out)["head"]["order"]) == (Exit.DONE, "4711")


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (["order"], "“order” names no field of the head."),
        (["ordr=1"], "order"),
        (["extent=half"], "A first article is full or partial, not “half”."),
        (["--sub-item", "OB-1"], "Only an assembly has sub-items."),
        (["--sub-item", "1;2;3;4;5;6"], "“1;2;3;4;5;6” has more parts than a sub-item"),
    ],
)
def test_a_head_that_cannot_be_is_refused(line: Line, told: list[str], said: str) -> None:
    code, _, err = line.say("head", *told)
    assert (code, said in err) == (Exit.REFUSED, True), err
    assert line.shop.sheet().head == Head()


def test_a_file_of_evidence_is_entered_with_the_files_it_names(line: Line) -> None:
    code, out, err = line.say("evidence", line.file(FILE))
    assert (code, err) == (Exit.DONE, "")
    assert out.startswith("4 entered, 0 written anew.")
    plate, anodise, hardness, quiet = line.shop.sheet().evidence.values()
    assert [file.name for file in plate.files] == ["heat.pdf", "mark.jpg"]
    assert (plate.kind, plate.code, plate.note) == (EvidenceKind.MATERIAL, "55-201", "third sheet")
    assert (anodise.approved, anodise.number, anodise.certified) == (Approval.NOT_APPLICABLE, "N1", "2026-03-02")
    assert hardness.measurement == measurement("≥ 88.0 HRB", "89.5")
    assert (quiet.passed, quiet.measurement) == ("yes", None)
    with Book.open(line.shop.path) as book:
        assert book.ask(content_of, plate.files[1].digest) == b"a photograph"


def test_a_second_file_writes_anew_and_keeps_what_was_attached(line: Line) -> None:
    line.say("evidence", line.file(FILE))
    before = line.shop.sheet().evidence
    code, out, _ = line.say("evidence", line.file("kind,name,cert\nmaterial,6061-t6 PLATE,55-202\ntest,leak,\n"))
    assert (code, out.splitlines()[0]) == (Exit.DONE, "1 entered, 1 written anew.")
    after = line.shop.sheet().evidence
    plate = after[next(iter(before))]
    assert (plate.certificate, [file.name for file in plate.files]) == ("55-202", ["heat.pdf", "mark.jpg"])
    assert len(after) == 5


def test_every_fault_of_a_file_is_told_by_its_cell_and_nothing_is_entered(line: Line) -> None:
    bad = (
        "kind,name,required,result,approved,certified on,passed\n"
        "metal,plate,,,perhaps,20260301,\n"
        "test,hardness,45 HRC,46,,,\n"
        "test,torque,12 ±1 N·m,44 HRC,,,\n"
        "process,anodise,≥ 1 V,,,,\n"
        "test,,,,,,maybe\n"
        "test,leak,MAX 5 mbar,,,,yes\n"
    )
    code, _, err = line.say("evidence", line.file(bad))
    assert code == Exit.REFUSED
    for said in (
        "metal",
        "perhaps",
        "20260301",
        "One number alone",
        "nothing converts HRC",
        "anodise is no functional",
    ):
        assert said in err
    for said in ("maybe", "Whether leak passed follows from what was measured"):
        assert said in err
    assert line.shop.sheet().evidence == {}


def test_a_file_that_is_named_and_not_there_stops_all(line: Line) -> None:
    code, _, err = line.say("evidence", line.file("kind,name,files\ntest,leak,\nmaterial,plate,gone.pdf\n"))
    assert (code, "gone.pdf" in err) == (Exit.WORLD, True)
    assert line.shop.sheet().evidence == {}


def test_evidence_is_listed(line: Line) -> None:
    assert line.say("evidence")[1].strip() == word("command.nothing_listed")
    line.say("evidence", line.file(FILE))
    code, out, _ = line.say("evidence")
    assert code == Exit.DONE
    for said in ("6061-T6 plate", "anodise", "89.5 HRB", "conforming", "heat.pdf, mark.jpg"):
        assert said in out
    told = json.loads(line.say("evidence", "--json")[1])["evidence"]
    assert [each["kind"] for each in told] == ["material", "special process", "functional test", "functional test"]


def test_what_is_missing_is_said_and_told_by_the_exit_code(line: Line) -> None:
    code, out, _ = line.say("missing")
    assert code == Exit.NOT_CONFORMING
    assert out.index("Stops the sheet:") < out.index("The sheet is not signed.") < out.index("To be borne in mind:")
    assert "The purchase order is missing." in out
    line.say("head", "order=4711")
    assert "The purchase order is missing." not in line.say("missing")[1]
    told = json.loads(line.say("missing", "--json")[1])
    assert "The sheet is not signed. Sign it when its rows are read." in told["stops"]


def test_a_sealed_sheet_takes_nothing_more(line: Line) -> None:
    line.shop.sign()
    for told in (["head", "order=1"], ["evidence", line.file(FILE)]):
        code, _, err = line.say(*told)
        assert (code, bool(err)) == (Exit.REFUSED, True)
    assert line.shop.sheet().evidence == {}


def test_the_workbook_form_of_the_file_is_the_same(line: Line) -> None:
    book = openpyxl.Workbook()
    assert book.active is not None
    for record in csv.reader(FILE.splitlines()):
        book.active.append(record)
    path: Path = line.shop.path.with_name("record.xlsx")
    book.save(path)
    assert line.say("evidence", str(path))[0] == Exit.DONE
    assert len(line.shop.sheet().evidence) == 4


@pytest.mark.parametrize("name", ["empty.csv", "empty.xlsx"])
def test_a_template_is_filled_in_and_taken(line: Line, name: str) -> None:
    """Its heads are those that are read, and what it offers in lists is understood."""
    path: Path = line.shop.path.with_name(name)
    assert run(["template", "evidence", str(path)], environ={}, out=io.StringIO(), err=io.StringIO()) == Exit.DONE
    filled = ["material", "plate", "", "QS-12", "F", "", "", "n.a.", "55-201", "2026-02-20", "", "", "", "heat.pdf", ""]
    if name.endswith(".csv"):
        with path.open("a", encoding="utf-8", newline="") as file:
            csv.writer(file).writerow(filled)
    else:
        book = openpyxl.load_workbook(path)
        for column, text in enumerate(filled, 1):
            if text:
                book.worksheets[0].cell(2, column, text)
        offered = {str(cell.value) for row in book.worksheets[-1].iter_rows(min_row=2) for cell in row if cell.value}
        assert {"material", "special process", "functional test", "yes", "no", "n.a."} <= offered
        book.save(path)
    code, _, err = line.say("evidence", str(path))
    assert (code, err) == (Exit.DONE, "")
    (plate,) = line.shop.sheet().evidence.values()
    assert (plate.approved, plate.certified, plate.files[0].name) == (Approval.NOT_APPLICABLE, "2026-02-20", "heat.pdf")
