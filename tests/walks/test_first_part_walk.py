"""A shop's first part, by key alone: no book, then shop, person, crib, a plan typed from its drawing, readings, seal,
what goes out, and the part's next piece with what the first one came to."""

from __future__ import annotations

import hashlib
import io
import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import ANY

import pytest
from openpyxl import Workbook, load_workbook
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit

from app.plan.columns import COLUMNS
from inspection.measuring.reading import Role
from inspection.measuring.verdict import Verdict
from inspection.sheet.causes import causes
from inspection.sheet.evidence import Approval
from inspection.sheet.proof_life import closing_checks_missing
from inspection.sheet.proving import asked_of
from inspection.words.say import word
from storage.book.verify import verify_book, verify_file

pytestmark = pytest.mark.slow

PASSPHRASE = "seven grey lanterns"
#: Between two keys of a hand, in milliseconds.
BY_HAND = 60

#: The hub as its drawing has it: number, kind, requirement, and what it is called.
ROWS = (
    ("1", "note", "MATERIAL ALUMINUM 6061-T6 PER CERTIFICATE", "material"),
    ("2", "outside diameter", "⌀1.5000 +.0000/-.0005", "pilot"),
    ("3", "bore", "⌀20 H7", "bearing seat"),
    ("4", "bore", "4X ⌀.201 +.005/-.001", "clearance holes"),
    ("5", "bore", "⌀.3750 / .3760", "dowel"),
    ("6", "length", "2.250", "over all"),
    ("7", "length", "1.12", "hub length"),
    ("8", "step", ".125 ±.003", "shoulder"),
    ("9", "depth", ".250 ±.005", "counterbore depth"),
    ("10", "slot", ".1875 +.0030/-.0000", "keyway"),
    ("11", "width", ".060 MIN", "wall"),
    ("12", "chamfer", ".03 MAX", "lead-in"),
    ("13", "angle", "45°", "ramp"),
    ("14", "radius", "R.125 ±.015", "corner"),
    ("15", "thread", "2X 10-24 UNC-2B", "set screws"),
    ("16", "roughness", "Ra 63 µin MAX", "pilot"),
    ("17", "outside diameter", "⌀1.500 ±.003", "flange"),
    ("18", "centre distance", "[1.125]", "bolt circle"),
    ("19", "length", "(3.37)", "reference length"),
    ("20", "note", "BREAK SHARP EDGES", "edges"),
)
#: What some of them read as, before anything is measured.
READS = {
    "2": "1.4995 … 1.5000 in", "3": "20.000 … 20.021 mm", "4": "4 × 0.200 … 0.206 in", "5": "0.3750 … 0.3760 in",
    "6": "2.245 … 2.255 in", "7": "1.11 … 1.13 in", "11": "≥ 0.060 in", "12": "≤ 0.03 in", "13": "44 … 46°",
    "15": "2 × GO and NOT GO", "16": "≤ 63 µin", "18": "basic, not judged", "19": "reference, not judged",
}  # fmt: skip
#: The title block, field by field as Enter goes on.
HEAD = {
    "number": "QH-220",
    "revision": "A",
    "name": "Guide hub",
    "drawing": "QH-220-1",
    "drawing_revision": "C",
    "material": "aluminum 6061",
    "customer": "Lantern Hill Optical",
    "default .xx": ".010",
    "default .xxx": ".005",
    "angle": "1",
}


def field() -> QLineEdit | QComboBox | None:
    """What has the keys, if it is a field."""
    widget = QApplication.focusWidget()
    return widget if isinstance(widget, (QLineEdit, QComboBox)) else None


def at_field(label: str) -> Callable[[], bool]:
    """Waits until the field of this name has the keys."""
    return lambda: (at := field()) is not None and at.accessibleName() == label


@pytest.fixture
def shop(shop_kind: Any, tmp_path: Path) -> Any:
    """The window as a person meets it for the first time, without a book."""
    return shop_kind(tmp_path / "hub.tenthwright")


def test_the_first_part(shop: Any) -> None:
    keys = {"shop and person": open_shop(shop), "crib": enter_crib(shop), "head": type_head(shop)}
    assert sum(keys.values()) < 200, "five minutes are ample for a first run of this many keys"
    keys |= {"rows": type_rows(shop), "sheet": issue_and_make_sheet(shop)}
    keys["readings"] = measure(shop)
    keys |= {"record": keep_record(shop), "named": name_what_is_out(shop), "sign": sign(shop)}
    keys |= {"preview": preview(shop), "export": export(shop)}
    form = as_the_customer_asks(shop)
    keys["next piece"] = next_piece(shop)
    assert sum(keys.values()) < 1450, "a 20-row part with its instruments checked, from nothing to what goes out"
    assert form["first"] < 60, "a new form, the path of its file apart"
    assert form["again"] < 6, "a form that is kept"
    shop.leave()
    check_from_outside(shop)


def open_shop(shop: Any) -> int:
    took = shop.type(
        "<Ctrl+Shift+N>", shop.asked, "Quillfeather Machine", "<Tab>", "Mira Oduya",
        "<Tab>", PASSPHRASE, "<Tab>", PASSPHRASE, "<Return>", shop.frame.beginning,
    )  # fmt: skip
    assert shop.book.exists()
    assert "Quillfeather Machine" in shop.seen()
    assert "Mira Oduya" in shop.seen()
    return took


def enter_crib(shop: Any) -> int:
    """The easy thing has the keys."""
    assert "crib" in shop.focus().accessibleName()
    took = shop.type("<Return>", lambda: "instruments" in shop.seen())
    shop.qtbot.waitUntil(lambda: shop.focus().accessibleName() == "Plan")
    assert "The crib is filled." in shop.frame.notice()
    shop.picture("begin")
    return took


def type_head(shop: Any) -> int:
    plan = shop.room("plan")
    took = shop.type("<Ctrl+2>", plan.isVisible, "<Ctrl+N>", lambda: plan._page is not None and plan._page.isVisible())
    fields = plan.writing.form.fields
    for name in list(fields)[: list(fields).index(list(HEAD)[-1]) + 1]:
        assert fields[name].hasFocus(), "Enter goes on"
        took += shop.type(HEAD.get(name, ""), "<Return>")
    took += shop.type("<F4>")
    assert shop.focus() is plan.writing.table
    assert "QH-220" in plan.writing.title.text()
    return took


def type_rows(shop: Any) -> int:
    """Twenty rows as the drawing has them; the one at fault is told, gone to by key and put right."""
    writing = shop.room("plan").writing
    took = 0
    for row in ROWS:
        took += shop.type(*tabbed(row))
    shop.qtbot.waitUntil(lambda: "One row cannot be read yet (Ctrl+E)" in shop.seen(writing.foot))
    assert "metric class" in writing.model.line(2).faults["requirement"]
    at_fault = lambda: writing.table.at == (2, COLUMNS.index("requirement"))  # noqa: E731
    took += shop.type("<Ctrl+E>", at_fault, "⌀20 mm H7", "<Return>", lambda: not writing.model.line(2).faults)
    reads = {line.row.text("number"): line.reads for line in map(writing.model.line, range(len(ROWS)))}
    for number, said in READS.items():
        assert reads[number] == said
    shop.picture("plan")
    return took


def tabbed(texts: tuple[str, ...]) -> list[str]:
    """A row's cells with Tab between them and Enter behind."""
    typed: list[str] = []
    for text in texts:
        typed += [text, "<Tab>"]
    return [*typed[:-1], "<Return>"]


def issue_and_make_sheet(shop: Any) -> int:
    plan, bench = shop.room("plan").writing, shop.room("bench")
    took = shop.type("<Ctrl+S>", shop.asked, "<Return>", lambda: plan.untouched)
    assert shop.frame.notice() == "Issue 1 of QH-220 is in the book, with 24 rows. Next: Ctrl+M makes a sheet of it."
    took += shop.type("<Ctrl+M>", shop.asked, "001", "<Return>", bench.isVisible)
    return took


#: What the instruments show, by number; a number without a unit is in that of the instrument.
READINGS = {
    "2": "1.4998", "3": "20.010", "6": "2.250", "7": "1.121", "8": ".1252", "9": ".2510", "10": ".1890", "11": ".0640",
    "12": ".025", "13": "45", "14": ".125", "16": "42", "17": "1.4962",
}  # fmt: skip
#: The largest pin that enters and the smallest that does not.
PINS = {"4": ("5.15", "5.20"), "5": ("9.53", "9.55")}
LETTERS = {Role.FINDING: "e", Role.GO: "e", Role.NOT_GO: "n"}


def measure(shop: Any) -> int:
    """Every open row in the order of the route."""
    took = slots = 0
    bench = shop.room("bench")
    assert isinstance(shop.focus(), QLineEdit), "the entry takes keys at once"
    walked = []
    while bench.flow.at.slot is not None and slots < 50:
        walked.append(bench.flow.at.row)
        took += prove(shop)
        took += enter_one(shop)
        slots += 1
    assert list(dict.fromkeys(walked)) == list(dict.fromkeys(row for row, _ in bench.seen.walk.cells)), "the route"
    verdicts = {bench.seen.row(row).number: each.verdict for (row, _), each in bench.seen.sheet.judgements.items()}
    assert slots == 29
    assert {number for number, each in verdicts.items() if each is Verdict.NOT_CONFORMING} == {"17"}
    assert {number for number, each in verdicts.items() if each is Verdict.MARGINAL} == {"2", "3", "14"}
    assert len(verdicts) == 22, "every row but basic and reference ones"
    shop.picture("measured")
    return took


def prove(shop: Any) -> int:
    """Check the instruments of the row at hand that no check serves for: K asks for the one that is read, and again for
    the gauge that touches the part."""
    bench, took = shop.room("bench"), 0
    seen, row = bench.seen, bench.flow.at.row
    assignment = seen.sheet.assignments[row].assessment
    for part in asked_of(seen.shop, assignment.method):
        if all(each.instrument != part.identity for each in bench.seen.shop.proofs):
            took += shop.proves("<Alt+K>")
    return took


def enter_one(shop: Any) -> int:
    """One reading: it moves on by itself, or a slip is answered."""
    bench = shop.room("bench")
    flow, before = bench.flow, bench.flow.at
    row, number = bench.seen.row(before.row), bench.seen.row(before.row).number.partition(".")[0]
    moved = lambda: flow.at != before and not flow.under_way  # noqa: E731
    if letter := LETTERS.get(before.slot.role):
        return shop.type(letter, moved)
    text = PINS[number][before.slot.role is Role.STOPS] if number in PINS else READINGS[number]
    if row.requirement.unit == "mm":  # the bore gauge is an inch one: the person overlooks it, is asked, reads again
        took = shop.type(text, "<Return>", lambda: flow.standing is not None and not flow.under_way, BY_HAND)
        assert "inch and a millimetre" in flow.said.text
        for sign in ".7878":
            took += shop.type(BY_HAND, sign)
        return took + shop.type(BY_HAND, "<Return>", moved)
    return shop.type(text, "<Return>", moved)


def on_a_reason() -> bool:
    """Whether one of the reasons for a first article has the keys."""
    at = QApplication.focusWidget()
    return at is not None and word(f"cause.{next(iter(causes()))}") in at.accessibleName()


def keep_record(shop: Any) -> int:
    """Material with its certificate, functional test, and the rest of the head."""
    desk = shop.room("desk")
    took = shop.type("<Ctrl+5>", lambda: desk.isVisible() and desk.at_hand is not None, "<Alt+1>")
    assert at_field("customer")()
    evidence = lambda: len(desk.at_hand.sheet.evidence)  # noqa: E731
    assert at_field("customer")()
    evidence = lambda: len(desk.at_hand.sheet.evidence)  # noqa: E731
    took += shop.type(
        "<Alt+M>", "Aluminum 6061-T6", "<Tab>", "1", "<Tab>", "ALLOY SPEC 12", "<Tab>", "C", "<Tab>", "<Tab>",
        "Bellwether Metals", "<Tab>", "y", "<Tab>", "H-40417", "<Tab>", "2026-09-14", "<Return>",
        lambda: evidence() == 1,
    )  # fmt: skip
    took += shop.type(
        "<Alt+T>", "Leak test", *["<Tab>"] * 9, "12 psi MIN", "<Tab>", "14 psi", "<Return>", lambda: evidence() == 2
    )
    material, test = desk.at_hand.sheet.evidence.values()
    assert (material.certificate, material.approved) == ("H-40417", Approval.YES)
    assert (test.measurement.required, test.measurement.written) == ("12 psi MIN", "14 psi")
    assert "Everything here is written." in shop.seen(desk.record)
    took += shop.type(
        "<Ctrl+H>", "<Tab>", "55310", "<Tab>", "<Tab>", "SC-7", "<Tab>", "<Tab>", "RT-88 B", "<Tab>", "<Tab>",
        "<Tab>", "d", "<Tab>", "<Tab>", on_a_reason, "<Space>", "<Ctrl+S>",
        lambda: desk.at_hand.sheet.head.order == "55310",
    )  # fmt: skip
    head = desk.at_hand.sheet.head
    assert (head.customer, head.supplier_code, head.process) == ("Lantern Hill Optical", "SC-7", "RT-88 B")
    assert (head.detail, head.cause) == ("detail", next(iter(causes())))
    shop.picture("record")
    return took


def name_what_is_out(shop: Any) -> int:
    """Row 17 is out: it gets the shop's number before anything goes to the customer, who is to decide on it."""
    bench, desk = shop.room("bench"), shop.room("desk")
    (out,) = (lack for lack in desk.at_hand.lacks if "no nonconformance names it" in lack.text)
    assert (out.row, out.stops) == ("17", True)
    return int(
        shop.type(
            "<Ctrl+1>", bench.isVisible, "<Alt+O>", shop.asked, "NC-31", "<Tab>", "bore over by .0002", "<Return>",
            lambda: bool(bench.seen.sheet.nonconformances),
        )
    )  # fmt: skip


def sign(shop: Any) -> int:
    """Tight rows ask for a check after the work: the bench offers them one after the other, then the passphrase."""
    bench, ledger = shop.room("bench"), shop.room("ledger")
    took = 0
    assert len(closing_checks_missing(bench.seen.shop, bench.seen.sheet)) == 2, "pilot and bearing seat"
    with shop.in_dialogs():
        took += shop.type("<Ctrl+G>", shop.asked, "<Return>", shop.at_check) + shop.checks("", shop.at_check)
    took += shop.checks("", shop.asked, PASSPHRASE, "<Return>", lambda: bench.seen.sheet.sealed)
    there = lambda: ledger.isVisible() and ledger.line() is not None and ledger.line().sealed  # noqa: E731
    return took + int(shop.type("<Ctrl+4>", there))


def preview(shop: Any) -> int:
    """The very pages; nothing stops them any more."""
    desk = shop.room("desk")
    took = shop.type("<Ctrl+D>", desk.isVisible, lambda: desk.at_hand.sheet.sealed, "<Alt+2>")
    shop.qtbot.waitUntil(lambda: not desk.previews.under_way() and desk.pages.isVisible(), timeout=10_000)
    assert shop.focus() is desk.pages
    assert "signed and sealed, round 1" in shop.seen(desk)
    assert not any(lack.stops for lack in desk.at_hand.lacks)
    shop.picture("pages")
    took += shop.type("<PageDown>")
    return took


def export(shop: Any) -> int:
    """Every form at once."""
    desk = shop.room("desk")
    took = shop.type(
        "<Ctrl+Shift+E>", shop.asked, "<Return>", lambda: len(desk.at_hand.sheet.sent) == 5,
    )  # fmt: skip
    took += shop.type("<Alt+6>")
    shop.picture("sent")
    return took


def as_the_customer_asks(shop: Any) -> dict[str, int]:
    """The customer's own blank form looked through, kept and filled; then everything as one package, in a few keys."""
    desk, file = shop.room("desk"), shop.folder / "b.xlsx"
    file.write_bytes(blank_form())
    face = desk.form
    filled = lambda: face.seen is not None and not face.under_way()  # noqa: E731
    first = shop.type("<Alt+7>", face.isVisible, "<Ctrl+B>", shop.asked, str(file), "<Return>", filled)
    first += shop.type("<Ctrl+S>", shop.asked, "<Return>", face.kept, filled) - len(str(file))
    cells = {cell.text for row in face.workbook.model.grid.rows for cell in row}
    assert {"QH-220", "1.4962", "Quillfeather Machine"} <= cells
    shop.picture("form")
    first += shop.type("<Ctrl+E>", shop.asked, "<Return>", lambda: len(desk.at_hand.sheet.sent) == 6)
    again = shop.type("<Ctrl+Shift+P>", shop.asked, "<Return>", lambda: len(desk.at_hand.sheet.sent) == 7)
    return {"first": first, "again": again}


def blank_form() -> bytes:
    """A blank form of the customer's."""
    made = Workbook()
    sheet = made.active
    sheet.append(["Part No.:", None, "Supplier:", None])
    sheet.append([])
    sheet.append(["Item", "Requirement", "Actual", "Gage ID"])
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def next_piece(shop: Any) -> int:
    """The next piece of the part, and what the first one came to."""
    ledger, bench = shop.room("ledger"), shop.room("bench")
    before = shop.sitting.house.at_hand
    took = shop.type("<Ctrl+4>", lambda: ledger.isVisible() and ledger.line() is not None)
    took += shop.type("<Ctrl+N>", shop.asked, "002", "<Return>")
    shop.qtbot.waitUntil(lambda: bench.isVisible() and shop.sitting.house.at_hand != before)
    assert [piece.serial for piece in bench.seen.sheet.pieces] == ["002"]
    began = bench.flow.at
    took += shop.type("e", lambda: bench.flow.at.row != began.row)
    second = bench.flow.at
    took += shop.type("e", lambda: bench.flow.at.row != second.row)
    assert bench.seen.row(bench.flow.at.row).number == "2"
    came_to = [(ANY, "001", "1.4998", "M-02")]  # shown a moment later: the book is asked
    shop.qtbot.waitUntil(lambda: [line[:4] for line in bench.card.why.earlier.shown().lines] == came_to)
    assert bench.card.why.earlier.isVisible()
    shop.picture("next")
    return took


def check_from_outside(shop: Any) -> None:
    """The book, the files and their digests, looked at without the window."""
    assert verify_book(shop.book).whole
    (form,) = shop.folder.glob("QH-220_A_001_b.xlsx")
    assert load_workbook(form).active["B1"].value == "QH-220"
    assert verify_file(form, shop.book).whole
    sent = {"".join(path.suffixes): path for path in shop.folder.glob("QH-220_A_001.*")}
    package = sent.pop(".zip")
    assert verify_file(package).whole
    assert set(sent) == {".signed.pdf", ".pdf", ".xlsx", ".csv", ".json"}
    with sqlite3.connect(shop.book) as connection:
        kept = b"\n".join(content for (content,) in connection.execute("SELECT content FROM journal"))
    connection.close()
    for path in sent.values():
        assert hashlib.sha256(path.read_bytes()).hexdigest().encode() in kept
        assert verify_file(path, shop.book).whole
    told = {str(cell.value) for page in load_workbook(sent[".xlsx"]) for row in page.iter_rows() for cell in row}
    for said in ("QH-220", "Guide hub", "Quillfeather Machine", "H-40417", "14 psi", "1.4962"):
        assert any(said in text for text in told), said
    assert "1.4962" in sent[".csv"].read_text(encoding="utf-8-sig")
    read_pages(sent[".pdf"])


def read_pages(pdf: Path) -> None:
    """Another reader finds on the pages what was typed."""
    if shutil.which("pdftotext") is None:
        pytest.skip("poppler is not installed: the pages are not read by another reader")
    said = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    for text in (
        "QH-220",
        "Guide hub",
        "Lantern Hill Optical",
        "Mira Oduya",
        "1.4962",
        "H-40417",
        "Leak test",
        "55310",
    ):
        assert text in said
