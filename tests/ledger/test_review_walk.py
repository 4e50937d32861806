"""The way from a signature to a release, by keys through the window, down to what the book on disk holds.

The steps and their order are trade practice ("common practice", from memory): signed by who measured, looked through by
a lead, rows read again, returned, decided on by the customer's leave, approved; what the customer accepts completes no
first article; a release says within what.
"""

from __future__ import annotations

from typing import Any

import pytest
from PySide6.QtCore import Qt

from app.ledger.review.deciding import DecideDialog
from app.ledger.review.obstacles import ObstaclesDialog
from app.ledger.review.returning import ReturnDialog
from app.ledger.review.stating import StateDialog
from app.parts.raising import RaiseDialog
from inspection.sheet.canonical import form_4
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.review import Returned, StatementKind
from inspection.sheet.state import Sheet, Stage
from tests.ledger.conftest import ALT, CTRL, Ledger

ENTER, ESCAPE, TAB, SPACE = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab, Qt.Key.Key_Space
SHIFT = Qt.KeyboardModifier.ShiftModifier
LEAD, INSPECTOR = "Tomas Brandvold", "Mira Oduya"


@pytest.mark.slow
def test_from_a_signature_to_a_release(ledger: Ledger, answers: Any) -> None:
    given, _ = answers
    passphrase = ledger.demo.passphrase
    signs(ledger, given, passphrase, reopen=True)
    panel = ledger.review("002")

    # the list, answered
    first = panel.point()
    ledger.press(ENTER)
    ledger.writes("seen on the part as well", then=ENTER)
    ledger.until(lambda: first.key in panel.seen.sheet.point_answers)

    # two rows read again, blind
    reads_two_again(ledger)

    # returned with words
    ledger.press(Qt.Key.Key_B, ALT)
    returning = ledger.asked(ReturnDialog)
    cell = returning._shown[0]
    ledger.hits(ENTER)
    ledger.writes("read it at both ends", then=ENTER)
    ledger.tabs_to(returning.whole)
    ledger.writes("see row 29")
    ledger.hits(ENTER, CTRL)
    ledger.back()
    ledger.until(lambda: panel.seen.sheet.stage is Stage.OPEN)
    assert kept(ledger).returns[-1].rows == (Returned(*cell, "read it at both ends"), Returned("", "", "see row 29"))

    # a second signature
    ledger.press(ESCAPE)
    ledger.until(ledger.room.top.search.hasFocus)
    assert ledger.room.line().state.startswith("returned")
    signs(ledger, given, passphrase, reopen=False)
    ledger.press(Qt.Key.Key_L, CTRL)
    ledger.until(lambda: panel.seen.sheet.stage is Stage.SIGNED)

    # what does not conform: named, and used as it is by the customer's leave
    named_and_used_as_it_is(ledger, panel)

    # the list, answered to its end; three statements, each for itself
    ledger.answer_what_must(panel)
    for key, modifier, words in (
        (Qt.Key.Key_F10, Qt.KeyboardModifier.NoModifier, ""),
        (Qt.Key.Key_F11, SHIFT, "row 29 of piece 002; a partial follows"),
        (Qt.Key.Key_F12, Qt.KeyboardModifier.NoModifier, "lot L-0931, 200 pieces, this set-up"),
    ):
        states(ledger, key, modifier, words, passphrase)
        if key == Qt.Key.Key_F10:
            refuses_to_call_it_complete(ledger)
    sheet = kept(ledger)
    said = [(each.kind, form_4.read_statement(each.content).words) for each in sheet.statements]
    assert said == [
        (StatementKind.APPROVED, ""),
        (StatementKind.NOT_COMPLETE, "row 29 of piece 002; a partial follows"),
        (StatementKind.RELEASED, "lot L-0931, 200 pieces, this set-up"),
    ]
    ledger.until(lambda: "run released by Tomas Brandvold" in panel.standing.text())
    told_on_the_page(ledger, sheet)


def kept(ledger: Ledger) -> Sheet:
    """The sheet as the book on disk has it."""
    with ledger.book() as book:
        return book.sheet(ledger.demo.sheet)


def signs(ledger: Ledger, given: list[Any], passphrase: str, *, reopen: bool) -> None:
    """The inspector signs the sheet; first a new round where it is sealed."""
    ledger.be(INSPECTOR)
    if reopen:
        ledger.types("002 ")
        ledger.until(lambda: len(ledger.room.model.lines) == 1)
        given.append({"reason": "one more look"})
        ledger.press(Qt.Key.Key_R, CTRL)
        ledger.until(lambda: not ledger.room.line().sealed)
    given.append({"passphrase": passphrase})
    ledger.press(Qt.Key.Key_G, CTRL)
    ledger.until(lambda: ledger.room.line().sealed)
    ledger.be(LEAD)


def reads_two_again(ledger: Ledger) -> None:
    ledger.press(Qt.Key.Key_R, ALT)
    page = ledger.room.pages.again_page
    ledger.until(page.picks.hasFocus)
    ledger.press(Qt.Key.Key_A, CTRL)
    if page.picks.picked():
        ledger.press(Qt.Key.Key_A, CTRL)
    cells = page.picks.cells()
    assert page.picks.picked() == ()
    rows = [row for row, cell in enumerate(cells) if numeric(page, cell)][:2]
    for row in rows:
        page.picks.go(row)
        ledger.press(SPACE)
    ledger.press(ENTER)
    while page.wanted() is not None:
        sheet = kept(ledger)
        was = next(each for each in sheet.counting(*page.wanted().cell) if each.slot == page.wanted().slot)
        ledger.writes(was.written, then=ENTER)
    ledger.until(
        lambda: (
            {(e.reading.characteristic, e.reading.piece) for e in kept(ledger).read_again}
            == {cells[row] for row in rows}
        )
    )
    ledger.until(lambda: len(page.results.items) == len(kept(ledger).read_again))
    assert all("U = " in line for item in page.results.items for line in item.told)
    ledger.press(ESCAPE)
    ledger.until(ledger.room.pages.review_panel.isVisible)


def numeric(page: Any, cell: tuple[str, str]) -> bool:
    """Whether a row was read off a scale."""
    return all(each.count is not None and each.slot.role == "value" for each in page._sheet.counting(*cell))


def named_and_used_as_it_is(ledger: Ledger, panel: Any) -> None:
    ledger.press(Qt.Key.Key_N, ALT)
    ledger.asked(RaiseDialog)
    ledger.writes("NC-7", then=TAB)
    ledger.writes("over by the amount of one feed step", then=ENTER)
    ledger.back()
    ledger.until(lambda: len(panel.nonconformances.items) == 1)
    assert panel.nonconformances.items[0].side == "waits for a decision"
    ledger.press(Qt.Key.Key_E, ALT)
    deciding = ledger.asked(DecideDialog)
    assert deciding.disposition() is Disposition.USE_AS_IS
    ledger.hits(TAB)
    for words in ("agreed in writing", "CR-118", "2026-09-20"):
        ledger.writes(words, then=TAB)
    ledger.writes("piece 002, row 29, up to .002 over", then=ENTER)
    ledger.back()
    ledger.until(lambda: panel.nonconformances.items[0].side == "use as is")
    (held,) = kept(ledger).nonconformances.values()
    assert held.leave == Leave("CR-118", "2026-09-20", "piece 002, row 29, up to .002 over")


def states(ledger: Ledger, key: Qt.Key, modifier: Qt.KeyboardModifier, words: str, passphrase: str) -> None:
    before = len(kept(ledger).statements)
    ledger.press(key, modifier)
    ledger.asked(StateDialog)
    if words:
        ledger.writes(words, then=TAB)
    ledger.writes(passphrase, then=ENTER)
    ledger.back()
    assert len(kept(ledger).statements) == before + 1


def refuses_to_call_it_complete(ledger: Ledger) -> None:
    """What the customer accepts completes nothing; and the bench's keys rest, and say so."""
    ledger.press(Qt.Key.Key_F11)
    shown = ledger.asked(ObstaclesDialog)
    assert [item.text.partition(":")[0] for item in shown.list.items] == ["Row 29, piece 002"]
    ledger.hits(ESCAPE)
    ledger.back()
    ledger.press(Qt.Key.Key_B, ALT)
    assert ledger.frame.notice().startswith("This sheet is approved, so nobody can return the sheet")


def told_on_the_page(ledger: Ledger, sheet: Sheet) -> None:
    ledger.press(ESCAPE)
    ledger.until(lambda: "run released" in ledger.room.side.text())
    text = ledger.room.side.text()
    for statement in sheet.statements:
        assert statement.digest[:16] in text
    for wanted in ("lot L-0931, 200 pieces, this set-up", "NC-7", "CR-118 of 2026-09-20", "Read again at review"):
        assert wanted in text
    assert ledger.room.line().state.startswith("run released, article not complete")
    ledger.press(Qt.Key.Key_R, CTRL)
    ledger.until(lambda: "so nobody can begin a new round" in ledger.frame.notice())
    ledger.press(Qt.Key.Key_G, CTRL)
    ledger.until(lambda: "so nobody can sign the sheet" in ledger.frame.notice())
