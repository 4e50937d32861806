"""Looking back by command line: sheets found, a part in time with capability, reverse trace, a gauge study's table."""

from __future__ import annotations

import io
import json
import statistics
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.command.outcome import Exit
from inspection.sheet import acts
from storage.book.clock import Moment
from storage.book.door import Book
from tests.benchmarks.bulk_book import BulkBook, make_bulk_book

SHEETS, PARTS, ROWS = 120, 4, 5
LATER = Moment(1_900_000_000_000_000, "2030-03-17")


@pytest.fixture(scope="module")
def bulk(tmp_path_factory: pytest.TempPathFactory) -> BulkBook:
    """Thirty days of a shop with four parts; sixty pieces of each."""
    return make_bulk_book(tmp_path_factory.mktemp("bulk") / "shop.tenthwright", SHEETS, PARTS, ROWS)


def say(*argv: str, book: Path | None = None) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    where = ["--book", str(book)] if book is not None else []
    code = run([*argv, *where], clock=lambda: LATER, environ={}, out=out, err=err)
    assert "Traceback" not in out.getvalue() + err.getvalue()
    return code, out.getvalue(), err.getvalue()


def told(*argv: str, book: Path | None = None, exit: Exit = Exit.DONE) -> dict[str, Any]:
    code, out, err = say(*argv, "--json", book=book)
    assert (code, err) == (exit, "")
    found: dict[str, Any] = json.loads(out)
    return found


# --- sheets found -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("argv", "n"),
    [
        ((), SHEETS),
        (("--part", "tw-0002"), SHEETS // PARTS),
        (("--part", "TW-0002", "--since", "2019-01-10", "--until", "2019-01-12"), 3),
        (("--lot", "L-001-00003"), 1),
        (("--heat", "L-001-00003"), 1),
        (("--serial", "S-000-00007-2", "--with", "M-01"), 1),
        (("--customer", "lantern", "--order", "-00002"), 1),
        (("--by", "mira oduya", "--revision", "B"), 0),
        (("--nonconformance", "NC"), 0),
        (("--verdict", "conforming"), SHEETS),
        (("m-02", "PO-003-00001"), 1),
    ],
)
def test_sheets_are_found_by_what_is_named(bulk: BulkBook, argv: tuple[str, ...], n: int) -> None:
    found = told("find", *argv, book=bulk.path)
    assert len(found["sheets"]) == n
    assert say("find", *argv, book=bulk.path)[1].count("\n") == (n + 2 if n else 1)


def test_a_field_that_there_is_none_of_is_told_where_nothing_is_found(bulk: BulkBook) -> None:
    said = say("find", "heats:4711", book=bulk.path)[1]
    assert "“heats” is no field" in said
    assert "heat:" in said


def test_the_sheets_that_a_part_s_number_may_mean_are_named(bulk: BulkBook) -> None:
    code, _, err = say("missing", "--sheet", "TW-0001", book=bulk.path)
    sheets = told("find", "--part", "TW-0001", book=bulk.path)["sheets"]
    assert code == Exit.REFUSED
    assert f"any of {len(sheets)} sheets" in err
    assert sheets[0]["sheet"][:8] in err


@pytest.mark.parametrize(
    ("argv", "said"),
    [
        (("find", "--since", "3.4."), "--since: “3.4.” is no day. Write it as 2026-03-02."),
        (("find", "--with", "M-99"), "M-99"),
        (("history", "TW-000"), "No part has the number “TW-000”. Its like: TW-0003, TW-0002, TW-0001, TW-0000."),
        (("history", "HB-7"), "tenthwright list parts"),
        (("history", "TW-0001", "77"), "77"),
        (("trace", "M-01", "--error", "much"), "--error, character 1"),
        (("trace", "M-01", "--error", ".0001", "--at", "-1"), "--at, character 1"),
    ],
)
def test_what_is_not_there_is_refused_with_its_like(bulk: BulkBook, argv: tuple[str, ...], said: str) -> None:
    code, out, err = say(*argv, book=bulk.path)
    assert (code, out) == (Exit.REFUSED, "")
    assert said in err


# --- a part in time -----------------------------------------------------------------------------------------------


def test_a_row_s_capability_is_that_of_the_values_listed(bulk: BulkBook) -> None:
    """Against the standard library's statistics on the listed results; d₂ of two is 1.128 (NIST/SEMATECH e-Handbook
    6.3.2.2), and NIST 6.1.6 for the indices."""
    found = told("history", "TW-0001", "3", book=bulk.path)
    values = [float(each["result"]) for each in found["listed"]]
    assert len(values) == found["n"] == 2 * SHEETS // PARTS
    low, high = (float(each) for each in found["limits"].removesuffix(" in").split(" … "))
    mean, s = statistics.mean(values), statistics.stdev(values)
    within = statistics.mean(abs(a - b) for a, b in pairwise(values)) / 1.128
    assert float(found["mean"]) == pytest.approx(mean, abs=6e-6)
    assert float(found["deviation"]) == pytest.approx(s, rel=5e-3)
    for letter, sigma in (("c", within), ("p", s)):
        room, least = (high - low) / (6 * sigma), min(high - mean, mean - low) / (3 * sigma)
        for name, value in ((f"{letter}p", room), (f"{letter}pk", least)):
            index = {end: float(text) for end, text in found["indices"][name].items()}
            assert value - 0.011 < index["value"] <= value + 0.001, "rounded down"
            assert index["low"] < index["value"] < index["high"]
    text = say("history", "TW-0001", "3", book=bulk.path)[1]
    assert f"Cpk, scatter within   {found['indices']['cpk']['value']} (" in text
    assert all(each["text"] in text for each in found["findings"])


def test_a_part_s_rows_come_worst_first(bulk: BulkBook) -> None:
    found = told("history", "TW-0001", book=bulk.path)
    outs = [each["out"] > 0 for each in found["rows"]]
    assert len(outs) == ROWS
    assert outs == sorted(outs, reverse=True)
    assert all(set(each["indices"]) == {"cp", "cpk", "pp", "ppk"} for each in found["rows"])


def test_few_values_have_no_index(tmp_path: Path) -> None:
    small = make_bulk_book(tmp_path / "small.tenthwright", 2 * PARTS, PARTS, ROWS)
    few = told("history", "TW-0001", "3", book=small.path)
    assert (few["n"], few["indices"], few["lack"]) == (4, {}, "too_few")
    code, out, _ = say("history", "TW-0001", "3", book=small.path)
    assert code == Exit.DONE
    assert "Too few for an index of capability: 4 values of 25 at the least." in out
    assert "too few" in say("history", "TW-0001", book=small.path)[1]


# --- reverse trace ------------------------------------------------------------------------------------------------


def test_a_found_error_is_held_against_every_reading_by_hand(bulk: BulkBook) -> None:
    """Each listed margin, before and after, reckoned again in decimals from what was read and the limits."""
    found = told("trace", "M-01", "--error=.0040", "--since", "2019-01-01", book=bulk.path, exit=Exit.NOT_CONFORMING)
    outcomes = set()
    for each in found["readings"]:
        read = Decimal(each["read"].removesuffix(" in"))
        low, high = (Decimal(end) for end in each["limits"].removesuffix(" in").split(" … "))
        true = read - Decimal(".0040")
        before, after = min(read - low, high - read), min(true - low, high - true)
        assert (Decimal(each["margin"]), Decimal(each["then"])) == (before, after)
        assert (each["outcome"] == "was inside, is not") is (before >= 0 > after)
        outcomes.add(each["outcome"])
    assert {"was inside, is not", "stays inside"} <= outcomes
    with Book.open(bulk.path, station="later") as book:
        assert set(found["to_be_seen"]) == {
            each["sheet"] for each in found["readings"] if not each["outcome"].startswith("stays")
        } | {each["sheet"] for each in found["readings"] if "near" in each["outcome"]}
        assert all(book.sheet(name) for name in found["to_be_seen"])
    code, out, _ = say("trace", "M-01", "--error", "-.0040", "--since", "2019-01-01", book=bulk.path)
    assert code == Exit.NOT_CONFORMING
    assert "was found to read 0.004 in small." in out
    assert "−0.00" in out and " -0.00" not in out, "a margin under 0 has a true minus for people"
    assert "Nothing was changed." in out


def test_it_is_traced_from_the_last_good_check_on(bulk: BulkBook) -> None:
    """Every day begins with a check: only the last day's readings are in question, and none before a later day."""
    found = told("trace", "M-01", "--error", ".0001", book=bulk.path)
    assert "last known to be good at its check of" in found["why"]
    days = {each["taken"][:10] for each in found["readings"]}
    assert days == {bulk.last.isoformat()}
    none = told("trace", "M-01", "--error", ".0001", "--since", "2020-01-01", book=bulk.path)
    assert none["readings"] == []
    assert (
        "Nothing was read with it since."
        in say("trace", "M-01", "--error", ".0001", "--since", "2020-01-01", book=bulk.path)[1]
    )


def test_a_certificate_that_tells_of_the_error_is_not_the_last_good_one(tmp_path: Path) -> None:
    """Good in 2018, found out in 2031 by its own certificate: looked at since the first, which came later than no
    check of that size."""
    from msgspec.structs import replace

    from inspection.instruments.record import CertifiedPoint

    bulk = make_bulk_book(tmp_path / "shop.tenthwright", PARTS, PARTS, ROWS)
    with Book.open(bulk.path, clock=lambda: LATER) as book:
        held = book.shop().crib[bulk.instruments["M-01"]]
        use, most = held.permissible[0].use, held.permissible[0].error
        good = replace(held, certified="2029-05-02", certificate="K-17", points=())
        book.do(acts.IssueInstruments(instruments=(good,)), person=bulk.person)
        bad = CertifiedPoint(use, held.high // 2, 3 * most, most)
        issued = book.shop().crib[held.identity]
        found_out = replace(issued, certified="2030-03-01", certificate="K-18", points=(bad,))
        book.do(acts.IssueInstruments(instruments=(found_out,)), person=bulk.person)
    found = told("trace", "M-01", "--error", ".0003", book=bulk.path)
    assert "certificate K-17 of 2029-05-02" in found["why"]


# --- a gauge study ------------------------------------------------------------------------------------------------


def test_the_published_gauge_study_from_a_file(tmp_path: Path) -> None:
    """The study of tests/reference/studies_data.csv, written one reading a row; its published results beside."""
    import csv

    reference = Path(__file__).parents[1] / "reference"
    file, published = tmp_path / "study.csv", {}
    with (reference / "studies_data.csv").open(encoding="utf-8", newline="") as data, file.open("w") as out:
        out.write("Appraiser,Part,Trial,Value\n")
        for row in csv.DictReader(data):
            if row["dataset"] == "gauge study 10x3x3":
                _, person, _, trial = row["column"].split()
                out.write(f"{person},{row['row']},{trial},{row['value']}\n")
    with (reference / "studies_stats.csv").open(encoding="utf-8", newline="") as data:
        published = {row["quantity"]: row["value"] for row in csv.DictReader(data) if row["item"] == "10x3x3"}
    found = told("gauge-study", str(file), "--unit", "mm", "--band", "8")
    assert (len(found["people"]), len(found["parts"]), found["trials"]) == (3, 10, 3)
    rows = {way["way"]: {row["name"]: row for row in way["rows"]} for way in found["ways"]}
    for name, row in {
        "EV": "repeatability",
        "AV": "reproducibility",
        "GRR": "gauge",
        "PV": "parts",
        "TV": "total",
    }.items():
        ours = rows["ranges"][row]
        assert float(ours["deviation"]) == pytest.approx(float(published[name]), rel=5e-3)
        if name != "TV":
            assert float(ours["of_study"]) == pytest.approx(float(published[f"%{name}"]), abs=0.07)
        assert float(ours["of_band"]) == pytest.approx(600 * float(published[name]) / 8, rel=5e-3)
    assert {way["categories"] for way in found["ways"]} <= {4, 5}
    code, out, _ = say("gauge-study", str(file), "--unit", "mm")
    assert code == Exit.DONE
    assert "Gauge study: 3 people, 10 parts, 3 trials each." in out
    assert "of band" not in out


def test_every_fault_of_a_study_s_file_is_told_by_its_place(tmp_path: Path) -> None:
    file = tmp_path / "s.csv"
    file.write_text("person,part,trial,reading\nA,1,1,.5\nA,1,1,.5\nB,,1,.5\nB,1,2,half\n", encoding="utf-8")
    code, out, err = say("gauge-study", str(file))
    assert (code, out) == (Exit.REFUSED, "")
    assert "row 2 already" in err
    assert "Row 4" in err
    assert "half" in err
    file.write_text("person,part,reading\nA,1,.5\nA,1,.5\nB,1,.5\n", encoding="utf-8")
    assert "two parts at the least" in say("gauge-study", str(file))[2]
    assert say("gauge-study", str(file), "--unit", "stone")[0] == Exit.REFUSED
    assert say("gauge-study", str(file), "--band", "0")[0] == Exit.REFUSED
    assert say("gauge-study", str(tmp_path / "none.csv"))[0] == Exit.WORLD


# --- two sheets side by side --------------------------------------------------------------------------------------


def test_a_sheet_beside_the_one_before_it(bulk: BulkBook, tmp_path: Path) -> None:
    sheets = [each["sheet"] for each in told("find", "--part", "TW-0000", book=bulk.path)["sheets"]]
    file = tmp_path / "beside.csv"
    found = told("compare", "--sheet", sheets[0], "--to", str(file), book=bulk.path)
    assert (found["later"], found["earlier"]) == (sheets[0], sheets[1])
    assert len(found["rows"]) == ROWS
    assert len(file.read_text("utf-8-sig").splitlines()) == 1 + ROWS
    assert found["rows"] == told("compare", "--sheet", sheets[1], "--beside", sheets[0], book=bulk.path)["rows"]
    changed = told("compare", "--sheet", sheets[0], "--changed", book=bulk.path)["rows"]
    assert changed == [row for row in found["rows"] if row["changed"]]
    other = told("find", "--part", "TW-0001", book=bulk.path)["sheets"][0]["sheet"]
    code, _, err = say("compare", "--sheet", sheets[0], "--beside", other, book=bulk.path)
    assert code == Exit.REFUSED
    assert "different parts" in err


def test_history_tells_who_read_what_and_lists_go_to_files(bulk: BulkBook, tmp_path: Path) -> None:
    found = told("history", "TW-0000", "1", book=bulk.path)
    assert set(found["groups"]) == {"people", "instruments"}
    row, part, sheets = (tmp_path / name for name in ("row.xlsx", "part.pdf", "sheets.csv"))
    told("history", "TW-0000", "1", "--to", str(row), book=bulk.path)
    told("history", "TW-0000", "--to", str(part), book=bulk.path)
    told("find", "customer:Lantern Hill", "--to", str(sheets), book=bulk.path)
    assert row.read_bytes().startswith(b"PK")
    assert part.read_bytes().startswith(b"%PDF")
    assert len(sheets.read_text("utf-8-sig").splitlines()) == 1 + SHEETS // PARTS
    by_option = told("find", "--part", "TW-0000", "--with", "M-01", book=bulk.path)["sheets"]
    assert told("find", "part:TW-0000", "with:M-01", book=bulk.path)["sheets"] == by_option
    code, _, err = say("find", "with:X-9", book=bulk.path)
    assert code == Exit.REFUSED
    assert "no instrument" in err
