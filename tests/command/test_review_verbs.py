"""Reviews, nonconformances and statements by command line: what each line shows, what it refuses, how it leaves."""

from __future__ import annotations

import io
import itertools
import json
import shutil
import uuid
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.command.outcome import Exit
from app.command.review_verbs import short_keys
from inspection.reasons import Reason
from inspection.sheet.points_table import Point
from storage.book.clock import Moment

MINUTE = 60_000_000
MIRA, LEA, SECRET = "Mira Oduya", "Lea Lund", "four grey geese"
SHEET = "QF-12"
FEATURES = f"""\
# part,{SHEET}
# revision,A
# drawing revision,A
# customer,Rowan & Pike
# order,PO-5521
# detail or assembly,detail
# cause,new part
# serials,"A1, A2"
number,kind,requirement,places
1,outside diameter,⌀.7500 ±.0005,
2,length,3.250 ±.005,"left; right"
3,note,DEBURR ALL EDGES,
"""
CELLS = ("1", "2,left", "2,right", "3")


class Bench:
    """A book asked by command lines, a minute between two looks at the clock; who acts has the one passphrase."""

    def __init__(self, folder: Path, first: int = 0) -> None:
        self.folder, self.book = folder, folder / "shop.tenthwright"
        self.minutes, self.numbers = itertools.count(30_000_000 + first), itertools.count(1 + first)
        self.secret = SECRET

    def say(self, *argv: str, by: str = "") -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        code = run(
            [*argv, *(("--as", by) if by else ()), "--book", str(self.book)],
            clock=lambda: Moment(next(self.minutes) * MINUTE, "2027-01-15"),
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={"TENTHWRIGHT_PASSPHRASE": self.secret},
            out=out,
            err=err,
        )
        assert "Traceback" not in out.getvalue() + err.getvalue()
        return code, out.getvalue(), err.getvalue()

    def does(self, *argv: str, by: str = LEA) -> str:
        code, out, err = self.say(*argv, by=by)
        assert code == Exit.DONE, err
        assert not err or argv[0] == "approve", err  # it says beside what stops the sheet from going
        assert "[" not in out + err
        return out

    def told(self, *argv: str, by: str = "") -> dict[str, Any]:
        code, out, _ = self.say(*argv, "--json", by=by)
        assert code in (Exit.DONE, Exit.NOT_CONFORMING)
        found: dict[str, Any] = json.loads(out)
        return found

    def refused(self, *argv: str, by: str = LEA) -> str:
        before = self.book.read_bytes()
        code, out, err = self.say(*argv, by=by)
        assert (code, out) == (Exit.REFUSED, ""), out + err
        assert self.book.read_bytes() == before
        assert "[" not in err and "{" not in err
        return err

    def file(self, name: str, text: str) -> str:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return str(path)

    def read(self, *rows: str) -> None:
        self.does("read", self.file("r.csv", "\n".join(["serial,number,place,reading", *rows, ""])), by=MIRA)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Two books: one measured and open, one signed besides; the first diameter of A2 is over."""
    bench = Bench(tmp_path_factory.mktemp("made"))
    bench.does("new", "--shop", "Quillfeather", "--person", MIRA, "--starter-crib", by="")
    bench.does("rules", "--set", "check life=none", "closing check under=none", by="")
    bench.does("person", LEA, "--enter", "--duty", "lead", by=MIRA)
    bench.does("take-in", bench.file("f.csv", FEATURES), by=MIRA)
    for serial, diameter in (("A1", ".7500"), ("A2", ".7508")):
        bench.read(f"{serial},1,,{diameter}", f"{serial},2,left,3.250", f"{serial},2,right,3.251")
        bench.read(f"{serial},3,,as required")
    open_ = Path(shutil.copy(bench.book, bench.folder / "open"))
    bench.does("sign", by=MIRA)
    return {"open": open_, "signed": bench.book}


@pytest.fixture(autouse=True)
def data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def copied(made: dict[str, Path], name: str, folder: Path) -> Bench:
    bench = Bench(folder, 1_000)
    shutil.copy(made[name], bench.book)
    return bench


@pytest.fixture
def bench(made: dict[str, Path], tmp_path: Path) -> Bench:
    """The signed book."""
    return copied(made, "signed", tmp_path)


@pytest.fixture
def under_way(made: dict[str, Path], tmp_path: Path) -> Bench:
    """The open book."""
    return copied(made, "open", tmp_path)


# --- the list ---------------------------------------------------------------------------------------------------------


def test_an_open_sheet_has_a_list_already_and_nothing_to_approve(under_way: Bench) -> None:
    before = under_way.book.read_bytes()
    code, out, _ = under_way.say("review", "--sheet", SHEET)
    assert code == Exit.NOT_CONFORMING
    assert f"{SHEET} revision A, A1, A2\nnot signed\n" in out and "In the way of approval" not in out
    assert under_way.book.read_bytes() == before
    assert "not signed yet" in under_way.refused("answer", "--sheet", SHEET, "not_conforming", "it is so")


def test_a_point_is_answered_by_as_much_of_its_key_as_tells_it_apart(bench: Bench) -> None:
    points = bench.told("review", "--sheet", SHEET)["points"]
    over = next(point for point in points if point["code"] == "not_conforming")
    assert over["must_answer"]
    assert "is answered" in bench.does("answer", "--sheet", SHEET, over["point"][:-20].upper(), "goes to the customer")
    (answered,) = (point for point in bench.told("review", "--sheet", SHEET)["points"] if point["answer"])
    assert (answered["point"], answered["answer"]["words"]) == (over["point"], "goes to the customer")
    assert "“goes to the customer”" in bench.say("review", "--sheet", SHEET)[1]
    codes = [point["code"] for point in points]
    twice = next(code for code in codes if codes.count(code) > 1)
    assert "Type more of the one that is meant" in bench.refused("answer", "--sheet", SHEET, twice, "both")
    assert "no point nonsense" in bench.refused("answer", "--sheet", SHEET, "nonsense", "none")
    assert "needs words" in bench.refused("answer", "--sheet", SHEET, over["point"], " ")


def test_keys_are_shown_as_short_as_tells_them_apart() -> None:
    def point(about: str) -> Point:
        return Point("open", Reason("points.open", {"rows": "1", "n": 1}), about=about)

    several = [point(str(n)) for n in range(600)]
    names = short_keys(several)
    assert len(set(names.values())) == 600
    assert all(each.key.startswith(names[each.key]) for each in several)
    assert min(map(len, names.values())) == len("open:") + 4 < max(map(len, names.values()))


# --- read again -------------------------------------------------------------------------------------------------------


def test_what_is_read_again_is_compared_and_counts_for_nothing(bench: Bench) -> None:
    before = bench.told("verdicts")["lines"]
    code, out, _ = bench.say("again", "--sheet", SHEET, "1", ".7508", "--piece", "A2", by=LEA)
    assert code == Exit.DONE and "agree within their uncertainties" in out
    assert ".7508" not in bench.refused("again", "--sheet", SHEET, "1", ".75x", "--piece", "A2"), (
        "nor is told what was read"
    )
    told = bench.told("again", "--sheet", SHEET, "1", ".7500", "--piece", "A2", by=LEA)
    assert (told["compared"], told["reading"]["written"]) == ("again_outside", ".7500")
    code, out, _ = bench.say("again", "--sheet", SHEET, "3", "not as required", "--piece", "A1", by=LEA)
    assert (code, "tried again" in out) == (Exit.NOT_CONFORMING, True)
    assert bench.told("verdicts")["lines"] == before


def test_which_of_several_places_is_said(bench: Bench) -> None:
    said = bench.refused("again", "--sheet", SHEET, "2", "3.250", "--piece", "A1")
    assert "left value, right value" in said and "--place" in said
    assert "read in several ways" in bench.refused(
        "again", "--sheet", SHEET, "2", "3.250", "--piece", "A1", "--place", "top"
    )
    told = bench.told("again", "--sheet", SHEET, "2", "3.250", "--piece", "A1", "--place", "RIGHT", by=LEA)
    assert (told["compared"], told["reading"]["slot"]["place"]) == ("again", "right")


def test_another_instrument_may_read_it_again(bench: Bench) -> None:
    told = bench.told("again", "--sheet", SHEET, "1", "19.070", "--piece", "A2", "--with", "M-11", by=LEA)
    assert (told["reading"]["unit"], told["compared"]) == ("mm", "again")
    assert "cannot answer 1" in bench.refused("again", "--sheet", SHEET, "1", ".75", "--piece", "A2", "--with", "X-99")
    assert "--piece" in bench.refused("again", "--sheet", SHEET, "1", ".75")
    assert "no row 9" in bench.refused("again", "--sheet", SHEET, "9", ".75", "--piece", "A2")


# --- returned ---------------------------------------------------------------------------------------------------------


def test_a_sheet_is_returned_with_words_to_rows_and_pieces(bench: Bench) -> None:
    assert "at least one row" in bench.refused("return", "--sheet", SHEET)
    assert "no piece B9" in bench.refused("return", "--sheet", SHEET, "--cell", "1", "B9", "read it")
    line = ("--row", "2", "read it warm", "--cell", "1", "A2", "read it at both ends")
    told = bench.told("return", "--sheet", SHEET, *line, by=LEA)
    assert told["round"] == 2
    assert [row["words"] for row in told["returned"]["rows"]] == ["read it warm", "read it at both ends"]
    assert "2: read it warm" in bench.say("review", "--sheet", SHEET)[1]
    assert "not signed" in bench.does("list", by="")


# --- nonconformances --------------------------------------------------------------------------------------------------


def test_rework_asks_for_the_row_and_what_it_affects_anew(under_way: Bench) -> None:
    assert "has no nonconformance" in under_way.refused(
        "dispose", "--sheet", SHEET, "NC-1", "rework", "--words", "turn it"
    )
    assert "no nonconformances" not in under_way.does("nonconformances", by="")
    assert "needs the shop's number" in under_way.refused(
        "nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--what", "x"
    )
    under_way.does("nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--no", "NC-1", "--what", "over", by=MIRA)
    assert "It has: NC-1." in under_way.refused("dispose", "--sheet", SHEET, "NC-2", "rework", "--words", "turn it")
    out = under_way.does("dispose", "--sheet", SHEET, "nc-1", "rework", "--words", "turn it", "--affects", "2")
    assert "NC-1: rework." in out and "“reworked 1”. To be read again: 1, 2." in out
    waits = {line["number"]: line["state"] for line in under_way.told("verdicts")["lines"]}
    assert (waits["1"], waits["2"], waits["3"]) == ("open", "open", "conforming")
    (held,) = under_way.told("verdicts")["standing"]["nonconformances"]
    assert (held["disposition"], held["affected"], held["rows"]) == ("rework", ["2"], ["1"])


def test_a_scrapped_piece_leaves_the_sheet(under_way: Bench) -> None:
    under_way.does("nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--no", "NC-1", "--what", "over")
    assert under_way.told("nonconformances")["waiting"] == 1
    assert "Piece A2 has left the sheet" in under_way.does(
        "dispose", "--sheet", SHEET, "NC-1", "scrap", "--words", "too small"
    )
    assert under_way.told("nonconformances", "scrap")["nonconformances"][0]["number"] == "NC-1"
    assert under_way.told("nonconformances")["waiting"] == 0


def test_a_leave_without_its_day_is_told_so(bench: Bench) -> None:
    bench.does("nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--no", "NC-1", "--what", "over")
    use = (
        "dispose",
        "--sheet",
        SHEET,
        "NC-1",
        "use-as-is",
        "--words",
        "it fits",
        "--document",
        "CR-1",
        "--scope",
        "all",
    )
    assert "is no day" in bench.refused(*use, "--day", "yesterday")
    assert "is no day" in bench.refused(*use)


@pytest.mark.parametrize(
    "line", [("dispose", "--sheet", SHEET, "NC-1", "melt"), ("state", "--sheet", SHEET, "maybe"), ("answer",)]
)
def test_what_is_not_understood(bench: Bench, line: tuple[str, ...]) -> None:
    code, _, err = bench.say(*line)
    assert (code, "usage: tenthwright" in err) == (Exit.USAGE, True)


# --- statements -------------------------------------------------------------------------------------------------------


def test_a_statement_waits_after_wrong_passphrases_like_a_signature(bench: Bench) -> None:
    bench.does("nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--no", "NC-1", "--what", "over")
    leave = ("--document", "CR-1", "--scope", "all", "--day", "2027-01-14")
    bench.does("dispose", "--sheet", SHEET, "NC-1", "use-as-is", "--words", "it fits", *leave)
    bench.secret = "not this one"
    for _ in range(8):
        said = bench.refused("approve", "--sheet", SHEET)
    assert "not the passphrase" in said and "The next try is in 60 seconds." in said
    bench.secret = SECRET
    bench.minutes = itertools.count(30_000_500)
    assert "Too many wrong passphrases" in bench.refused("approve", "--sheet", SHEET), "a clock set back does not help"
    code, out, _ = bench.say("approve", "--sheet", SHEET, "--words", "seen at the bench", by=LEA)
    assert code == Exit.DONE, out
    (made,) = bench.told("verdicts")["standing"]["statements"]
    assert (made["person"], made["words"]) == (LEA, "seen at the bench")


def test_an_own_sheet_is_approved_where_the_shop_s_rules_allow_it_and_says_so(under_way: Bench) -> None:
    under_way.does("nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--no", "NC-1", "--what", "over")
    under_way.does("dispose", "--sheet", SHEET, "NC-1", "scrap", "--words", "too small")
    under_way.does("sign", by=MIRA)
    assert "nobody approve an own sheet" in under_way.refused("approve", "--sheet", SHEET, by=MIRA)
    assert "In the way of approval:" in under_way.say("review", "--sheet", SHEET, by=MIRA)[1]
    assert "Nothing stands in the way" in under_way.say("review", "--sheet", SHEET, by=LEA)[1]


def test_of_complete_and_not_complete_everything_that_shows_both_says_which_one_holds(under_way: Bench) -> None:
    under_way.does("nonconformance", "--sheet", SHEET, "1", "--piece", "A2", "--no", "NC-1", "--what", "over")
    under_way.does("dispose", "--sheet", SHEET, "NC-1", "scrap", "--words", "too small")
    under_way.does("sign", by=MIRA)
    under_way.does("approve", "--sheet", SHEET)
    under_way.does("state", "--sheet", SHEET, "complete")
    before, after = (str(under_way.folder / name) for name in ("before.zip", "after.zip"))
    under_way.does("package", before)
    code, _, err = under_way.say(
        "state", "--sheet", SHEET, "not-complete", "--words", "row 2 was read at one end", by=LEA
    )
    assert code == Exit.DONE
    assert err == "“first article complete” was stated before; from now on this statement holds in its place.\n"
    under_way.does("package", after)

    gone = "(holds no longer)"
    told = [line for line in under_way.say("verdicts")[1].splitlines() if "first article" in line]
    assert [gone in line for line in told] == [True, False]
    held = {one["kind"]: one["holds"] for one in under_way.told("verdicts")["standing"]["statements"]}
    assert held == {"sheet approved": True, "first article complete": False, "first article not complete": True}
    whole = [line for line in under_way.does("verify", by="").splitlines() if "first article" in line]
    assert ["stands in its place" in line for line in whole] == [True, False]
    alone = [line for line in under_way.does("verify", after, by="").splitlines() if "first article" in line]
    assert ["stands in its place" in line for line in alone] == ["first article complete" in line for line in alone]
    assert len(alone) == 4, "by the book, and by what is in the package"
    stale = under_way.does("verify", before, by="")
    assert "before.zip is the package before.zip of QF-12 (A1, A2), as " in stale
    assert "After this file was made, “first article not complete” was stated of QF-12." in stale
