"""How an instrument behaves, and proving it, from the crib by keys alone, down to what the book on disk holds."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit

from app.bench.entry import LOOKS_UP
from app.checking.panel import CheckPanel
from app.crib.keys import ON_ONE, STUDY_BUTTONS, STUDY_KEYS
from app.crib.reopened import ReopenedModel
from app.crib.study_dialog import StudyDialog
from app.parts.marks import Mark
from app.window.theme import SCALES
from inspection.instruments.record import Instrument, Standing
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.checks_life import Upset
from inspection.measuring.proofs import CheckRecord, Proof, StudyRecord, UpsetRecord
from inspection.quantity.speaker import written_out
from inspection.quantity.units import UNITS
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from storage.book.door import Book

INCH, TENTH = UNITS["in"].count, UNITS["tenth"].count
ENTER, ESCAPE = Qt.Key.Key_Return, Qt.Key.Key_Escape
NO, CTRL, ALT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
)
HELD = tuple(one for one in starter_crib("2099-01-01") if one.tag in ("C-05", "M-01", "I-01", "G-01", "R-01"))


def check_of(instrument: Instrument, *, off: int = 0, bad: bool = False) -> acts.RecordCheck:
    """A check of half an inch, read this many counts too large the last time; a bad one was not wiped."""
    answers = []
    for answer in good_answers(instrument, size=INCH // 2):
        if answer.size:
            read = (*answer.readings[:-1], answer.readings[-1] + off)
            answers.append(replace(answer, readings=read))
        else:
            answers.append(replace(answer, seen=False) if bad and answer.seen is not None else answer)
            bad = bad and answer.seen is None
    return acts.RecordCheck(
        instrument=instrument.identity,
        issue=instrument.issue,
        configuration=configured(instrument),
        answers=tuple(answers),
    )


def person_of(book: Book) -> str:
    return next(iter(book.shop().people))


def checked(*tags: str, **how: Any) -> Callable[[Book, str], None]:
    """Prepares a book in which these were checked."""

    def prepare(book: Book, _sheet: str) -> None:
        for tag in tags:
            held = book.shop().by_tag(tag)
            assert held is not None
            book.do(check_of(held, **how), person=person_of(book))

    return prepare


def on(crib: Any, tag: str) -> None:
    """Choose an instrument, and wait for what the book says of it."""
    crib.find(tag)
    crib.qtbot.waitUntil(lambda: crib.room.line() is not None and crib.room.line().tag == tag)
    crib.qtbot.waitUntil(lambda: "Issue 1" in crib.page(), timeout=10_000)


def proofs(crib: Any, tag: str) -> list[Proof]:
    """What the book on disk has of an instrument."""
    with Book.open(crib.path) as book:
        held = book.shop().by_tag(tag)
        assert held is not None
        return [each for each in book.shop().proofs if each.instrument == held.identity]


def opened(crib: Any, kind: type) -> Any:
    crib.qtbot.waitUntil(lambda: isinstance(QApplication.activeWindow(), kind))
    return QApplication.activeWindow()


def press(crib: Any, key: Qt.Key, modifier: Qt.KeyboardModifier = NO) -> None:
    """A key to whatever window is active, as a hand presses it."""
    crib.qtbot.wait(60)
    QTest.keyClick(QApplication.activeWindow().windowHandle(), key, modifier)


def enters(crib: Any, *lines: str) -> None:
    for line in lines:
        crib.qtbot.wait(60)
        for sign in line:
            QTest.keyClick(QApplication.activeWindow().windowHandle(), sign)
        press(crib, ENTER)


# --- what the page shows ------------------------------------------------------------------------------------------


def test_the_page_says_whether_it_is_proven_by_whom_and_what_is_known(open_crib) -> None:
    crib = open_crib(HELD, checked("C-05", off=TENTH * 5))
    on(crib, "C-05")
    page = crib.page()
    assert "Proven until" in page and "by Mira Oduya." in page
    assert "it read 0.5 in by 0.000167 in too large, the mean of 3." in page
    assert "Mira Oduya: check before use (in): passed" in page
    assert "0.5 in, read 3 times: at most 0.0005 in off, 0.001 in allowed." in page
    assert page.count("How it behaves") == 1
    on(crib, "M-01")
    assert "Not proven now. It was not checked before." in crib.page()
    assert "How it behaves" not in crib.page()


def test_the_last_checks_stand_as_a_plot_with_what_was_permitted(open_crib) -> None:
    def prepare(book: Book, sheet: str) -> None:
        checked("C-05")(book, sheet)
        checked("C-05", bad=True)(book, sheet)
        held = book.shop().by_tag("C-05")
        assert held is not None
        what = acts.ReportUpset(instrument=held.identity, what=Upset.DROPPED)
        book.do(what, person=person_of(book))

    crib = open_crib(HELD, prepare)
    on(crib, "C-05")
    record = crib.room.side.record
    plot = record.shown_plot()
    marks = sorted((point.x, point.series, point.mark.value) for point in plot.points)
    assert [mark for _, _, mark in marks[:2]] == ["conforming", "open"]  # on the block, of zero
    assert [mark for _, _, mark in marks[2:]] == ["out", "out"]
    assert [level.y for level in plot.levels] == [10 * TENTH, -10 * TENTH]
    assert [upright.label for upright in plot.uprights] == ["dropped"]
    assert record.accessibleDescription().startswith("Errors of its checks: ")
    assert "check failed" in record.accessibleDescription()
    on(crib, "M-01")
    assert record.shown_plot().points == ()
    assert record.accessibleDescription() == ""


def test_the_plot_keeps_to_the_width_of_the_page(open_crib) -> None:
    crib = open_crib(HELD, checked("C-05"))
    on(crib, "C-05")
    for size in ((1280, 720), (1500, 900), (1000, 640)):
        crib.frame.resize(*size)
        crib.qtbot.wait(150)
        record = crib.room.side.record
        if record.isVisible():
            assert record.horizontalScrollBar().maximum() == 0
            assert record._wide == record.viewport().width()
        assert crib.page().count("How it behaves") == 1


def test_lengths_are_told_in_the_unit_that_is_shown(open_crib) -> None:
    crib = open_crib(HELD, checked("C-05", off=TENTH * 5))
    on(crib, "C-05")
    crib.press(Qt.Key.Key_F6)
    crib.press(Qt.Key.Key_F6)  # millimetre
    crib.qtbot.waitUntil(lambda: "12.7 mm, read 3 times" in crib.page())
    assert crib.room.side.record.shown_plot().unit == "mm"


def test_a_check_by_another_hand_is_theirs(open_crib) -> None:
    crib = open_crib(HELD)
    known = set(crib.house.shop.people)
    crib.house.do(acts.EnterPerson(person=Person("", "Bo Tran", (Duty.INSPECTOR,))))
    crib.settle()
    (bo,) = set(crib.house.shop.people) - known
    crib.house.worker.act(check_of(crib.house.shop.by_tag("C-05")), person=bo)
    crib.settle()
    on(crib, "C-05")
    crib.qtbot.waitUntil(lambda: "Proven for Bo Tran until" in crib.page())
    assert "In another hand it is checked again" in crib.page()
    crib.house.set_person(bo)
    crib.qtbot.waitUntil(lambda: "by Bo Tran." in crib.page())


def test_a_check_that_was_used_by_another_hand_since_is_over(open_crib, take) -> None:
    crib = open_crib(prepare=lambda book, _sheet: checked("C-05")(book, ""))
    sheet = crib.house.at_hand or _only_sheet(crib)
    known = set(crib.house.shop.people)
    crib.house.do(acts.EnterPerson(person=Person("", "Bo Tran", (Duty.INSPECTOR,))))
    crib.settle()
    (bo,) = set(crib.house.shop.people) - known
    with Book.open(crib.path) as book:
        held = book.shop().by_tag("C-05")
        row = book.sheet(sheet).plan.characteristics[1]
        piece = book.sheet(sheet).pieces[0].identity
    assert held is not None
    crib.house.worker.act(_choice(sheet, row.identity, held), person=bo)
    crib.house.worker.act(_reading(sheet, row.identity, piece), person=bo)
    crib.settle()
    on(crib, "C-05")
    crib.qtbot.waitUntil(lambda: "Not proven now. It has changed hands since its last check." in crib.page())


def _only_sheet(crib: Any) -> str:
    from storage.book.queries.last_sheet import last_sheet

    with Book.open(crib.path) as book:
        return str(book.ask(last_sheet))


def _choice(sheet: str, row: str, held: Instrument) -> acts.ChooseInstrument:
    from inspection.instruments.method import InstrumentIssue, Method
    from inspection.instruments.record import Use

    method = Method(Use.OUTSIDE, (InstrumentIssue(held.identity, held.issue),))
    return acts.ChooseInstrument(sheet=sheet, characteristic=row, method=method, reason="at hand")


def _reading(sheet: str, row: str, piece: str) -> acts.TakeReading:
    from inspection.measuring.reading import Slot
    from inspection.quantity.reader import read

    quantity = read("1.2510", unit="in")
    return acts.TakeReading(sheet=sheet, characteristic=row, piece=piece, slot=Slot(), quantity=quantity)


def test_a_template_and_what_is_not_checked_say_nothing_of_checks(open_crib) -> None:
    crib = open_crib(HELD, checked("C-05"))
    crib.press(Qt.Key.Key_N, CTRL)
    crib.qtbot.wait(80)
    assert "Proven" not in crib.page() and "proven" not in crib.page()
    for key in (Qt.Key.Key_K, Qt.Key.Key_U, Qt.Key.Key_T):
        crib.frame.put_notice_away()
        crib.press(key, ALT)
        assert crib.frame.notice().startswith("This is a template and no instrument yet.")


def test_every_key_about_one_instrument_says_why_it_does_nothing_where_none_is_chosen(open_crib) -> None:
    crib = open_crib(HELD)
    crib.types("nothing is called so")
    crib.qtbot.waitUntil(lambda: crib.room.instrument() is None)
    for name in ON_ONE:
        crib.frame.put_notice_away()
        crib.room.actions_by_name[name].trigger()
        assert crib.frame.notice().startswith("No instrument is chosen. Nothing was done. Clear the search (Esc)"), name


# --- a check ------------------------------------------------------------------------------------------------------


def test_it_is_checked_from_here_and_belongs_to_no_sheet(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "C-05")
    crib.press(Qt.Key.Key_K, ALT)
    panel = opened(crib, CheckPanel)
    enters(crib, "", "", "", "", "0", "0", "-.0005")
    block = written_out(panel.check.standard.size, "in")
    enters(crib, block, block, block, "")
    assert panel.end.title.text() == "Passed"
    crib.qtbot.wait(LOOKS_UP + 50)
    press(crib, ENTER)
    crib.settle()
    crib.qtbot.waitUntil(lambda: crib.frame.notice().startswith("C-05 passed its check. It serves Mira Oduya until"))
    (made,) = proofs(crib, "C-05")
    assert isinstance(made, CheckRecord) and made.made.passed and made.sheet == ""
    crib.qtbot.waitUntil(lambda: "Proven until" in crib.page())


def test_a_failed_check_tells_the_rows_and_enter_leads_to_one(open_crib, take) -> None:
    tags: list[str] = []

    def prepare(book: Book, sheet: str) -> None:
        tags.append(take(book, sheet, "2", "1.2510"))

    crib = open_crib(prepare=prepare)
    (tag,) = tags
    on(crib, tag)
    crib.room.doing.proving._checked(crib.tagged(tag), check_of(crib.tagged(tag), bad=True))  # as the panel hands over
    crib.qtbot.waitUntil(lambda: crib.room.side.shows(crib.room.side.reopened))
    assert crib.frame.notice().startswith(f"{tag} failed its check.")
    assert crib.frame.notice().endswith("Re-opened: one reading on one sheet.")
    (line,) = crib.room.side.reopened.model.lines
    assert (line.part, line.number, line.piece, line.readings, line.state) == (
        "LP-1 A", "2", "001", "1.2510 in", "open again",
    )  # fmt: skip
    assert line.mark is Mark.OPEN
    with crib.qtbot.waitSignal(crib.house.row_wanted) as wanted:
        crib.press(ENTER)
    assert wanted.args == [line.sheet, "2", "001"]


def test_a_check_that_cannot_be_recorded_stands_on_the_panel_again(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "C-05")
    held = crib.tagged("C-05")
    crib.house.do(acts.IssueInstrument(instrument=replace(held, resolution=held.resolution * 2)))
    crib.settle()
    crib.room.doing.proving._checked(held, check_of(held))
    crib.qtbot.waitUntil(lambda: "has changed since" in crib.frame.notice())
    assert len(crib.house.left_off) == 1
    assert proofs(crib, "C-05") == []


def test_what_cannot_be_checked_says_why(open_crib) -> None:
    crib = open_crib((replace(HELD[0], permissible=(), resolution=0),))
    crib.qtbot.waitUntil(lambda: "Issue 1" in crib.page(), timeout=10_000)
    crib.press(Qt.Key.Key_K, ALT)
    crib.qtbot.waitUntil(lambda: "states neither permissible error nor smallest step" in crib.frame.notice())


# --- something happened to it -------------------------------------------------------------------------------------


def test_what_happened_ends_its_checks_and_stands_on_its_page(open_crib, answers) -> None:
    waiting, _ = answers
    crib = open_crib(HELD, checked("C-05"))
    on(crib, "C-05")
    waiting.append(None)
    crib.press(Qt.Key.Key_U, ALT)
    crib.settle()
    assert len(proofs(crib, "C-05")) == 1
    waiting.append({"what": "dropped", "note": "off the bench"})
    crib.press(Qt.Key.Key_U, ALT)
    crib.settle()
    assert crib.frame.notice().startswith("C-05 was dropped. Its checks end here")
    assert isinstance(proofs(crib, "C-05")[-1], UpsetRecord)
    crib.qtbot.waitUntil(lambda: "Not proven now. It was dropped since its last check." in crib.page())
    assert "“off the bench”" in crib.page()


def test_a_study_begun_before_something_happened_to_it_is_forgotten(open_crib, answers) -> None:
    crib = open_crib(HELD)
    on(crib, "C-05")
    crib.press(Qt.Key.Key_T, ALT)
    opened(crib, StudyDialog)
    enters(crib, ".5", ".5005")
    press(crib, ESCAPE)
    crib.qtbot.waitUntil(crib.frame.isActiveWindow)
    assert len(crib.house.left_off) == 1
    answers[0].append({"what": "dropped", "note": ""})
    crib.press(Qt.Key.Key_U, ALT)
    crib.settle()
    assert crib.house.left_off == {}


# --- a study on parts ---------------------------------------------------------------------------------------------


def test_a_study_is_typed_place_by_place_and_recorded(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "M-01")
    crib.press(Qt.Key.Key_T, ALT)
    dialog = opened(crib, StudyDialog)
    assert not dialog.actions_by_name["record"].isEnabled()
    enters(crib, ".5000", ".5001", ".5002", "", ".7500 .7502")
    assert dialog.prompt.text() == "Place 2, reading 3; Enter alone goes on to another place"
    assert "5 readings of 2 places: s = 0.000115 in (ν = 3)." in dialog.places.toPlainText()
    dialog.notes.setText("two pilots")
    press(crib, ENTER, CTRL)
    crib.settle()
    crib.qtbot.waitUntil(lambda: crib.frame.notice().startswith("The study with M-01 is on record: 5 readings."))
    (study,) = proofs(crib, "M-01")
    assert isinstance(study, StudyRecord)
    assert study.groups == (
        (INCH // 2, INCH // 2 + TENTH, INCH // 2 + 2 * TENTH),
        (3 * INCH // 4, 3 * INCH // 4 + 2 * TENTH),
    )
    assert study.note == "two pilots"
    crib.qtbot.waitUntil(lambda: "from studies; readings are reckoned with that." in crib.page())


def test_a_fault_stands_beside_the_entry_with_its_character_marked_and_nothing_is_lost(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "M-01")
    crib.press(Qt.Key.Key_T, ALT)
    dialog = opened(crib, StudyDialog)
    enters(crib, ".5000", ".50x1")
    assert "“x” is not a unit" in dialog.said.text()
    assert dialog.entry.text() == ".50x1"
    press(crib, ESCAPE)
    assert dialog.isVisible() and dialog.entry.text() == ""
    enters(crib, "")
    assert dialog.said.text().startswith("Place 1 has one reading.")
    enters(crib, ".5001", ".5251")
    assert "one whole turn of the thimble" in dialog.said.text()
    press(crib, Qt.Key.Key_Z, CTRL)
    assert dialog.said.text() == ".5251 was taken back."
    assert [len(place) for place in dialog.study.places] == [2]


def test_a_study_that_is_left_is_taken_up_where_it_was(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "M-01")
    crib.press(Qt.Key.Key_T, ALT)
    opened(crib, StudyDialog)
    enters(crib, ".5000", ".5001")
    press(crib, ESCAPE)
    crib.qtbot.waitUntil(crib.frame.isActiveWindow)
    assert proofs(crib, "M-01") == []
    crib.press(Qt.Key.Key_T, ALT)
    dialog = opened(crib, StudyDialog)
    assert [each.written for each in dialog.study.places[0]] == [".5000", ".5001"]
    assert dialog.said.text() == "Taken up where it was left. F5 begins anew."
    press(crib, Qt.Key.Key_F5)
    assert not dialog.study.is_begun
    press(crib, ESCAPE)
    crib.qtbot.waitUntil(crib.frame.isActiveWindow)
    assert crib.house.left_off == {}


def test_another_set_up_begins_the_study_anew(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "C-05")
    crib.press(Qt.Key.Key_T, ALT)
    dialog = opened(crib, StudyDialog)
    enters(crib, ".5000", ".5005")
    press(crib, Qt.Key.Key_F4)
    assert dialog.form.isVisible()
    press(crib, Qt.Key.Key_Down)
    press(crib, ENTER)
    assert dialog.study.configuration.unit == "mm" and not dialog.study.is_begun
    enters(crib, "12.70", "12.71")
    assert dialog.study.groups == ((12_700_000_000, 12_710_000_000),)


def test_what_is_not_read_is_not_studied(open_crib) -> None:
    crib = open_crib(HELD)
    on(crib, "G-01")
    crib.press(Qt.Key.Key_T, ALT)
    crib.qtbot.waitUntil(lambda: "gives no reading" in crib.frame.notice())


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_dialog_of_a_study_keeps_everything_in_its_place(open_crib, scale, theme) -> None:
    crib = open_crib(HELD, scale=scale, theme=theme, size=(1280 * scale // 100, 720 * scale // 100))
    crib.room.doing.proving.study(crib.house.shop.by_tag("C-05"))
    dialog = opened(crib, StudyDialog)
    crib.qtbot.wait(60)
    assert dialog.width() <= crib.frame.width() and dialog.height() <= crib.frame.height()
    for widget in (*dialog.findChildren(QAbstractButton), *dialog.findChildren(QLineEdit)):
        if widget.isVisible():
            assert widget.accessibleName(), widget
            assert dialog.rect().contains(widget.mapTo(dialog, widget.rect().center()))
    for button in dialog.findChildren(QAbstractButton):
        if button.isVisible() and button.text():
            assert button.width() >= QFontMetrics(button.font()).horizontalAdvance(button.text())
    assert set(STUDY_BUTTONS) == set(STUDY_KEYS)


# --- out of service for cause -------------------------------------------------------------------------------------


def test_for_cause_shows_what_will_be_reopened_then_does_it_and_tells(open_crib, take, answers) -> None:
    waiting, asked = answers
    tags: list[str] = []

    def prepare(book: Book, sheet: str) -> None:
        tags.append(take(book, sheet, "2", "1.2510"))

    crib = open_crib(prepare=prepare)
    (tag,) = tags
    on(crib, tag)
    waiting += [{"reason": "a jaw is bent", "sort": "cause"}, None]
    crib.press(Qt.Key.Key_O, ALT)
    crib.qtbot.waitUntil(lambda: len(asked) == 2)
    crib.settle()
    assert asked[1].title == f"Take {tag} out of service for cause?"
    assert asked[1].rows == (("LP-1 A", "row 2, piece 001", "1.2510 in"),)
    assert "This re-opens one reading on one sheet." in asked[1].text
    assert crib.tagged(tag).standing is Standing.IN_SERVICE
    assert proofs(crib, tag) == []
    waiting += [{"reason": "a jaw is bent", "sort": "cause"}, {}]
    crib.press(Qt.Key.Key_O, ALT)
    crib.qtbot.waitUntil(lambda: crib.room.side.shows(crib.room.side.reopened))
    assert crib.frame.notice() == f"{tag} is out of service for cause. Re-opened: one reading on one sheet."
    assert crib.tagged(tag).standing is Standing.OUT_OF_SERVICE
    with Book.open(crib.path) as book:
        sheet = book.sheet(_only_sheet(crib))
        assert len(sheet.reopened) == 1
    (line,) = crib.room.side.reopened.model.lines
    assert line.number == "2"
    crib.press(ESCAPE)
    crib.qtbot.waitUntil(lambda: "was taken out of service: a jaw is bent." in crib.page())


def test_for_cause_with_nothing_read_since_lists_the_sheets_as_ever(open_crib, answers) -> None:
    waiting, asked = answers
    crib = open_crib(HELD, checked("C-05"))
    on(crib, "C-05")
    waiting += [{"reason": "worn", "sort": "cause"}, {}]
    crib.press(Qt.Key.Key_O, ALT)
    crib.qtbot.waitUntil(lambda: crib.room.side.shows(crib.room.side.touched))
    assert asked[1].rows == ()
    assert asked[1].text.startswith("It was last known to be good on ")
    assert asked[1].text.endswith("Nothing was read with it since, so nothing is re-opened.")
    assert crib.tagged("C-05").standing is Standing.OUT_OF_SERVICE


def test_the_list_of_rows_is_a_sound_model(qtmodeltester) -> None:
    qtmodeltester.check(ReopenedModel())
