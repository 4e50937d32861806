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


# --- the record -----------------------------------------------------------------------------------------------------


def test_a_new_one_comes_from_a_template_with_tag_due_date_and_place(crib) -> None:
    crib.press(Qt.Key.Key_N, CTRL)
    crib.types("digital caliper 150")
    assert crib.tags() == ["C-15"]
    crib.press(ENTER)
    assert crib.form.cells()["tag"] == "C-15"
    crib.types("C-90")
    for _ in range(8):  # kind, name, unit, range, resolution, second unit, permissible, due
        crib.press(TAB)
    crib.types("2098-03-01")
    for _ in range(6):
        crib.press(ENTER)
    crib.types("drawer 7")
    crib.press(ENTER, CTRL)
    crib.settle()
    made = crib.tagged("C-90")
    assert (made.due, made.place, made.issue, made.name) == ("2098-03-01", "drawer 7", 1, "digital caliper 150 mm")
    assert crib.room.line().tag == "C-90"
    assert not crib.room.picking
    crib.qtbot.waitUntil(lambda: "Issue 1" in crib.page())


def test_a_further_issue_is_entered_and_its_change_told(crib) -> None:
    crib.types("C-05")
    crib.press(ENTER)
    crib.types("2098-06-30")  # the form stands at the due date
    crib.press(ENTER, CTRL)
    crib.settle()
    assert (crib.tagged("C-05").due, crib.tagged("C-05").issue) == ("2098-06-30", 2)
    crib.qtbot.waitUntil(lambda: "due date 2099-01-01 → 2098-06-30" in crib.page())
    assert "Issue 2" in crib.page()
    assert "Mira Oduya" in crib.page()


def test_faults_stand_below_their_fields_and_nothing_is_entered(crib) -> None:
    crib.types("C-05")
    crib.press(Qt.Key.Key_F2)
    crib.types("1/3/27")
    crib.press(TAB)
    crib.qtbot.wait(40)
    assert "more than one day" in crib.form._faults["due"].text()  # told when the field is left
    crib.form.stand_at("range")
    crib.types("0-6 inn")
    crib.press(ENTER, CTRL)
    assert crib.form._fields["range"].hasFocus()
    assert crib.form._fields["range"].cursorPosition() == 4
    assert not crib.form._faults["range"].isHidden()
    assert not crib.form._faults["due"].isHidden()
    crib.settle()
    assert crib.tagged("C-05").issue == 1


ROWS = (("o", "1", "+.0001", ".00005"), (".5", "0", ".00005", "2.1"))  # the use of the second is the first one's


def test_the_table_of_a_certificate_is_typed_and_asked_about_when_its_number_changes(crib, answers) -> None:
    waiting, asked = answers
    crib.find("M-01")
    crib.press(Qt.Key.Key_F2)
    for text in ("2098-06-30", "17/26", "2023-03-02", "Northgate Metrology"):
        crib.types(text)
        crib.press(ENTER)
    for _ in range(5):  # interval, standing, place, holder, note
        crib.press(ENTER)
    table = crib.form._fields["points"]
    for cell in (*ROWS[0][:3], ".000055 in in"):  # a slip of the finger
        crib.types(cell)
        crib.press(ENTER)
    crib.press(ENTER, CTRL)
    assert table.isAncestorOf(QApplication.focusWidget())
    assert (table.currentRow(), table.currentColumn()) == (0, 3), "typed into where the fault is"
    assert "is not a unit" in crib.form._faults["points"].text() or "one unit" in crib.form._faults["points"].text()
    crib.press(Qt.Key.Key_A, CTRL)
    crib.types(".00005")
    crib.press(ENTER)
    assert crib.form._faults["points"].isHidden(), "gone as soon as it is put right"
    crib.press(ENTER)  # k is 2
    for cell in ROWS[1]:
        crib.types(cell)
        crib.press(ENTER)
    assert (table.rowCount(), table.currentRow(), table.item(1, 0).text()) == (3, 2, "outside")
    crib.press(ENTER)
    assert not table.hasFocus(), "on from the empty row the table is left"
    crib.press(ENTER, CTRL)
    crib.settle()
    made = crib.tagged("M-01")
    assert [(point.size, point.error, point.factor) for point in made.points] == [
        (25_400_000_000, 2_540_000, 2_000),
        (12_700_000_000, 0, 2_100),
    ]
    crib.qtbot.waitUntil(lambda: "Certificate 17/26, 2023-03-02" in crib.page())
    assert "+.0001 in" in crib.page()
    assert "U .00005 in k 2.1" in crib.page()
    crib.press(Qt.Key.Key_F2)
    crib.press(ENTER)
    crib.types("88/27")
    waiting += [None, {}]
    crib.press(ENTER, CTRL)
    assert (asked[0].title, crib.form._fields["points"].hasFocus()) == (
        "Certificate 88/27 with the table of 17/26?",
        True,
    )
    crib.press(ENTER, CTRL)
    crib.settle()
    assert (crib.tagged("M-01").certificate, crib.tagged("M-01").points) == ("88/27", made.points)


def test_the_due_date_of_the_certificate_before_is_none_of_the_next_and_shows_so_at_once(crib, answers) -> None:
    waiting, asked = answers

    def fill(*texts: str) -> None:
        crib.press(Qt.Key.Key_F2)
        crib.press(ENTER)  # past the due date, which is left as it stands
        for text in texts:
            crib.types(text)
            crib.press(ENTER)

    due = crib.form.due
    crib.find("M-01")
    fill("17/25", "2021-03-02", "Northgate Metrology", "12 months")
    assert due.text() == "2022-03-02"
    crib.form.stand_at("certified")
    crib.types("2022-03-02")
    crib.press(ENTER)
    assert due.text() == "2023-03-02", "followed once, it follows again"
    crib.press(ENTER, CTRL)
    crib.settle()
    assert crib.tagged("M-01").due == "2023-03-02"
    fill("17/26", "2099-03-01")
    assert due.text() == "2100-03-01"
    crib.press(ENTER, CTRL)
    crib.qtbot.waitUntil(lambda: "a day that has not come" in crib.form._faults["certified"].text())
    assert crib.tagged("M-01").issue == 2
    crib.types("2022-03-01")  # a slip: older than the one before it
    waiting.append(None)
    crib.press(ENTER, CTRL)
    assert asked[0].title == "Certificate 17/26 is older than 17/25?"
    crib.types("2023-03-01")  # typed over where the person goes back to
    crib.press(ENTER)
    assert due.text() == "2024-03-01"
    crib.form.stand_at("due")
    crib.types("2023-09-01")  # as the laboratory says
    crib.form.stand_at("certified")
    crib.types("2023-02-27")
    crib.press(ENTER)
    assert due.text() == "2023-09-01", "what was typed stands"
    crib.press(ENTER, CTRL)
    crib.settle()
    assert (crib.tagged("M-01").due, crib.tagged("M-01").certified) == ("2023-09-01", "2023-02-27")
    assert len(asked) == 1


def test_lines_of_a_spreadsheet_and_lines_as_written_are_pasted_into_the_table(crib) -> None:
    crib.find("M-01")
    crib.press(Qt.Key.Key_F2)
    crib.form.stand_at("points")
    table = crib.form._fields["points"]
    QApplication.clipboard().setText("outside at 1 in +.0001 U .00005; outside .5 0 U .00005 k 2.1\ninside 1 0 U .0001")
    crib.press(Qt.Key.Key_V, CTRL)
    assert table.text().split("\n") == [
        "outside at 1 in +.0001 U .00005",
        "outside at .5 0 U .00005 k 2.1",
        "inside at 1 0 U .0001",
    ]
    for key in (Qt.Key.Key_Up, Qt.Key.Key_Right):
        crib.press(key)
    QApplication.clipboard().setText(".25\t0\t.00003\n.75\t−.0001\t.00003\n")
    crib.press(Qt.Key.Key_V, CTRL)
    crib.press(Qt.Key.Key_Up)
    crib.press(Qt.Key.Key_Delete, CTRL)
    assert table.text().split("\n")[1:] == ["outside at .5 0 U .00005 k 2.1", "inside at .25 0 U .00003"]
    crib.press(Qt.Key.Key_Insert)
    crib.press(Qt.Key.Key_F2)
    crib.types("2")
    crib.press(Qt.Key.Key_Escape)
    assert crib.form.isVisible() and table.item(2, 1) is not None, "Esc leaves the cell, not the form"
    crib.press(Qt.Key.Key_C, CTRL)
    assert QApplication.clipboard().text() == table.text()


def test_a_thermometer_has_a_form_of_its_own_few_fields(crib) -> None:
    crib.press(Qt.Key.Key_N, CTRL)
    crib.types("thermometer")
    crib.press(ENTER)
    shown = [field for field, widget in crib.form._fields.items() if not widget.isHidden()]
    assert shown[:5] == ["tag", "kind", "name", "kelvin", "due"]
    assert not {"unit", "range", "points", "jaws", "tilt"} & set(shown)
    crib.types("K-90")
    for _ in range(3):
        crib.press(TAB)
    crib.types("+-1 F")
    crib.press(TAB)
    crib.types("2098-03-01")
    crib.press(ENTER, CTRL)
    crib.settle()
    assert (crib.tagged("K-90").kelvin, crib.tagged("K-90").due) == (556, "2098-03-01")
    crib.qtbot.waitUntil(lambda: "±0.556 °C" in crib.page())
    assert "resolution" not in crib.page()


def test_a_kind_shows_the_fields_it_has_something_to_say_in(crib) -> None:
    crib.find("C-05")
    crib.press(Qt.Key.Key_F2)
    fields = crib.form._fields
    assert not fields["jaws"].isHidden()
    assert fields["kelvin"].isHidden()
    kind = crib.form.kind
    kind.setCurrentIndex(kind.findData("outside micrometer"))
    assert fields["jaws"].isHidden()
    kind.setCurrentIndex(kind.findData("thermometer"))
    assert fields["range"].isHidden()
    assert crib.form.cells()["range"] == ""
    kind.setCurrentIndex(kind.findData("digital caliper"))
    assert crib.form.cells()["range"] == "0–6 in"  # what was typed is still there
    assert not crib.form.is_changed()


def test_a_tag_that_is_taken_is_refused_beside_the_tag(crib) -> None:
    crib.types("C-05")
    crib.press(Qt.Key.Key_D, ALT)  # a second one like this
    crib.form.stand_at("tag")
    crib.types("C-01")
    crib.form.stand_at("due")
    crib.types("2098-01-01")
    crib.press(ENTER, CTRL)
    crib.settle()
    assert "C-01" in crib.form._faults["tag"].text()
    crib.form.stand_at("tag")
    crib.types("C-91")
    crib.press(ENTER, CTRL)
    crib.settle()
    assert crib.tagged("C-91").permissible == crib.tagged("C-05").permissible


def test_a_form_is_not_left_by_accident(crib, answers) -> None:
    waiting, asked = answers
    crib.types("C-05")
    crib.press(ENTER)
    crib.types("2098-06-30")
    waiting.append(None)
    crib.press(ESCAPE)
    assert crib.room.side.shows(crib.form)
    waiting.append({})
    crib.press(ESCAPE)
    assert not crib.room.side.shows(crib.form)
    assert len(asked) == 2
    assert crib.tagged("C-05").issue == 1


def test_a_form_waits_while_another_room_is_looked_at(crib) -> None:
    crib.types("C-05")
    crib.press(ENTER)
    crib.types("2098-06")
    crib.press(Qt.Key.Key_1, CTRL)
    crib.press(Qt.Key.Key_3, CTRL)
    crib.types("-30")
    crib.press(ENTER, CTRL)
    crib.settle()
    assert crib.tagged("C-05").due == "2098-06-30"


def test_what_others_changed_meanwhile_is_not_undone_by_the_form(crib) -> None:
    crib.types("C-05")
    crib.press(ENTER)
    held = crib.room.instrument()
    crib.house.do(acts.IssueInstrument(instrument=replace(held, place="drawer 99")))
    crib.settle()
    crib.types("2098-06-30")
    crib.press(ENTER, CTRL)
    crib.settle()
    found_one = crib.tagged("C-05")
    assert (found_one.place, found_one.due, found_one.issue) == ("drawer 99", "2098-06-30", 3)


def test_one_that_needs_calibration_is_not_kept_without_a_due_date_unasked(crib, answers) -> None:
    waiting, asked = answers
    crib.press(Qt.Key.Key_N, CTRL)
    crib.types("C-05")
    crib.press(ENTER)
    crib.types("C-92")
    waiting.append(None)
    crib.press(ENTER, CTRL)
    assert crib.form._fields["due"].hasFocus()
    assert "C-92" in asked[0].title
    crib.types("2098-01-01")
    crib.press(ENTER, CTRL)
    crib.settle()
    assert crib.tagged("C-92").due == "2098-01-01"


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
