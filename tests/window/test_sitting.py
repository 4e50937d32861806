"""A sitting on real books: opening, what is said when it cannot be, closing with everything on disk."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.sheet import acts
from inspection.sheet.people import Person
from storage.book.door import Book

INCH = 25_400_000_000


@pytest.fixture
def book_file(tmp_path: Path) -> Path:
    """A book with one person, no crib and no sheet."""
    file = tmp_path / "little shop.tenthwright"
    with Book.new(file) as book:
        book.do(acts.OpenShop(name="Little Shop", first_person=Person("", "Ann Ames")), person="")
    return file


def requirement(nominal: int) -> Requirement:
    return Requirement(
        ".500 ±.005",
        Form.PLUS_MINUS,
        decimals=3,
        nominal=nominal,
        lower=nominal - INCH // 200,
        upper=nominal + INCH // 200,
    )


def with_sheet(file: Path) -> str:
    """Give the book a sheet of three rows and two pieces; its identity."""
    rows = tuple(
        Characteristic("", str(number), FeatureKind.LENGTH, requirement(number * INCH // 2)) for number in (1, 2, 3)
    )
    with Book.open(file) as book:
        person = next(iter(book.shop().people))
        plan = Plan("", "", 0, Part("LP-1", "A", "Little plate", customer="Nobody"), TitleBlock(), rows)
        outcome = book.do(acts.IssuePlan(plan=plan), person=person)
        issued = outcome.events[0].plan.identity
        made = book.do(acts.MakeSheet(plan=issued, serials=("001", "002")), person=person)
        return made.stream


@pytest.fixture
def sit(frame_and_sitting, qtbot):
    frame, sitting = frame_and_sitting

    def begin(path: Path):
        frame.show()
        qtbot.waitUntil(frame.isActiveWindow)
        sitting.begin(path)
        worker = sitting.house.worker
        qtbot.waitUntil(lambda: sitting.house.shop is not None or sitting.house.worker is not worker)
        return frame, sitting

    return begin


def press(frame, key, modifier=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(frame.windowHandle(), key, modifier)


def test_the_only_person_is_at_the_bench_without_being_asked(sit, book_file):
    _frame, sitting = sit(book_file)
    assert sitting.house.shop.people[sitting.house.person].name == "Ann Ames"


def test_an_empty_book_leads_to_its_first_steps_and_the_ledger_says_what_to_do(sit, book_file, qtbot):
    frame, _sitting = sit(book_file)
    qtbot.waitUntil(frame.beginning)
    ledger = frame.enter("ledger")
    qtbot.waitUntil(lambda: "Ctrl+2" in ledger._empty.text())
    assert ledger._empty.isVisible()
    assert "Ctrl+2" in ledger.actions_by_name["open"].toolTip()


def test_sheets_are_listed_with_where_they_stand(sit, book_file, qtbot):
    with_sheet(book_file)
    frame, _sitting = sit(book_file)
    ledger = frame.room("ledger")
    qtbot.waitUntil(lambda: len(ledger.model.lines) == 1)
    line = ledger.model.lines[0]
    assert (line.part, line.revision, line.name, line.serials) == ("LP-1", "A", "Little plate", "001, 002")
    assert line.state == "6 open"


def test_enter_opens_the_chosen_sheet(sit, book_file, qtbot):
    sheet = with_sheet(book_file)
    frame, sitting = sit(book_file)
    ledger = frame.room("ledger")
    qtbot.waitUntil(lambda: len(ledger.model.lines) == 1)
    sitting.house.sheet_wanted.disconnect(sitting._open_sheet)
    with qtbot.waitSignal(sitting.house.sheet_wanted) as wanted:
        press(frame, Qt.Key.Key_Return)
    assert wanted.args == [sheet]


def test_the_model_of_sheets_is_a_sound_model(sit, book_file, qtbot, qtmodeltester):
    with_sheet(book_file)
    frame, _sitting = sit(book_file)
    ledger = frame.room("ledger")
    qtbot.waitUntil(lambda: len(ledger.model.lines) == 1)
    qtmodeltester.check(ledger.model, force_py=True)


def test_a_book_that_is_missing_leads_to_making_one(sit, tmp_path):
    frame, _sitting = sit(tmp_path / "none.tenthwright")
    page = frame._pages.currentWidget()
    assert page is frame._stopped
    assert "no book here yet" in page._title.text()
    assert "Ctrl+Shift+N" in page._next.text()


@pytest.mark.parametrize(
    ("content", "expected"), [(b"just some text, no book at all" * 50, "not"), (b"", "empty")], ids=["text", "empty"]
)
def test_a_file_that_is_no_book_is_named_and_left_as_it_is(sit, tmp_path, content, expected):
    file = tmp_path / "odd.tenthwright"
    file.write_bytes(content)
    frame, _sitting = sit(file)
    assert "odd.tenthwright" in frame._stopped._text.text()
    assert expected in frame._stopped._text.text()
    assert file.read_bytes() == content


def test_trying_again_opens_a_book_that_came_back(sit, book_file, qtbot):
    away = book_file.rename(book_file.with_suffix(".away"))
    frame, sitting = sit(book_file)
    away.rename(book_file)
    press(frame, Qt.Key.Key_F5)
    qtbot.waitUntil(lambda: sitting.house.shop is not None)


def test_closing_puts_everything_handed_in_on_disk(frame_and_sitting, book_file, qtbot):
    sheet = with_sheet(book_file)
    frame, sitting = frame_and_sitting
    frame.show()
    sitting.begin(book_file)
    qtbot.waitUntil(lambda: sitting.house.shop is not None)
    row = None
    with Book.open(book_file) as book:
        row = book.sheet(sheet).plan.characteristics[0].identity
    for number in range(20):
        sitting.house.do(acts.WriteNote(sheet=sheet, characteristic=row, text=f"note {number}"))
    frame.close()
    qtbot.waitUntil(lambda: not frame.isVisible())
    assert sitting.house.worker is None
    with Book.open(book_file) as book:
        assert [note.text for note in book.sheet(sheet).notes] == [f"note {number}" for number in range(20)]


def test_changing_to_another_book_closes_the_first(sit, book_file, tmp_path, answers, qtbot):
    other = tmp_path / "other.tenthwright"
    with Book.new(other) as book:
        book.do(acts.OpenShop(name="Other", first_person=Person("", "Ben")), person="")
    frame, sitting = sit(book_file)
    answers[0].append({"path": str(other)})
    press(frame, Qt.Key.Key_O, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: sitting.house.shop is not None and sitting.house.shop.name == "Other")
    assert frame.windowTitle().startswith("other.tenthwright")
