"""The Bench at every size, scale and ground: nothing runs out of its place, everything has a name and a key."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QObject, QRect, Qt
from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QWidget

from app.bench import flow
from app.bench.columns import LEAST, widths
from app.bench.keys import KEYS
from app.bench.model import COLUMNS
from app.parts.fitted import Fitted, Sentence
from app.parts.marks import Mark
from app.window.keys import KEYS as FRAME_KEYS
from app.window.theme import SCALES, SMALL

SIZES = ((1280, 720), (1440, 900), (960, 600))


def texts_out_of_place(root: QWidget) -> list[str]:
    """Labels whose words are wider or higher than they are; those that fit themselves in cannot be."""
    out = []
    for label in root.findChildren(QLabel):
        if not label.isVisible() or not label.text() or isinstance(label, Fitted | Sentence):
            continue
        flags = Qt.TextFlag.TextWordWrap if label.wordWrap() else Qt.AlignmentFlag.AlignLeft
        needed = label.fontMetrics().boundingRect(QRect(0, 0, label.width(), 9999), int(flags), label.text())
        if needed.width() > label.width() or needed.height() > label.height():
            out.append(label.text())
    return out


@pytest.mark.parametrize("scale", SCALES)
def test_no_text_is_wider_than_its_place(bench, scale):
    from PySide6.QtWidgets import QApplication

    bench.house.set_theme(bench.house.theme.scaled(scale))
    for size in SIZES:
        bench.frame.resize(*size)
        for number in ("1", "4.1", "5", "6", "7"):
            bench.go(number)
            bench.qtbot.wait(60)
            QApplication.processEvents()
            assert texts_out_of_place(bench.room) == []
            entry = bench.room.entry
            assert entry.isVisible()
            assert bench.room.rect().contains(QRect(entry.mapTo(bench.room, entry.rect().topLeft()), entry.size()))


@pytest.mark.parametrize("size", SIZES)
def test_the_row_at_hand_is_in_sight(bench, size):
    bench.frame.resize(*size)
    for row in bench.sheet.plan.characteristics:
        bench.go(row.number)
        bench.qtbot.wait(20)
        rect = bench.room.table.visualRect(bench.room.table.currentIndex())
        assert (
            bench.room.table.viewport().rect().contains(rect.adjusted(0, 0, 0, -1).intersected(QRect(0, 0, 10, 9999)))
        )
        assert rect.isValid()


def test_the_card_keeps_its_place_while_measuring(bench):
    bench.go("2")
    bench.qtbot.wait(80)
    places = set()
    for typed in ("1.2505\n", "2.0005\n", "x\n"):
        bench.types(typed)
        bench.qtbot.wait(80)
        places.add((bench.room.card.geometry().top(), bench.room.entry.geometry().top()))
    assert len(places) == 1


def test_everything_that_takes_keys_or_shows_a_value_has_a_name(bench):
    from app.parts.bars import RatioBars
    from app.parts.ribbon import Ribbon

    named = [*bench.room.findChildren(QLineEdit), *bench.room.findChildren(QAbstractButton)]
    named += [*bench.room.findChildren(Ribbon), *bench.room.findChildren(RatioBars), bench.room.table]
    named += [bench.room.head.strip, bench.room.head.switch]
    for widget in named:
        if widget.isVisible():
            assert widget.accessibleName(), widget


def test_the_entry_tells_a_screen_reader_its_row_and_what_was_said(bench):
    bench.go("7")
    bench.qtbot.wait(20)
    assert "7" in bench.room.entry.accessibleName()
    assert "left end" in bench.room.entry.accessibleName()
    bench.types("x\n")
    assert bench.room.entry.accessibleDescription() == bench.room.card.said.text()


def test_no_key_means_two_things(bench):
    keys = [key for table in (KEYS, FRAME_KEYS) for each in table.values() for key in (each.key, *each.more)]
    assert len(keys) == len(set(keys))


def test_f1_lists_the_keys_of_the_bench(bench, answers):
    answers[0].append({})
    bench.press(Qt.Key.Key_F1)
    listed = dict(answers[1][0].rows)
    for key in KEYS.values():
        assert any(key.key in each for each in listed), key.key


def test_the_focus_stays_in_the_entry(bench):
    bench.press(Qt.Key.Key_F7)
    bench.press(Qt.Key.Key_F6)
    bench.press(Qt.Key.Key_PageDown)
    assert bench.room.entry.hasFocus()


def test_the_model_of_features_is_a_sound_model(bench, qtmodeltester):
    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    qtmodeltester.check(bench.room.model, force_py=True)


def test_one_changed_row_is_told_once(bench, door):
    bench.go("2")
    heard = []
    bench.room.model.dataChanged.connect(lambda first, last: heard.append((first.row(), last.row())))
    bench.types("1.2505\n")
    assert heard == [(1, 1)]
    door.set()
    bench.settle()
    assert heard == [(1, 1), (1, 1)]


@pytest.mark.parametrize("room", [300, 500, 700, 900, 1100, 1300, 1900])
def test_columns_fill_the_room_and_never_more(room):
    found = widths(room)
    assert sum(found) <= room
    assert sum(found) > room - len(COLUMNS) or sum(LEAST.values()) > room
    for name in ("number", "requirement", "readings", "verdict"):
        assert found[COLUMNS.index(name)] > 0


def test_small_text_is_never_below_twelve_pixels(bench):
    for label in bench.room.findChildren(QLabel):
        assert label.font().pixelSize() >= SMALL or label.font().pixelSize() == -1


def test_a_verdict_that_comes_in_time_is_painted_once(bench, monkeypatch):
    """The window waits for it, and never paints the row as on its way to disk first."""
    monkeypatch.setattr(flow, "FRAME", 5)
    seen, place = [], bench.room.table.viewport()

    class Painted(QObject):
        def eventFilter(self, watched, event):  # noqa: N802
            if watched is place and event.type() == QEvent.Type.Paint:
                seen.append(bench.line("2").mark)
            return False

    bench.go("2")
    bench.qtbot.wait(60)
    painted = Painted()
    place.installEventFilter(painted)
    bench.types("1.2505\n")
    bench.settle()
    place.removeEventFilter(painted)
    assert seen[-1] is Mark.CONFORMING and Mark.WRITING not in seen
