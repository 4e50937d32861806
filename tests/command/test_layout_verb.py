"""A customer's form by command line: proposed, corrected, kept, filled, and taken to another book."""

from __future__ import annotations

import hashlib
import importlib.util
import io
import itertools
import json
import uuid
from pathlib import Path

import pytest
from openpyxl import load_workbook

from app.command.main import run
from app.command.outcome import Exit
from storage.book.clock import Moment

HERE = Path(__file__).parent
FORMS = HERE.parent / "dispatch" / "customer_forms" / "conftest.py"
FEATURES = """\
# part,QF-12
# revision,A
# customer,Rowan & Pike
# order,PO-5521
# serials,"A1"
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
2,length,3.250 ±.005
3,note,DEBURR ALL EDGES
"""


class Bench:
    """A book asked by command lines."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.book = folder, folder / "shop.tenthwright"
        self.minutes, self.numbers = itertools.count(30_000_000), itertools.count(1)

    def say(self, *argv: str) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        code = run(
            [*argv, "--book", str(self.book)],
            clock=lambda: Moment(next(self.minutes) * 60_000_000, "2027-01-15"),
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={"TENTHWRIGHT_PASSPHRASE": "four grey geese"},
            out=out,
            err=err,
        )
        assert "Traceback" not in out.getvalue() + err.getvalue()
        return code, out.getvalue(), err.getvalue()

    def does(self, *argv: str) -> str:
        code, out, err = self.say(*argv)
        assert (code, err) == (Exit.DONE, "")
        return out

    def refused(self, *argv: str) -> str:
        code, out, err = self.say(*argv)
        assert (code, out) == (Exit.REFUSED, "")
        return err

    def file(self, name: str, content: str | bytes) -> str:
        path = self.folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    made = Bench(tmp_path)
    made.does("new", "--shop", "Quillfeather", "--person", "Mira Oduya", "--starter-crib")
    made.does("rules", "--set", "check life=none", "closing check under=none")
    made.does("take-in", made.file("f.csv", FEATURES))
    rows = "serial,number,reading\nA1,1,.7502\nA1,2,3.2510\nA1,3,as required\n"
    made.does("read", made.file("r.csv", rows))
    return made


@pytest.fixture(scope="module")
def form():
    spec = importlib.util.spec_from_file_location("forms", FORMS)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.plain_american().content


def test_from_a_blank_form_to_a_filled_one(bench, form, tmp_path):
    blank = bench.file("RP-17.xlsx", form)
    assert "holds no layout of Rowan & Pike" in bench.refused("export", "customer", str(tmp_path / "none.xlsx"))
    assert not (tmp_path / "none.xlsx").exists()
    assert "--customer" in bench.refused("layout", blank)
    proposed = bench.does("layout", blank, "--customer", "Rowan & Pike")
    assert "not kept yet" in proposed
    assert bench.does("layout").startswith("No customer's layout")
    kept = bench.does(
        "layout", blank, "--customer", "Rowan & Pike", "--keep", "--set", "lot=D3", "--set", "word conforming=Accept",
        "--set", "uncertainty=I",
    )  # fmt: skip
    assert "issue 1" in kept
    done = json.loads(bench.does("export", "customer", str(tmp_path / "sent.xlsx"), "--json"))
    sheet = load_workbook(tmp_path / "sent.xlsx").active
    assert [sheet[cell].value for cell in ("B3", "B5", "E10", "E11", "F10")] == [
        "QF-12",
        "PO-5521",
        0.7502,
        3.251,
        "Accept",
    ]
    assert 0 < sheet["I11"].value < 0.005
    assert (done["layout"], done["issue"]) == ("RP-17", 1)
    assert "sent.xlsx" in bench.does("verify", str(tmp_path / "sent.xlsx"))
    refused = bench.refused("export", "customer", str(tmp_path / "sent.xlsm"))
    assert "Name the file sent.xlsx" in refused  # a spreadsheet program opens it by no other ending
    assert not (tmp_path / "sent.xlsm").exists()


def test_a_kept_layout_is_corrected_and_goes_to_another_book(bench, form, tmp_path):
    blank = bench.file("RP-17.xlsx", form)
    bench.does("layout", blank, "--customer", "Rowan & Pike", "--keep")
    assert "issue 2" in bench.does("layout", "--name", "rp-17", "--set", "unit=mm")
    wrong = bench.refused("layout", "--name", "rp-17", "--set", "nothing=B4", "--set", "decimals=x", "--set", "huh")
    assert len(wrong.splitlines()) == 3
    assert "issue" in bench.does("layout", "--customer", "rowan & pike", "--out", str(tmp_path / "RP-17.json"))
    other = Bench(tmp_path / "other")
    other.folder.mkdir()
    other.does("new", "--shop", "Sloe Lane", "--person", "Ada Orr")
    assert "issue 1" in other.does("layout", str(tmp_path / "RP-17.json"), "--keep")
    told = json.loads(other.does("layout", "--json"))["layouts"]
    assert [(each["unit"], each["customer"]) for each in told] == [("mm", "Rowan & Pike")]
    broken = other.file(
        "broken.json", (tmp_path / "RP-17.json").read_text().replace('"workbook":"UEsD', '"workbook":"UEsE')
    )
    assert "Nothing was taken in" in other.refused("layout", broken, "--keep")


def test_a_package_checks_itself_and_goes_out_again(bench, form, tmp_path):
    blank = bench.file("RP-17.xlsx", form)
    bench.does("layout", blank, "--customer", "Rowan & Pike", "--keep")
    drawing = bench.file("QF-12 drawing.pdf", b"%PDF-1.4 a drawing")
    assert "No package" in bench.does("package")
    made = json.loads(bench.does("package", str(tmp_path / "QF-12.zip"), "--beside", drawing, "--json"))
    assert {"manifest.json", "QF-12 drawing.pdf"} < set(made["files"])
    assert [name for name in made["files"] if name.endswith("RP-17.xlsx")]
    listed = bench.does("package")
    assert "QF-12.zip" in listed
    assert made["digest"][:16] in listed
    bench.does("package", str(tmp_path / "again.zip"), "--again", made["digest"][:8])
    assert (tmp_path / "again.zip").read_bytes() == (tmp_path / "QF-12.zip").read_bytes()
    bench.does("package", str(tmp_path / "unpacked"), "--again")
    elsewhere = Bench(tmp_path / "elsewhere")
    elsewhere.folder.mkdir()
    for place in ("QF-12.zip", "unpacked"):
        code, out, _ = run_alone(elsewhere, str(tmp_path / place))
        assert code == Exit.DONE, out
        assert "all " in out
    (tmp_path / "unpacked" / "QF-12 drawing.pdf").write_bytes(b"%PDF-1.4 another drawing")
    (tmp_path / "unpacked" / "more.txt").write_text("more")
    code, out, _ = run_alone(elsewhere, str(tmp_path / "unpacked"))
    assert code == Exit.NOT_CONFORMING
    assert "QF-12 drawing.pdf is not the file" in out
    assert "more.txt was not packed" in out
    assert "QF-12.zip" in bench.does("verify", str(tmp_path / "QF-12.zip"))
    assert bench.does("verify").strip()


def test_a_drawing_kept_with_the_record_goes_out_with_every_package(bench, tmp_path):
    drawing = bench.file("D-1 sheet.pdf", b"%PDF-1.4 a drawing")
    assert "No earlier sheet" in bench.refused("evidence", "--drawing")
    assert "D-1 sheet.pdf" in bench.does("evidence", "--drawing", drawing)
    (tmp_path / "D-1 sheet.pdf").unlink()  # from now on the book alone has it
    assert "D-1 sheet.pdf" in bench.does("evidence", "--drawing")  # once more: the same file, the same entry
    (entry,) = json.loads(bench.does("evidence", "--json"))["evidence"]
    made = json.loads(bench.does("package", str(tmp_path / "out"), "--json"))
    assert (tmp_path / "out" / "D-1 sheet.pdf").read_bytes() == b"%PDF-1.4 a drawing"
    assert made["files"].count("D-1 sheet.pdf") == 1
    assert entry["kind"] == "drawing"
    assert entry["files"][0][1] == hashlib.sha256(b"%PDF-1.4 a drawing").hexdigest()
    printed = load_workbook(next((tmp_path / "out").glob("*signed.xlsx")))
    told = [cell.value for sheet in printed for row in sheet for cell in row if cell.value]
    assert {"D-1 sheet.pdf", entry["files"][0][1]} <= {*told}


def run_alone(bench, path):
    """Verify where no book is."""
    out, err = io.StringIO(), io.StringIO()
    code = run(["verify", path], environ={}, out=out, err=err)
    return code, out.getvalue(), err.getvalue()
