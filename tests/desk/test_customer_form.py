"""A customer's form at the Desk by key: proposed, corrected, kept, and written; then all of it as a package."""

from __future__ import annotations

import hashlib
import importlib.util
import io
import time
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.styles import Alignment
from PySide6.QtCore import Qt

from app.desk.grid import read_grids
from storage.dispatch.package import verify_package

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
FORMS = Path(__file__).parents[1] / "dispatch" / "customer_forms" / "conftest.py"


@pytest.fixture(scope="module")
def forms():
    spec = importlib.util.spec_from_file_location("forms", FORMS)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def shown(desk):
    desk.until(lambda: not desk.room.form.under_way() and desk.room.doing.isHidden())
    desk.qtbot.wait(30)
    return desk.room.form


def cell(form, row, column):
    return form.workbook.model.grid.rows[row - 1][column - 1]


def open_blank(desk, answers, forms, name="plain_american"):
    file = desk.shop.folder / "RP-17.xlsx"
    file.write_bytes(getattr(forms, name)().content)
    desk.face(7)
    shown(desk)
    assert "No form" in desk.room.form._empty.text()
    answers[0].append({"file": str(file), "customer": desk.room.form.customer()})
    desk.press(Qt.Key.Key_B, CTRL)
    return shown(desk)


def test_from_a_blank_form_to_the_file_and_the_package(desk, answers, forms):
    form = open_blank(desk, answers, forms)
    sheet = desk.room.at_hand.sheet
    assert not form.kept()
    assert cell(form, 3, 2).text == sheet.plan.part.number
    assert cell(form, 3, 2).mark == "part number"
    assert form.workbook.table.currentIndex().row() == 2  # the first value
    for _ in range(2):
        desk.press(Qt.Key.Key_Down)
    desk.press(Qt.Key.Key_Right)
    answers[0].append({"field": "lot"})
    desk.press(Qt.Key.Key_Return)
    shown(desk)
    assert cell(form, 5, 3).text == sheet.head.lot
    desk.press(Qt.Key.Key_Left)
    desk.press(Qt.Key.Key_Delete)
    shown(desk)
    assert cell(form, 5, 2).text == ""
    answers[0].append({"field": "part"})
    desk.press(Qt.Key.Key_Return)  # the part number once more, as on a second page
    shown(desk)
    assert cell(form, 5, 2).text == cell(form, 3, 2).text == sheet.plan.part.number
    answers[0].append({"folder": str(desk.shop.folder), "name": "too early"})
    desk.press(Qt.Key.Key_E, CTRL)  # not kept yet: nothing is asked
    answers[0].pop()
    assert not (desk.shop.folder / "too early.xlsx").exists()
    answers[0].append({"name": "RP-17"})
    desk.press(Qt.Key.Key_S, CTRL)
    desk.until(form.kept)
    shown(desk)
    seen = form.seen.form.content
    answers[0].append({"folder": str(desk.shop.folder), "name": "filled"})
    desk.press(Qt.Key.Key_E, CTRL)
    desk.until((desk.shop.folder / "filled.xlsx").exists)
    shown(desk)
    written = (desk.shop.folder / "filled.xlsx").read_bytes()
    assert written == seen  # the very bytes that were shown
    assert load_workbook(io.BytesIO(written)).active["C5"].value == sheet.head.lot
    assert desk.shop.sent()[0].digest == hashlib.sha256(written).hexdigest()


def test_the_second_time_it_takes_few_keys(desk, answers, forms):
    """An office that has kept the form: to the sheet, its form, and the finished package, under a minute of keys."""
    form = open_blank(desk, answers, forms)
    answers[0].append({"name": "RP-17"})
    desk.press(Qt.Key.Key_S, CTRL)
    desk.until(form.kept)
    shown(desk)
    desk.face(1)
    begun, keys = time.monotonic(), 0
    desk.face(7)
    keys += 1
    shown(desk)
    assert form.kept()
    answers[0].append({"folder": str(desk.shop.folder), "name": "all of it", "beside": ""})
    desk.press(Qt.Key.Key_P, CTRL | SHIFT)
    keys += 1
    desk.until((desk.shop.folder / "all of it.zip").exists)
    shown(desk)
    content = (desk.shop.folder / "all of it.zip").read_bytes()
    assert verify_package(content, "all of it.zip").whole
    assert (keys, time.monotonic() - begun < 60) == (2, True)
    desk.face(6)
    desk.until(lambda: desk.room.sent.line() is not None and desk.room.sent.line().form == "package")
    answers[0].append({"folder": str(desk.shop.folder), "name": "once more"})
    desk.press(Qt.Key.Key_R, CTRL | SHIFT)
    desk.until((desk.shop.folder / "once more.zip").exists)
    shown(desk)
    assert (desk.shop.folder / "once more.zip").read_bytes() == content


def test_a_column_of_the_table_is_given_another_value(desk, answers, forms):
    form = open_blank(desk, answers, forms)
    form.workbook.table.setCurrentIndex(form.workbook.model.index(11, 8))
    answers[0].append({"field": "zone", "piece": ""})
    desk.press(Qt.Key.Key_Return)
    shown(desk)
    rows = {row.number: row for row in desk.room.at_hand.sheet.plan.characteristics}
    assert cell(form, 12, 9).text == rows[cell(form, 12, 1).text].zone
    answers[0].append(
        {"unit": "mm", "decimals": "", "outward": "no", "pattern": "no", "grow": "rows", "protected": "no",
         "word conforming": "Good", "word not conforming": "Bad", "word in doubt": "", "word open": "",
         "word not judged": "n/a", "word mark": ""}
    )  # fmt: skip
    desk.press(Qt.Key.Key_T, CTRL)
    shown(desk)
    layout = form.seen.proposed.layout
    assert (layout.unit, layout.words["not judged"], "open" in layout.words) == ("mm", "n/a", False)
    assert {cell(form, row, 6).text for row in range(10, 20)} <= {"Good", "Bad", "open", ""}


def test_a_worksheet_whose_name_holds_quotes_takes_values_as_well(desk, answers, forms):
    book = load_workbook(io.BytesIO(forms.plain_american().content))
    book.worksheets[0].title = "Pike's form"
    file = desk.shop.folder / "RP-18.xlsx"
    book.save(file)
    desk.face(7)
    shown(desk)
    answers[0].append({"file": str(file), "customer": desk.room.form.customer()})
    desk.press(Qt.Key.Key_B, CTRL)
    form = shown(desk)
    for place, given in (((4, 2), {"field": "lot"}), ((11, 8), {"field": "zone", "piece": ""})):
        form.workbook.table.setCurrentIndex(form.workbook.model.index(*place))
        answers[0].append(given)
        desk.press(Qt.Key.Key_Return)
        shown(desk)
    assert cell(form, 5, 3).text == desk.room.at_hand.sheet.head.lot
    rows = {row.number: row for row in desk.room.at_hand.sheet.plan.characteristics}
    assert cell(form, 12, 9).text == rows[cell(form, 12, 1).text].zone


def test_texts_are_shown_the_way_they_run_in_the_file():
    book = Workbook()
    for row, (text, rotation) in enumerate((("up", 90), ("down", 180), ("steep", 60), ("leans", 30), (True, 0)), 1):
        book.active.cell(row, 1, text).alignment = Alignment(textRotation=rotation)
    out = io.BytesIO()
    book.save(out)
    (grid,) = read_grids(out.getvalue(), lambda _done, _of: None)
    assert [(row[0].text, row[0].turned) for row in grid.rows] == [
        ("up", 1), ("down", -1), ("steep", 1), ("leans", 0), ("TRUE", 0),
    ]  # fmt: skip


def test_the_cells_that_a_value_goes_to_are_tinted(open_desk, answers, forms):
    for theme in ("light", "dark"):
        desk = open_desk(theme=theme)
        form = open_blank(desk, answers, forms)
        assert form.about.text().count("\n") <= 2
        table, model = form.workbook.table, form.workbook.model
        image = table.viewport().grab().toImage()
        corners = [table.visualRect(model.index(*place)).bottomRight() for place in ((3, 1), (3, 3))]
        given, free = (image.pixelColor(corner.x() - 4, corner.y() - 4) for corner in corners)
        assert (given.blue() - given.red() > 20, free.name()) == (True, "#ffffff")


def test_what_lies_above_the_cells_is_shown_where_it_lies(open_desk, answers, forms):
    desk = open_desk()
    form = open_blank(desk, answers, forms)
    table, grid = form.workbook.table, form.workbook.model.grid
    assert [each.kind for each in grid.drawn] == ["picture", "picture"]
    image = table.viewport().grab().toImage()
    place = table.place_of(grid.drawn[0])
    assert table.columnAt(place.left() + 1) == 6  # anchored at G1
    assert image.pixelColor(place.center()).name() == "#000080"  # navy, as the picture is


def test_a_chart_has_its_frame_and_a_result_that_is_gone_says_so(open_desk, answers, forms):
    desk = open_desk()
    form = open_blank(desk, answers, forms, "charted")
    grid = form.workbook.model.grid
    (chart,) = grid.drawn
    moved = form.seen.form.filled.growth.n
    assert (chart.kind, chart.start.row, chart.start.column) == ("chart", 15 + moved, 2)
    assert len(grid.rows) > 16 + moved + chart.height / 20  # room to see all of it
    spread = next(each for row in grid.rows for each in row if each.formula.startswith("=MAX("))
    below = next(n for n, row in enumerate(grid.rows) if row[4].formula)
    form.workbook.table.setCurrentIndex(form.workbook.model.index(below, 4))
    assert form.cell.text().endswith(f"{spread.formula}: worked out when the workbook is opened")


def test_a_cell_of_the_head_takes_the_serial_of_another_piece(desk, answers, forms):
    form = open_blank(desk, answers, forms)
    form.workbook.table.setCurrentIndex(form.workbook.model.index(4, 5))
    answers[0].append({"field": "serial", "piece": "2"})
    desk.press(Qt.Key.Key_Return)
    shown(desk)
    pieces = desk.room.at_hand.sheet.pieces
    (place,) = [each for each in form.seen.proposed.layout.heads if each.field == "serial"]
    assert (place.row, place.column, place.piece) == (5, 6, 1 if len(pieces) > 1 else 0)


def test_every_note_on_the_form_is_read_by_key(desk, answers, forms):
    form = open_blank(desk, answers, forms)
    notices = form.seen.form.notices
    assert len(notices) > 2
    for lines in (3, len(notices), 3):
        assert form.about.text().count("\n") == lines - 1
        desk.press(Qt.Key.Key_I, CTRL)


def test_what_goes_over_its_edge_is_shown_as_it_will_be(desk, answers, forms):
    """A text runs on over empty cells; a day or number that does not fit stands as hash signs."""
    form = open_blank(desk, answers, forms)
    table, model = form.workbook.table, form.workbook.model

    def dark(row, column):
        image = table.viewport().grab().toImage()
        rect = table.visualRect(model.index(row, column)).adjusted(2, 2, -3, -4)
        return sum(
            image.pixelColor(x, y).lightness() < 110
            for x in range(rect.left(), rect.right())
            for y in range(rect.top(), rect.bottom())
        )

    assert (model.grid.rows[0][0].text[:6], model.grid.rows[0][1].text) == ("ROWAN ", "")
    assert dark(0, 1) > 20  # the title goes on over B1
    assert dark(1, 1) == 0
    due = next(row for row in range(9, 40) if cell(form, row + 1, 8).text.startswith("20"))
    table.scrollTo(model.index(due, 7))
    whole = dark(due, 7)
    table.setColumnWidth(7, 4 * table.columnWidth(7))
    desk.qtbot.wait(30)
    assert dark(due, 7) != whole


def test_boxes_are_ticked_and_given_by_key(desk, answers, forms):
    """The extent is ticked where the form has boxes for it; another box is given by key, with another mark."""
    book = load_workbook(io.BytesIO(forms.plain_american().content))
    sheet = book.worksheets[0]
    sheet["D3"], sheet["D4"] = "☐ Full   ☐ Partial", "Extent:"
    file = desk.shop.folder / "RP-19.xlsx"
    book.save(file)
    desk.face(7)
    shown(desk)
    answers[0].append({"file": str(file), "customer": desk.room.form.customer()})
    desk.press(Qt.Key.Key_B, CTRL)
    form = shown(desk)
    assert desk.room.at_hand.sheet.head.extent == "full"
    assert (cell(form, 3, 4).text, cell(form, 3, 4).mark) == ("☒ Full   ☐ Partial", "full or partial")
    desk.press(Qt.Key.Key_Down)
    for _ in range(3):
        desk.press(Qt.Key.Key_Right)
    answers[0].append({"field": "full_mark"})
    desk.press(Qt.Key.Key_Return)
    shown(desk)
    assert cell(form, 4, 5).text == "X"
    answers[0].append(
        {"unit": "", "decimals": "", "outward": "no", "pattern": "no", "grow": "rows", "protected": "no",
         "word conforming": "", "word not conforming": "", "word in doubt": "", "word open": "",
         "word not judged": "", "word mark": "✓"}
    )  # fmt: skip
    desk.press(Qt.Key.Key_T, CTRL)
    shown(desk)
    assert (cell(form, 4, 5).text, cell(form, 4, 5).mark) == ("✓", "mark if full")
