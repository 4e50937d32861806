"""What is said to a row at the Bench: a nonconformance raised there by key, and the words of a return."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.bench.words_at import words_at, words_of_return
from app.parts.raising import RaiseDialog
from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition
from inspection.sheet.people import Duty
from inspection.sheet.review import Return, Returned

ALT = Qt.KeyboardModifier.AltModifier
ENTER, TAB, ESCAPE = Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Escape


@pytest.fixture
def out(bench: Any) -> Any:
    """Row 2 read over its limit, row 3 inside."""
    bench.go("2")
    bench.types("1.2570\n")
    bench.types("2.0000\n")
    bench.settle()
    return bench


def hits(key: Qt.Key) -> None:
    window = QApplication.activeWindow()
    assert window is not None
    QTest.keyClick(window.windowHandle(), key)


def writes(text: str) -> None:
    for sign in text:
        window = QApplication.activeWindow()
        assert window is not None
        QTest.keyClick(window.windowHandle(), sign)


def test_a_row_that_is_out_gets_its_number_by_key(out: Any) -> None:
    out.press(Qt.Key.Key_O, ALT)
    out.qtbot.waitUntil(lambda: isinstance(QApplication.activeWindow(), RaiseDialog))
    dialog = QApplication.activeWindow()
    assert isinstance(dialog, RaiseDialog)
    assert [out.sheet.characteristic(row).number for row, _ in dialog.rows.picked()] == ["2"]
    writes("NC-3")
    hits(TAB)
    writes("chip under the stop")
    hits(ENTER)
    out.qtbot.waitUntil(out.frame.isActiveWindow)
    out.settle()
    (held,) = out.kept().nonconformances.values()
    assert (held.number, held.what) == ("NC-3", "chip under the stop")
    out.qtbot.waitUntil(lambda: out.line("2").note == "NC-3: waits for a decision")
    act = acts.DisposeNonconformance(
        sheet=out.sheet_id, nonconformance=held.identity, disposition=Disposition.REWORK, words="turn it down"
    )
    out.house.do(act)
    out.settle()
    out.qtbot.waitUntil(lambda: out.line("2").note == "NC-3: rework")
    out.go("2")
    assert "NC-3: rework" in out.room.card.heading._asked.lines
    out.types("1.2500\n")
    out.settle()
    assert out.line("2").note == "NC-3: rework", "it is said of the row, whatever it came to since"


def test_where_nothing_is_out_that_is_said(bench: Any) -> None:
    bench.press(Qt.Key.Key_O, ALT)
    bench.qtbot.waitUntil(lambda: bench.frame.notice().startswith("No row of this sheet is out or in doubt"))


def test_who_may_not_is_told_so(out: Any) -> None:
    person = out.house.shop.people[out.house.person]
    out.house.do(acts.EnterPerson(person=replace(person, identity="", name="Olle", duties=(Duty.OFFICE,))))
    out.settle()
    out.house.set_person(next(name for name, one in out.house.shop.people.items() if one.name == "Olle"))
    out.press(Qt.Key.Key_O, ALT)
    out.qtbot.waitUntil(lambda: out.frame.notice().startswith("Olle may not raise a nonconformance"))


# --- words of a return ------------------------------------------------------------------------------------------------


def returned(sheet: Any) -> Any:
    """The sheet as it is in the round after a return."""
    row, piece = sheet.plan.characteristics[1].identity, sheet.pieces[0].identity
    rows = (Returned(row, piece, "both ends"), Returned(row, "", "clean it"), Returned("", "", "mind the burrs"))
    return replace(sheet, returns=(Return(1, rows, sheet.made_by, 0),), round=2)


def test_words_of_a_return_stand_at_their_rows_until_the_round_is_signed(bench: Any) -> None:
    sheet = returned(bench.sheet)
    row, piece = sheet.plan.characteristics[1].identity, sheet.pieces[0].identity
    assert list(words_at(sheet, (row, piece))) == ["returned: both ends; clean it"]
    assert list(words_at(sheet, (row, "another piece"))) == ["returned: clean it"]
    assert list(words_at(sheet, (sheet.plan.characteristics[0].identity, piece))) == []
    name = bench.house.shop.people[sheet.made_by].name
    told = f"{name} returned this sheet. mind the burrs; Row 2: both ends; Row 2: clean it"
    assert words_of_return(sheet, bench.house.shop) == told
    for later in (replace(sheet, sealed=True), replace(sheet, round=3), bench.sheet):
        assert words_of_return(later, bench.house.shop) == "" and list(words_at(later, (row, piece))) == []


def test_words_to_the_whole_sheet_are_said_when_it_is_opened(bench: Any) -> None:
    sheet = returned(bench.sheet)
    bench.room.seen = None
    bench.room.show_sheet(sheet)
    assert bench.frame.notice() == words_of_return(sheet, bench.house.shop)
    assert bench.line("2").note == "returned: both ends; clean it"


def test_a_row_is_stood_at_on_the_piece_that_was_named(open_bench: Any) -> None:
    """Of no piece, on the first on which it is open; of a serial, there, open or not."""
    bench = open_bench(serials=("001", "002"))
    first, last = bench.sheet.pieces
    row = bench.sheet.plan.characteristics[1].identity
    for serial, piece in ((last.serial, last), ("", first), (first.serial, first)):
        bench.room.stand_at("2", serial)
        assert (bench.room.flow.at.row, bench.room.flow.at.piece) == (row, piece.identity)
