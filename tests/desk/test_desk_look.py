"""The Desk at every size, scale and ground: nothing runs out of its place, everything has a name and a key."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QAbstractScrollArea, QApplication, QLabel, QLineEdit, QWidget

from app.desk.keys import FACES, KEYS
from app.desk.record_keys import KEYS as RECORD_KEYS
from app.parts.fitted import Fitted
from app.window.keys import KEYS as FRAME_KEYS
from app.window.theme import SCALES

SIZES = ((1280, 720), (1920, 1080), (960, 600))
CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier


def texts_out_of_place(root: QWidget) -> list[str]:
    """Labels in sight whose words are wider or higher than they are; those that fit themselves in cannot be."""
    out = []
    for label in root.findChildren(QLabel):
        if not label.isVisible() or not label.text() or isinstance(label, Fitted):
            continue
        flags = Qt.TextFlag.TextWordWrap if label.wordWrap() else Qt.AlignmentFlag.AlignLeft
        needed = label.fontMetrics().boundingRect(QRect(0, 0, label.width(), 9999), int(flags), label.text())
        if needed.width() > label.width() or needed.height() > label.height():
            out.append(label.text())
    return out


@pytest.mark.parametrize("scale", SCALES)
def test_no_text_is_wider_than_its_place(open_desk, shop, scale):
    desk = open_desk(shop.unsigned, scale=scale)
    for size in SIZES:
        desk.frame.resize(*size)
        for digit in (*range(2, len(FACES) + 1), "find", "lacking"):
            if isinstance(digit, int):
                desk.face(digit)
            else:
                desk.press(Qt.Key.Key_F if digit == "find" else Qt.Key.Key_M, CTRL)
            # a page that comes meanwhile changes a text, which gets its room with the next event
            desk.qtbot.waitUntil(lambda: texts_out_of_place(desk.room) == [], timeout=15_000)
            focused = QApplication.focusWidget()
            assert focused is not None, (size, digit)
            assert focused.isVisible(), (size, digit)
            assert desk.room.isAncestorOf(focused)


def test_in_a_narrow_room_the_side_with_the_keys_is_the_one_in_sight(open_desk, shop):
    desk = open_desk(shop.unsigned, scale=250)
    desk.see_pages()
    assert desk.room.pages.isVisible()
    assert not desk.room.column.isVisible()
    desk.press(Qt.Key.Key_F, CTRL)
    assert desk.room.column.isVisible()
    assert not desk.room.pages.isVisible()
    assert desk.room.column.field.hasFocus()
    desk.press(Qt.Key.Key_Escape)
    assert desk.room.pages.hasFocus()
    desk.press(Qt.Key.Key_0, CTRL)  # back to 100 %
    desk.until(lambda: desk.room.column.isVisible() and desk.room.pages.isVisible())


def test_everything_that_takes_keys_has_a_name(desk):
    kinds = (QLineEdit, QAbstractButton, QAbstractScrollArea)
    for digit in range(1, len(FACES) + 1):
        desk.face(digit)
        desk.settle()
        for kind in kinds:
            for widget in desk.room.findChildren(kind):
                if widget.isVisible() and widget.focusPolicy() != Qt.FocusPolicy.NoFocus:
                    assert widget.accessibleName(), widget
    assert desk.room.strip.accessibleDescription() == "Customer’s form"


def test_no_key_means_two_things():
    tables = (KEYS, RECORD_KEYS, FRAME_KEYS)
    keys = [key for table in tables for each in table.values() for key in (each.key, *each.more)]
    assert sorted(keys) == sorted(set(keys))


def test_f1_lists_the_keys_of_the_desk(desk, answers):
    answers[0].append({})
    desk.press(Qt.Key.Key_F1)
    listed = dict(answers[1][0].rows)
    for name in ("find", "lacking", "pages", "sent", "export", "check", "paper"):
        assert any(KEYS[name].key in each for each in listed), name


def test_digits_and_signs_are_typed_where_text_is_typed(desk):
    desk.face(2)
    desk.settle()
    desk.press(Qt.Key.Key_F, CTRL)
    desk.types("+-0")
    assert desk.room.column.field.text() == "+-0"
    assert desk.room.pages.zoom == 1.0


def test_a_sheet_is_found_by_words_and_chosen_by_enter(desk, shop):
    desk.press(Qt.Key.Key_F, CTRL)
    desk.until(lambda: len(desk.room.column.found.items.items) > 3)
    desk.types("0902 lantern")
    assert [item.sheet for item in desk.room.column.found.items.items] == [shop.unsigned]
    desk.press(Qt.Key.Key_Return)
    desk.until(lambda: desk.room.at_hand.sheet.identity == shop.unsigned)
    assert not desk.room.column.isAncestorOf(desk.frame.focusWidget())


def test_arrows_move_among_the_sheets_found(desk):
    desk.press(Qt.Key.Key_F, CTRL)
    desk.until(lambda: len(desk.room.column.found.items.items) > 3)
    found = desk.room.column.found
    row = found.currentIndex().row()
    desk.press(Qt.Key.Key_Down)
    assert found.currentIndex().row() == row + 1
    wanted = found.chosen().sheet
    desk.press(Qt.Key.Key_Return)
    desk.until(lambda: desk.room.at_hand.sheet.identity == wanted)


def test_the_sheet_at_the_bench_is_the_one_prepared(desk, shop):
    desk.house.sheet_wanted.emit(shop.unsigned)
    desk.until(lambda: desk.frame.room("bench").isVisible())
    desk.press(Qt.Key.Key_5, CTRL)
    desk.until(lambda: desk.room.at_hand.sheet.identity == shop.unsigned)
    desk.prepare(shop.sheet)
    desk.press(Qt.Key.Key_1, CTRL)
    desk.press(Qt.Key.Key_5, CTRL)
    desk.qtbot.wait(50)
    assert desk.room.at_hand.sheet.identity == shop.sheet
    desk.press(Qt.Key.Key_Return, CTRL)
    desk.until(lambda: desk.frame.room("bench").isVisible() and desk.frame.room("bench").seen.sheet.sealed)


def test_models_are_sound(desk, qtmodeltester):
    desk.face(3)
    desk.until(lambda: bool(desk.room.workbook.grids))
    for model in (
        desk.room.column.found.items,
        desk.room.column.lacking.items,
        desk.room.workbook.model,
        desk.room.sent.model,
    ):
        qtmodeltester.check(model, force_py=True)


def test_a_book_without_a_sheet_says_what_to_do_first(qapp, qtbot, tmp_path):
    from app.window.start import furnish
    from inspection.sheet import acts
    from inspection.sheet.people import Person
    from storage.book.door import Book
    from storage.settings import Settings

    path = tmp_path / "empty.tenthwright"
    with Book.new(path) as book:
        book.do(acts.OpenShop(name="Quillfeather Machine", first_person=Person("", "Mira Oduya")), person="")
    frame, sitting = furnish(qapp, Settings(theme="light", scale=100))
    frame.resize(1280, 720)
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    sitting.begin(path)
    qtbot.waitUntil(lambda: sitting.house.foreseen is not None)
    qtbot.wait(100)
    room = frame.enter("desk")
    qtbot.waitUntil(lambda: "No sheet yet" in room._told.text())
    assert room.column.field.hasFocus()
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_7, Qt.KeyboardModifier.AltModifier)
    assert room.face == "form" and room.column.field.hasFocus(), "letters find a sheet, where there is none to show"
    QTest.keyClick(frame.windowHandle(), Qt.Key.Key_M, Qt.KeyboardModifier.AltModifier)  # of the record
    assert room.column.field.text() == "", "a key that does nothing here is no letter"
    frame.close()
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    with qtbot.waitSignal(frame.destroyed):
        frame.deleteLater()


def test_entering_asks_the_book_no_more_where_there_are_more_sheets(open_desk, shop):
    from sqlalchemy import event

    from inspection.sheet import acts

    def asked(desk) -> int:
        seen: list[str] = []

        def note(_connection, _cursor, statement, *_rest) -> None:
            seen.append(statement)

        engine = desk.house.worker._book._engines.reading
        desk.frame.enter("bench")
        event.listen(engine, "before_cursor_execute", note)
        desk.room.at_hand = None
        desk.frame.enter("desk")
        desk.until(lambda: desk.room.at_hand is not None)
        desk.qtbot.wait(30)
        event.remove(engine, "before_cursor_execute", note)
        return len(seen)

    desk = open_desk()
    desk.see_pages()
    asked(desk)
    few = asked(desk)
    with shop.book() as book:
        plan, person = book.sheet(shop.sheet).plan.identity, book.sheet(shop.sheet).made_by
        book.do_all([acts.MakeSheet(plan=plan, serials=(f"M{n}",)) for n in range(40)], person=person)
    asked(desk)
    assert asked(desk) == few > 0


def test_a_sheet_older_than_the_newest_is_found_in_the_whole_book(open_desk, shop, monkeypatch):
    from app.desk import work

    monkeypatch.setattr(work, "MOST_FOUND", 1)
    desk = open_desk(shop.unsigned)
    found = desk.room.column.found
    desk.press(Qt.Key.Key_F, CTRL)
    desk.until(lambda: [item.sheet for item in found.items.items] == [shop.unsigned])
    desk.types("b17")
    desk.until(lambda: any("B17" in item.below for item in found.items.items))
    wanted = found.items.items[0].sheet
    desk.press(Qt.Key.Key_Return)
    desk.until(lambda: desk.room.at_hand.sheet.identity == wanted)
