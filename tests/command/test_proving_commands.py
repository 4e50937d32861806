"""Checks, mishaps, studies, temperatures, rules and repeats by command line: what is shown, what goes on record, what
is refused and how the line leaves."""

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
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.clock import Moment
from storage.book.door import Book

FEATURES = """\
# part,QF-11
# revision,A
# serials,"A1, A2"
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
2,length,3.250 ±.005
3,note,DEBURR ALL EDGES
"""
MINUTE = 60_000_000
GOOD = ("--all-seen", "--zeros", ".0000 .0000 .0000", "--block", ".75", "--readings", ".7500 .7500 .7500")


class Bench:
    """A book asked by command lines; a minute passes with every entry, and time and identities begin after ``first``
    of them."""

    def __init__(self, folder: Path, first: int = 0) -> None:
        self.folder, self.book = folder, folder / "shop.tenthwright"
        self.minutes, self.numbers = itertools.count(30_000_000 + first), itertools.count(1 + first)

    def made(self) -> Bench:
        """With a sheet and two people."""
        assert self.say("new", "--shop", "Quillfeather", "--person", "Mira Oduya", "--starter-crib")[0] == Exit.DONE
        assert self.say("take-in", self.file("f.csv", FEATURES))[0] == Exit.DONE
        with Book.open(self.book) as book:
            mira = next(iter(book.shop().people))
            book.do(acts.EnterPerson(person=Person("", "Bo Tran")), person=mira)
        return self

    def file(self, name: str, text: str) -> str:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return str(path)

    def say(self, *argv: str) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        code = run(
            [*argv, "--book", str(self.book)],
            clock=lambda: Moment(next(self.minutes) * MINUTE, "2027-01-15"),
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={"TENTHWRIGHT_PASSPHRASE": "long enough"},
            out=out,
            err=err,
        )
        assert "Traceback" not in out.getvalue() + err.getvalue()
        assert "[" not in err.getvalue().replace("[-", "").replace("[--", "")
        return code, out.getvalue(), err.getvalue()

    def does(self, *argv: str, person: str = "Mira Oduya") -> tuple[int, str, str]:
        """A line by somebody; one that only shows a sheet has nobody."""
        return self.say(*argv, *(() if argv[0] in ("verdicts", "choose") else ("--as", person)))

    def told(self, *argv: str, person: str = "Mira Oduya") -> dict[str, Any]:
        code, out, err = self.does(*argv, "--json", person=person)
        assert (code in (Exit.DONE, Exit.NOT_CONFORMING), err) == (True, "")
        found: dict[str, Any] = json.loads(out)
        return found

    def refused(self, *argv: str) -> str:
        """What is said of a line that the rules refuse; nothing in the book has changed."""
        before = self.book.read_bytes()
        code, out, err = self.does(*argv)
        assert (code, out) == (Exit.REFUSED, "")
        assert self.book.read_bytes() == before
        return err

    def read(self, *rows: str, person: str = "Mira Oduya") -> str:
        text = "\n".join(["serial,number,reading", *rows, ""])
        code, out, err = self.does("read", self.file("r.csv", text), person=person)
        assert (code, err) == (Exit.DONE, "")
        return out


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Bench(tmp_path_factory.mktemp("made")).made().book


@pytest.fixture
def bench(made: Path, tmp_path: Path) -> Bench:
    bench = Bench(tmp_path, 1_000)
    shutil.copy(made, bench.book)
    return bench


# --- check ------------------------------------------------------------------------------------------------------


def test_without_answers_the_list_is_shown_with_the_block_of_the_shop(bench: Bench) -> None:
    before = bench.book.read_bytes()
    code, out, err = bench.say("check", "M-01", "--sheet", "QF-11")
    assert (code, err) == (Exit.DONE, "")
    assert "M-01 outside micrometer 0–1 in, set to in" in out
    assert "--line wipe=yes or no" in out
    assert "Read a gauge block near 0.75 in" in out
    assert "Take 0.75 in from G-01." in out
    assert "spindle and axes at a standstill" in out
    assert bench.book.read_bytes() == before
    told = bench.told("check", "M-01")
    assert told["recorded"] is False
    assert [line["line"] for line in told["lines"]][-2:] == ["zero_again", "block"]


def test_a_check_goes_on_record_and_serves_whoever_made_it(bench: Bench) -> None:
    code, out, err = bench.does("check", "M-01", *GOOD)
    assert (code, err) == (Exit.DONE, "")
    assert out.startswith("M-01 passed.")
    assert "Error on 0.75 in: 0 in, mean of 3 readings." in out
    assert "all the same: no scatter shows over steps of 0.0001 in" in out
    assert "It serves Mira Oduya until " in out
    mine, theirs = (bench.told("checks", "M-01", person=person) for person in ("Mira Oduya", "Bo Tran"))
    assert mine["instruments"][0]["serves"] is True
    assert theirs["instruments"][0]["why"]["code"] == "check.dead.hand"
    (record,) = mine["records"]
    assert mine["instruments"][0]["until"] == record["made"]["at"] + 480 * MINUTE
    assert record["answers"][-1]["written"] == [".7500"] * 3


def test_figures_of_a_check_are_those_of_its_readings(bench: Bench) -> None:
    """.7500 .7501 .7502: mean .7501, s = .0001 (JCGM 100:2008, 4.2.2)."""
    line = ("--all-seen", "--zeros", ".0000 .0001 .0000", "--block", ".75", "--readings", ".7500 .7501 .7501")
    _, out, _ = bench.does("check", "M-01", *line)
    assert "Zero, 3 readings: s₀ = 0.0000577 in (ν = 2)." in out
    assert "Error on 0.75 in: +0.0000667 in, mean of 3 readings." in out
    assert "3 readings there: s = 0.0000577 in (ν = 2)." in out


def test_lines_that_are_not_given_are_refused_by_name(bench: Bench) -> None:
    said = bench.refused("check", "M-01", "--line", "wipe=yes", "--zeros", "0 0")
    for line in ("free_travel", "ratchet", "zero"):
        assert f"Line {line} has no answer: --line {line}=yes or no." in said
    assert "Line wipe" not in said
    assert "Line zero_again has 2 of 3 readings" in said
    assert "Line block has no reading yet, of 3" in said
    assert "Nothing is on record yet." in said


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (("--line", "zip=yes"), "“zip” is no line to look at on the list of M-01."),
        (("--line", "wipe=perhaps"), "“perhaps” is neither."),
        (("--line", "wipe"), "“wipe” answers no line."),
        (("--zeros", "0 .0o1 0"), "Reading 2 of zero, opened and closed between, “.0o1”:"),
        (("--block", ".75o", "--readings", ".75"), "“o” is not a unit"),
        (("--readings", ".75 .75 .75"), "Enter the size of what was read: the gauge block."),
        (("--block", "1.5", "--standard", "X-9", "--readings", "1.5"), "outside the range"),
        (("--unit", "furlong", "--zeros", "0"), "M-01 cannot show furlong"),
    ],
)
def test_what_cannot_be_an_answer_is_refused_at_its_place(bench: Bench, answers: tuple[str, ...], said: str) -> None:
    assert said in bench.refused("check", "M-01", *answers)


def test_what_is_not_read_on_a_kind_is_refused(bench: Bench) -> None:
    said = bench.refused("check", "G-01", "--zeros", "0", "--block", "1", "--readings", "1")
    assert ["Leave --zeros out" in said, "Leave --block" in said, "Leave --readings out" in said] == [True] * 3
    assert bench.does("check", "G-01", "--all-seen")[0] == Exit.DONE


def test_the_unit_and_a_setting_standard_are_told_too(bench: Bench) -> None:
    line = ("--zeros", "0 0 0", "--block", "1", "--readings", "1 1 1", "--all-seen")
    assert bench.does("check", "C-05", *line)[0] == Exit.DONE
    code, out, _ = bench.does("check", "C-05", *line, "--line", "unit_shown=mm")
    assert code == Exit.NOT_CONFORMING
    assert "It shows mm, not in." in out
    told = bench.told("check", "B-11", "--all-seen", "--block", "7", "--standard", "R-7", "--readings", "7 7 7.001")
    assert told["check"]["answers"][-1]["standard"] == "R-7" or told["check"]["answers"][1]["standard"] == "R-7"


def test_a_tag_that_is_not_there_names_the_nearest(bench: Bench) -> None:
    assert "Is M-01 meant?" in bench.refused("check", "M01", "--all-seen")
    assert "lists them" in bench.refused("upset", "nothing", "dropped")


def test_a_failed_check_reopens_and_tells_the_rows(bench: Bench) -> None:
    bench.does("check", "M-01", *GOOD)
    bench.read("A1,1,.7500", "A2,1,.7501")
    told = bench.told(
        "check", "M-01", "--all-seen", "--zeros", "0 0 0", "--block", ".75", "--readings", ".753 .753 .753"
    )
    assert told["passed"] is False
    assert [(cell["number"], cell["serial"], cell["readings"]) for cell in told["reopened"]] == [
        ("1", "A1", [".7500"]),
        ("1", "A2", [".7501"]),
    ]
    code, out, _ = bench.does("check", "M-01", "--line", "ratchet=no", *GOOD)
    assert code == Exit.NOT_CONFORMING
    assert "M-01 failed." in out
    assert "Not as it should be: Ratchet" in out
    assert "nothing is re-opened" in out  # it was done already


def test_readings_that_are_reopened_are_listed_with_their_sheet(bench: Bench) -> None:
    bench.does("check", "M-01", *GOOD)
    bench.read("A1,1,.7500")
    code, out, _ = bench.does("check", "M-01", "--line", "zero=no", *GOOD)
    assert code == Exit.NOT_CONFORMING
    assert "One reading counts no longer:" in out
    assert "(QF-11), row 1, piece A1: .7500 in" in out
    assert bench.does("verdicts")[0] == Exit.NOT_CONFORMING


def test_a_closing_check_asks_only_for_what_is_read(bench: Bench) -> None:
    _, out, _ = bench.say("check", "M-01", "--closing")
    assert "the check after the work" in out
    assert "wipe" not in out
    code, _, _ = bench.does("check", "M-01", "--closing", *GOOD[1:])
    assert code == Exit.DONE
    assert "is no line to look at" in bench.refused("check", "M-01", "--closing", "--line", "wipe=yes", *GOOD[1:])


# --- checks, mishaps, studies -----------------------------------------------------------------------------------


def test_checks_lists_all_and_the_history_of_one(bench: Bench) -> None:
    bench.does("check", "M-01", *GOOD)
    bench.does("upset", "M-01", "dropped", "--note", "off the bench")
    bench.does("study", "M-01", "--group", ".75 .7501 .75")
    _, out, _ = bench.does("checks")
    line = next(line for line in out.splitlines() if line.startswith("M-01"))
    assert "It was dropped since its last" in line
    assert "It was not checked before." in next(line for line in out.splitlines() if line.startswith("M-02"))
    _, out, _ = bench.does("checks", "M-01")
    for part in ("check before use", "passed", "dropped", "off the bench", "study on parts", "3 readings in one group"):
        assert part in " ".join(out.split())


def test_a_check_that_somebody_else_has_ended_serves_no_longer(bench: Bench) -> None:
    bench.does("check", "M-01", *GOOD)
    bench.read("A1,1,.7500", person="Bo Tran")
    told = bench.told("checks", "M-01")
    assert told["instruments"][0]["why"]["code"] == "check.dead.hand"


def test_a_shop_that_asks_for_no_check_says_so(bench: Bench) -> None:
    bench.does("rules", "--set", "check life=none")
    bench.does("check", "M-01", *GOOD)
    assert "the shop asks for no check" in bench.does("checks", "M-01")[1]


def test_a_mishap_ends_checks_and_another_word_is_no_command(bench: Bench) -> None:
    code, out, _ = bench.does("upset", "M-01", "repaired")
    assert code == Exit.DONE
    assert "repaired or adjusted. Its checks end here" in out
    assert bench.does("upset", "M-01", "lost")[0] == Exit.USAGE


def test_a_study_is_pooled_within_its_groups(bench: Bench) -> None:
    """Groups of (0, 1) and (0, 1) tenths: s² = (.5 + .5) / 2, s = .0000707 (ISO 5725-2)."""
    code, out, _ = bench.does("study", "M-01", "--group", ".75 .7501", "--group", ".5; 12.70254 mm")
    assert code == Exit.DONE
    assert "s = 0.0000707 in (ν = 2)" in out
    said = bench.refused("study", "M-01", "--group", ".75 .75", "--group", ".5 x")
    assert "Group 2, reading 2, “x”:" in said
    assert "Group 1 holds no reading" in bench.refused("study", "M-01", "--group", " ")
    assert "shows no scatter" in bench.refused("study", "M-01", "--group", ".75 .75")


# --- temperatures -----------------------------------------------------------------------------------------------


def test_temperatures_are_logged_exactly(bench: Bench) -> None:
    log = bench.told(
        "temperature",
        "--sheet",
        "QF-11",
        "--part",
        "23.4",
        "--instrument",
        "75F",
        "--thermometer",
        "T-1",
        "--within",
        ".5",
    )["log"]
    assert (log["part"], log["instrument"], log["within"]) == (23_400, 23_889, 500)
    assert log["written"] == ["23.4", "75F"]
    line = (
        "temperature",
        "--sheet",
        "QF-11",
        "--part=-1.5",
        "--instrument",
        "20",
        "--thermometer",
        "T-1",
        "--within",
        "1F",
    )
    assert bench.told(*line)["log"]["within"] == 556
    _, out, _ = bench.does(*line, "--soak", "60")
    assert "part -1.5 °C, instrument 20 °C, each within ±0.556 °C by T-1" in out


@pytest.mark.parametrize(
    ("part", "within", "said"),
    [
        ("23.4x", ".5", "--part, character 5:"),
        ("23.1234", ".5", "three decimals at most"),
        ("", ".5", "is no temperature"),
        ("93", ".5", "93 °C can't be the temperature of a part"),
        ("23", "", "within what ± the thermometer T-1 reads"),
        ("23", "40", "--within, character 1:"),
    ],
)
def test_temperatures_that_cannot_be_are_refused(bench: Bench, part: str, within: str, said: str) -> None:
    line = (
        "temperature",
        "--sheet",
        "QF-11",
        f"--part={part}",
        "--instrument",
        "20",
        "--thermometer",
        "T-1",
        f"--within={within}",
    )
    assert said in bench.refused(*line)


# --- rules, decision rules, repeats -----------------------------------------------------------------------------


def test_rules_are_told_with_number_and_source_and_issued_anew(bench: Bench) -> None:
    _, out, _ = bench.say("rules")
    line = next(line for line in out.splitlines() if line.startswith("resolution ratio"))
    assert "10 : 1" in line and "rule of ten (common practice)" in line
    code, out, _ = bench.does("rules", "--set", "accuracy ratio=3:1", 'customer "Harrow Mills"=guarded-U')
    assert code == Exit.DONE
    assert "accuracy ratio: 4 : 1, now 3 : 1" in out
    assert "customers: none, now Harrow Mills = guarded-U" in out
    told = bench.told("rules")
    assert told["rules"]["issue"] == 1
    assert {each["name"]: each["value"] for each in told["told"]}["accuracy ratio"] == "3 : 1"


def test_rules_that_are_nonsense_are_refused_together(bench: Bench) -> None:
    said = bench.refused("rules", "--set", "accuracy ratio=0", "decision=guarded:50", "acuracy=4")
    assert "“accuracy ratio=0”, character 16:" in said
    assert "“decision=guarded:50”, character 18:" in said
    assert "Is “accuracy ratio” meant?" in said
    assert "No rules were issued." in said
    assert "say this already" in bench.refused("rules", "--set", "accuracy ratio=4")


def test_a_sheet_is_judged_by_another_rule_and_every_change_told(bench: Bench) -> None:
    bench.read("A1,2,3.2545", "A2,2,3.2500")
    told = bench.told("rule", "--sheet", "QF-11", "guarded:95", "--reason", "agreed on the order", "--printed")
    assert told["decision"] == {"kind": "guarded", "probability": 9500, "by_expanded": False, "printed": True}
    assert [(each["number"], each["serial"], each["now"]) for each in told["changed"]] == [
        ("2", "A1", "in doubt, measured inside")
    ]
    assert "needs a reason" in bench.refused("rule", "--sheet", "QF-11", "simple")
    assert "by this rule already" in bench.refused("rule", "--sheet", "QF-11", "guarded:95, printed", "--reason", "x")
    assert "RULE, character 9:" in bench.refused("rule", "--sheet", "QF-11", "guarded:40", "--reason", "x")


def test_repeats_are_set_for_a_doubt_and_for_nothing_else(bench: Bench) -> None:
    bench.does("rule", "--sheet", "QF-11", "guarded:95", "--reason", "agreed")
    bench.read("A1,2,3.2545", "A2,2,3.2545", "A2,1,.7500")
    code, out, _ = bench.does("repeats", "--sheet", "QF-11", "2", "4", "--piece", "A1")
    assert code == Exit.DONE
    assert "the mean of 4 readings is to settle it. 3 of them are still to be taken." in out
    assert "must name one: A1, A2" in bench.refused("repeats", "--sheet", "QF-11", "2", "5")
    assert "has no piece A9" in bench.refused("repeats", "--sheet", "QF-11", "2", "5", "--piece", "A9")
    assert "no row 77" in bench.refused("repeats", "--sheet", "QF-11", "77", "5", "--piece", "A1")
    assert "can have from 1 + 1 to 12" in bench.refused("repeats", "--sheet", "QF-11", "2", "13", "--piece", "A2")
    assert bench.does("repeats", "--sheet", "QF-11", "2", "four", "--piece", "A1")[0] == Exit.USAGE


# --- readings without a check, and budgets ----------------------------------------------------------------------


def test_reading_in_tells_what_is_marginal_for_want_of_a_check(bench: Bench) -> None:
    bench.does("check", "M-01", *GOOD)
    text = "serial,number,reading\nA1,1,.7500\nA2,2,3.2500\nA1,2,3.2505\nA1,3,as required\n"
    path = bench.file("r.csv", text)
    for line in (("read", path, "--preview"), ("read", path)):
        told = bench.told(*line)
        assert told["unproven"]["results"] == 2
        assert [each["code"] for each in told["unproven"]["why"]] == ["unproven.never"]
    out = bench.read("A2,1,.7500")
    assert "not checked" not in out


def test_somebody_elses_use_on_another_sheet_is_seen_by_the_preview_too(bench: Bench) -> None:
    bench.does("check", "M-01", *GOOD)
    other = FEATURES.replace("QF-11", "QF-12")
    assert bench.does("take-in", bench.file("g.csv", other))[0] == Exit.DONE
    rows = bench.file("r.csv", "serial,number,reading\nA1,1,.7500\n")
    assert bench.does("read", rows, "--sheet", "QF-12", person="Bo Tran")[0] == Exit.DONE
    seen = bench.told("read", rows, "--preview", "--sheet", "QF-11")["unproven"]
    assert (seen["results"], [each["code"] for each in seen["why"]]) == (1, ["unproven.hand"])
    assert bench.told("read", rows, "--sheet", "QF-11")["unproven"] == seen


def test_the_budget_of_a_row_and_what_would_help(bench: Bench) -> None:
    told = bench.told("choose", "--number", "1", "--budget")
    assert told["instrument"].startswith("M-01")
    assert told["fitness"] == "fit"
    assert (told["budget"]["factor"], told["budget"]["confidence"], told["remedies"]) == ("2.000", 9545, [])
    assert told["budget"]["lines"][0]["what"] == "permissible error of M-01, outside use"
    _, out, _ = bench.say("choose", "--number", "1", "--with", "M-11")
    assert "For this row it is marginal." in out
    assert "accuracy 3.17 : 1, 4 : 1 needed: too little" in out
    assert "accuracy: an instrument with a permissible error within ± 0.0031 mm; then 4.09 : 1" in out
    assert "k = 2.000 (95.45 %)" in out


def test_a_doubt_is_told_with_the_budget(bench: Bench) -> None:
    bench.does("rule", "--sheet", "QF-11", "guarded:95", "--reason", "agreed")
    bench.read("A1,2,3.2545")
    (doubt,) = bench.told("choose", "--number", "2", "--budget")["doubts"]
    assert (doubt["serial"], doubt["repeats"]) == ("A1", None)
    assert "permissible error" in doubt["text"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (("--budget",), "Name it with --number."),
        (("--number", "1", "--with", "Q-01"), "does not answer row 1"),
        (("--number", "77", "--budget"), "no row 77"),
        (("--number", "1", "--with", "M-1"), "Is M-01 meant?"),
    ],
)
def test_a_budget_of_nothing_is_refused(bench: Bench, line: tuple[str, ...], said: str) -> None:
    code, out, err = bench.say("choose", *line)
    assert (code, out) == (Exit.REFUSED, "")
    assert said in err
