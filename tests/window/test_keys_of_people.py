"""Keys of people by the window: another passphrase, a lost key, and the wait after wrong passphrases."""

from __future__ import annotations

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from storage.book.clock import Moment
from storage.book.door import Book
from storage.seals.keys import make_key, unlock
from storage.seals.tries import WAITS

CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
OLD, NEW = "four grey geese", "five blue herons"
MADE_AT = 1_700_000_000_000_000


@pytest.fixture
def sitting(frame_and_sitting, answers, qtbot, tmp_path, monkeypatch):
    """A book with its keeper and an inspector, open, the inspector at the bench; ``at`` is what the clock says."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    path = tmp_path / "shop.tenthwright"
    key = make_key("Ann Ames", OLD, MADE_AT)
    ann = Person("", "Ann Ames", certificate=key.certificate, locked_key=key.locked_key)
    with Book.new(path) as book:
        entered = book.do(acts.OpenShop(name="Shop", first_person=ann), person="").shop.people
        keeper = next(iter(entered))
        bo = replace(ann, name="Bo Birch", duties=(Duty.INSPECTOR,), identity="")
        people = book.do(acts.EnterPerson(person=bo), person=keeper).shop.people
    frame, sitting = frame_and_sitting
    frame.show()
    qtbot.waitUntil(frame.isActiveWindow)
    sitting.remembered["person"] = next(one for one, who in people.items() if who.name == "Bo Birch")
    sitting.begin(path)
    qtbot.waitUntil(lambda: sitting.house.shop is not None and sitting.house.foreseen is not None)
    sitting.path, sitting.bo, sitting.keeper = path, sitting.house.person, keeper
    sitting.at = MADE_AT + 10**9
    sitting.house.foreseen._clock = lambda: Moment(sitting.at, "2023-11-14")
    return sitting


def press(frame, key, modifier) -> None:
    QTest.keyClick(frame.windowHandle(), key, modifier)


def person(sitting, name: str) -> Person:
    return next(one for one in sitting.house.shop.people.values() if one.name == name)


def test_one_s_own_passphrase_is_changed_and_the_key_stays(sitting, frame_and_sitting, answers, qtbot):
    frame, _ = frame_and_sitting
    given, asked = answers
    before = person(sitting, "Bo Birch")
    given.append({"old": OLD, "passphrase": NEW, "again": NEW})
    press(frame, Qt.Key.Key_F8, CTRL)
    qtbot.waitUntil(lambda: "another passphrase" in frame.notice())
    after = person(sitting, "Bo Birch")
    assert after.certificate == before.certificate
    assert unlock(after, NEW)(b"x").certificate == before.certificate
    assert [field.name for field in asked[-1].fields] == ["old", "passphrase", "again"]
    check = asked[-1].check
    assert "differ" in check({"old": OLD, "passphrase": NEW, "again": OLD})
    assert "at least 8" in check({"old": OLD, "passphrase": "short", "again": "short"})
    assert check({"old": OLD, "passphrase": NEW, "again": NEW}) == ""


def test_wrong_passphrases_are_waited_for_at_the_question(sitting, frame_and_sitting, answers, qtbot):
    frame, _ = frame_and_sitting
    given, asked = answers
    for _ in range(3):
        given.append({"old": "not this one", "passphrase": NEW, "again": NEW})
        press(frame, Qt.Key.Key_F8, CTRL)
        qtbot.waitUntil(lambda: "not the passphrase" in frame.notice())
        frame.put_notice_away()
    given.append(None)
    press(frame, Qt.Key.Key_F8, CTRL)
    assert f"Bo Birch's next try is in {WAITS[3]} seconds." in asked[-1].waits()
    fault = asked[-1].check({"old": OLD, "passphrase": NEW, "again": NEW})
    assert (fault.field, "Nothing was tried" in fault.text) == ("old", True)
    sitting.at += WAITS[3] * 1_000_000
    assert asked[-1].check({"old": OLD, "passphrase": NEW, "again": NEW}) == "", "it need not be asked anew"
    assert person(sitting, "Bo Birch").locked_key == person(sitting, "Ann Ames").locked_key, "nothing was changed"


def test_a_lost_key_is_made_anew_by_who_may(sitting, frame_and_sitting, answers, qtbot):
    frame, _ = frame_and_sitting
    given, asked = answers
    before = person(sitting, "Bo Birch")
    press(frame, Qt.Key.Key_F8, CTRL | SHIFT)
    assert "may not enter a person" in frame.notice() and asked == []
    sitting._take_person(sitting.keeper)
    given.append({"person": sitting.bo, "passphrase": NEW, "again": NEW})
    press(frame, Qt.Key.Key_F8, CTRL | SHIFT)
    qtbot.waitUntil(lambda: "Bo Birch signs with a new key" in frame.notice())
    after = person(sitting, "Bo Birch")
    assert after.certificate != before.certificate and after.duties == before.duties
    assert unlock(after, NEW)(b"x").certificate == after.certificate
    assert dict(asked[-1].fields[0].choices) == {sitting.keeper: "Ann Ames", sitting.bo: "Bo Birch"}


def test_who_has_no_key_is_told_where_to_get_one(sitting, frame_and_sitting, answers, qtbot):
    frame, _ = frame_and_sitting
    cy = sitting.house
    sitting._take_person(sitting.keeper)
    cy.do(acts.EnterPerson(person=Person("", "Cy")))
    qtbot.waitUntil(lambda: len(sitting.house.shop.people) == 3)
    sitting._take_person(person(sitting, "Cy").identity)
    press(frame, Qt.Key.Key_F8, CTRL)
    assert "Cy has no signing key" in frame.notice() and answers[1] == []
