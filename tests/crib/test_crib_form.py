"""The form of an instrument's record in the crib, by key: entered, issued anew, refused, left and taken up again."""

from __future__ import annotations

from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from inspection.sheet import acts

ENTER, ESCAPE, TAB = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab
CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier


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
