"""A review by command line alone, from a fresh book: measured and signed, returned, a second round, a piece used as it
is by the customer's leave, approved by a lead who had no hand in it, not complete all the same, and the run released.

That use as is completes no first article, and that nobody approves an own sheet: trade practice, from memory.
"""

from __future__ import annotations

import io
import itertools
import json
import uuid
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.command.outcome import Exit
from storage.book.clock import Moment

pytestmark = pytest.mark.slow

MINUTE = 60_000_000
MIRA, BO, LEA, OLE = "Mira Oduya", "Bo Tran", "Lea Lund", "Ole Brandt"
SHEET = "TP-9"
PART = f"""\
# part,{SHEET}
# revision,B
# serials,"A1, A2"
number,kind,requirement
1,outside diameter,⌀.7500 ±.0005
2,length,3.250 ±.005
"""
SECRETS = {person: f"{person.split()[0].lower()} has a secret" for person in (MIRA, BO, LEA, OLE)}


class Walk:
    """A book of its own, worked by command lines in somebody's name; a minute lies between two looks at the clock."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.book = folder, folder / "review.tenthwright"
        self.now = 30_000_000 * MINUTE
        self.numbers = itertools.count(1)

    def clock(self) -> Moment:
        self.now += MINUTE
        return Moment(self.now, "2027-01-15")

    def say(self, *argv: str, by: str = "", secret: str = "") -> tuple[int, str]:
        out = io.StringIO()
        code = run(
            [*argv, *(("--as", by) if by else ()), "--book", str(self.book)],
            clock=self.clock,
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={"TENTHWRIGHT_PASSPHRASE": secret or SECRETS.get(by, SECRETS[MIRA])},
            out=out,
            err=out,
        )
        assert "Traceback" not in out.getvalue()
        return code, out.getvalue()

    def does(self, *argv: str, by: str = MIRA) -> str:
        code, said = self.say(*argv, by=by)
        assert code == Exit.DONE, said
        return said

    def told(self, *argv: str, by: str = "") -> dict[str, Any]:
        code, said = self.say(*argv, "--json", by=by)
        assert code in (Exit.DONE, Exit.NOT_CONFORMING), said
        found: dict[str, Any] = json.loads(said)
        return found

    def refused(self, *argv: str, by: str = "", secret: str = "") -> str:
        """What is said of a line that the rules refuse; nothing in the book has changed."""
        before = self.book.read_bytes()
        code, said = self.say(*argv, by=by, secret=secret)
        assert code == Exit.REFUSED, said
        assert self.book.read_bytes() == before
        assert "[" not in said and "{" not in said
        return said

    def file(self, name: str, *lines: str) -> str:
        path = self.folder / name
        path.write_text("\n".join([*lines, ""]), encoding="utf-8")
        return str(path)

    def read(self, *rows: str, by: str = BO) -> None:
        self.does("read", self.file("r.csv", "serial,number,reading,replaces,reason", *rows), by=by)


@pytest.fixture
def walk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Walk:
    """A shop with an inspector, a lead, and a lead who measures too; the instruments checked; nothing read."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    walk = Walk(tmp_path)
    walk.does("new", "--shop", "Tern & Plover", "--person", MIRA, "--starter-crib", by="")
    for person, *duties in ((BO, "inspector"), (LEA, "lead"), (OLE, "lead", "inspector")):
        named = itertools.chain.from_iterable(("--duty", duty) for duty in duties)
        code, said = walk.say("person", person, "--enter", *named, by=MIRA, secret=SECRETS[person])
        assert code == Exit.DONE, said
    walk.does("rules", "--set", "closing check under=none")
    walk.does("take-in", walk.file("f.csv", *PART.splitlines()))
    for tag, zero, block in (("M-01", "0", ".75"), ("C-05", "0", "3")):
        zeros, readings = (" ".join([each] * 3) for each in (zero, block))
        for person in (OLE, BO):
            line = ("--all-seen", "--zeros", zeros, "--block", block, "--readings", readings)
            walk.does("check", tag, *line, "--sheet", SHEET, by=person)
    return walk


def test_the_walk(walk: Walk) -> None:
    measured_and_signed(walk)
    listed_answered_and_returned(walk)
    measured_again_and_compared(walk)
    used_as_it_is(walk)
    approved_by_who_may(walk)
    stated_and_released(walk)
    told_and_whole(walk)
    sent_with_four_signatures(walk)
    completed_by_a_partial(walk)


def measured_and_signed(walk: Walk) -> None:
    """A lead puts in one reading, which makes the sheet his own as well."""
    walk.read("A1,1,.7500,,", "A1,2,3.250,,", "A2,1,.7508,,", "A2,2,3.251,,")
    walk.read("A1,2,3.2505,1,read between the lines", by=OLE)
    assert "not signed yet" in walk.refused("approve", "--sheet", SHEET, by=LEA)
    walk.does("sign", "--sheet", SHEET, by=BO)
    assert "signed, round 1" in walk.does("list", by="")


def listed_answered_and_returned(walk: Walk) -> None:
    code, said = walk.say("review", "--sheet", SHEET, by=LEA)
    assert code == Exit.NOT_CONFORMING
    assert "Row 1 (A2) is not conforming, and nobody has decided on it." in said
    assert "In the way of approval:\n  Row 1, piece A2, does not conform or is in doubt, and no" in said
    first = walk.told("review", "--sheet", SHEET, by=LEA)["points"][0]
    assert (first["code"], first["must_answer"], first["answer"]) == ("not_conforming", True, None)
    short = first["point"][: len("not_conforming:") + 4]
    assert f"{short}  must be answered" in said
    assert "is answered" in walk.does("answer", "--sheet", SHEET, short, "goes back to the bench", by=LEA)
    assert walk.told("review", "--sheet", SHEET, by=LEA)["points"][0]["answer"]["words"] == "goes back to the bench"
    assert f"{LEA}, " in walk.say("review", "--sheet", SHEET, by=LEA)[1]
    assert "may not answer a point" in walk.refused("answer", "--sheet", SHEET, short, "done", by=BO)
    back = walk.does(
        "return", "--sheet", SHEET, "--cell", "1", "A2", "read it at both ends", "--words", "see row 1", by=LEA
    )
    assert "in round 2" in back and "1 (A2): read it at both ends" in back and "see row 1" in back


def measured_again_and_compared(walk: Walk) -> None:
    """Read again by whoever measured it, the diameter is over all the same."""
    assert "not signed yet" in walk.refused("again", "--sheet", SHEET, "1", ".7508", "--piece", "A2", by=LEA)
    walk.read("A2,1,.7507,1,read at both ends")
    walk.does("sign", "--sheet", SHEET, by=BO)
    code, said = walk.say("again", "--sheet", SHEET, "1", ".7507", "--piece", "A2", by=LEA)
    assert (code, "agree within their uncertainties" in said) == (Exit.DONE, True), said
    code, said = walk.say("again", "--sheet", SHEET, "2", "3.260", "--piece", "A1", by=LEA)
    assert (code, "outside now" in said) == (Exit.NOT_CONFORMING, True), said


def used_as_it_is(walk: Walk) -> None:
    not_yet = walk.refused("approve", "--sheet", SHEET, by=LEA)
    assert "no nonconformance with a decision names it" in not_yet and "was not approved" in not_yet
    assert "nor in doubt" in walk.refused(
        *("nonconformance", "--sheet", SHEET, "2", "--piece", "A2", "--no", "NC-7", "--what", "x"), by=BO
    )
    named = (
        "nonconformance",
        "--sheet",
        SHEET,
        "1",
        "--piece",
        "A2",
        "--no",
        "NC-7",
        "--what",
        "over by one feed step",
    )
    assert "NC-7: row 1 of piece A2" in walk.does(*named, by=BO)
    assert "one nonconformance open" in " ".join(walk.does("list", by="").split())
    assert walk.told("nonconformances")["waiting"] == 1
    assert "NC-7 waits for a decision" in walk.refused("approve", "--sheet", SHEET, by=LEA)
    use = ("dispose", "--sheet", SHEET, "NC-7", "use-as-is", "--words", "the seal runs on row 2")
    assert "needs the customer's leave" in walk.refused(*use, by=LEA)
    leave = ("--document", "CR-118", "--day", "2027-01-14", "--scope", "piece A2, row 1, up to .0003 over")
    assert "may not decide" in walk.refused(*use, *leave, by=BO)
    assert "NC-8" in walk.refused("dispose", "--sheet", SHEET, "NC-8", "scrap", "--words", "gone", by=LEA)
    assert "the sheet is signed" in walk.refused(
        "dispose", "--sheet", SHEET, "NC-7", "scrap", "--words", "gone", by=LEA
    )
    assert "NC-7: use as is." in walk.does(*use, *leave, by=LEA)
    assert "decided already" in walk.refused(*use, *leave, by=LEA)


def approved_by_who_may(walk: Walk) -> None:
    """By a lead who had no hand in it, with the right clock and the right passphrase."""
    assert f"{OLE} measured or signed this sheet" in walk.refused("approve", "--sheet", SHEET, by=OLE)
    assert "may not make a statement" in walk.refused("approve", "--sheet", SHEET, by=BO)
    right = walk.now
    walk.now -= 60 * MINUTE
    assert "clock is before the moment of what was signed last" in walk.refused("approve", "--sheet", SHEET, by=LEA)
    walk.now = right
    assert "points of the list must be answered" in walk.refused("approve", "--sheet", SHEET, by=LEA)
    for point in walk.told("review", "--sheet", SHEET)["points"]:
        if point["must_answer"] and point["answer"] is None:
            walk.does("answer", "--sheet", SHEET, point["point"], "seen on the part", by=LEA)
    assert "not the passphrase" in walk.refused("approve", "--sheet", SHEET, by=LEA, secret="lea has no secret")
    assert "Approve the sheet first" in walk.refused("release", "--sheet", SHEET, "--within", "lot 4", by=LEA)
    assert "Nothing stands in the way of approval." in walk.say("review", "--sheet", SHEET, by=LEA)[1]
    said = walk.does("approve", "--sheet", SHEET, by=LEA)
    assert f"“sheet approved”, stated by {LEA}, round 2" in said
    assert "only a sheet of its own mends" in said and "Nobody has said whether this is a detail" in said
    assert "is approved" in walk.refused("return", "--sheet", SHEET, "--words", "one more thing", by=LEA)
    assert "stated already" in walk.refused("approve", "--sheet", SHEET, by=LEA)


def stated_and_released(walk: Walk) -> None:
    not_complete = walk.refused("state", "--sheet", SHEET, "complete", by=LEA)
    assert "Row 1, piece A2: not conforming" in not_complete and "State not-complete" in not_complete
    assert "needs words" in walk.refused("state", "--sheet", SHEET, "not-complete", by=LEA)
    walk.does("state", "--sheet", SHEET, "not-complete", "--words", "row 1 of A2; a partial follows", by=LEA)
    assert "says within what" in walk.refused("release", "--sheet", SHEET, by=LEA)
    said = walk.does("release", "--sheet", SHEET, "--within", "lot 4711, 200 pieces, this set-up", by=LEA)
    assert "first article not complete" in said and "covers only the characteristics listed" in said


def told_and_whole(walk: Walk) -> None:
    listed = walk.does("list", by="")
    assert "run released" in listed and "first article not complete" in " ".join(listed.split())
    (told,) = walk.told("list")["sheets"]
    assert (told["stage"], told["first_article"], told["nonconformances_open"]) == (
        "released",
        "first article not complete",
        0,
    )
    said = walk.say("verdicts", "--sheet", SHEET)[1]
    assert "approved, round 2\n" in said
    assert f"run released, stated by {LEA} on " in said and ": lot 4711, 200 pieces, this set-up" in said
    standing = walk.told("verdicts", "--sheet", SHEET)["standing"]
    kinds = ["sheet approved", "first article not complete", "run released"]
    assert (standing["stage"], [each["kind"] for each in standing["statements"]]) == ("approved", kinds)
    assert standing["nonconformances"][0]["document"] == "CR-118"
    across = " ".join(walk.does("nonconformances", "cr-118", by="").split())
    assert "NC-7" in across and "use as is (CR-118)" in across
    assert "nothing to list" in walk.does("nonconformances", "NC-9", by="")
    walk.does("verify", by="")
    review = walk.say("review", "--sheet", SHEET, by=LEA)[1]
    assert "Returned from round 1 by Lea Lund" in review and "1 (A2): read it at both ends" in review


def sent_with_four_signatures(walk: Walk) -> None:
    """The PDF that everybody signed with the key they signed the sheet with, whole by itself and for poppler."""
    file = walk.folder / "as signed.pdf"
    walk.does("export", "signed-pdf", str(file), "--sheet", SHEET, by=LEA)
    found = walk.told("verify", str(file))
    fields = ("inspector", "lead", "first-article", "release")
    said = " ".join(each["text"] for each in found["statements"])
    assert found["verified"] and all(f"in the field “{field}”, and unchanged since" in said for field in fields)
    assert "sheet approved" in said and "lot 4711, 200 pieces, this set-up" in said
    file.write_bytes(file.read_bytes() + b"\n")
    code, said = walk.say("verify", str(file))
    assert code == Exit.NOT_CONFORMING and "after what Lea Lund signed last" in said
    assert "lacking in its PDF" in walk.refused("sign-pdf", "--sheet", SHEET, by=LEA)


def completed_by_a_partial(walk: Walk) -> None:
    """What is owed is named until a partial first article on a later piece shows it, begun and stated by command."""
    (first,) = (each["sheet"] for each in walk.told("list")["sheets"])
    assert "Row 1 is owed by a partial one" in walk.say("missing", "--sheet", first)[1]
    begun = walk.told("partial", "--sheet", first, "--serial", "A3", by=BO)
    partial = begun["sheet"]
    assert (begun["rows"], begun["follows"], begun["serials"]) == (["1"], first, ["A3"])
    assert "owed by the partial one on A3, which was not stated" in walk.say("missing", "--sheet", first)[1]
    walk.does("read", walk.file("a3.csv", "serial,number,reading", "A3,1,.7501"), "--sheet", partial, by=BO)
    assert "put right in a new round only" in walk.does("sign", "--sheet", partial, by=BO)
    points = walk.told("review", "--sheet", partial, by=LEA)["points"]
    assert "uncounted" not in [point["code"] for point in points], "that is asked of the sheet it completes"
    for point in points:
        walk.does("answer", "--sheet", partial, point["point"], "looked into", by=LEA)
    walk.does("approve", "--sheet", partial, by=LEA)
    walk.does("state", "complete", "--sheet", partial, by=LEA)
    said = walk.say("missing", "--sheet", first)[1]
    assert "is owed" not in said and "is used as it is" not in said
    amended = walk.told("amend", "--sheet", partial, "--reason", "the heat was another", by=LEA)
    assert (amended["follows"], amended["serials"]) == (partial, ["A3"])
    walk.does("verify", by="")
