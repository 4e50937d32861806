"""From measured to released in the window, by key alone.

A lead answers a signed sheet's list, reads rows again blind, and returns it with words; the inspector reads the words
and measures again; what stays out is named and used as it is by the customer's leave; three statements are signed; a
partial first article completes the first one; and what was approved is amended by a sheet of its own.

That use as is completes no first article, that a partial names its baseline, and that an approved record is never
altered but amended: trade practice, from memory.
"""

from __future__ import annotations

import io
import os
from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication

from app.command.main import run
from app.ledger.review.obstacles import ObstaclesDialog
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Sheet, Stage
from storage.book.clock import new_identity, wall_clock
from storage.book.door import Book
from storage.book.queries.sheets import list_sheets

pytestmark = pytest.mark.slow

BO, LEA, INES = "Bo Tran", "Lea Lund", "Ines Varga"
APPROVED, NOT_COMPLETE, RELEASED = StatementKind.APPROVED, StatementKind.NOT_COMPLETE, StatementKind.RELEASED
SECRETS = {INES: "nine blue herons", BO: "bo has a secret", LEA: "lea has a secret"}
PART = """\
# part,TP-9
# revision,B
# serials,"A1, A2"
# customer,Pale Harbour Pumps
number,kind,requirement,name
1,outside diameter,⌀.7500 ±.0005,pilot
2,length,3.250 ±.005,over all
3,length,.500 ±.004,shoulder
4,note,BREAK SHARP EDGES,
"""
READINGS = ("A1,1,.7500", "A1,2,3.250", "A1,3,.500", "A2,1,.7508", "A2,2,3.251", "A2,3,.501")
EDGES = ("A1,4,as required", "A2,4,as required")


#: All keys of the way, the words and passphrases that are typed included.
MOST_KEYS = 408


def says(book: Path, *argv: str, by: str = "", secret: str = "") -> str:
    """One command line on the book, in somebody's name; what it said."""
    out = io.StringIO()
    code = run(
        [*argv, *(("--as", by) if by else ()), "--book", str(book)],
        clock=wall_clock,
        identities=new_identity,
        environ={"TENTHWRIGHT_PASSPHRASE": secret or SECRETS[by or INES]},
        out=out,
        err=out,
    )
    assert code in (0, 1), out.getvalue()
    return out.getvalue()


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A shop with an inspector and a lead, and a sheet that the inspector measured and signed: one diameter is over."""
    book, file = tmp_path / "review.tenthwright", tmp_path / "part.csv"
    says(book, "new", "--shop", "Tern & Plover", "--person", INES, "--starter-crib")
    says(book, "rules", "--set", "closing check under=none", "check life=none")
    for name, duty in ((BO, "inspector"), (LEA, "lead")):
        says(book, "person", name, "--enter", "--duty", duty, by=INES, secret=SECRETS[name])
    file.write_text(PART, encoding="utf-8")
    says(book, "take-in", str(file), by=INES)
    file.write_text("\n".join(("serial,number,reading", *READINGS, *EDGES)), encoding="utf-8")
    says(book, "read", str(file), by=BO)
    says(book, "sign", by=BO)
    return book


class Review:
    """The window on that book, what the book on disk holds, and how many keys each step took, words included."""

    def __init__(self, shop: Any, book: Path) -> None:
        self.shop, self.path = shop, book
        self.keys: Counter[str] = Counter()

    @property
    def panel(self) -> Any:
        return self.shop.room("ledger").pages.review_panel

    @property
    def bench(self) -> Any:
        return self.shop.room("bench")

    def sheets(self) -> list[Sheet]:
        """Every sheet on disk, the oldest first."""
        with Book.open(self.path) as book:
            return [book.sheet(each.sheet) for each in reversed(book.ask(list_sheets, limit=9))]

    def types(self, step: str, *told: Any) -> None:
        """Type a step of the way; at its end a room's own dialog may stand."""
        with self.shop.in_dialogs():
            self.keys[step] += self.shop.type(*told)
        self.until(lambda: self.shop.sitting.house.worker.waiting() == 0)

    def until(self, holds: Callable[[], object]) -> None:
        self.shop.qtbot.waitUntil(lambda: bool(holds()), timeout=10_000)

    def asks(self, step: str, key: str, *told: Any) -> None:
        """Open a dialog by its key and go through it; a picture is kept as it is left."""
        self.types(step, key, self.shop.asked, *told[:-1], partial(self.pictured, step), told[-1])

    def pictured(self, name: str) -> bool:
        """Keep how window or dialog looks, where a folder for pictures is named."""
        if folder := os.environ.get("TENTHWRIGHT_PICTURES"):
            window = QApplication.activeWindow()
            window.grab().save(str(Path(folder) / f"{name.replace(' ', '-')}.png"))
        return True

    def back(self) -> bool:
        """No dialog asks any more."""
        return bool(self.shop.frame.isActiveWindow())

    def be(self, name: str) -> None:
        """Somebody else comes to the bench."""
        house = self.shop.sitting.house
        names = [person.name for person in house.shop.people.values()]
        by = names.index(name) - names.index(house.shop.people[house.person].name)
        arrows = ["<Down>" if by > 0 else "<Up>"] * abs(by)
        self.types("person", "<F8>", self.shop.asked, *arrows, "<Return>", self.back)
        assert house.shop.people[house.person].name == name

    def signs(self, step: str, secret: str) -> None:
        """The sheet at the Bench is signed."""
        self.asks(step, "<Ctrl+G>", secret, "<Return>")
        self.until(lambda: self.bench.seen.sheet.sealed)

    def states(self, step: str, key: str, words: str = "") -> None:
        """One statement with its words, signed with the lead's passphrase."""
        panel, stated = self.panel, len(self.panel.seen.sheet.statements)
        self.asks(step, key, *((words, "<Tab>") if words else ()), SECRETS[LEA], "<Return>")
        self.until(lambda: self.back() and len(panel.seen.sheet.statements) == stated + 1)
        self.pictured(f"{step} done")


@pytest.fixture
def review(shop_kind: Any, book: Path) -> Review:
    """The window, with the inspector at the bench and the sheet on it."""
    with Book.open(book) as opened:
        (listed,) = opened.ask(list_sheets, limit=2)
        person = next(one for one, who in opened.shop().people.items() if who.name == BO)
    made = shop_kind(book, person=person, sheet=listed.sheet)
    bench = made.room("bench")
    made.qtbot.waitUntil(lambda: bench.isVisible() and bench.seen is not None)
    return Review(made, book)


def test_the_walk(review: Review) -> None:
    points_answered(review)
    read_again_blind(review)
    returned_with_words(review)
    measured_again_and_signed(review)
    used_as_it_is(review)
    stated_and_released(review)
    completed_by_a_partial(review)
    found_across_the_shop(review)
    amended(review)
    assert review.keys.total() <= MOST_KEYS, review.keys


def points_answered(review: Review) -> None:
    """Each point with its rows and its reasons; what must be answered comes first, and is."""
    review.be(LEA)
    review.types("to the list", "<Ctrl+4>", "<Ctrl+L>", lambda: review.panel is not None and review.panel.seen)
    panel = review.panel
    review.pictured("points")
    assert panel.points.hasFocus(), "keys go to the list"
    assert panel.count.text() == "4 of 4 wait for an answer, one must have it"
    assert panel.standing.text().endswith("waits for review")
    for at, point in enumerate(panel.seen.points):
        assert (panel.points.row(), len(panel.rows.items)) == (at, len(point.cells))
        review.types("points seen", "<Down>")
    worst = panel.seen.points[0]
    assert worst.code == "not_conforming"
    review.types("answer", "<Alt+U>", "<Return>", panel.answer.hasFocus)
    assert panel.points.items[panel.points.row()].told == ("It is 0.0003 in over the upper limit 0.7505 in.",)
    assert [item.text for item in panel.rows.items] == ["1   ⌀.7500 ±.0005   piece A2"]
    review.types("answer", "goes back", "<Return>", lambda: worst.key in panel.seen.sheet.point_answers)
    review.until(panel.points.hasFocus)
    review.pictured("answered")


def read_again_blind(review: Review) -> None:
    """Two rows; neither limits nor what was read before is to be seen until each is kept, and then both are."""
    panel = review.panel
    review.types("again", "<Alt+R>")
    page = review.shop.room("ledger").pages.again_page
    review.until(page.picks.hasFocus)
    every = lambda: len(page.picks.picked()) == len(page.picks.cells())  # noqa: E731
    review.types(
        "again",
        "<Ctrl+A>",
        every,
        "<Ctrl+A>",
        lambda: not page.picks.picked(),
        "<Space>",
        "<Down>",
        "<Space>",
        "<Return>",
        page.entry.hasFocus,
    )
    assert [page.picks.cells().index(cell) for cell in page.picks.picked()] == [0, 1], "the line at hand stays"
    shown = review.shop.seen()
    assert not [hidden for hidden in ("7508", "7505", "7495", "3.25", "±") if hidden in shown]
    for n, text in enumerate((".7507", "3.251"), 1):
        review.types("again", text, "<Return>", lambda n=n: len(page.results.items) == n)
    review.pictured("again")
    told = [item.text for item in page.results.items]
    assert told[1] == "Row 1 (A1), read again: 0.7507 in after 0.7500 in. It was inside its limits and is outside now."
    review.types("again", "<Escape>", panel.points.hasFocus)
    review.until(lambda: len(panel.seen.sheet.read_again) == 2 and len(panel.seen.points) > 4)


def returned_with_words(review: Review) -> None:
    """Words to the row of the point that must be answered now: the first that is offered."""
    panel = review.panel
    review.types("return", "<Alt+U>", lambda: panel.point().code == "again_outside")
    review.asks("return", "<Alt+B>", "<Return>", "read it at both ends", "<Return>", "<Ctrl+Return>")
    review.until(lambda: panel.seen.sheet.stage is Stage.OPEN)
    (words,) = review.sheets()[0].returns[-1].rows
    assert words.words == "read it at both ends"


def measured_again_and_signed(review: Review) -> None:
    """The inspector is led to the row and its words, measures it again, and signs the second round."""
    bench = review.bench
    review.be(BO)
    review.types("to the bench", "<Ctrl+1>", bench.entry.hasFocus)
    review.until(lambda: review.shop.frame.notice().startswith("Lea Lund returned this sheet."))
    review.until(lambda: "to be read again" in bench.ahead.text())
    review.pictured("returned")
    at = bench.flow.at
    assert (bench.seen.row(at.row).number, bench.seen.serial(at.piece)) == ("1", "A1"), "where the words are"
    shown = review.shop.seen()
    assert "returned: read it at both ends" in shown and "to be read again: 1 (A1)" in shown
    assert review.shop.frame.notice() == "Lea Lund returned this sheet. Row 1 (A1): read it at both ends"
    review.types("read anew", "<F2>", ".7500", "<Return>", review.shop.asked, "<Return>", review.back)
    review.until(lambda: "Ctrl+G signs the sheet" in bench.ahead.text())
    reading = bench.seen.last_reading()
    assert (reading.written, reading.reason) == (".7500", "returned: read it at both ends"), "said once is enough"
    review.signs("sign", SECRETS[BO])
    assert "a lead reviews it" in review.shop.frame.notice()


def used_as_it_is(review: Review) -> None:
    """Raised, and decided with the customer's document, its day and its scope."""
    panel = review.panel
    review.be(LEA)
    review.types("to the list", "<Ctrl+4>", lambda: panel.isVisible() and panel.seen.sheet.stage is Stage.SIGNED)
    review.asks("raise", "<Alt+N>", "NC-7", "<Tab>", "over by one feed step", "<Return>")
    review.until(lambda: panel.seen.sheet.nonconformances)
    leave = Leave("CR-118", "2026-11-20", "A2, row 1, up to .0003 over")
    lines = ("the seal runs on row 2", leave.document, leave.day)
    said = [each for line in lines for each in ("<Tab>", line)]
    review.asks("decide", "<Alt+E>", *said, "<Tab>", leave.scope, "<Return>")
    held = lambda: next(iter(panel.seen.sheet.nonconformances.values()))  # noqa: E731
    review.until(lambda: held().disposition is Disposition.USE_AS_IS)
    assert held().leave == leave


def stated_and_released(review: Review) -> None:
    """Three statements, each for itself, and what is next is told; complete it is not, whatever the customer says."""
    panel = review.panel
    review.states("approve", "<F10>")
    assert panel.standing.text().endswith("next: first article complete (F11) or not (Shift+F11)")
    assert not panel.count.text(), "nothing can be answered any more, so nothing waits for it"
    review.types("complete", "<F11>", review.shop.asked, partial(review.pictured, "obstacles"))
    obstacles = QApplication.activeWindow()
    assert isinstance(obstacles, ObstaclesDialog)
    assert [item.text.partition(":")[0] for item in obstacles.list.items] == ["Row 1, piece A2"]
    review.types("complete", "<Escape>", review.back)
    review.states("not complete", "<Shift+F11>", "row 1 of A2; a partial follows")
    assert panel.standing.text().endswith("next: the run is released (F12), or waits")
    review.states("release", "<F12>", "lot 4711, 200 pieces")
    assert panel.standing.text().endswith("a partial first article completes it (Alt+P)")
    (sheet,) = review.sheets()
    assert [each.kind for each in sheet.statements] == [APPROVED, NOT_COMPLETE, RELEASED]


def completed_by_a_partial(review: Review) -> None:
    """One further piece, only the row that is missing; it names its baseline, and the two are complete together. The
    sheet that is looked for is the one reviewed, however fast its key comes after the serial."""
    panel, bench = review.panel, review.bench
    review.asks("partial", "<Alt+P>", "A3", "<Return>")
    review.until(lambda: bench.isVisible() and [piece.serial for piece in bench.seen.sheet.pieces] == ["A3"])
    review.be(BO)
    seen = bench.seen
    assert [seen.row(row).number for row, _piece in seen.walk.cells] == ["1"]
    review.until(lambda: bench.ahead.text() == "Nothing waits after this row.")
    assert "partial first article" in review.shop.seen()
    review.pictured("partial at the bench")
    review.types("partial", ".7501", "<Return>", lambda: not bench.flow.under_way and bench.seen.sheet.readings)
    review.signs("sign", SECRETS[BO])
    review.be(LEA)
    shown = lambda: panel.seen and panel.seen.sheet.completes  # noqa: E731
    review.types("to the list", "<Ctrl+4>", "<Escape>", "A3", "<Ctrl+L>", shown)
    assert panel.standing.text().startswith("partial first article, completes the sheet of A1, A2")
    review.states("approve", "<F10>")
    together = "complete together with the sheet that it completes: TP-9 B, A1, A2"
    told = lambda: together in review.shop.seen(QApplication.activeWindow())  # noqa: E731
    review.asks("complete", "<F11>", told, SECRETS[LEA], "<Return>")
    review.until(lambda: len(panel.seen.sheet.statements) == 2)
    baseline, partial_one = review.sheets()
    assert partial_one.completes == baseline.identity
    assert partial_one.only == {baseline.plan.characteristics[0].identity}


def found_across_the_shop(review: Review) -> None:
    """By the customer's document; Enter reviews the sheet, which tells of the partial that completed it."""
    review.types("across", "<Escape>", "<Alt+N>")
    across = review.shop.room("ledger").pages.across_list
    review.types("across", "CR-118", lambda: [each.number for each in across.found] == ["NC-7"])
    review.pictured("across")
    review.types("across", "<Return>", lambda: review.panel.isVisible() and review.panel.seen is not None)
    review.until(lambda: "first article complete together with the partial one on A3" in review.panel.standing.text())


def amended(review: Review) -> None:
    """A sheet of its own in place of the approved one, which it names; that one stays as it was."""
    before, bench = review.sheets()[0], review.bench
    review.asks("amend", "<Alt+M>", "the lot was wrong", "<Return>")
    review.until(lambda: bench.isVisible() and bench.seen.sheet.amends == before.identity)
    assert "amends another sheet" in review.shop.seen()
    review.pictured("amending")
    first, _partial, amending = review.sheets()
    assert (first.seals, first.statements) == (before.seals, before.statements)
    assert amending.amends == before.identity and amending.stage is Stage.OPEN
