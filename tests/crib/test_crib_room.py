"""The crib by keys alone, down to what the book on disk holds."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QApplication

from app.crib.lines import Lines, Only, found
from app.crib.model import CribModel
from app.crib.touched import TouchedModel
from inspection.instruments.method import Fitness
from inspection.instruments.record import Instrument, InstrumentKind, Standing
from inspection.instruments.starter import starter_crib
from inspection.sheet import acts
from storage.book.attached import content_of
from storage.book.door import Book
from storage.book.queries.last_sheet import last_sheet

ENTER, ESCAPE, TAB, DOWN = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab, Qt.Key.Key_Down
CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
DAY = "2026-03-01"


# --- finding --------------------------------------------------------------------------------------------------------


def test_letters_search_and_arrows_move_at_once(crib) -> None:
    every = crib.tags()
    crib.types("caliper 12 in")
    assert crib.tags() == ["C-02", "C-04", "C-06"]
    crib.press(DOWN)
    crib.press(DOWN)
    assert crib.room.line().tag == "C-06"
    crib.press(Qt.Key.Key_Up)
    assert crib.room.line().tag == "C-04"
    crib.qtbot.waitUntil(lambda: "dial caliper 12 in" in crib.page())
    crib.press(ESCAPE)
    assert crib.tags() == every
    assert crib.room.line().tag == "C-04"  # still the one that was found


def test_tags_come_in_the_order_of_their_numbers() -> None:
    crib = {tag: Instrument(tag, 1, tag, InstrumentKind.EYE, "") for tag in ("C-10", "C-9", "b-1", "C-100", "A")}
    assert [line.tag for line in Lines().of(crib, DAY)] == ["A", "b-1", "C-9", "C-10", "C-100"]


def test_every_word_is_looked_for_in_every_column() -> None:
    one = next(one for one in starter_crib("2026-03-11") if one.tag == "C-05")
    one = replace(one, identity="i", holder="Bo Tran", place="drawer 3", certificate="77/26", laboratory="Northgate")
    lines = Lines().of({"i": one}, DAY)
    for text in (
        "c-05",
        "digital",
        "0–6",
        ".0005",
        "2026-03-11",
        "due soon",
        "drawer bo",
        "77/26 northgate",
        "in service",
    ):
        assert found(lines, text), text
    assert not found(lines, "drawer 4")


def test_the_list_is_cut_down_by_key(open_crib) -> None:
    usual = {one.tag: one for one in starter_crib("2099-01-01")}
    crib = open_crib(
        (
            usual["C-01"],
            replace(usual["C-03"], due="2020-01-01"),
            replace(usual["C-05"], standing=Standing.OUT_OF_SERVICE),
            replace(usual["C-06"], holder="Bo Tran"),
        )
    )
    shown = {}
    for only, key in zip(Only, (Qt.Key.Key_1, Qt.Key.Key_2, Qt.Key.Key_3, Qt.Key.Key_4, Qt.Key.Key_5), strict=True):
        crib.press(key, ALT)
        shown[only] = crib.tags()
    assert shown == {
        Only.ALL: ["C-01", "C-03", "C-05", "C-06"],
        Only.SOON: [],
        Only.OVERDUE: ["C-03"],
        Only.OUT_OF_SERVICE: ["C-05"],
        Only.LENT: ["C-06"],
    }
    crib.press(ESCAPE)
    assert len(crib.tags()) == 4


def test_the_search_says_what_fits_a_feature(crib) -> None:
    crib.types("fits .7500 +/-.0005 outside diameter")
    crib.qtbot.waitUntil(lambda: "marginal" in crib.room.asking.said)
    states = {line.tag: line.state for line in crib.room.model.lines}
    assert states["M-01"] == "fit"
    assert states["C-05"] == "marginal"
    assert "P-02" not in states
    assert crib.tags().index("M-01") < crib.tags().index("C-05")
    crib.house.do(acts.IssueInstrument(instrument=replace(crib.tagged("M-01"), standing=Standing.REFERENCE_ONLY)))
    crib.qtbot.waitUntil(lambda: "M-01" not in crib.tags())  # asked anew when the crib changed
    crib.press(Qt.Key.Key_F, CTRL)
    crib.types("fits .7500")
    crib.qtbot.waitUntil(lambda: "kind of feature" in crib.room.asking.said)
    crib.press(ESCAPE)
    assert crib.room.asking.said == ""
    assert crib.room.line().state != "fit"


def test_models_are_right_by_the_checker(qtmodeltester) -> None:
    model = CribModel()
    checker = QAbstractItemModelTester(model)
    held = {one.tag: replace(one, identity=one.tag) for one in starter_crib("2027-01-01")}
    model.show_lines(Lines().of(held, DAY))
    qtmodeltester.check(model)
    qtmodeltester.check(TouchedModel())
    del checker


# --- the room ---------------------------------------------------------------------------------------------------------


def test_the_whole_crib_of_templates_comes_at_once(open_crib, answers) -> None:
    waiting, _ = answers
    crib = open_crib(())
    assert crib.tags() == []
    waiting.append({"due": "2098-01-01", "place": "crib"})
    crib.press(Qt.Key.Key_A, ALT)
    crib.settle()
    assert len(crib.tags()) == len(starter_crib())
    assert crib.tagged("C-05").place == "crib"


def test_tab_goes_through_the_room_and_enter_presses_the_button_that_has_the_focus(crib) -> None:
    names = []
    for _ in range(20):
        names.append(QApplication.focusWidget().accessibleName())
        if names[-1] == "New":
            break
        crib.press(TAB)
    assert {"Instruments of the crib", "Record of the instrument", "All"} <= set(names)
    crib.press(ENTER)
    assert crib.room.picking
    assert not crib.room.side.shows(crib.form)


def test_entering_the_room_asks_the_book_for_one_history_alone(crib, monkeypatch) -> None:
    crib.qtbot.waitUntil(lambda: "Issue 1" in crib.page())
    asked = []
    read = crib.house.worker.read
    monkeypatch.setattr(crib.house.worker, "read", lambda ask, *rest: asked.append(ask) or read(ask, *rest))
    crib.press(Qt.Key.Key_1, CTRL)
    crib.press(Qt.Key.Key_3, CTRL)
    crib.qtbot.wait(250)
    assert [type(ask.__self__).__name__ for ask in asked] == ["History"]


# --- what is done with one ------------------------------------------------------------------------------------------


def test_lending_and_taking_back_are_one_key(crib, answers) -> None:
    waiting, asked = answers
    crib.types("C-05")
    waiting.append({"holder": "Bo Tran"})
    crib.press(Qt.Key.Key_L, ALT)
    crib.settle()
    assert asked[0].fields[0].value == "Mira Oduya"  # whoever is at the bench, to be agreed to
    assert crib.tagged("C-05").holder == "Bo Tran"
    assert crib.room.line().holder == "Bo Tran"
    crib.press(Qt.Key.Key_L, ALT)
    crib.settle()
    assert (crib.tagged("C-05").holder, crib.tagged("C-05").issue) == ("", 3)


def test_out_of_service_asks_why_and_lists_the_sheets_touched(open_crib, take, answers) -> None:
    waiting, _ = answers
    tags: list[str] = []

    def prepare(book: Book, sheet: str) -> None:
        tags.append(take(book, sheet, "2", "1.2510"))

    crib = open_crib(prepare=prepare)
    (tag,) = tags
    crib.find(tag)
    waiting.append({"reason": "dropped on the floor", "sort": "aside"})
    crib.press(Qt.Key.Key_O, ALT)
    crib.settle()
    crib.qtbot.waitUntil(lambda: crib.room.side.shows(crib.room.side.touched))
    gone = crib.tagged(tag)
    assert gone.standing is Standing.OUT_OF_SERVICE
    assert gone.note == "dropped on the floor"
    (line,) = crib.room.side.touched.model.lines
    assert (line.part, line.pieces, line.readings, line.state) == ("LP-1 A", "001", "1", "open")
    with crib.qtbot.waitSignal(crib.house.sheet_wanted) as wanted:
        crib.press(ENTER)
    assert wanted.args == [line.sheet]


def test_it_goes_back_into_service_by_the_same_key(open_crib, answers) -> None:
    waiting, _ = answers
    usual = next(one for one in starter_crib("2099-01-01") if one.tag == "C-05")
    crib = open_crib((replace(usual, standing=Standing.OUT_OF_SERVICE, note="dropped"),))
    waiting.append({"note": ""})
    crib.press(Qt.Key.Key_O, ALT)
    crib.settle()
    assert (crib.tagged("C-05").standing, crib.tagged("C-05").note) == (Standing.IN_SERVICE, "")


def test_missing_pins_change_the_choice(crib, answers) -> None:
    waiting, asked = answers
    pins = sorted(one.tag for one in crib.house.shop.crib.values() if one.kind is InstrumentKind.GAUGE_PINS)
    crib.find("pins .061")
    for tag in [tag for tag in pins if tag in crib.tags()]:
        crib.find(tag)
        waiting.append({"missing": ".120–.135"})
        crib.press(Qt.Key.Key_M, ALT)
        crib.settle()
        assert len(crib.tagged(tag).missing) == 16
    assert asked[0].check is not None
    assert "9" in asked[0].check({"missing": "9"})  # no such member
    assert "missing" in crib.page()
    with Book.open(crib.path) as book:
        shop = book.shop()
        sheet = book.ask(last_sheet)
        before = book.sheet(sheet)
        row = before.plan.characteristics[0]
        was = before.assignments[row.identity].assessment
        book.do(acts.ChooseRoute(sheet=sheet), person=next(iter(shop.people)))
        now = book.sheet(sheet).assignments[row.identity].assessment
    assert was is not None
    assert was.fitness is Fitness.FIT
    assert shop.issues[was.method.parts[0].identity, was.method.parts[0].issue].tag in pins
    assert now is None or shop.crib[now.method.parts[0].identity].tag not in pins


# --- files ----------------------------------------------------------------------------------------------------------


def test_a_certificate_is_attached_and_saved_out_again(crib, answers, tmp_path: Path) -> None:
    waiting, _ = answers
    certificate, copy = tmp_path / "cert 77.pdf", tmp_path / "copy.pdf"
    certificate.write_bytes(b"%PDF-1.7 invented")
    crib.types("C-05")
    waiting.append({"file": str(certificate)})
    crib.press(Qt.Key.Key_F, ALT)
    crib.qtbot.waitUntil(lambda: bool(crib.room.instrument().files))
    crib.settle()
    (kept,) = crib.tagged("C-05").files
    assert kept.name == "cert 77.pdf"
    with Book.open(crib.path) as book:
        assert book.ask(content_of, kept.digest) == certificate.read_bytes()
    waiting.append({"which": kept.digest, "to": str(copy)})
    crib.press(Qt.Key.Key_V, ALT)
    crib.qtbot.waitUntil(copy.exists)
    assert copy.read_bytes() == certificate.read_bytes()


def test_a_file_is_looked_at_before_it_is_taken_in(crib, answers, tmp_path: Path) -> None:
    waiting, _ = answers
    file = tmp_path / "changes.csv"
    file.write_text(
        "tag,kind,name,unit,due\nC-05,,,,2098-01-01\n".replace(",,,,", ",digital caliper,mine,in,"), "utf-8"
    )
    for key, issue in ((ESCAPE, 1), (ENTER, 2)):
        waiting.append({"file": str(file)})
        crib.press(Qt.Key.Key_I, ALT)
        crib.qtbot.waitUntil(lambda: crib.room.side.shows(crib.room.side.preview))
        said = crib.room.side.preview.toPlainText()
        assert "0 new, 1 changed, 0 the same" in said
        assert "due date 2099-01-01 → 2098-01-01" in said
        crib.press(key)
        crib.settle()
        assert crib.tagged("C-05").issue == issue


def test_faults_of_a_file_are_told_by_cell_and_nothing_is_taken(crib, answers, tmp_path: Path) -> None:
    waiting, asked = answers
    file = tmp_path / "bad.csv"
    file.write_text("tag,due\nC-05,March\nC-06,2098-01-01\n", "utf-8")
    waiting += [{"file": str(file)}, {}]
    crib.press(Qt.Key.Key_I, ALT)
    crib.qtbot.waitUntil(lambda: len(asked) == 2)
    assert "due" in asked[1].rows[0][0]
    assert "March" in asked[1].rows[0][1]
    assert crib.tagged("C-06").issue == 1


def test_the_crib_is_written_to_a_workbook(crib, answers, tmp_path: Path) -> None:
    waiting, _ = answers
    waiting.append({"file": str(tmp_path / "mine")})
    crib.press(Qt.Key.Key_X, ALT)
    crib.qtbot.waitUntil((tmp_path / "mine.xlsx").exists)
    crib.settle()
    assert "mine.xlsx" in crib.frame.notice()


# --- a large crib ---------------------------------------------------------------------------------------------------


def five_thousand() -> tuple[Instrument, ...]:
    usual = starter_crib("2099-01-01")
    return tuple(replace(usual[n % len(usual)], tag=f"N-{n}", members=()) for n in range(5000))


def test_five_thousand_instruments_are_listed_and_found(open_crib) -> None:
    crib = open_crib(five_thousand(), with_sheet=False)
    assert len(crib.tags()) == 5000
    crib.types("n-4999")
    assert crib.tags() == ["N-4999"]


@pytest.mark.measured
def test_a_list_of_five_thousand_stays_fluid(open_crib) -> None:
    crib = open_crib(five_thousand(), with_sheet=False)
    crib.find("n-4")
    longest = 0.0
    for key in (Qt.Key.Key_9, Qt.Key.Key_Backspace, DOWN, Qt.Key.Key_PageDown, DOWN, ESCAPE, DOWN):
        began = time.perf_counter()
        crib.press(key)
        longest = max(longest, time.perf_counter() - began)
    assert longest < 0.1
