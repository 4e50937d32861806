"""Keys of people by the window: another passphrase, a lost key, and the wait after wrong passphrases."""

from __future__ import annotations

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.window.asking import Fault, replace_asker
from app.window.dialog import QuestionDialog
from inspection.sheet import acts
from inspection.sheet.people import Duty, Person
from storage.book.clock import Moment
from storage.book.door import Book
from storage.seals.certificate_told import told_of
from storage.seals.keys import make_key, unlock, unlocked
from storage.seals.tries import WAITS
from tests.seals.pdf_bench import NOON, certificate, chain_of_three, container

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
    sitting._house.set_person(sitting.keeper)
    given.append({"person": sitting.bo, "key": "here", "passphrase": NEW, "again": NEW})
    press(frame, Qt.Key.Key_F8, CTRL | SHIFT)
    qtbot.waitUntil(lambda: "Bo Birch signs with a new key" in frame.notice())
    after = person(sitting, "Bo Birch")
    assert after.certificate != before.certificate and after.duties == before.duties
    assert unlock(after, NEW)(b"x").certificate == after.certificate
    assert dict(asked[-1].fields[0].choices) == {sitting.keeper: "Ann Ames", sitting.bo: "Bo Birch"}


def test_who_has_no_key_is_told_where_to_get_one(sitting, frame_and_sitting, answers, qtbot):
    frame, _ = frame_and_sitting
    cy = sitting.house
    sitting._house.set_person(sitting.keeper)
    cy.do(acts.EnterPerson(person=Person("", "Cy")))
    qtbot.waitUntil(lambda: len(sitting.house.shop.people) == 3)
    sitting._house.set_person(person(sitting, "Cy").identity)
    press(frame, Qt.Key.Key_F8, CTRL)
    assert "Cy has no signing key" in frame.notice() and answers[1] == []


# --- keys brought along -----------------------------------------------------------------------------------------------


def own(name: str = "Bo Birch", **named):
    key = ec.generate_private_key(ec.SECP256R1())
    return key, certificate(name, key, **named)


def of_384():
    key = ec.generate_private_key(ec.SECP384R1())
    return key, certificate("Bo Birch", key)


REFUSED = {
    "wrong password": (lambda: container(*own(), passphrase=b"another"), "opens", "not the passphrase of the file"),
    "expired": (lambda: container(*own(days=(-20, -10))), "file", "holds from 2026-02-10 to 2026-02-20, and today"),
    "no private key": (lambda: container(None, None, [own()[1]]), "file", "holds certificates but no key"),
    "not P-256": (lambda: container(*of_384()), "file", "The key in the file is secp384r1."),
    "chain incomplete": (
        lambda: container(*chain_of_three("Bo Birch")[:2]),
        "file",
        "lacks a certificate above that of Bo Birch",
    ),
    "of somebody else": (lambda: container(*own("Cy Cole")), "file", "in the name of Cy Cole, not of Bo Birch"),
    "another file": (lambda: b"a photograph", "file", "This is no file with a key"),
    "too large": (lambda: bytes(1_000_001), "file", "This is no file with a key"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_key_that_cannot_be_brought_is_told_at_its_field(sitting, frame_and_sitting, answers, qtbot, tmp_path, case):
    make, field, told = REFUSED[case]
    given, asked = answers
    before = person(sitting, "Bo Birch")
    sitting.at = NOON
    sitting._house.set_person(sitting.keeper)
    (tmp_path / "bo.p12").write_bytes(make())
    given += [
        {"person": sitting.bo, "key": "brought", "passphrase": NEW, "again": NEW},
        {"file": str(tmp_path / "bo.p12"), "opens": "file"},
        None,
    ]
    press(frame_and_sitting[0], Qt.Key.Key_F8, CTRL | SHIFT)
    qtbot.waitUntil(lambda: len(asked) == 3)
    fault = asked[-1].fault
    assert isinstance(fault, Fault) and fault.field == field and told in fault.text
    assert asked[-1].fields[0].value == str(tmp_path / "bo.p12"), "it is not chosen anew"
    assert person(sitting, "Bo Birch") == before and not given


def types(*strokes) -> None:
    """Keys and texts to the window that is active."""
    window = QApplication.activeWindow().windowHandle()
    for stroke in strokes:
        for key in stroke if isinstance(stroke, str) else (stroke,):
            QTest.keyClick(window, key)


def test_a_key_is_brought_along_by_keys_once_its_certificate_was_seen(sitting, frame_and_sitting, qtbot, tmp_path):
    frame, _ = frame_and_sitting
    replace_asker(None)
    key, made, above = chain_of_three("Bo Birch")
    (tmp_path / "bo.p12").write_bytes(container(key, made, above))
    sitting.at = NOON
    sitting._house.set_person(sitting.keeper)
    tab, enter, down = Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Down
    shown = []

    def walk() -> None:
        """Each question is answered while it stands, and the next one waited for."""
        window = QApplication.activeWindow()
        if len(shown) < 4:
            QTimer.singleShot(20, walk)
        if not isinstance(window, QuestionDialog) or window in shown:
            return
        shown.append(window)
        if len(shown) == 1:
            types(down, tab, down, tab, NEW, tab, NEW, enter)
        elif len(shown) == 2:
            types(str(tmp_path / "bo.p12"), tab, "wrong", enter)
        elif len(shown) == 3:
            assert "not the passphrase of the file" in window._at_field.text() and window._at_field.isVisible()
            types("file", enter)
        else:
            rows = dict(window._question.rows)
            assert rows["In the name of"] == "Bo Birch" and rows["Issued by"] == "Lantern Hill people"
            assert rows["Good"] == "from 2026-02-20 to 2028-11-26"
            above_it = [text for name, text in window._question.rows if name == "Above it"]
            assert [text.split(",")[0] for text in above_it] == ["Lantern Hill people", "Lantern Hill root"]
            types(enter)

    QTimer.singleShot(20, walk)
    press(frame, Qt.Key.Key_F8, CTRL | SHIFT)
    qtbot.waitUntil(lambda: "Bo Birch signs with a new key" in frame.notice())
    after = person(sitting, "Bo Birch")
    assert len(shown) == 4
    assert told_of(after.certificate).issuer == "Lantern Hill people"
    assert len(unlocked(after, NEW).chain) == 2


def test_a_person_is_entered_with_a_key_brought_along(sitting, frame_and_sitting, answers, qtbot, tmp_path):
    frame, _ = frame_and_sitting
    given, asked = answers
    sitting.at = NOON
    sitting._house.set_person(sitting.keeper)
    (tmp_path / "cy.p12").write_bytes(container(*own("Cy Cole")))
    given += [
        {"name": " Cy Cole ", "duty": "lead", "key": "brought", "passphrase": NEW, "again": NEW},
        {"file": str(tmp_path / "cy.p12"), "opens": "file"},
        {},
    ]
    press(frame, Qt.Key.Key_F8, SHIFT)
    qtbot.waitUntil(lambda: "Cy Cole is entered" in frame.notice())
    entered = person(sitting, "Cy Cole")
    assert unlock(entered, NEW)(b"x").certificate == entered.certificate
    assert dict(asked[-1].rows)["Issued by"] == "itself"
    fault = asked[0].check({"name": "cy cole", "passphrase": NEW, "again": NEW})
    assert fault.field == "name" and "Cy Cole" in fault.text, "before a file is asked for in vain"
