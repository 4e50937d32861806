"""The crib at every size, scale and ground: nothing runs out of its place, everything has a name and a key."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QFontMetrics, QWheelEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QTableView,
    QTextBrowser,
)

from app.crib.form import SECTIONS
from app.crib.keys import BUTTONS, KEYS, ON_ONE
from app.crib.model import COLUMNS
from app.crib.room import ONLY_KEYS
from app.parts.fitted import Fitted
from app.window.keys import KEYS as FRAME_KEYS
from app.window.keys import ROOMS
from app.window.theme import ROW, SCALES
from inspection.instruments.as_written import FIELDS
from inspection.instruments.starter import starter_crib

CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
SIZES = ((1280, 720), (1440, 900), (960, 600))


def out_of_place(room) -> list[str]:
    """Labels and buttons whose words are wider or higher than they are."""
    out = []
    for label in room.findChildren(QLabel):
        if not label.isVisible() or not label.text() or isinstance(label, Fitted):
            continue
        flags = Qt.TextFlag.TextWordWrap if label.wordWrap() else Qt.AlignmentFlag.AlignLeft
        needed = label.fontMetrics().boundingRect(QRect(0, 0, label.width(), 9999), int(flags), label.text())
        if needed.width() > label.width() or needed.height() > label.height():
            out.append(label.text())
    for button in room.findChildren(QAbstractButton):
        if button.isVisible() and button.text() and button.width() < button.sizeHint().width():
            out.append(button.text())
    return out


def beyond(room) -> list[str]:
    """Widgets that stand over the edge of the room."""
    shown = (room.table, room.side, room.top.search, *room.findChildren(QAbstractButton))
    inside = room.rect()
    return [
        type(one).__name__
        for one in shown
        if one.isVisible() and not room.side.form.isAncestorOf(one)
        and not inside.contains(QRect(one.mapTo(room, one.rect().topLeft()), one.size()))
    ]  # fmt: skip


@pytest.mark.parametrize("scale", SCALES)
def test_nothing_is_wider_than_its_place(crib, scale) -> None:
    crib.house.set_theme(crib.house.theme.scaled(scale))
    for size in SIZES:
        crib.frame.resize(*(side * scale // 100 for side in size))
        crib.find("C-05")
        crib.qtbot.wait(60)
        assert (out_of_place(crib.room), beyond(crib.room)) == ([], [])
        crib.press(Qt.Key.Key_Return)
        crib.types("March")
        crib.press(Qt.Key.Key_Return, CTRL)
        crib.qtbot.wait(80)
        assert (out_of_place(crib.room), beyond(crib.room)) == ([], [])
        crib.form.show_record(crib.room.instrument(), "", base=crib.room.instrument())
        crib.press(Qt.Key.Key_Escape)


def test_a_small_window_at_a_large_scale_shows_the_list_or_what_stands_beside_it(crib) -> None:
    crib.frame.resize(1280, 720)
    crib.house.set_theme(crib.house.theme.scaled(250))
    crib.find("C-05")
    crib.qtbot.wait(60)
    assert crib.frame.width() == 1280
    assert crib.room.table.isVisible()
    assert not crib.room.side.isVisible()
    assert beyond(crib.room) == []
    crib.press(Qt.Key.Key_Return)
    assert crib.form.isVisible()
    assert not crib.room.table.isVisible()
    assert beyond(crib.room) == []
    crib.qtbot.waitUntil(lambda: crib.form.height() > crib.room.height() * 3 // 4)  # it has the room to itself
    for _ in range(4):
        field = QApplication.focusWidget()
        crib.qtbot.waitUntil(lambda: field.visibleRegion().boundingRect() == field.rect())  # noqa: B023
        crib.press(Qt.Key.Key_Tab)
    crib.press(Qt.Key.Key_Escape)
    crib.qtbot.waitUntil(crib.room.top.search.hasFocus)


@pytest.mark.parametrize("size", [*SIZES, (1900, 1000)])
def test_columns_fill_the_list_and_never_more(crib, size) -> None:
    crib.frame.resize(*size)
    crib.qtbot.wait(30)
    table = crib.room.table
    shown = [name for place, name in enumerate(COLUMNS) if not table.isColumnHidden(place)]
    assert sum(table.columnWidth(place) for place in range(len(COLUMNS))) <= table.viewport().width()
    assert {"tag", "name", "state"} <= set(shown)
    assert crib.room.model.merged is ("holder" not in shown)


@pytest.mark.parametrize("scale", [100, 200])
@pytest.mark.parametrize("size", [(1280, 720), (1440, 900), (1900, 1000)])
def test_where_an_instrument_lies_is_not_cut(open_crib, size, scale) -> None:
    held = starter_crib((date.today() + timedelta(days=400)).isoformat())
    places = (replace(one, place=f"cabinet {n % 3 + 1}, drawer {n % 9 + 1}") for n, one in enumerate(held))
    crib = open_crib(tuple(places), scale=scale)
    crib.frame.resize(*(side * scale // 100 for side in size))
    crib.qtbot.wait(60)
    table, metrics = crib.room.table, QFontMetrics(crib.house.theme.font(ROW))
    for name in ("due", "state", "place"):
        column = COLUMNS.index(name)
        assert not table.isColumnHidden(column)
        needed = max(metrics.horizontalAdvance(getattr(line, name)) for line in table.lines.lines)
        before = crib.house.theme.px(22) if name == "state" else 0
        assert needed + before < table.columnWidth(column) - crib.house.theme.px(4)


def test_columns_stay_where_they_are_while_something_is_searched(crib) -> None:
    crib.frame.resize(1440, 900)
    crib.qtbot.wait(30)

    def widths() -> list[int]:
        return [crib.room.table.columnWidth(place) for place, name in enumerate(COLUMNS) if name != "name"]

    before = widths()
    crib.find("C-05")
    crib.qtbot.wait(30)
    assert widths() == before


def test_everything_that_takes_keys_has_a_name(crib) -> None:
    crib.types("C-05")
    crib.press(Qt.Key.Key_Return)
    kinds = (QLineEdit, QAbstractButton, QComboBox, QPlainTextEdit, QTextBrowser, QTableView)
    for kind in kinds:
        for widget in crib.room.findChildren(kind):
            if widget.isVisible() and widget.objectName() != "qt_scrollarea_viewport":
                assert widget.accessibleName(), widget


def test_the_form_has_every_field_once() -> None:
    fields = [field for section in SECTIONS.values() for field in section]
    assert sorted(fields) == sorted(FIELDS)


def test_no_key_means_two_things(crib) -> None:
    rooms = [key for key, _, _ in ROOMS.values()]
    own = [key for each in KEYS.values() for key in (each.key, *each.more)]
    frame = [key for each in FRAME_KEYS.values() for key in (each.key, *each.more)]
    keys = [*own, *frame, *rooms, *ONLY_KEYS.values()]
    assert len(keys) == len(set(keys))
    assert set(BUTTONS) | set(ON_ONE) <= set(KEYS)


def test_f1_lists_the_keys_of_the_crib(crib, answers) -> None:
    answers[0].append({})
    crib.press(Qt.Key.Key_F1)
    listed = dict(answers[1][0].rows)
    for key in (*(each.key for each in KEYS.values()), *ONLY_KEYS.values()):
        assert any(key in each for each in listed), key


def test_the_record_is_scrolled_from_the_search(crib) -> None:
    crib.types("C-05")
    crib.qtbot.waitUntil(lambda: "Issue 1" in crib.page())
    bar = crib.room.side.record.verticalScrollBar()
    assert bar.maximum() > 0
    crib.press(Qt.Key.Key_PageDown, ALT)
    assert bar.value() > 0
    crib.press(Qt.Key.Key_PageUp, ALT)
    assert bar.value() == 0
    assert crib.room.top.search.hasFocus()


def test_the_permissible_errors_are_kept_from_within_their_field(crib) -> None:
    crib.types("C-05")
    crib.press(Qt.Key.Key_Return)
    crib.form.stand_at("permissible")
    crib.press(Qt.Key.Key_A, CTRL)
    crib.types("outside up to 6 .001")
    crib.press(Qt.Key.Key_Return, CTRL)
    assert "±" in crib.form._faults["permissible"].text()
    crib.press(Qt.Key.Key_A, CTRL)
    crib.types("outside up to 6 +-.001")
    crib.press(Qt.Key.Key_Return)
    crib.types("inside up to 6 +-.002")
    crib.press(Qt.Key.Key_Return, CTRL)
    crib.settle()
    assert len(crib.tagged("C-05").permissible) == 2


def test_the_wheel_turns_the_form_and_never_a_value(crib) -> None:
    crib.types("C-05")
    crib.press(Qt.Key.Key_Return)
    before = crib.form.cells()
    kind = crib.form._fields["kind"]
    crib.form.stand_at("kind")
    centre = QPointF(kind.rect().center())
    spun = QWheelEvent(
        centre,
        QPointF(kind.mapToGlobal(kind.rect().center())),
        QPoint(),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(kind, spun)
    assert crib.form.cells() == before


def test_both_grounds_show_the_same_words(crib) -> None:
    crib.types("C-05")
    crib.qtbot.waitUntil(lambda: "Issue 1" in crib.page())
    light, html = crib.page(), crib.room.side.record.toHtml()
    crib.press(Qt.Key.Key_F7)
    crib.qtbot.wait(30)
    assert crib.page() == light
    assert crib.room.side.record.toHtml() != html
