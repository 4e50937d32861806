"""A gauge study by command line: started, read blind in turns, told, written, taken into use with what that changes in
a sheet's suggestions, named by the budget, and withdrawn."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from app.command.main import run
from app.command.outcome import Exit
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.starter import starter_crib
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from inspection.studies.conducted import in_random_order
from storage.book.door import Book
from storage.book.verify import verify_book
from storage.intake.gauge_study import read_gauge_study

#: Five parts about half an inch; what each person reads of them scatters by some thousandths, and Bo reads larger.
PARTS = (0.5000, 0.5040, 0.5080, 0.5120, 0.5160)
SCATTER = {("Mira Oduya", 0): 0.0000, ("Mira Oduya", 1): 0.0015, ("Bo Tran", 0): 0.0060, ("Bo Tran", 1): 0.0040}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with two people, a crib and a sheet of one row."""
    path = tmp_path_factory.mktemp("study") / "shop.tenthwright"
    with Book.new(path) as made:
        shop = made.do(
            acts.OpenShop(name="Quillfeather Machine", first_person=Person("", "Mira Oduya")), person=""
        ).shop
        mira = next(iter(shop.people))
        made.do(acts.EnterPerson(person=Person("", "Bo Tran", (Duty.INSPECTOR,))), person=mira)
        made.do(acts.IssueInstruments(instruments=starter_crib(due="2099-01-01")), person=mira)
        rows = characteristic({"number": "1", "kind": "outside diameter", "requirement": "⌀.5000 ±.0005"}, TitleBlock())
        plan = Plan("", "", 0, Part("OB-7", "A", "hub"), TitleBlock(), rows)
        issued = made.do(acts.IssuePlan(plan=plan), person=mira).events[0].plan
        made.do(acts.MakeSheet(plan=issued.identity, serials=("1",)), person=mira)
    return path


def say(book: Path, *argv: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    where = [] if argv[0] == "gauge-study" else ["--book", str(book)]
    code = run([*argv, *where], environ={}, out=out, err=err)
    return code, out.getvalue(), err.getvalue()


def told(book: Path, *argv: str, code: int = Exit.DONE) -> dict[str, Any]:
    found, out, err = say(book, *argv, "--json")
    assert found == code, (argv, out, err)
    return dict(json.loads(out))


def counted(book: Path, study: str) -> list[Any]:
    """The readings that count, with who read them by name."""
    with Book.open(book) as held:
        people, conducted = held.shop().people, held.study(study)
        return [
            replace(conducted.readings[n], by=people[conducted.readings[n].by].name)
            for n in conducted.standing.values()
        ]


def test_a_study_from_its_start_to_a_suggestion(book: Path, tmp_path: Path) -> None:
    """One walk. The csv reads back as the very study; the pages hold its numbers; U grows with the study and is as
    before once it is withdrawn."""
    (assigned,) = told(book, "choose")["rows"]
    assert assigned["instrument"].startswith("M-01")
    start = ("study-start", "M-01", "--title", "hub, May", "--parts", "5", "--trials", "2", "--as", "Mira Oduya")
    who = ("--reader", "Mira Oduya", "--reader", "Bo Tran", "--sheet", "OB-7", "--number", "1")
    study = told(book, *start, *who)["study"]
    order = in_random_order(study, 2, 5, 2)
    for place, name in enumerate(("Mira Oduya", "Bo Tran")):
        mine = [run for run in order if run.person == place]
        readings = [f"{PARTS[each.specimen] + SCATTER[name, each.trial]:.4f}" for each in mine]
        found = told(book, "study-read", "--as", name)["next"]
        assert (found["part"], found["n"], found["of"]) == (str(mine[0].specimen + 1), 1, 10)
        while readings:
            code, out, err = say(book, "study-read", *readings, "--as", name)
            assert code in (Exit.DONE, Exit.NOT_CONFORMING), err
            assert not any(f"{part:.4f}" in out for part in PARTS), "nothing that was read is shown"
            if code == Exit.NOT_CONFORMING:
                told(book, "study-read", "--keep", "--as", name)
            taken = sum(one.by == name for one in counted(book, study))
            readings = readings[taken - (10 - len(readings)) :]
    assert "reads blind" not in say(book, "studies", "hub, May")[1]
    again = ("study-read", "--correct", "3", ".5130", "--as", "Bo Tran")
    assert "reason" in say(book, *again)[2]
    told(book, *again, "--reason", "a burr")
    csv, pdf = tmp_path / "study.csv", tmp_path / "study.pdf"
    found = told(book, "studies", "hub, May", "--csv", str(csv), "--pdf", str(pdf))
    assert found["complete"] and found["facts"]["Band"] == "0.001 in"
    back = read_gauge_study(csv.read_bytes(), csv.name)
    assert (len(back.people), len(back.parts), back.trials) == (2, 5, 2)
    file = told(book, "gauge-study", str(csv), "--band", ".01")
    ours = {row[0]: row for section in found["sections"] for row in section["rows"]}
    theirs = {row["name"]: row for row in file["ways"][1]["rows"]}
    assert ours["repeatability"][1] == theirs["repeatability"]["deviation"]
    assert pdf.read_bytes().startswith(b"%PDF") and pdf.stat().st_size > 10_000

    def expanded() -> Any:
        return told(book, "choose", "--number", "1", "--with", "M-01", "--budget")

    before = expanded()
    assert say(book, "study-use", "hub, May", "--as", "Bo Tran")[0] == Exit.REFUSED
    used = told(book, "study-use", "hub, May", "--people", "--sheet", "OB-7", "--as", "Mira Oduya")
    assert used["changes"] and all(each["text"].startswith("Row 1") for each in used["changes"])
    after = json.dumps(expanded(), ensure_ascii=False)
    assert "hub, May" in after and "whoever reads M-01" in after
    assert told(book, "studies")["studies"][0]["read"] == 20
    told(book, "study-withdraw", "hub, May", "--reason", "burred", "--as", "Mira Oduya")
    assert expanded() == before
    assert say(book, "study-withdraw", "hub, May", "--reason", "again", "--as", "Mira Oduya")[0] == Exit.REFUSED
    assert verify_book(book).whole


def test_what_cannot_be_started_or_read_is_told(book: Path) -> None:
    of_row = ("--title", "x", "--reader", "Bo Tran", "--reader", "Mira Oduya", "--sheet", "OB-7", "--number", "1")
    on = ("--title", "x", "--reader", "Bo Tran", "--kind", "standards", "--part")
    beyond = "Standard B1 is 1.5 in, and M-01 measures 0 in to 1 in as it is set up. Take a standard within that"
    for argv, text in (
        (("study-start", "M-01", *on, "B1=1.5±.000002"), beyond),
        (("study-start", "M-02", *on, "B1=1.5", "--part", "B2=.5"), "Standard B2 is 0.5 in"),
        (("study-start", "M-02", *of_row), "Row 1 asks for ⌀.5000 ±.0005, and M-02 measures 1 in to 2 in."),
        (("study-start", "A-01", *of_row), "Row 1 is of a kind that A-01 does not read"),
        (("study-start", "M-01", "--title", "x", "--reader", "Nobody", "--parts", "1"), "Nobody of the name"),
        (("study-start", "M-01", "--title", "x", "--reader", "Bo Tran", "--kind", "standards"), "label=size"),
        (("study-read", "--study", "none"), "No study is called"),
        (("study-give-up", "hub, May", "--reason", "late"), "is complete"),
    ):
        code, _, err = say(book, *argv, "--as", "Mira Oduya")
        assert code == Exit.REFUSED and text in err, (argv, err)


def test_without_a_title_the_only_study_that_waits_for_a_person_is_read(book: Path) -> None:
    start = ("study-start", "M-01", "--parts", "2", "--trials", "2", "--reader", "Bo Tran", "--as", "Mira Oduya")
    told(book, *start, "--title", "rim", "--reader", "Mira Oduya")
    code, _, err = say(book, *start, "--title", "Rim", "--reader", "Mira Oduya")
    assert code == Exit.REFUSED and "“rim” is under way: 0 of 8" in err
    told(book, *start, "--title", "web", "--reader", "Mira Oduya")
    code, _, err = say(book, "study-read", "--as", "Bo Tran")
    assert code == Exit.REFUSED and "wait for Bo Tran: web, rim" in err
    web = ("study-read", "--study", "web", "--as", "Bo Tran")
    for readings, text in (((".5", ".51", ".5", ".51", ".5"), "4 readings are left"), ((".5", "half"), "half")):
        code, _, err = say(book, *web, *readings)
        assert code == Exit.REFUSED and text in err
        assert told(book, *web)["next"]["n"] == 1, "all of them or none"
    found = told(book, *web, ".5", ".51", ".5", ".51")
    assert (found["taken"], found["next"]) == (4, None)
    assert told(book, "study-read", "--as", "Bo Tran")["next"]["n"] == 1, "rim is the only one left"
    code, _, err = say(book, "study-read", "--as", "Mira Oduya")
    assert code == Exit.REFUSED and "wait for Mira Oduya" in err
    assert say(book, "study-read", "--study", "cap", "--as", "Bo Tran")[2].startswith("No study is called “cap”")
