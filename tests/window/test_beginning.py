"""A new book leads to its first sheet by key: shop, people, crib, part."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.window import asking
from storage.book.door import Book
from storage.seals.keys import unlock


@pytest.fixture
def answers(frame_and_sitting):
    """What is answered to coming questions, in order; what was asked."""
    given: list[dict[str, str] | None] = []
    asked: list[asking.Question] = []

    def answer(_parent, question):
        asked.append(question)
        return given.pop(0) if given else None

    asking.replace_asker(answer)
    yield given, asked
    asking.replace_asker(None)


def press(frame, key, modifier=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(frame.windowHandle(), key, modifier)


def begun(frame, sitting, qtbot, given, path: Path) -> None:
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    sitting.begin(path)
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    given.append(
        {
            "path": str(path),
            "shop": "Little Shop",
            "person": "Ann Ames",
            "passphrase": "eight or more",
            "again": "eight or more",
        }
    )
    press(frame, Qt.Key.Key_Return)
    qtbot.waitUntil(frame.beginning)


def test_a_new_book_leads_step_by_step(frame_and_sitting, answers, qtbot, tmp_path):
    frame, sitting = frame_and_sitting
    given, asked = answers
    begun(frame, sitting, qtbot, given, tmp_path / "shop.tenthwright")
    page = frame._beginning
    assert page._rows["shop"].said.text() == "Little Shop"
    assert page._rows["people"].said.text() == "Ann Ames"
    assert [page._rows[code].mark.text() for code in page._rows] == ["✓", "✓", "→", "–", "–"]
    assert "Fill the crib" in QApplication.focusWidget().text()
    press(frame, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: page._rows["crib"].mark.text() == "✓")
    assert len(sitting.house.shop.crib) > 100
    assert page._rows["part"].mark.text() == "→"
    assert [question.title for question in asked] == ["Make a new book"]


def test_a_new_book_is_offered_the_shops_own_place(frame_and_sitting, answers, qtbot, monkeypatch, tmp_path):
    """The place where the program, and the command line, look for a book when none is named."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    frame, sitting = frame_and_sitting
    _, asked = answers
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    sitting.begin(None)
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    press(frame, Qt.Key.Key_Return)
    place = tmp_path / "tenthwright" / "shop.tenthwright"
    assert [field.value for field in asked[0].fields if field.name == "path"] == [str(place)]


def test_a_bare_name_is_a_book_in_the_folder_offered(frame_and_sitting, answers, qtbot, tmp_path):
    frame, sitting = frame_and_sitting
    given, asked = answers
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    sitting.begin(tmp_path / "offered.tenthwright")
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    said = {"shop": "Little Shop", "person": "Ann Ames", "passphrase": "eight or more", "again": "eight or more"}
    (tmp_path / "taken.tenthwright").touch()
    given.append({"path": "mill", **said})
    press(frame, Qt.Key.Key_Return)
    qtbot.waitUntil(frame.beginning)
    assert (tmp_path / "mill.tenthwright").exists()
    assert asked[0].check({"path": "taken", **said}), "it is there already"
    assert not asked[0].check({"path": str(tmp_path / "taken.book"), **said})


def test_a_further_person_gets_a_key_of_their_own(frame_and_sitting, answers, qtbot, tmp_path):
    frame, sitting = frame_and_sitting
    given, asked = answers
    path = tmp_path / "shop.tenthwright"
    begun(frame, sitting, qtbot, given, path)
    given.append(
        {"name": " Bo Birch ", "duty": "lead", "key": "here", "passphrase": "another one", "again": "another one"}
    )
    press(frame, Qt.Key.Key_F8, Qt.KeyboardModifier.ShiftModifier)
    qtbot.waitUntil(lambda: len(sitting.house.shop.people) == 2)
    frame.close()
    qtbot.waitUntil(lambda: sitting.house.worker is None)
    with Book.open(path) as book:
        person = next(one for one in book.shop().people.values() if one.name == "Bo Birch")
    assert [duty.value for duty in person.duties] == ["lead"]
    assert unlock(person, "another one")(b"bytes").value
    check = asked[-1].check
    assert check is not None
    assert "differ" in check({"name": "Cy", "passphrase": "one of them", "again": "another"})
    assert "at least 8" in check({"name": "Cy", "passphrase": "short", "again": "short"})


def test_filling_the_crib_twice_enters_nothing_twice(frame_and_sitting, answers, qtbot, tmp_path):
    frame, sitting = frame_and_sitting
    given, _ = answers
    begun(frame, sitting, qtbot, given, tmp_path / "shop.tenthwright")
    frame.actions_by_name["starter_crib"].trigger()
    qtbot.waitUntil(lambda: len(sitting.house.shop.crib) > 100)
    before = dict(sitting.house.shop.crib)
    frame.actions_by_name["starter_crib"].trigger()
    qtbot.waitUntil(lambda: "already" in frame.notice())
    assert sitting.house.shop.crib == before
