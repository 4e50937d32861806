"""The command line from end to end: what it prints, how it leaves, and what it never does."""

from __future__ import annotations

import io
import itertools
import json
import os
import subprocess
import sys
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from app.command.main import VERBS, run
from app.command.outcome import Exit
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.sheet import acts
from storage.book.clock import Moment
from storage.book.door import Book
from storage.book.queries.sheets import list_sheets

FEATURES = """\
# part,QF-11
# revision,A
# serials,"A1, A2"
# default .xxx,±.005
# default fraction,1/64
number,kind,requirement,name,places
1,outside diameter,⌀.7500 ±.0005,journal,
2,length,1.250,body,
3,bore,2X ⌀.250 +.004/-.000,pin holes,
4,note,DEBURR ALL EDGES,,
"""
READINGS = """\
serial,number,role,reading,reason,replaces,withdraw,answer,note
A1,1,,.7501,,,,,
A1,2,,1.251,,,,,
A1,2,,1.2515,misread the beam,1,,,
A1,4,,as required,,,,,looked at under the lamp
A2,1,,.7502,,,,,
A2,2,,1.2495,,,,,
A2,2,,,counted on the wrong piece,,yes,,
A2,2,,1.2485,,,,,
A2,4,,as required,,,,,
"""


def ticking() -> Callable[[], Moment]:
    seconds = itertools.count(1_790_000_000)
    return lambda: Moment(next(seconds) * 1_000_000, "2026-09-21")


def counted() -> Callable[[], str]:
    numbers = itertools.count(1)
    return lambda: str(uuid.UUID(int=next(numbers), version=4))


class Line:
    """One book worked by command lines; ``say`` returns exit code, output and errors."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = folder / "Bücher und mehr" / "shop.tenthwright"
        self.clock, self.identities = ticking(), counted()
        self.environ = {"TENTHWRIGHT_PASSPHRASE": "korrekt pferd"}

    def say(self, *argv: str, book: bool = True) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()
        line = [*argv, *(["--book", str(self.book)] if book else [])]
        code = run(line, clock=self.clock, identities=self.identities, environ=self.environ, out=out, err=err)
        assert "Traceback" not in out.getvalue() + err.getvalue()
        return code, out.getvalue(), err.getvalue()

    def file(self, name: str, text: str) -> str:
        path = self.folder / name
        path.write_text(text, encoding="utf-8")
        return str(path)

    def ready(self) -> Line:
        """With a shop and the sheet of ``FEATURES``."""
        assert self.say("new", "--shop", "Süd & Söhne", "--person", "Jörg", "--starter-crib")[0] == Exit.DONE
        assert self.say("take-in", self.file("features.csv", FEATURES))[0] == Exit.DONE
        return self


@pytest.fixture
def line(tmp_path: Path) -> Line:
    (tmp_path / "Bücher und mehr").mkdir()
    return Line(tmp_path)


def test_the_whole_job(line: Line) -> None:
    line.ready()
    code, out, _ = line.say("choose", "--json")
    chosen = {row["number"]: row["instrument"] for row in json.loads(out)["rows"]}
    assert code == Exit.DONE
    assert chosen["1"].startswith("M-01 ")
    assert line.say("verdicts")[0] == Exit.NOT_CONFORMING  # every row is open

    holes = "\n".join(
        f"{serial},3.{hole},{role},{size},,,,,"
        for serial in ("A1", "A2")
        for hole in (1, 2)
        for role, size in (("enters", ".252"), ("stops", ".253"))
    )
    code, out, err = line.say("read", line.file("readings.csv", READINGS + holes + "\n"))
    assert (code, err) == (Exit.DONE, "")
    assert out.startswith("16 readings were taken.")

    code, out, _ = line.say("verdicts", "--json")
    lines = {row["number"]: row for row in json.loads(out)["lines"]}
    assert [value["text"] for value in lines["2"]["values"] if not value["withdrawn"]] == ["1.2515", "1.2485"]
    assert sum(bool(value["withdrawn"]) for value in lines["2"]["values"]) == 2
    assert {row["state"] for row in lines.values()} <= {"conforming", "conforming, instrument marginal"}
    assert code == Exit.DONE

    code, _, err = line.say("sign")
    assert (code, err) == (Exit.DONE, "")
    code, _, err = line.say("read", line.file("late.csv", "serial,number,reading\nA1,1,.75\n"))
    assert code == Exit.REFUSED
    assert err.startswith("This sheet is signed and sealed, so nobody can take a reading.")
    for form in ("pdf", "xlsx", "csv", "data"):
        path = line.folder / f"Blatt für Kunde.{form}"
        assert line.say("export", form, str(path))[0] == Exit.DONE
        assert line.say("verify", str(path))[0] == Exit.DONE
        path.write_bytes(path.read_bytes() + b" ")
        assert line.say("verify", str(path))[0] in (Exit.NOT_CONFORMING, Exit.REFUSED) or form == "data"
    assert line.say("verify", "--sheet", "QF-11")[0] == Exit.DONE
    assert line.say("verify")[0] == Exit.DONE
    assert '"sealed": true' in line.say("list", "--json")[1]


def test_an_open_sheet_is_not_signed_and_says_how_to_go_on(line: Line) -> None:
    line.ready()
    line.say("read", line.file("asked.csv", "serial,number,reading\nA1,1,.7251\n"))
    code, _, err = line.say("sign")
    assert code == Exit.REFUSED
    assert err.splitlines()[0] == "A question about row 1, piece A1, still waits for an answer."
    assert err.splitlines()[-1].startswith("Nothing was signed. ")
    assert "--incomplete" in err.splitlines()[-1]


def test_a_row_in_doubt_is_no_success_and_is_listed(line: Line) -> None:
    """A reading on its limit is inside, and under guarded acceptance conformity is not shown."""
    line.ready()
    with Book.open(line.book, clock=line.clock, identities=line.identities) as book:
        (listed,) = book.ask(list_sheets)
        rule = DecisionRule(RuleKind.GUARDED)
        book.do(acts.ChooseDecisionRule(sheet=listed.sheet, decision=rule, reason="agreed"), person=listed.person)
    code, out, _ = line.say("read", line.file("doubted.csv", "serial,number,reading\nA1,1,.7505\n"))
    assert code == Exit.DONE
    code, out, _ = line.say("verdicts", "--json")
    states = {row["number"]: row["state"] for row in json.loads(out)["lines"]}
    assert (code, states["1"]) == (Exit.NOT_CONFORMING, "in doubt, measured inside")
    assert "1 in doubt" in line.say("list")[1]


def test_the_pull_list_is_shown_and_written_as_a_page(line: Line) -> None:
    line.ready()
    code, out, _ = line.say("pull-list", "--json")
    told = json.loads(out)
    assert code == Exit.DONE
    assert {row for leg in told["route"] for row in leg["rows"].split(", ")} >= {"1", "2", "4"}
    assert "M-01" in {pull["tag"] for pull in told["pulls"]}
    assert told["lacks"] == []
    blocks = next(pull for pull in told["pulls"] if pull["tag"] == "G-01")
    assert "0.75 in" in [take["size"] for take in blocks["takes"]]
    shown = line.say("pull-list")[1]
    assert "M-01" in shown
    assert [row.split()[:4] for row in shown.splitlines() if row.startswith("G-01") and "0.75 in" in row] == [
        ["G-01", "0.75", "in", "one"]
    ]
    path = line.folder / "set-up.pdf"
    assert line.say("pull-list", str(path))[0] == Exit.DONE
    assert path.read_bytes().startswith(b"%PDF")
    assert line.say("verify", str(path))[0] == Exit.DONE


def test_the_same_line_with_the_same_clock_writes_the_same_sheet(tmp_path: Path) -> None:
    seals = []
    for name in ("one", "two"):
        (tmp_path / name / "Bücher und mehr").mkdir(parents=True)
        line = Line(tmp_path / name).ready()
        readings = line.file("readings.csv", READINGS)
        assert line.say("read", readings)[0] == Exit.DONE
        seals.append(json.loads(line.say("verdicts", "--json")[1]))
    assert seals[0] == seals[1]


def test_faults_of_a_file_are_told_together_and_nothing_is_taken(line: Line) -> None:
    line.ready()
    before = line.book.read_bytes()
    faulty = "serial,number,reading,taken\nA1,1,.75t,\nA9,1,.75,\nA1,77,.75,\nA1,2,1.25 mil,\nA1,2,1.250,yesterday\n"
    code, out, err = line.say("read", line.file("faulty.csv", faulty))
    assert (code, out) == (Exit.REFUSED, "")
    assert [row in err for row in ("Row 2", "Row 3", "Row 4", "Row 5", "Row 6")] == [True] * 5
    assert "character" in err
    assert line.book.read_bytes() == before

    code, out, err = line.say("take-in", line.file("bad.csv", FEATURES.replace("1.250", "1.250 ±")), "--json")
    assert code == Exit.REFUSED
    assert json.loads(out)["exit"] == Exit.REFUSED
    assert "Row 8" in err
    assert line.book.read_bytes() == before


def test_a_slip_question_stands_until_it_is_answered(line: Line) -> None:
    line.ready()
    code, out, _ = line.say("read", line.file("slip.csv", "serial,number,reading\nA1,1,.7752\n"))
    assert code == Exit.DONE
    assert "Row 1, piece A1:" in out
    answer = "serial,number,reading,answer\nA1,1,.7502,new reading\nA2,1,.7752,\nA2,1,,keep\n"
    code, out, err = line.say("read", line.file("answer.csv", answer))
    assert (code, err) == (Exit.DONE, "")
    assert "piece" not in out


def test_another_instrument_needs_a_reason_and_one_that_fits(line: Line) -> None:
    line.ready()
    unreasoned = line.file("a.csv", "serial,number,reading,instrument\nA1,2,1.25,C-03\n")
    code, _, err = line.say("read", unreasoned)
    assert code == Exit.REFUSED
    assert "needs a reason" in err
    wrong = line.file("b.csv", "serial,number,reading,instrument,reason\nA1,2,1.25,T-03,lost\nA1,1,.75,X-9,lost\n")
    code, _, err = line.say("read", wrong)
    assert code == Exit.REFUSED
    assert "T-03 cannot answer 2" in err
    assert "no instrument “X-9”" in err
    right = line.file("c.csv", "serial,number,reading,instrument,reason\nA1,2,1.25,C-03,at hand\nA2,2,1.25,C-03,\n")
    assert line.say("read", right)[0] == Exit.DONE
    rows = json.loads(line.say("choose", "--number", "2", "--json")[1])["rows"]
    assert rows[0]["instrument"].startswith("C-03")
    assert "at hand" in rows[0]["why"][0]


def test_a_further_issue_knows_its_rows_again(line: Line) -> None:
    line.ready()
    code, out, _ = line.say("take-in", line.file("b.csv", FEATURES.replace("revision,A", "revision,B")), "--json")
    assert code == Exit.DONE
    assert (json.loads(out)["issue"], json.loads(out)["revision"]) == (2, "B")
    assert line.say("verdicts")[0] == Exit.REFUSED  # two sheets, none named
    assert len(json.loads(line.say("list", "--json")[1])["sheets"]) == 2
    assert len(json.loads(line.say("list", "parts", "--json")[1])["parts"]) == 1


def test_choose_shows_what_stands_against_the_others(line: Line) -> None:
    line.ready()
    out = line.say("choose", "--number", "1", "--all")[1]
    assert "Row 1, the others:" in out
    assert "C-03 dial caliper 6 in: marginal. resolution" in out
    assert line.say("choose", "--number", "99")[0] == Exit.REFUSED


# --- passphrases ----------------------------------------------------------------------------------------------


def test_a_passphrase_comes_from_a_file_a_variable_or_the_prompt_and_must_fit(line: Line) -> None:
    line.ready()
    assert line.say("sign", "--incomplete", "shown to the lead", "--passphrase-file", line.file("w", "wrong\n"))[0] == 3
    line.environ.clear()
    code, _, err = line.say("sign", "--incomplete", "shown to the lead")
    assert code == Exit.REFUSED
    assert "--passphrase-file" in err
    assert line.say("sign", "--incomplete", "x", "--passphrase-file", line.file("empty", ""))[0] == Exit.REFUSED
    right = line.file("p", "korrekt pferd\nsecond line\n")
    assert line.say("sign", "--incomplete", "shown to the lead", "--passphrase-file", right)[0] == Exit.DONE


def test_a_new_passphrase_is_asked_for_twice(tmp_path: Path) -> None:
    book, out = tmp_path / "b", io.StringIO()
    typed: Iterator[str] = iter(["one of them", "another one"])
    new = ["new", "--shop", "S", "--person", "P", "--book", str(book)]
    assert run(new, environ={}, out=out, err=out, ask=lambda _prompt: next(typed)) == Exit.REFUSED
    assert not book.exists()
    assert run(new, environ={}, out=out, err=out, ask=lambda _prompt: "one of them") == Exit.DONE


def test_no_option_takes_a_passphrase() -> None:
    out = io.StringIO()
    for verb in VERBS:
        assert run([verb, "--help"], out=out, err=out) == Exit.DONE
    assert "--passphrase " not in out.getvalue()


# --- how it leaves --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("argv", [[], ["nonsense"], ["export", "docx", "x"], ["take-in"], ["verdicts", "--boo", "x"]])
def test_a_line_that_is_not_understood(argv: list[str]) -> None:
    out, err = io.StringIO(), io.StringIO()
    assert run(argv, out=out, err=err) == Exit.USAGE
    assert "usage" in err.getvalue()
    assert out.getvalue() == ""


@pytest.mark.parametrize(
    ("argv", "usage", "told"),
    [
        (["list", "--bok", "x"], "usage: tenthwright list ", "no option --bok here; perhaps --book is meant"),
        (["list", "--bok=x"], "usage: tenthwright list ", "no option --bok here; perhaps --book is meant"),
        (["sign", "--passphrase", "x"], "usage: tenthwright sign ", "perhaps --passphrase-file is meant"),
        (["layout", "--sheet", "x"], "usage: tenthwright layout ", "no option --sheet here. Nothing"),
        (["find", "--sheet", "x"], "usage: tenthwright find ", "no option --sheet here. Nothing"),
        (["check", "--shet", "x"], "usage: tenthwright check ", "perhaps --sheet is meant"),
        (["verdicts", "--zzz"], "usage: tenthwright verdicts ", "no option --zzz here. Nothing"),
        (["list", "sheets", "extra"], "usage: tenthwright list ", "extra is more than this command takes"),
        (["--json", "list"], "usage: tenthwright [-h] [--version] COMMAND", "--json stands behind the command"),
        (["--versoin"], "usage: tenthwright [-h] [--version] COMMAND", "perhaps --version is meant"),
        (["verdits"], "usage: tenthwright [-h] [--version] COMMAND", "no command verdits; perhaps verdicts is meant"),
        (["xyzzy"], "usage: tenthwright [-h] [--version] COMMAND", "no command xyzzy. Nothing"),
    ],
)
def test_what_is_not_known_is_told_with_what_may_be_meant(argv: list[str], usage: str, told: str) -> None:
    err = io.StringIO()
    assert run(argv, out=io.StringIO(), err=err) == Exit.USAGE
    assert err.getvalue().startswith(usage)
    assert told in err.getvalue()


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (["check"], "check needs TAG. Nothing was changed.\n  TAG: the instrument, by its tag\n"),
        (["upset", "M-01"], "upset needs WHAT. Nothing was changed.\n  WHAT: dropped, repaired"),
        (["answer"], "answer needs POINT and WORDS. Nothing was changed.\n  POINT: the point's key"),
        (["new"], "new needs --shop and --person. Nothing was changed.\n  --shop NAME: the shop's name"),
        (["stamp"], "stamp needs one of --request, --answer. Nothing was changed.\n  --request FILE: write"),
        (["check", "M-01", "--sheet"], "--sheet needs SHEET behind it. Nothing was changed.\n  --sheet SHEET: "),
        (["return", "--row", "7"], "--row needs NUMBER WORDS behind it."),
        (["state", "compleet"], "“compleet” is no WHAT, which is one of complete, not-complete; perhaps complete is"),
        (["export", "docx", "x"], "“docx” is no FORM, which is one of signed-pdf, pdf, xlsx"),
        (["repeats", "7", "four"], "M is a whole number, and “four” is none"),
        (["person", "Jo", "--new-key", "--key", "k.p12"], "--key and --new-key do not go together"),
        (["missing", "--json=yes"], "--json takes nothing behind it, and “yes” stands there"),
    ],
)
def test_what_is_missing_or_wrong_is_told_with_how_it_is_given(argv: list[str], told: str) -> None:
    out, err = io.StringIO(), io.StringIO()
    assert run(argv, out=out, err=err) == Exit.USAGE
    assert told in err.getvalue()
    assert err.getvalue().endswith(f"“tenthwright {argv[0]} --help” tells more.\n")
    assert out.getvalue() == ""


def test_every_command_answers_an_empty_line_and_a_wrong_word(line: Line) -> None:
    assert line.say("new", "--shop", "S", "--person", "Jo")[0] == Exit.DONE
    for verb in sorted(set(VERBS) - {"demo", "new"}):
        for words in ([], ["Nowhere-9"]):
            code, out, err = line.say(verb, *words, book=verb != "gauge-study")
            if code in (Exit.DONE, Exit.NOT_CONFORMING):
                assert out and not err, f"{verb} {words}: {err}"
            else:
                assert code in (Exit.USAGE, Exit.REFUSED, Exit.WORLD), f"{verb} {words}: {err}"
                assert err.strip().endswith(".") and not out, f"{verb} {words}: {err}"


def test_nobody_named_lists_everybody(line: Line) -> None:
    line.ready()
    assert line.say("person") == line.say("list", "people")
    code, _, err = line.say("person", "--new-key")
    assert (code, "Put the person's name behind “person”" in err) == (Exit.REFUSED, True)


def test_a_sheet_is_named_by_its_option_and_nothing_else(line: Line) -> None:
    line.ready()
    for verb, *words in (["review", "QF-11"], ["verdicts", "QF-11"], ["compare", "QF-11", "QF-11"]):
        code, _, err = line.say(verb, *words)
        assert (code, f"named by an option: tenthwright {verb} --sheet SHEET" in err) == (Exit.USAGE, True), err
    code, _, err = line.say("again", "QF-11", "1", ".75")
    assert (code, "tenthwright again --sheet SHEET NUMBER READING" in err) == (Exit.USAGE, True), err
    code, _, err = line.say("state", "QF-11", "complete")
    assert (code, "tenthwright state --sheet SHEET WHAT" in err) == (Exit.USAGE, True), err
    before = sorted(line.folder.rglob("*"))
    for argv in (
        ["nonconformance", "QF-11", "7"],
        ["answer", "qf-11", "marginal:3f"],
        ["read", "QF-11"],
        ["head", "QF-11"],
        ["evidence", "QF-11"],
        ["package", "QF-11"],
        ["pull-list", "QF-11"],
        ["verify", "QF-11"],
    ):
        code, _, err = line.say(*argv)
        assert code == Exit.REFUSED, argv
        assert f"a sheet is named by an option: --sheet {argv[1]}. Nothing was changed. If a file" in err
    assert sorted(line.folder.rglob("*")) == before
    assert line.say("head", "--sheet", "QF-11")[0] == Exit.DONE
    assert "no row 77. Nothing was changed. There are: 1, 2, 3.1" in line.say("choose", "--number", "77")[2]
    assert line.say("take-in", line.file("other.csv", FEATURES.replace("QF-11", "QF-12")))[0] == Exit.DONE
    code, _, err = line.say("verdicts")
    assert (code, "2 sheets: " in err, "as in --sheet " in err) == (Exit.REFUSED, True, True), err
    short = err.split("as in --sheet ")[1][:8]
    told = err.split(short, 1)[1].split()[0].strip("(")  # the part that it is of
    assert line.say("head", "--sheet", f"{told}-{short}".upper()) == line.say("head", "--sheet", short)


def test_a_text_that_begins_with_a_dash_is_no_option(line: Line) -> None:
    said = line.say("sign", "--incomplete=-waits for row 3")
    assert said[0] == Exit.WORLD  # understood, and there is no book
    line.ready()
    said = line.say("head", "--book", str(line.book), "--", "--odd=1", book=False)
    assert (said[0], "--odd" in said[2]) == (Exit.REFUSED, True)  # understood, and no field of the head


def test_the_world_in_the_way(line: Line) -> None:
    assert line.say("list")[0] == Exit.WORLD  # no book
    line.book.write_text("not a book at all, but long enough to be looked into " * 4)
    before = line.book.read_bytes()
    assert line.say("list")[0] == Exit.WORLD
    assert line.say("new", "--shop", "S", "--person", "P")[0] == Exit.WORLD
    assert line.book.read_bytes() == before
    assert line.say("read", "missing.csv")[0] == Exit.WORLD


def test_an_export_that_cannot_be_written_leaves_nothing(line: Line) -> None:
    line.ready()
    assert line.say("export", "csv", str(line.folder / "no folder" / "x.csv"))[0] == Exit.WORLD
    assert line.say("export", "data", str(line.folder / "x.json"))[0] == Exit.REFUSED  # never signed
    assert not (line.folder / "x.json").exists()


def test_a_fault_of_the_program_is_reported_and_told_in_a_sentence(
    line: Line, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("app.command.main._reports", lambda: tmp_path / "state")
    monkeypatch.setattr("app.command.book_verbs.list_things", lambda *_given: 1 / 0)
    code, out, err = line.say("list")
    (report,) = (tmp_path / "state").iterdir()
    assert (code, out) == (Exit.OURS, "")
    assert str(report) in err
    assert "ZeroDivisionError" in report.read_text("utf-8")


def test_stopped_by_the_keyboard(line: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_given: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("app.command.book_verbs.list_things", stop)
    assert line.say("list")[0] == Exit.STOPPED


def test_stopped_before_the_command_line_is_understood(line: Line, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_given: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("app.command.main.parser", stop)
    code, out, err = line.say("list")
    assert (code, out, err) == (Exit.STOPPED, "", "Stopped. What was acknowledged is in the book.\n")


def test_places_are_told_whole(line: Line, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "held.csv").write_text("kept")
    assert f"no file gone.csv in {tmp_path}." in line.ready().say("take-in", "gone.csv")[2]
    assert f"a file held.csv in {tmp_path}." in run_in(line, "template", "features", "held.csv")
    assert line.say("take-in", ".")[2].startswith(f"{tmp_path.name} is a folder.")


def run_in(line: Line, *argv: str) -> str:
    """The errors of a command that knows no book."""
    return line.say(*argv, book=False)[2]


def test_a_file_of_answers_alone_says_what_was_done(line: Line) -> None:
    line.ready()
    asked = line.file("asked.csv", "serial,number,reading\nA1,1,.7251\nA1,4,as required\n")
    assert "Row 1, piece A1: " in line.say("read", asked)[1]
    answered = line.file("answered.csv", "serial,number,reading,answer,note\nA1,1,,keep,\nA1,4,,,lamp\n")
    code, out, _ = line.say("read", answered)
    assert (code, out) == (Exit.DONE, "No reading was taken. Answers, notes and withdrawals were entered: 2.\n")


# --- as a process ---------------------------------------------------------------------------------------------


def process(argv: list[str], folder: Path, **environ: str) -> subprocess.CompletedProcess[bytes]:
    passed = ("PATH", "HOME", "SYSTEMROOT", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME")
    known = {name: value for name, value in os.environ.items() if name in passed}
    command = [sys.executable, "-P", "-c", "import sys; from app.command.main import run; sys.exit(run())", *argv]
    return subprocess.run(command, cwd=folder, env={**known, **environ}, capture_output=True, check=False)


def test_help_imports_neither_window_nor_database() -> None:
    code = (
        "import sys; from app.command.main import run; run(['--help']); run(['export', '--help']);"
        "heavy = {'PySide6', 'sqlalchemy', 'numpy', 'cryptography', 'reportlab', 'openpyxl'} & set(sys.modules);"
        "sys.exit(len(heavy))"
    )
    done = subprocess.run([sys.executable, "-P", "-c", code], capture_output=True, check=False, cwd="/")
    assert (done.returncode, done.stderr) == (0, b"")


def test_no_command_imports_qt() -> None:
    code = (
        "import sys, importlib; from app.command.main import VERBS;"
        "[importlib.import_module('app.command.' + name) for name in ('trace_verb', 'history_verb', 'study_verbs')];"
        "assert not {'reportlab', 'openpyxl'} & set(sys.modules), 'what is only looked at prints nothing';"
        "[importlib.import_module(name.split(':')[0]) for name in VERBS.values()];"
        "import app.jobs.demo, app.jobs.reading_in, app.jobs.sending, storage.dispatch.pdf, storage.dispatch.workbook;"
        "sys.exit(any(name.startswith(('PySide6', 'shiboken6')) for name in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-P", "-c", code], capture_output=True, check=False, cwd="/")
    assert (done.returncode, done.stderr) == (0, b"")


TERMINALS = {
    "ascii": {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0", "PYTHONIOENCODING": ""},
    "code page": {"PYTHONIOENCODING": "cp1252", "LC_ALL": "C.UTF-8"},
    "comma": {"LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"},
    "far zone": {"TZ": "Pacific/Chatham", "LC_ALL": "C.UTF-8"},
}


@pytest.mark.parametrize("terminal", TERMINALS)
def test_terminals_of_every_kind(line: Line, terminal: str) -> None:
    line.ready()
    environ = TERMINALS[terminal]
    book = ["--book", str(line.book)]
    readings = line.file("readings.csv", "serial;number;reading\nA1;1;.7501\nA1;2;1.25\n")
    read = process(["read", readings, *book], line.folder, **environ)
    assert (read.returncode, read.stderr) == (0, b"")
    shown = process(["verdicts", *book], line.folder, **environ)
    assert shown.returncode == Exit.NOT_CONFORMING
    assert "⌀.7500 ±.0005" in shown.stdout.decode("utf-8")
    assert "0.7501" in shown.stdout.decode("utf-8")
    target = line.folder / "Ausgabe ä.csv"
    exported = process(["export", "csv", str(target), *book], line.folder, **environ)
    assert (exported.returncode, exported.stderr) == (0, b"")
    assert target.exists()
    listed = process(["list", "people", *book], line.folder, **environ)
    assert "Jörg" in listed.stdout.decode("utf-8")


def test_names_typed_in_an_ascii_terminal(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("korrekt pferd\n")
    argv = ["new", "--shop", "Süd", "--person", "Jörg", "--book", "bücher", "--passphrase-file", "secret"]
    done = process(argv, tmp_path, **TERMINALS["ascii"])
    assert (done.returncode, done.stderr) == (0, b"")
    assert (tmp_path / "bücher").exists()
    again = process(["list", "people", "--book", "bücher", "--json"], tmp_path, **TERMINALS["ascii"])
    assert json.loads(again.stdout.decode("utf-8"))["people"][0]["name"] == "Jörg"


def test_a_reader_that_goes_away_is_no_failure(line: Line) -> None:
    line.ready()
    command = [sys.executable, "-P", "-c", "import sys; from app.command.main import run; sys.exit(run())"]
    with subprocess.Popen(
        [*command, "choose", "--all", "--book", str(line.book)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as child:
        assert child.stdout is not None
        assert child.stderr is not None
        child.stdout.close()
        assert child.stderr.read() == b""
    assert child.returncode == Exit.DONE
