"""A person's own trials by keys alone, down to what their file on disk holds."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QLineEdit, QTextBrowser

from app.crib.feel_dialog import FeelDialog
from app.crib.keys import FEEL_BUTTONS, FEEL_KEYS
from app.parts.fitted import Sentence
from app.parts.marks import Mark
from app.parts.plot import Stroke
from app.window.theme import SCALES
from inspection.quantity.units import PICOMETRES_PER_INCH as INCH
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage import feel as kept
from storage.book.failures import failure
from storage.feel import feel_place, kept_feel

ENTER, ESCAPE, TAB = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Tab
CTRL, ALT, SHIFT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ShiftModifier,
)
NO = Qt.KeyboardModifier.NoModifier


class Feeling:
    """The crib's window, and the dialog that stands over it; keys go to the dialog's window."""

    def __init__(self, crib: Any, answers: tuple[list[object], list[Any]]) -> None:
        self.crib, self.qtbot = crib, crib.qtbot
        self.waiting, self.asked = answers

    @property
    def person(self) -> str:
        return str(self.crib.house.person)

    @property
    def place(self) -> Path:
        return feel_place(self.crib.path, self.person)

    def open(self, tag: str, *, wanted: bool = True) -> FeelDialog:
        """Choose an instrument and open its trials, asked for the first time."""
        if not self.place.exists():
            self.waiting.append({} if wanted else None)
        self.crib.find(tag)
        self.crib.press(Qt.Key.Key_H, ALT)
        self.qtbot.waitUntil(lambda: isinstance(QApplication.activeModalWidget(), FeelDialog))
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, FeelDialog)
        self.qtbot.waitUntil(dialog.isActiveWindow)
        return dialog

    @property
    def dialog(self) -> FeelDialog:
        dialog = QApplication.activeModalWidget()
        assert isinstance(dialog, FeelDialog)
        return dialog

    def press(self, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
        QTest.keyClick(self.dialog.windowHandle(), key, modifier)
        self.qtbot.wait(2)

    def types(self, *texts: str) -> None:
        """Each text and Enter."""
        for text in texts:
            for sign in text:
                QTest.keyClick(self.dialog.windowHandle(), sign)
            self.press(ENTER)

    def said(self) -> str:
        return str(self.dialog.lines.said())

    def page(self) -> str:
        return str(self.dialog.page.toPlainText())

    def settle(self) -> None:
        keeper = self.dialog._keeper
        self.qtbot.waitUntil(keeper.is_quiet)

    def closed(self) -> bool:
        self.qtbot.waitUntil(lambda: QApplication.activeModalWidget() is None)
        self.crib.frame.activateWindow()  # no window manager gives it back here
        self.qtbot.waitUntil(self.crib.frame.isActiveWindow)
        return True

    def on_disk(self) -> list[tuple[str, list[str]]]:
        """The trials of the person's file: block and readings as written."""
        found = kept_feel(self.crib.path, self.person).trials
        return [(trial.written, [take.quantity.written for take in trial.takes]) for trial in found]


@pytest.fixture(autouse=True)
def own_data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def feeling(crib: Any, answers: Any) -> Feeling:
    return Feeling(crib, answers)


# --- asked first ----------------------------------------------------------------------------------------------------


def test_the_first_time_it_is_asked_and_said_where_it_lies(feeling: Feeling) -> None:
    feeling.open("M-01")
    (question,) = feeling.asked
    assert "Mira Oduya alone" in question.title
    assert str(feeling.place) in question.text
    assert "nobody but the person at the bench" in question.text
    shown = " ".join(label.text() for label in feeling.dialog.findChildren(QLabel))
    assert str(feeling.place) in shown
    assert "Not in the shop’s book" in shown
    feeling.press(ESCAPE)
    assert feeling.closed()
    feeling.open("M-01")  # not asked again
    assert len(feeling.asked) == 1
    feeling.press(ESCAPE)


def test_who_does_not_want_it_has_no_file(feeling: Feeling) -> None:
    feeling.waiting.append(None)
    feeling.crib.find("M-01")
    feeling.crib.press(Qt.Key.Key_H, ALT)
    feeling.qtbot.waitUntil(lambda: len(feeling.asked) == 1)
    feeling.qtbot.wait(60)
    assert QApplication.activeModalWidget() is None
    assert not feeling.place.exists()


def test_what_is_not_read_on_a_block_is_refused_in_words(feeling: Feeling) -> None:
    for tag in ("R-01", "S-01"):
        feeling.crib.find(tag)
        feeling.crib.press(Qt.Key.Key_H, ALT)
        assert f"{tag}, " in feeling.crib.frame.notice()
        assert "not read on a gauge block" in feeling.crib.frame.notice()


# --- reading --------------------------------------------------------------------------------------------------------


def test_readings_are_typed_one_after_another_and_each_is_kept(feeling: Feeling) -> None:
    book = feeling.crib.path.read_bytes()
    feeling.open("M-01")
    feeling.types(".5", ".5001", ".5000", ".4999")
    dialog = feeling.dialog
    assert [point.y for point in dialog.plot.shown().points] == [INCH // 2 + n * INCH // 10_000 for n in (1, 0, -1)]
    assert dialog.plot.accessibleName().startswith("Readings in their order: 1: 500 thou and 1 tenth, within ±E")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001", ".5000", ".4999"])]
    for said in ("0.0001 in", "its record", "ν = 2", "No drift", "3 readings say little"):
        assert said in feeling.page(), said
    feeling.press(ESCAPE)
    assert feeling.closed()
    assert feeling.crib.path.read_bytes() == book  # the shop's book knows nothing of it


def test_the_plot_shows_block_limits_and_scatter(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5")
    levels = {level.label: level for level in feeling.dialog.plot.shown().levels}
    assert set(levels) == {"block", "+E", "−E"}
    assert levels["+E"].y - levels["block"].y == INCH // 10_000
    feeling.types(".5", ".5003")
    shown = feeling.dialog.plot.shown()
    assert [point.mark for point in shown.points] == [Mark.CONFORMING, Mark.OUT]
    scatter = [level.y for level in shown.levels if level.stroke is Stroke.SCATTER]
    assert sum(scatter) / 2 == pytest.approx(INCH // 2 + 1.5 * INCH / 10_000)
    assert max(scatter) - min(scatter) == pytest.approx(4 * 3 * INCH / 10_000 / 2**0.5, abs=4)  # ±2s, s = 3/√2 tenths
    feeling.press(ESCAPE)


def test_a_block_that_the_shop_has_is_offered_and_agreed_to_by_enter(feeling: Feeling) -> None:
    feeling.open("M-01")
    assert feeling.dialog.lines.block.text() == ".5"
    assert "Take" in feeling.said() or "out of" in feeling.said()
    feeling.press(ENTER)
    feeling.types(".5001")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001"])]
    feeling.press(ESCAPE)


def test_a_reading_typed_at_once_begins_the_trial_on_the_block_that_stands_there(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.press(TAB)
    feeling.types(".4999")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".4999"])]
    feeling.press(ESCAPE)


def test_the_last_is_taken_away_and_in_the_end_the_trial_too(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".25 + .25", ".5001", ".4750")
    assert "whole turn of the thimble" in feeling.said()
    assert "Ctrl+Z" in feeling.said()
    feeling.press(Qt.Key.Key_Z, CTRL)
    assert len(feeling.dialog.plot.shown().points) == 1
    feeling.types(".5000")
    feeling.settle()
    assert feeling.on_disk() == [(".25 + .25", [".5001", ".5000"])]
    for _ in range(3):
        feeling.press(Qt.Key.Key_Z, CTRL)
    feeling.settle()
    assert feeling.on_disk() == []
    feeling.press(ESCAPE)


def test_while_a_number_is_typed_undo_belongs_to_it_and_its_meaning_is_shown(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001")
    for sign in ".4999":
        QTest.keyClick(feeling.dialog.windowHandle(), sign)
    assert "499 thou and 9 tenths" in feeling.said()
    feeling.press(Qt.Key.Key_Z, CTRL)
    assert feeling.dialog.lines.reading.text() == ""
    assert len(feeling.dialog.plot.shown().points) == 1
    feeling.press(ESCAPE)


@pytest.mark.parametrize(
    ("block", "readings", "said"),
    [
        ("1.5", (), "outside the range"),
        (".5o", (), "not a unit"),
        (".5", (".5o01",), "not a unit"),
        (".5", ("-.5",), "sign"),
        (".5", ("1,250",), "1250"),
    ],
)
def test_what_cannot_be_read_stays_and_is_said(
    feeling: Feeling, block: str, readings: tuple[str, ...], said: str
) -> None:
    feeling.open("M-01")
    feeling.types(block, *readings)
    assert said in feeling.said()
    line = feeling.dialog.lines.reading if readings else feeling.dialog.lines.block
    assert line.hasFocus()
    assert line.text() == (readings or (block,))[-1]
    assert not feeling.dialog.plot.shown().points
    feeling.press(ESCAPE)  # puts a half-typed reading away
    if readings:
        assert feeling.dialog.lines.reading.text() == ""
        feeling.press(ESCAPE)
    assert feeling.closed()


def test_escape_puts_a_half_typed_number_away_before_it_closes(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001")
    QTest.keyClick(feeling.dialog.windowHandle(), ".")
    feeling.press(ESCAPE)
    assert feeling.dialog.isVisible()
    feeling.press(ESCAPE)
    assert feeling.closed()
    assert feeling.on_disk() == [(".5", [".5001"])]


def test_equal_readings_are_said_to_be_no_evidence(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5", ".5", ".5")
    assert "hidden by the step" in feeling.page()
    assert "no evidence of no scatter" in feeling.page()
    assert not [level for level in feeling.dialog.plot.shown().levels if level.stroke is Stroke.SCATTER]
    feeling.press(ESCAPE)


# --- several trials -------------------------------------------------------------------------------------------------


def test_a_further_trial_stands_beside_the_earlier_ones(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001", ".5")
    feeling.press(Qt.Key.Key_N, CTRL)
    assert "One earlier trial with M-01" in feeling.page()
    feeling.types(".25", ".2501")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001", ".5"]), (".25", [".2501"])]
    feeling.press(ESCAPE)
    assert feeling.closed()
    feeling.open("M-01")
    assert "2 earlier trials with M-01" in feeling.page()
    assert feeling.dialog.lines.block.text() == ".25"
    feeling.press(ESCAPE)
    assert feeling.closed()
    feeling.open("C-05")
    assert "earlier" not in feeling.page()  # those of another instrument are not shown
    feeling.press(ESCAPE)


def test_who_was_called_away_goes_on_with_the_last_trial(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001", ".5")
    feeling.press(ESCAPE)
    assert feeling.closed()
    feeling.open("M-01")
    feeling.press(Qt.Key.Key_G, CTRL)
    assert len(feeling.dialog.plot.shown().points) == 2
    feeling.types(".4999")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001", ".5", ".4999"])]
    assert not feeling.dialog.actions_by_name["go_on"].isEnabled()
    feeling.press(ESCAPE)


def test_another_block_in_the_line_begins_another_trial(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001")
    feeling.press(TAB, SHIFT)
    feeling.press(Qt.Key.Key_A, CTRL)
    feeling.types(".3", ".3001")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001"]), (".3", [".3001"])]
    feeling.press(ESCAPE)


# --- nobody else, and gone in one step ------------------------------------------------------------------------------


def test_another_person_is_asked_anew_and_sees_nothing(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001")
    feeling.press(ESCAPE)
    assert feeling.closed()
    mira = feeling.place
    feeling.crib.house.do(acts.EnterPerson(person=Person("", "Bo Tran")))
    feeling.crib.settle()
    people = feeling.crib.house.shop.people
    feeling.crib.house.set_person(next(one for one in people if people[one].name == "Bo Tran"))
    feeling.open("M-01")
    assert "Bo Tran" in feeling.asked[-1].title
    assert "earlier" not in feeling.page()
    assert feeling.place != mira
    feeling.press(ESCAPE)


def test_all_of_it_is_deleted_in_one_step(feeling: Feeling) -> None:
    feeling.open("M-01")
    feeling.types(".5", ".5001")
    feeling.settle()
    feeling.waiting.append(None)
    feeling.press(Qt.Key.Key_Delete, CTRL | SHIFT)
    assert feeling.on_disk() != []
    feeling.waiting.append({})
    feeling.press(Qt.Key.Key_Delete, CTRL | SHIFT)
    assert feeling.closed()
    assert not feeling.place.exists()
    assert "deleted" in feeling.crib.frame.notice()


# --- setbacks -------------------------------------------------------------------------------------------------------


def test_a_damaged_file_is_told_and_kept_beside(feeling: Feeling) -> None:
    feeling.place.parent.mkdir(parents=True)
    feeling.place.write_bytes(b"{damaged")
    feeling.open("M-01")
    assert feeling.place.name in feeling.said()
    feeling.types(".5", ".5001")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001"])]
    assert any(path.read_bytes() == b"{damaged" for path in feeling.place.parent.iterdir())
    feeling.press(ESCAPE)


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> Callable[[bool], None]:
    write = kept.write_file

    def turn(full: bool) -> None:
        def refuse(path: Path, content: bytes) -> str:
            raise failure("file.disk_full", path)

        monkeypatch.setattr(kept, "write_file", refuse if full else write)

    return turn


def test_what_a_full_disk_does_not_take_is_told_and_tried_again(
    feeling: Feeling, full_disk: Callable[[bool], None]
) -> None:
    feeling.open("M-01")
    feeling.types(".5")
    full_disk(True)
    feeling.types(".5001")
    feeling.qtbot.waitUntil(lambda: "is full" in feeling.said())
    assert "the next one tries again" in feeling.said()
    full_disk(False)
    feeling.types(".5")
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001", ".5"])]
    feeling.press(ESCAPE)


def test_readings_that_are_not_kept_are_not_left_unasked(feeling: Feeling, full_disk: Callable[[bool], None]) -> None:
    feeling.open("M-01")
    full_disk(True)
    feeling.types(".5", ".5001")
    feeling.qtbot.waitUntil(lambda: "is full" in feeling.said())
    feeling.waiting.append(None)
    feeling.press(ESCAPE)
    feeling.qtbot.waitUntil(lambda: len(feeling.asked) == 2)
    assert "not kept" in feeling.asked[-1].title
    assert feeling.dialog.isVisible()
    full_disk(False)
    feeling.press(ESCAPE)  # tries once more, and this time it can be kept
    assert feeling.closed()
    assert feeling.on_disk() == [(".5", [".5001"])]


def test_a_window_that_ends_keeps_what_was_typed(feeling: Feeling, full_disk: Callable[[bool], None]) -> None:
    feeling.open("M-01")
    full_disk(True)
    feeling.types(".5", ".5001")
    feeling.qtbot.waitUntil(lambda: "is full" in feeling.said())
    full_disk(False)
    worker = feeling.crib.house.worker
    worker.close_book()
    feeling.qtbot.waitUntil(lambda: feeling.on_disk() == [(".5", [".5001"])])


# --- look -----------------------------------------------------------------------------------------------------------


def out_of_place(dialog: FeelDialog) -> list[str]:
    """Labels and buttons whose words are wider or higher than they are, and what stands over the dialog's edge."""
    out = []
    for label in dialog.findChildren(QLabel):
        if label.isVisible() and label.text() and not isinstance(label, Sentence):
            flags = Qt.TextFlag.TextWordWrap if label.wordWrap() else Qt.AlignmentFlag.AlignLeft
            needed = label.fontMetrics().boundingRect(QRect(0, 0, label.width(), 9999), int(flags), label.text())
            if needed.width() > label.width() or needed.height() > label.height():
                out.append(label.text())
    for button in dialog.findChildren(QAbstractButton):
        if button.isVisible() and button.text() and button.width() < button.sizeHint().width():
            out.append(button.text())
    for part in (dialog.plot, dialog.page, dialog.lines, dialog.lines.reading, dialog.lines.block):
        if not dialog.rect().contains(QRect(part.mapTo(dialog, part.rect().topLeft()), part.size())):
            out.append(type(part).__name__)
    return out


@pytest.mark.parametrize("size", [(1280, 720), (960, 600)])
@pytest.mark.parametrize("scale", [SCALES[0], 150, SCALES[-1]])
def test_nothing_is_wider_than_its_place(feeling: Feeling, scale: int, size: tuple[int, int]) -> None:
    feeling.crib.house.set_theme(feeling.crib.house.theme.scaled(scale))
    feeling.crib.frame.resize(*(side * scale // 100 for side in size))
    dialog = feeling.open("M-01")
    feeling.types(".5", ".5001", ".5", ".4997", ".5002")
    feeling.qtbot.wait(40)
    assert out_of_place(dialog) == []
    assert dialog.width() <= feeling.crib.frame.width()
    assert dialog.height() <= feeling.crib.frame.height()
    feeling.press(ESCAPE)


def test_everything_that_takes_keys_has_a_name_and_a_key_of_its_own(feeling: Feeling) -> None:
    dialog = feeling.open("M-01")
    for kind in (QLineEdit, QAbstractButton, QTextBrowser):
        for widget in dialog.findChildren(kind):
            if widget.isVisible() and widget.objectName() != "qt_scrollarea_viewport":
                assert widget.accessibleName(), widget
    keys = [key for each in FEEL_KEYS.values() for key in (each.key, *each.more)]
    assert len(keys) == len(set(keys))
    assert set(FEEL_BUTTONS) <= set(FEEL_KEYS)
    feeling.press(ESCAPE)


def test_lengths_are_shown_as_the_display_is_switched_and_kept_as_written(feeling: Feeling) -> None:
    feeling.crib.press(Qt.Key.Key_F6)
    feeling.crib.press(Qt.Key.Key_F6)  # drawing, inch, millimetre
    assert feeling.crib.house.units == "mm"
    feeling.open("M-01")
    feeling.types(".5", ".5001", ".5003")
    assert feeling.dialog.plot.shown().unit == "mm"
    assert "0.00254 mm" in feeling.page()  # ±E
    feeling.settle()
    assert feeling.on_disk() == [(".5", [".5001", ".5003"])]
    feeling.press(ESCAPE)
