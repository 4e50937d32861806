"""A sheet is signed where it was measured, by key, once everything typed is on disk."""

from __future__ import annotations

import msgspec
import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt

from app.parts.signing import MOST_NAMED
from app.window import asking
from inspection.sheet import acts
from inspection.sheet.head import Head
from storage.seals.keys import make_key
from storage.seals.tries import Tries, tries_place

PASSPHRASE = "four grey geese"


@pytest.fixture
def answers():
    given: list[dict[str, str] | None] = []
    asked: list[asking.Question] = []

    def answer(_parent, question):
        asked.append(question)
        return given.pop(0) if given else None

    asking.replace_asker(answer)
    yield given, asked
    asking.replace_asker(None)


@pytest.fixture
def with_key(bench):
    """The person at the bench has a key."""
    person = bench.house.shop.people[bench.house.person]
    key = make_key(person.name, PASSPHRASE, 1_700_000_000_000_000)
    bench.house.do(acts.EnterPerson(person=replace(person, certificate=key.certificate, locked_key=key.locked_key)))
    bench.settle()
    return bench


def sign(bench) -> None:
    bench.press(Qt.Key.Key_G, Qt.KeyboardModifier.ControlModifier)


def test_the_reading_typed_last_is_under_the_seal(with_key, answers):
    given, asked = answers
    given.append({"incomplete": "trial", "passphrase": PASSPHRASE})
    with_key.go("2")
    with_key.types("1.2505\n")
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: with_key.sheet.sealed)
    assert "still open" in asked[0].text
    kept = with_key.kept()
    assert kept.seals[0].incomplete == "trial"
    assert [each.written for each in kept.readings.values()] == ["1.2505"]
    assert "signed and sealed" in with_key.frame.notice()
    assert with_key.room.entry.isReadOnly()


def test_a_wrong_passphrase_leaves_the_sheet_open_and_the_keys_with_the_entry(with_key, answers):
    given, asked = answers
    given.append({"incomplete": "trial", "passphrase": "three grey geese"})
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: bool(with_key.frame.notice()))
    assert not with_key.sheet.sealed
    with_key.go("2")
    with_key.types("1.2505\n")
    with_key.settle()
    assert with_key.readings("2") == ["1.2505"]
    given.append(None)
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: len(asked) == 2)
    assert asked[1].fields[0].value == "trial", "why rows are open need not be typed again"


def test_a_sealed_sheet_is_not_asked_to_be_signed(with_key, answers):
    given, asked = answers
    given.append({"incomplete": "trial", "passphrase": PASSPHRASE})
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: with_key.sheet.sealed)
    sign(with_key)
    with_key.qtbot.wait(50)
    assert len(asked) == 1


def test_what_stops_the_sheet_is_named_before_it_is_sealed(with_key, answers):
    """Under the seal nothing of it can be put right without a new round (what customers send back: common practice)."""
    _, asked = answers
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: bool(asked))
    told = [text for _, text in asked[0].rows]
    assert told[0] == "The purchase order is missing."
    assert not any("not signed" in text or "open:" in text for text in told)
    assert "4 things" in asked[0].text and "Ctrl+5" in asked[0].text


def test_of_much_that_stops_it_the_first_are_named_and_the_others_counted(with_key, answers):
    _, asked = answers
    seen = with_key.room.seen
    part = replace(seen.sheet.plan.part, customer="", revision="")
    seen.sheet = replace(seen.sheet, plan=replace(seen.sheet.plan, part=part))
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: bool(asked))
    assert len(asked[0].rows) == MOST_NAMED + 1 and asked[0].rows[-1] == ("", "and 2 more")
    assert "6 things" in asked[0].text


def test_a_record_that_is_whole_is_signed_without_further_words(with_key, answers):
    _, asked = answers
    seen = with_key.room.seen
    head = Head(order="P-1", customer="Nobody & Sons", detail="detail", cause="new_part")
    part = replace(seen.sheet.plan.part, material="", drawing_revision="A")
    seen.sheet = replace(seen.sheet, head=head, plan=replace(seen.sheet.plan, part=part))
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: bool(asked))
    assert asked[0].rows == () and "Ctrl+5" not in asked[0].text


def test_a_certificate_that_is_over_is_told_before_anything_is_asked(with_key, answers):
    _, asked = answers
    person = with_key.house.shop.people[with_key.house.person]
    key = make_key(person.name, PASSPHRASE, 1_000_000_000_000_000)  # good from 2001 to 2011
    over = replace(person, certificate=key.certificate, locked_key=key.locked_key)
    with_key.house.do(acts.EnterPerson(person=over))
    with_key.settle()
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: bool(with_key.frame.notice()))
    assert "good until 2011-09-17" in with_key.frame.notice() and "Ctrl+Shift+F8" in with_key.frame.notice()
    assert asked == []


def test_the_wait_after_wrong_passphrases_is_told_at_the_question(with_key, answers, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with_key.house.book = tmp_path / "shop.tenthwright"
    _, asked = answers
    place = tries_place(with_key.house.book, with_key.house.person)
    place.parent.mkdir(parents=True)
    place.write_bytes(msgspec.json.encode(Tries(5, with_key.house.foreseen.now().at)))
    sign(with_key)
    with_key.qtbot.waitUntil(lambda: bool(asked))
    assert "next try is in 8 seconds" in asked[0].waits() or "next try is in 7 seconds" in asked[0].waits()
    fault = asked[0].check({"incomplete": "trial", "passphrase": PASSPHRASE})
    assert (fault.field, "Nothing was tried" in fault.text) == ("passphrase", True)
    place.unlink()
    assert asked[0].check({"incomplete": "trial", "passphrase": PASSPHRASE}) == ""
