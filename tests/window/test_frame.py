"""The frame: switches by key, the strip, pages, and keys that are kept until there is a row for them."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QWidget

from app.window.keys import KEYS, ROOMS
from app.window.rail import Rail
from app.window.theme import SCALES


def shown(frame, qtbot):
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    return frame


def press(frame, key, modifier=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(frame.windowHandle(), key, modifier)


def test_a_click_on_the_rail_marks_no_room_that_is_not_entered(frame, qtbot):
    """Without a book no room can be entered, so none is marked."""
    shown(frame, qtbot)
    buttons = frame._rail._rooms
    for button in buttons.values():
        place = button.mapTo(frame, button.rect().center())
        QTest.mouseClick(frame.windowHandle(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, place)
    assert not any(button.isChecked() or button.isEnabled() for button in buttons.values())


@pytest.mark.parametrize(("scale", "high", "least"), [(100, 720, 5), (250, 720, 1), (250, 1500, 5), (250, 1000, 3)])
def test_the_rail_shows_what_it_has_room_for_whole(frame, qtbot, scale, high, least):
    named = frame._rail
    actions = {name: QAction(name, frame) for name in (*named._rooms, *named._switches)}
    rooms = {name: actions[name] for name in named._rooms}
    switches = {name: actions[name] for name in named._switches}
    rail = Rail(rooms, switches, frame.house.theme.scaled(scale))
    qtbot.addWidget(rail)
    for name in switches:
        rail.show_switch(name, "Tomas Brandvold" if name == "person" else "as drawn", "caption")
    rail.resize(rail.width(), high)
    rail.show()
    qtbot.waitUntil(lambda: rail.height() == high)
    assert all(button.isVisible() for button in rail._rooms.values())
    seen = [button for button in rail._switches.values() if button.isVisible()]
    assert len(seen) >= least
    assert rail._switches["person"] in seen
    qtbot.waitUntil(lambda: all(button.height() == button.sizeHint().height() for button in seen))
    bottoms = [button.geometry().bottom() for button in (*rail._rooms.values(), *seen)]
    assert bottoms == sorted(bottoms) and bottoms[-1] <= rail.height()


def test_a_click_on_the_room_that_is_entered_leaves_it_marked(frame):
    rail, entered = frame._rail, frame._rail._rooms["plan"]
    rail.enter("plan")
    entered.setEnabled(True)
    entered.clicked.disconnect()  # the room itself needs a book
    entered.click()
    assert [name for name, button in rail._rooms.items() if button.isChecked()] == ["plan"]


def test_units_are_a_matter_of_display_and_go_round(frame, qtbot):
    shown(frame, qtbot)
    seen = []
    frame.house.units_changed.connect(seen.append)
    for _ in range(3):
        press(frame, Qt.Key.Key_F6)
    assert seen == ["in", "mm", ""]


def test_the_theme_changes_by_one_key_everywhere(frame, qtbot):
    shown(frame, qtbot)
    before = frame.grab().toImage().pixelColor(600, 300)
    press(frame, Qt.Key.Key_F7)
    assert frame.house.theme.name == "dark"
    after = frame.grab().toImage().pixelColor(600, 300)
    assert before.lightness() > 200
    assert after.lightness() < 60


def test_the_scale_goes_up_and_down_and_back(frame, qtbot):
    shown(frame, qtbot)
    press(frame, Qt.Key.Key_Plus, Qt.KeyboardModifier.ControlModifier)
    assert frame.house.theme.scale == 125
    for _ in range(20):
        press(frame, Qt.Key.Key_Plus, Qt.KeyboardModifier.ControlModifier)
    assert frame.house.theme.scale == SCALES[-1]
    press(frame, Qt.Key.Key_Minus, Qt.KeyboardModifier.ControlModifier)
    assert frame.house.theme.scale == 225
    press(frame, Qt.Key.Key_0, Qt.KeyboardModifier.ControlModifier)
    assert frame.house.theme.scale == 100


def test_a_failure_stands_in_the_strip_until_escape(frame, qtbot):
    shown(frame, qtbot)
    frame.house.noticed.emit("The disk is full. Nothing was lost.", True)
    assert frame.notice() == "The disk is full. Nothing was lost."
    press(frame, Qt.Key.Key_Escape)
    assert frame.notice() == ""


@pytest.mark.parametrize("failure", [False, True])
def test_what_was_said_in_one_room_is_put_away_when_the_person_goes_to_another_but_a_failure_stays(
    frame, qtbot, failure
):
    shown(frame, qtbot)
    frame.open_rooms()
    frame.house.noticed.emit("Said here.", failure)
    press(frame, Qt.Key.Key_3, Qt.KeyboardModifier.ControlModifier)
    assert frame.in_room()
    assert frame.notice() == ("Said here." if failure else "")


def test_no_key_stands_for_two_things():
    keys = [QKeySequence(each) for key in KEYS.values() for each in (key.key, *key.more)]
    keys += [QKeySequence(key) for key, _module, _class in ROOMS.values()]
    assert len({each.toString() for each in keys}) == len(keys)


def test_rooms_are_shut_until_there_is_a_book(frame):
    assert not any(frame.actions_by_name[name].isEnabled() for name in ROOMS)
    frame.open_rooms()
    assert all(frame.actions_by_name[name].isEnabled() for name in ROOMS)


def test_keys_typed_before_the_sheet_are_kept_in_order(frame, qtbot):
    shown(frame, qtbot)
    frame.wait_for("shop.tenthwright")
    for key in "0.7498":
        QTest.keyClick(frame.windowHandle(), key)
    press(frame, Qt.Key.Key_Return)
    QTest.keyClick(frame.windowHandle(), "5")
    target = Recorder()
    qtbot.addWidget(target)
    assert frame.waiting.entry.hand_over(target) == 8
    assert target.seen == [*"0.7498", "\r", "5"]
    assert frame.waiting.entry.text() == ""
    assert frame.waiting.entry.hand_over(target) == 0


class Recorder(QWidget):
    def __init__(self):
        super().__init__()
        self.seen = []

    def keyPressEvent(self, event):  # noqa: N802 - Qt names it
        self.seen.append(event.text())


def test_every_control_has_a_name_for_screen_readers(frame):
    for kind in (QAbstractButton, QLineEdit):
        for widget in frame.findChildren(kind):
            assert widget.accessibleName() or widget.text(), widget


def test_the_list_of_keys_names_every_action(frame, answers, qtbot):
    waiting, asked = answers
    waiting.append({})
    shown(frame, qtbot)
    press(frame, Qt.Key.Key_F1)
    assert dict(asked[0].rows)["F7"] == "Light or dark"


@pytest.mark.parametrize("scale", [100, 150, 200, 250])
def test_no_text_is_wider_than_its_place(frame, qtbot, scale):
    frame.house.set_theme(frame.house.theme.scaled(scale))
    frame.resize(1280 * scale // 100, 720 * scale // 100)
    frame.stop_at(
        "The book could not be opened", "It is held by another program.", "", "again", "open_book", "new_book"
    )
    shown(frame, qtbot)
    for button in frame.findChildren(QAbstractButton):
        if button.isVisible():
            assert button.width() >= button.sizeHint().width() or button.text() == "", button.text()
    for label in frame.findChildren(QLabel):
        if label.isVisible():
            assert label.height() >= label.heightForWidth(label.width()), label.text()
