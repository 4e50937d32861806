"""Sheets marked for review by command line, what that does to them, and the trace as a letter and as a list."""

from __future__ import annotations

import io
import json
import subprocess
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from app.command.main import run
from app.command.outcome import Exit
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.sheet.reporting import report
from inspection.words.say import say as said_of
from storage.book.clock import Moment
from storage.book.door import Book
from storage.book.queries.found_sheets import Marked, Wanted, found_sheets
from storage.book.queries.sheet_journal import sheet_journal
from storage.book.queries.sheets import list_sheets
from storage.book.verify import verify_book
from tests.benchmarks.bulk_book import CUSTOMERS, BulkBook, make_bulk_book

LATER = Moment(1_900_000_000_000_000, "2030-03-17")
TRACE = ("trace", "M-01", "--error=.0040", "--since", "2019-01-01")


@pytest.fixture(scope="module")
def bulk(tmp_path_factory: pytest.TempPathFactory) -> BulkBook:
    return make_bulk_book(tmp_path_factory.mktemp("marks") / "shop.tenthwright", 24, 4, 5)


def say(*argv: str, book: Path) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = run([*argv, "--book", str(book)], clock=lambda: LATER, environ={}, out=out, err=err)
    assert "Traceback" not in out.getvalue() + err.getvalue()
    return code, out.getvalue(), err.getvalue()


def told(*argv: str, book: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(say(*argv, "--json", book=book)[1])
    return found


def test_a_trace_marks_each_sheet_once_and_a_lead_answers(bulk: BulkBook) -> None:
    before = told(*TRACE, book=bulk.path)
    with Book.open(bulk.path, clock=lambda: LATER) as book:
        book.do(acts.EnterPerson(person=Person("", "Ivo Inspects", (Duty.INSPECTOR,))), person=bulk.person)
        verdicts = {name: book.sheet(name).judgements for name in before["to_be_seen"]}
        people = book.shop().people
        lead = people[bulk.person].name
    code, out, err = say(*TRACE, "--mark", "found out", "--as", "Ivo Inspects", book=bulk.path)
    assert (code, out) == (Exit.REFUSED, "") and "lead" in err
    code, out, _ = say(*TRACE, "--mark", "found out at its calibration", "--as", lead, book=bulk.path)
    n = len(before["to_be_seen"])
    assert code == Exit.NOT_CONFORMING and f"{n} sheets were marked for review." in out and "Nothing was" not in out
    again = say(*TRACE, "--mark", "found out at its calibration", "--as", lead, book=bulk.path)[1]
    assert f"{n} sheets are marked for this already." in again and "were marked" not in again
    code, listed, _ = say("marks", book=bulk.path)
    assert code == Exit.NOT_CONFORMING and listed.count("found out at its") == n
    sheet = before["to_be_seen"][0]
    with Book.open(bulk.path, clock=lambda: LATER) as book:
        assert {name: book.sheet(name).judgements for name in verdicts} == verdicts, "no verdict changes"
        marked = book.sheet(sheet)
        (mark,) = marked.marks.values()
        seen = [each for each in before["readings"] if each["sheet"] == sheet]
        grave = [each for each in seen if each["outcome"] != "stays inside" and each["outcome"] != "stays outside"]
        assert len(mark.readings) == len(grave)
        assert {marked.readings[name].method.parts[0].identity for name in mark.readings} == {mark.instrument}
        waiting = book.ask(found_sheets, Wanted(marked=Marked.WAITING), limit=100)
        assert {one.listed.sheet for one in waiting} == set(verdicts)
        assert {one.sheet: one.marks for one in book.ask(list_sheets, limit=100) if one.marks} == dict.fromkeys(
            verdicts, 1
        )
        printed = report(marked, book.shop()).totals
        assert any("M-01 was found to read 0.004 in large" in line for line in printed)
        assert "This mark waits for an answer." in printed
        lines = [said_of(each) for line in book.ask(sheet_journal, book.shop(), marked, limit=3) for each in line.said]
        assert any("found out at its calibration" in line for line in lines)
    assert sheet[:8] in say("find", "marked:waiting", book=bulk.path)[1]
    code, _, err = say("answer-mark", " ", "--sheet", sheet, "--as", lead, book=bulk.path)
    assert code == Exit.REFUSED and "answered with words" in err
    code, _, err = say("answer-mark", "seen", "--mark", "7", "--sheet", sheet, "--as", lead, book=bulk.path)
    assert code == Exit.REFUSED and "It has: 1" in err
    words = "read again with M-02: inside"
    assert say("answer-mark", words, "--sheet", sheet, "--as", lead, book=bulk.path)[0] == Exit.DONE
    code, out, _ = say("marks", "--sheet", sheet, book=bulk.path)
    assert code == Exit.DONE and words in out
    with Book.open(bulk.path) as book:
        waiting = book.ask(found_sheets, Wanted(marked=Marked.WAITING), limit=100)
        answered = book.ask(found_sheets, Wanted(marked=Marked.ANSWERED), limit=100)
        assert sheet not in {one.listed.sheet for one in waiting} and [one.listed.sheet for one in answered] == [sheet]
        assert [each.words for each in book.sheet(sheet).point_answers.values()] == [words]
    assert verify_book(bulk.path).whole


def test_a_letter_to_one_customer_names_nothing_of_others(bulk: BulkBook, tmp_path: Path) -> None:
    """The text of the printed pages is read by another tool (pdftotext), the workbook by openpyxl; numbers are those of
    the table, each margin reckoned again in decimals."""
    letter, listed = tmp_path / "m-01.pdf", tmp_path / "m-01.xlsx"
    customer, *others = CUSTOMERS
    for path in (letter, listed):
        assert say(*TRACE, "--customer", customer.lower(), "--to", str(path), book=bulk.path)[0] == 1
    text = subprocess.run(["pdftotext", "-layout", letter, "-"], capture_output=True, text=True, check=True).stdout
    assert customer in text and not any(other in text for other in others)
    assert "M-01" in text and "signature" in text and "What this does not say" in text and "Not affected" in text
    sheet = load_workbook(listed).active
    rows = [row for row in sheet.iter_rows(values_only=True) if row[0] == customer]
    head = next(row for row in sheet.iter_rows(values_only=True) if row[0] == "customer")
    assert {row[0] for row in sheet.iter_rows(values_only=True)}.isdisjoint(others)
    grave = 0
    for row in rows:
        cells = dict(zip(head, row, strict=True))
        low, high = (Decimal(end) for end in cells["limits"].removesuffix(" in").split(" … "))
        true = Decimal(cells["read"].removesuffix(" in")) - Decimal(".0040")
        assert Decimal(str(cells["then"])) == min(true - low, high - true)
        grave += cells["what the error makes of it"] in ("was inside, is not", "was outside, is inside")
    assert text.count("was inside, is not") + text.count("was outside, is inside") >= grave > 0
    first = letter.read_bytes()
    assert say(*TRACE, "--customer", customer, "--to", str(letter), book=bulk.path)[0] == 1
    assert letter.read_bytes() == first, "the same letter, the same bytes"
    code, _, err = say(*TRACE, "--customer", "Nobody", "--to", str(letter), book=bulk.path)
    assert code == Exit.REFUSED and customer in err and letter.read_bytes() == first
    late = ("trace", "M-01", "--error=.001", "--since", "2099-01-01", "--customer", customer, "--to", str(letter))
    code, _, err = say(*late, book=bulk.path)
    assert code == Exit.REFUSED and err.startswith("Nothing of anybody was read with M-01")
    code, _, err = say(*TRACE, "--to", str(tmp_path / "m.doc"), book=bulk.path)
    assert code == Exit.REFUSED and ".xlsx" in err and not (tmp_path / "m.doc").exists()
