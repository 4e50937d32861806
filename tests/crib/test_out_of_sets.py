"""Stacks and pairs asked of a set in the crib, by key: what is shown, what is refused, and another one."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from inspection.instruments.record import InstrumentKind
from inspection.instruments.sets import read_members
from inspection.instruments.starter import starter_crib

ALT = Qt.KeyboardModifier.AltModifier
ENTER, ESCAPE = Qt.Key.Key_Return, Qt.Key.Key_Escape
HELD = ("C-05", "P-02", "P-41", "G-01", "G-02")


@pytest.fixture
def sets(open_crib: Any) -> Any:
    return open_crib(tuple(one for one in starter_crib(due="2099-01-01") if one.tag in HELD))


def on(crib: Any, tag: str) -> None:
    crib.find(tag)
    crib.qtbot.waitUntil(lambda: crib.room.line() is not None and crib.room.line().tag == tag)
    crib.press(Qt.Key.Key_B, ALT)


def test_a_stack_is_shown_and_another_one_is_asked_for(sets: Any, answers: Any) -> None:
    given, asked = answers
    given += [{"size": "3.9762"}, {}, {"size": "2.5"}, None]
    on(sets, "G-01")
    assert [question.title for question in asked] == [
        "A stack from G-01",
        "3.9762 in from 4 blocks: 3 + 0.75 + 0.126 + 0.1002.",
        "A stack from G-01",
        "2.5 in from 2 blocks: 2 + 0.5.",
    ]
    assert [left for left, _ in asked[1].rows] == ["3 in", "0.75 in", "0.126 in", "0.1002 in"]
    assert asked[1].text.startswith("U = 16 µin at 20 °C (k = 2), by grade 0 ")
    assert asked[2].fields[0].value == "3.9762", "what was typed last stands in the field"


def test_a_metric_set_is_asked_in_millimetres(sets: Any, answers: Any) -> None:
    given, asked = answers
    given += [{"size": "37.528"}, None]
    on(sets, "G-02")
    assert asked[0].fields[0].label == "Size, mm"
    assert asked[1].title == "37.528 mm from 4 blocks: 30 + 5.5 + 1.02 + 1.008."


def test_what_is_not_built_shows_the_nearest_and_what_is_left_over(sets: Any, answers: Any) -> None:
    given, asked = answers
    given += [{"size": "1.23456"}, None]
    on(sets, "G-01")
    assert asked[1].title == "These blocks do not build 1.23456 in."
    assert asked[1].text.splitlines() == [
        "Nearest below: 1.2345 in from 1 + 0.134 + 0.1005; 0.00006 in short.",
        "Nearest above: 1.2346 in from 1 + 0.134 + 0.1006; 0.00004 in over.",
    ]


def test_wear_blocks_are_a_choice_where_a_pair_is_there(open_crib: Any, answers: Any) -> None:
    given, asked = answers
    usual = {one.tag: one for one in starter_crib(due="2099-01-01")}
    box = replace(usual["G-01"], tag="G-9", name="wear blocks", members=read_members(".05 (wear); .05 (wear)", "in"))
    crib = open_crib((usual["G-01"], usual["G-02"], box))
    given += [{"size": "1.2345", "wear": "yes"}, None, None]
    on(crib, "G-01")
    assert asked[1].rows[0] == ("0.05 in", "wear, G-9")
    assert asked[1].rows[-1] == ("0.05 in", "wear, G-9")
    on(crib, "G-02")
    assert [field.name for field in asked[2].fields] == ["size"]  # that box is in inches


def test_pins_are_told_for_a_bore_as_it_is_drawn_or_a_plain_size(sets: Any, answers: Any) -> None:
    given, asked = answers
    given += [{"bore": ".1360 +.004/-.001"}, {}, {"bore": ".1365"}, None]
    on(sets, "P-02")
    assert asked[1].title == "P-02: GO 0.136 in, NO-GO 0.140 in."
    assert asked[1].text.splitlines() == [
        "By class ZZ minus, 25 : 1 of the band to the class tolerance.",
        "To size the bore step up from 0.135 in to 0.141 in, 7 pins.",
    ]
    assert asked[3].title.startswith("P-02: 0.136 in surely enters a bore of 0.1365 in, 0.137 in surely does not")


def test_a_fit_is_a_bore_to_metric_pins(sets: Any, answers: Any) -> None:
    given, asked = answers
    given += [{"bore": "6 H7"}, None]
    on(sets, "P-41")
    assert asked[1].title == "P-41: no GO and NO-GO for a bore of 6.000 mm to 6.012 mm."  # 6.01 would be both


def test_what_cannot_be_read_or_had_is_said_while_the_question_stays(sets: Any, answers: Any) -> None:
    given, asked = answers
    given += [None]
    on(sets, "G-01")
    check = asked[0].check
    assert check is not None
    assert check({"size": "1.2345"}) == ""
    assert check({"size": "abc"}).startswith("“abc” is not a number.")
    assert check({"size": "0"}) == "0 in is no size for gauge blocks. Enter one over zero."


def test_what_is_no_set_says_so(sets: Any, answers: Any) -> None:
    on(sets, "C-05")
    said = sets.frame.notice()
    assert (
        said.startswith("C-05 is neither a set of gauge blocks nor one of gauge pins") and "Ctrl+N enters one" in said
    )


def test_nothing_is_kept_of_it(sets: Any, answers: Any) -> None:
    given, _ = answers
    before = sets.path.read_bytes()
    given += [{"size": "1.2345"}, None]
    on(sets, "G-01")
    sets.settle()
    assert sets.path.read_bytes() == before
    assert sets.tagged("G-01").kind is InstrumentKind.GAUGE_BLOCKS


def test_the_dialogs_by_keys_alone(sets: Any) -> None:
    """A size is typed, Enter shows the stack, Enter asks for another, a fault stays to be mended, Esc leaves twice."""
    seen: list[str] = []
    keys = iter(["1.2345", ENTER, ENTER, "0", ENTER, ESCAPE])

    def step() -> None:
        dialog = QApplication.activeModalWidget()
        if dialog is None:
            return
        seen.append(" | ".join(label.text() for label in dialog.findChildren(QLabel) if label.isVisible()))
        key = next(keys, ESCAPE)
        QTimer.singleShot(60, step)
        if isinstance(key, str):
            QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
            for sign in key:
                QTest.keyClick(dialog.windowHandle(), sign)
        else:
            QTest.keyClick(dialog.windowHandle(), key)

    QTimer.singleShot(200, step)
    on(sets, "G-01")
    assert QApplication.activeModalWidget() is None
    assert any("1.2345 in from 3 blocks: 1 + 0.134 + 0.1005." in text for text in seen)
    assert any("0 in is no size for gauge blocks. Enter one over zero." in text for text in seen)
