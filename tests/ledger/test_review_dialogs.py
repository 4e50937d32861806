"""What a review asks, by keys: it is handed in as typed, and what is refused stays there with its reason."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from app.jobs.hand import Foreseen
from app.ledger.review.deciding import DecideDialog
from app.ledger.review.going_on import AmendDialog, PartialDialog
from app.ledger.review.obstacles import ObstaclesDialog
from app.ledger.review.returning import ReturnDialog
from app.ledger.review.stating import StateDialog
from app.parts.raising import RaiseDialog
from inspection.drawing.requirement import Form
from inspection.measuring.reading import Slot
from inspection.quantity.speaker import plain
from inspection.quantity.units import Quantity
from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.review import Returned, StatementKind
from inspection.sheet.state import Cell, Sheet, Stage
from storage.book.clock import Moment
from tests.ledger.conftest import ALT, CTRL, Ledger

ENTER, ESCAPE, TAB, SPACE = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab, Qt.Key.Key_Space
UP, DOWN = Qt.Key.Key_Up, Qt.Key.Key_Down
LEAD = "Tomas Brandvold"


@pytest.fixture
def lead(ledger: Ledger) -> Ledger:
    ledger.be(LEAD)
    return ledger


def sheet_of(ledger: Ledger, serials: str) -> Sheet:
    with ledger.book() as book:
        name = next(line.sheet for line in ledger.room.model.lines if line.serials == serials)
        return book.sheet(name)


def new_sheet(ledger: Ledger) -> str:
    """A sheet on the pieces S1 and S2, of which nothing is read; its serials as listed."""
    plan = sheet_of(ledger, "01, 02").plan.identity
    ledger.house.do(acts.MakeSheet(plan=plan, serials=("S1", "S2")))
    ledger.until(lambda: "S1, S2" in ledger.serials())
    return "S1, S2"


def read_out(ledger: Ledger, serials: str, piece: int, rows: int) -> list[Cell]:
    """The first plain rows of a sheet, read a whole band over their upper limit on one piece."""
    sheet = sheet_of(ledger, serials)
    name = sheet.pieces[piece].identity
    chosen = [
        row
        for row in sheet.plan.characteristics
        if row.requirement.form is Form.PLUS_MINUS and row.repeats == 1 and not row.places
    ]
    chosen = [row for row in chosen if not sheet.counting(row.identity, name)][:rows]
    for row in chosen:
        asked = row.requirement
        count = asked.upper + asked.band
        reading = acts.TakeReading(
            sheet=sheet.identity,
            characteristic=row.identity,
            piece=name,
            slot=Slot(),
            quantity=Quantity(count, asked.kind, asked.unit, plain(count, asked.unit, 4), 4),
        )
        ledger.house.do(reading)
    ledger.until(lambda: all(sheet_of(ledger, serials).counting(row.identity, name) for row in chosen))
    assert len(chosen) == rows
    return [(row.identity, name) for row in chosen]


# --- returned ---------------------------------------------------------------------------------------------------------


def test_a_return_has_words_to_rows_found_by_number_and_serial(lead: Ledger) -> None:
    panel = lead.review("002")
    sheet = panel.seen.sheet
    number = {row.number: row.identity for row in sheet.plan.characteristics}
    lead.press(Qt.Key.Key_B, ALT)
    dialog = lead.asked(ReturnDialog)
    assert dialog._shown[0] == panel.point().cells[0], "the rows of the point at hand come first"
    for find, words in (("7 003", "with the other gauge"), ("9 all", "clean it first")):
        lead.tabs_to(dialog.search)
        dialog.search.clear()
        lead.writes(find, then=ENTER)
        assert dialog.rows.hasFocus()
        dialog.rows.go(len(dialog.words))
        lead.hits(ENTER)
        assert dialog.row_words.hasFocus()
        lead.writes(words, then=ENTER)
    dialog.rows.go(0)
    lead.hits(ENTER)
    lead.writes(" and drop this")
    lead.hits(ESCAPE)
    assert dialog.isVisible() and dialog.rows.hasFocus()
    lead.hits(ENTER, CTRL)
    lead.back()
    lead.until(lambda: panel.seen.sheet.stage is Stage.OPEN)
    third = sheet.pieces[2].identity
    assert panel.seen.sheet.returns[-1].rows == (
        Returned(number["7"], third, "with the other gauge"),
        Returned(number["9"], "", "clean it first"),
    )
    lead.press(ESCAPE)
    lead.reads("Returned")
    text = lead.room.side.text()
    assert "row 7, piece 003\nwith the other gauge" in text and "row 9\nclean it first" in text


def test_a_return_without_words_is_refused_and_stays(lead: Ledger) -> None:
    panel = lead.review("002")
    lead.press(Qt.Key.Key_B, ALT)
    dialog = lead.asked(ReturnDialog)
    lead.hits(ENTER, CTRL)
    lead.until(lambda: dialog.problem.text().startswith("Returning a sheet needs words"))
    assert dialog.isVisible() and dialog.yes.isEnabled()
    lead.hits(ESCAPE)
    lead.back()
    assert panel.seen.sheet.stage is Stage.SIGNED


# --- nonconformances --------------------------------------------------------------------------------------------------


def test_a_nonconformance_is_of_one_piece_and_of_the_rows_ticked(ledger: Ledger) -> None:
    serials = new_sheet(ledger)
    first = read_out(ledger, serials, 0, 1)
    second = read_out(ledger, serials, 1, 2)
    panel = ledger.review("S1")
    ledger.press(Qt.Key.Key_N, ALT)
    dialog = ledger.asked(RaiseDialog)
    assert dialog.piece.isVisible() and dialog.piece.count() == 2
    assert list(dialog.rows.picked()) == first
    ledger.tabs_to(dialog.piece)
    ledger.hits(DOWN)
    assert list(dialog.rows.picked()) == second, "all of the piece are ticked"
    ledger.tabs_to(dialog.rows)
    ledger.hits(SPACE)
    assert list(dialog.rows.picked()) == second[1:]
    ledger.hits(ENTER)
    assert dialog.number.hasFocus()
    ledger.writes("", then=ENTER)
    ledger.until(lambda: "needs the shop's number" in dialog.problem.text())
    ledger.writes("NC-9", then=TAB)
    ledger.writes("two feed steps over", then=ENTER)
    ledger.back()
    ledger.until(lambda: bool(panel.seen.sheet.nonconformances))
    (held,) = panel.seen.sheet.nonconformances.values()
    assert (held.number, held.piece, held.rows) == ("NC-9", second[1][1], (second[1][0],))
    assert held.what == "two feed steps over"


def test_where_nothing_is_out_there_is_nothing_to_raise(ledger: Ledger) -> None:
    ledger.review("0901")
    ledger.press(Qt.Key.Key_N, ALT)
    ledger.until(lambda: ledger.frame.notice().startswith("No row of this sheet is out or in doubt"))


def raised(ledger: Ledger, serials: str, cells: list[Cell], number: str = "NC-9") -> None:
    sheet = sheet_of(ledger, serials)
    act = acts.RaiseNonconformance(
        sheet=sheet.identity,
        piece=cells[0][1],
        characteristics=tuple(row for row, _ in cells),
        number=number,
        what="over",
    )
    ledger.house.do(act)
    ledger.until(lambda: bool(sheet_of(ledger, serials).nonconformances))


def test_rework_asks_for_the_rows_it_may_have_moved_and_reopens_them(ledger: Ledger) -> None:
    serials = new_sheet(ledger)
    cells = read_out(ledger, serials, 1, 2)
    raised(ledger, serials, cells[:1])
    ledger.be(LEAD)
    panel = ledger.review("S1")
    ledger.press(Qt.Key.Key_E, ALT)
    dialog = ledger.asked(DecideDialog)
    assert dialog.disposition() is Disposition.REWORK
    assert dialog.rows.isVisible() and not dialog.document.isVisible()
    assert cells[1] in dialog.rows.cells() and cells[0] not in dialog.rows.cells()
    ledger.tabs_to(dialog.rows)
    dialog.rows.go(dialog.rows.cells().index(cells[1]))
    ledger.hits(SPACE)
    ledger.hits(ENTER)
    ledger.hits(TAB)
    ledger.writes("turn it down", then=ENTER)
    ledger.back()
    ledger.until(lambda: panel.seen.sheet.reworked == {cells[0][1]: 1})
    assert set(panel.seen.sheet.before) == set(cells)
    item = panel.nonconformances.items[0]
    number = panel.seen.sheet.characteristic(cells[1][0]).number
    assert item.side == "rework" and f"measured again too: {number}" in item.told


def test_lines_follow_the_decision_and_a_refused_one_keeps_what_was_typed(lead: Ledger) -> None:
    panel = lead.review("002")
    raised(lead, "001, 002, 003", list(panel.point().cells))
    lead.until(lambda: len(panel.nonconformances.items) == 1)
    lead.press(Qt.Key.Key_E, ALT)
    dialog = lead.asked(DecideDialog)
    seen = {}
    for how in Disposition:
        dialog.how.setCurrentIndex(list(Disposition).index(how))
        seen[how] = dialog.document.isVisible(), dialog.rows.isVisible()
    assert seen == {how: (how.by_leave, how.measured_again) for how in Disposition}
    lead.tabs_to(dialog.how)
    dialog.how.setCurrentIndex(list(Disposition).index(Disposition.SCRAP))
    lead.hits(TAB)
    lead.writes("no use", then=ENTER)
    lead.until(lambda: "the sheet is signed" in dialog.problem.text())
    assert dialog.words.text() == "no use"
    dialog.how.setCurrentIndex(list(Disposition).index(Disposition.USE_AS_IS))
    lead.hits(ENTER)
    lead.until(lambda: "document, day and scope" in dialog.problem.text())
    dialog.document.setText("CR-1")
    dialog.scope.setText("all")
    dialog.day.setText("20 March")
    lead.hits(ENTER)
    lead.until(lambda: "“20 March” is no day" in dialog.problem.text())
    dialog.day.setText("2026-03-20")
    lead.hits(ENTER)
    lead.back()
    lead.until(lambda: panel.nonconformances.items[0].side == "use as is")


# --- statements -------------------------------------------------------------------------------------------------------


def texts(dialog: Any) -> str:
    return " ".join(label.text() for label in dialog.findChildren(QLabel) if label.isVisible())


def approved(ledger: Ledger, panel: Any) -> None:
    """The sheet of C01, which nothing is out on, approved by the lead once its list is answered; the key says so."""
    ledger.press(Qt.Key.Key_F10)
    obstacles = ledger.asked(ObstaclesDialog)
    said = [item.text for item in obstacles.list.items]
    assert len(said) > 3 and said[0].startswith(f"{len(said) - 1} points of the list must be answered")
    ledger.hits(ENTER)
    ledger.back()
    ledger.answer_what_must(panel)
    ledger.press(Qt.Key.Key_F10)
    ledger.asked(StateDialog)
    ledger.writes(ledger.demo.passphrase, then=ENTER)
    ledger.back()
    ledger.until(lambda: panel.seen.sheet.stage is Stage.APPROVED)


def waits_after_wrong_ones(lead: Ledger, dialog: Any) -> None:
    """The third one wrong makes one wait, which is counted down; a try before its end is none, and says so."""
    for tries in (2, 3):
        lead.until(dialog.yes.isEnabled)
        lead.writes("not this one", then=ENTER)
        lead.until(lambda tries=tries: (tries == 3) is dialog.wait.isVisible() and dialog.yes.isEnabled())
    told = dialog.wait.text()
    assert "next try is in 2 seconds" in told or "next try is in one second" in told
    lead.writes(lead.demo.passphrase, then=ENTER)
    assert dialog.problem.text() == "Nothing was tried: the wait is not over." and dialog.words.text() == "lot 4711"
    lead.until(lambda: dialog.wait.text() == "The wait is over: the next try may be made now.")
    assert not dialog.problem.isVisible()
    dialog.passphrase.selectAll()


def test_each_statement_asks_for_its_own_words_and_for_the_passphrase(
    lead: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    panel = lead.review("c01")
    approved(lead, panel)
    lead.press(Qt.Key.Key_F12)
    dialog = lead.asked(StateDialog)
    told = texts(dialog)
    assert "Release of a safety-critical or regulated part is for the people authorised or licensed for it" in told
    assert "As to the first article: nothing is stated yet." in told
    lead.hits(ENTER)
    assert dialog.problem.text() and dialog.words.hasFocus()
    lead.writes("lot 4711", then=ENTER)
    assert dialog.problem.text() and dialog.passphrase.hasFocus()
    lead.writes("not this one", then=ENTER)
    lead.until(lambda: "not the passphrase" in dialog.problem.text())
    assert dialog.words.text() == "lot 4711" and dialog.passphrase.selectedText(), "the words stand; the next replaces"
    waits_after_wrong_ones(lead, dialog)
    lead.writes(lead.demo.passphrase, then=ENTER)
    lead.back()
    assert [each.kind for each in sheet_of(lead, "C01").statements] == [StatementKind.APPROVED, StatementKind.RELEASED]
    lead.until(lambda: "run released by Tomas Brandvold" in panel.standing.text())
    monkeypatch.setattr(Foreseen, "now", lambda _: Moment(2_500_000_000 * 1_000_000, "2049-03-22"))
    lead.press(Qt.Key.Key_F12)
    lead.until(lambda: "certificate was good until" in lead.frame.notice())
    assert lead.frame.isActiveWindow(), "no passphrase is asked for in vain"


def test_a_complete_first_article_is_stated_once(lead: Ledger) -> None:
    panel = lead.review("c01")
    approved(lead, panel)
    lead.press(Qt.Key.Key_F11)
    lead.asked(StateDialog)
    lead.writes(lead.demo.passphrase, then=ENTER)
    lead.back()
    lead.until(lambda: "first article complete by" in panel.standing.text())
    lead.press(Qt.Key.Key_F11)
    lead.until(lambda: "is stated already" in lead.frame.notice())
    button = next(each for each in panel.buttons.buttons if each.text().startswith("Complete"))
    assert button.property("look") == "idle"


def test_an_approved_sheet_is_amended_by_another_one(lead: Ledger) -> None:
    panel = lead.review("c01")
    first = panel.seen.sheet.identity
    lead.press(Qt.Key.Key_M, ALT)
    assert lead.frame.notice().startswith("Only an approved sheet is amended"), "the key rests, and says why"
    approved(lead, panel)
    lead.press(Qt.Key.Key_M, ALT)
    dialog = lead.asked(AmendDialog)
    lead.hits(ENTER)
    lead.until(lambda: bool(dialog.problem.text()))
    lead.writes("the lot is wrong", then=ENTER)
    bench = lead.frame.room("bench")
    lead.until(lambda: bench.isVisible() and bench.seen is not None and bench.seen.sheet.amends == first)
    assert bench.seen.sheet.pieces[0].serial == "C01" and bench.seen.sheet.judgements


def test_a_first_article_is_completed_on_a_further_piece(lead: Ledger) -> None:
    panel = lead.review("002")
    first, (out,) = panel.seen.sheet, panel.point().cells
    used_as_it_is(lead, "001, 002, 003", [out])
    approved(lead, panel)
    lead.press(Qt.Key.Key_P, ALT)
    assert "is not stated as “first article not complete”" in lead.frame.notice(), "the key rests, and says why"
    lead.press(Qt.Key.Key_F11, Qt.KeyboardModifier.ShiftModifier)
    lead.asked(StateDialog)
    lead.writes("row 29 of 002", then=TAB)
    lead.writes(lead.demo.passphrase, then=ENTER)
    lead.back()
    lead.press(Qt.Key.Key_P, ALT)
    dialog = lead.asked(PartialDialog)
    lead.hits(ENTER)
    assert dialog.problem.text() and dialog.serials.hasFocus()
    lead.writes("004, 005", then=ENTER)
    bench = lead.frame.room("bench")
    lead.until(lambda: bench.isVisible() and bench.seen is not None and bench.seen.sheet.completes == first.identity)
    assert bench.seen.sheet.only == {out[0]}
    assert "partial first article" in bench.head.part.text()
    head = bench.seen.sheet.head
    assert head.order and (head.order, head.cause) == (first.head.order, first.head.cause), "it belongs to that one"
    assert [piece.serial for piece in bench.seen.sheet.pieces] == ["004", "005"]


def used_as_it_is(ledger: Ledger, serials: str, cells: list[Cell]) -> None:
    """What is out on a sheet has its number, and is used as it is by the customer's leave."""
    raised(ledger, serials, cells)
    sheet = sheet_of(ledger, serials)
    act = acts.DisposeNonconformance(
        sheet=sheet.identity,
        nonconformance=next(iter(sheet.nonconformances)),
        disposition=Disposition.USE_AS_IS,
        words="agreed",
        leave=Leave("CR-1", "2026-03-20", "all"),
    )
    ledger.house.do(act)
    panel = ledger.room.pages.review_panel

    def decided(held: Any) -> bool:
        return any(one.disposition is not None for one in held.nonconformances.values())

    ledger.until(lambda: decided(panel.seen.sheet))  # else its list still holds the point that this settles


def test_a_lead_who_may_approve_an_own_sheet_is_told_that_the_statement_says_so(ledger: Ledger) -> None:
    sheet = sheet_of(ledger, "C01")
    rules = replace(ledger.house.shop.rules, lead_may_approve_own=True)
    ledger.house.do(acts.IssueRules(rules=rules))
    ledger.until(lambda: ledger.house.shop.rules.lead_may_approve_own)
    panel = ledger.review("c01")
    assert not panel.seen.sheet.rules.lead_may_approve_own, "a sheet keeps the rules it was made by"
    ledger.press(Qt.Key.Key_F10)
    ledger.until(lambda: "let nobody approve an own sheet" in ledger.frame.notice())
    assert sheet.is_own(ledger.house.person)
