"""Slip questions, corrections, taking back and putting back, notes, other instruments: everything stays legible."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from app.parts.marks import Mark
from inspection.sheet import acts

CONTROL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier


def withdrawn(bench, number: str) -> list[str]:
    return [each.text for each in bench.line(number).readings if each.withdrawn]


@pytest.fixture
def asked(bench):
    """A question stands at row 2: a tenth of an inch misread."""
    bench.go("2")
    bench.types("1.350\n")
    bench.settle()
    assert bench.number() == "2"
    assert "tenth of an inch" in bench.room.card.said.text()
    return bench


def test_a_question_keeps_the_row_and_never_tells_what_would_pass(asked):
    assert asked.line("2").mark is Mark.QUESTION
    assert "1.25" not in asked.room.card.said.text()
    assert "read again" in asked.room.card.hints.text()


def test_a_new_number_is_a_new_reading_and_the_first_stays(asked):
    asked.says("1.2505\n")
    asked.settle()
    assert asked.readings("2") == ["1.2505"]
    assert withdrawn(asked, "2") == ["1.350"]
    assert asked.sheet.open_questions() == ()
    assert asked.number() != "2"


def test_enter_on_the_empty_field_keeps_what_was_written(asked):
    asked.says("\n")
    asked.settle()
    assert asked.readings("2") == ["1.350"]
    assert asked.line("2").mark is Mark.OUT
    assert asked.line("2").verdict == ".095 over"
    assert asked.sheet.open_questions() == ()


def test_esc_leaves_it_open_and_its_row_asks_again(asked):
    asked.press(Qt.Key.Key_Escape)
    asked.settle()
    assert asked.number() != "2"
    assert len(asked.sheet.open_questions()) == 1
    assert asked.line("2").mark is Mark.QUESTION
    asked.go("2")
    assert "tenth of an inch" in asked.room.card.said.text()
    asked.says("\n")
    asked.settle()
    assert asked.sheet.open_questions() == ()


def test_an_answer_that_cannot_be_read_keeps_the_question(asked):
    asked.says("1.2x\n")
    assert asked.number() == "2"
    assert asked.room.entry.text() == "1.2x"
    asked.press(Qt.Key.Key_Backspace)
    asked.says("5\n")
    asked.settle()
    assert asked.readings("2") == ["1.25"]


def test_a_question_is_answered_by_taking_the_reading_back(asked):
    asked.press(Qt.Key.Key_Z, CONTROL)
    asked.settle()
    assert asked.readings("2") == []
    assert asked.sheet.open_questions() == ()
    assert asked.number() == "2"
    asked.says("1.25\n")
    asked.settle()
    assert asked.readings("2") == ["1.25"]


def test_a_correction_asks_why_and_keeps_both(bench, answers):
    answers[0].append({"reason": "read from the wrong line"})
    bench.go("2")
    bench.types("1.2525\n")
    at = bench.number()
    bench.settle()
    bench.go("2")
    bench.press(Qt.Key.Key_F2)
    assert "Correcting 1.2525" in bench.room.card.said.text()
    bench.types("1.2505\n")
    bench.settle()
    assert bench.readings("2") == ["1.2505"]
    assert withdrawn(bench, "2") == ["1.2525"]
    (why,) = bench.sheet.withdrawn.values()
    assert why.reason == "read from the wrong line"
    assert "1.2525" in answers[1][0].title
    assert bench.number() == at


def test_a_correction_without_a_reason_keeps_the_first(bench, answers):
    answers[0].append(None)
    bench.go("2")
    bench.types("1.2525\n")
    bench.settle()
    bench.go("2")
    bench.press(Qt.Key.Key_F2)
    bench.types("1.2505\n")
    bench.settle()
    assert bench.readings("2") == ["1.2525"]
    assert bench.room.entry.text() == "1.2505"
    bench.press(Qt.Key.Key_Escape)
    bench.settle()
    assert bench.flow.at.corrects == ""


def test_f2_on_a_row_without_readings_means_the_last_one(bench, answers):
    answers[0].append({"reason": "held askew"})
    bench.go("2")
    bench.types("1.2525\n")
    bench.press(Qt.Key.Key_F2)
    bench.qtbot.waitUntil(lambda: bool(bench.flow.at.corrects))
    assert bench.number() == "2"
    bench.types("1.2505\n")
    bench.settle()
    assert bench.readings("2") == ["1.2505"]


def test_the_own_last_entry_is_taken_back_without_a_question(bench, answers):
    bench.go("2")
    bench.types("1.2505\n")
    bench.press(Qt.Key.Key_Z, CONTROL)
    bench.settle()
    assert bench.readings("2") == []
    assert withdrawn(bench, "2") == ["1.2505"]
    assert bench.number() == "2"
    assert len(bench.sheet.readings) == 1
    bench.press(Qt.Key.Key_Y, CONTROL)
    bench.settle()
    assert bench.readings("2") == ["1.2505"]


def test_what_is_typed_before_an_entry_is_taken_back_belongs_to_its_row(bench, answers, door):
    door.set()
    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    door.clear()
    bench.press(Qt.Key.Key_Z, CONTROL)
    bench.says("1.2502\n")
    assert bench.room.entry.text() == ""
    assert "1.2502" in bench.room.card.held.text()
    door.set()
    bench.settle()
    bench.qtbot.waitUntil(lambda: bench.readings("2") == ["1.2502"])
    assert withdrawn(bench, "2") == ["1.2505"]
    assert bench.room.card.held.text() == ""


def test_what_was_typed_for_an_entry_that_is_not_taken_back_stays_held(bench, answers, door, monkeypatch):
    from inspection.reasons import Reason, Refused
    from storage.book.door import Book

    door.set()
    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    door.clear()
    plain = Book.do

    def do(self, act, **named):
        if isinstance(act, acts.TakeBack):
            door.wait(5)
            raise Refused(Reason("sheet.unknown"))
        return plain(self, act, **named)

    monkeypatch.setattr(Book, "do", do)
    here = bench.number()
    bench.press(Qt.Key.Key_Z, CONTROL)
    bench.says("1.2502\n")
    door.set()
    bench.qtbot.waitUntil(lambda: bench.flow.stands)
    bench.settle()
    assert (bench.number(), bench.room.entry.text()) == (here, "")
    assert "1.2502" in bench.room.card.held.text()
    assert bench.readings("2") == ["1.2505"]


def test_an_older_entry_asks_why(bench, answers):
    answers[0].append({"reason": "wrong piece"})
    bench.go("2")
    bench.types("1.2505\n2.0005\n")
    bench.settle()
    bench.press(Qt.Key.Key_Z, CONTROL)
    bench.settle()
    bench.press(Qt.Key.Key_Z, CONTROL)
    bench.settle()
    assert bench.readings("2") == []
    assert [why.reason for why in bench.sheet.withdrawn.values()] == ["", "wrong piece"]


def test_ctrl_z_belongs_to_the_text_while_there_is_one(bench):
    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    bench.types("2.0")
    bench.press(Qt.Key.Key_Z, CONTROL)
    bench.settle()
    assert bench.readings("2") == ["1.2505"]
    assert bench.room.entry.text() != "2.0"


def test_a_letter_that_does_not_answer_the_row_says_so_and_stops_nothing(bench):
    bench.go("2")
    bench.says("e")
    bench.qtbot.waitUntil(lambda: "asks for a number" in bench.room.card.said.text())
    bench.types("1.2505\n")
    bench.settle()
    assert bench.readings("2") == ["1.2505"]


def test_when_everything_is_read_the_way_on_is_told(open_bench):
    bench = open_bench(({"number": "1", "kind": "length", "requirement": "1.250 ±.005"},))
    bench.types("1.2505\n")
    bench.settle()
    assert "Every row of the route is read" in bench.room.card.said.text()
    assert "F2 corrects" in bench.room.card.prompt.text()
    assert "Ctrl+G signs the sheet" in bench.room.ahead.text()


def test_a_sealed_sheet_takes_no_keys_and_says_why(bench):
    from msgspec.structs import replace

    from storage.seals.keys import make_key, unlock

    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    person = bench.house.shop.people[bench.house.person]
    key = make_key(person.name, "four grey geese", 1_700_000_000_000_000)
    signer = replace(person, certificate=key.certificate, locked_key=key.locked_key)
    bench.house.do(acts.EnterPerson(person=signer))
    bench.house.do(acts.SignSheet(sheet=bench.sheet_id, incomplete="trial"), sign=unlock(signer, "four grey geese"))
    bench.qtbot.waitUntil(lambda: bench.sheet.sealed)
    assert "signed" in bench.room.head.state.text()
    bench.go("3")
    bench.types("2.0005\n")
    bench.settle()
    assert (bench.number(), bench.room.entry.text()) == ("3", "")
    assert "signed and sealed" in bench.room.card.hints.text()
    assert bench.readings("3") == []
    bench.house.do(acts.Reopen(sheet=bench.sheet_id, reason="another look"))
    bench.qtbot.waitUntil(lambda: not bench.sheet.sealed)
    bench.qtbot.wait(20)
    bench.types("2.0005\n")
    bench.settle()
    assert bench.readings("3") == ["2.0005"]


def test_a_note_stands_in_its_row(bench, answers):
    answers[0].append({"note": "burr on the edge"})
    bench.go("2")
    bench.says("d")
    bench.qtbot.waitUntil(lambda: bool(answers[1]))
    bench.settle()
    assert bench.line("2").note == "burr on the edge"
    assert bench.number() == "2"


def test_skip_goes_to_the_next_row_and_comes_back_at_the_end(bench):
    first = bench.number()
    bench.says("s")
    bench.qtbot.waitUntil(lambda: bench.number() != first)
    assert bench.sheet.readings == {}
    assert bench.room.seen.waiting((bench.sheet.plan.characteristics[0].identity, bench.flow.at.piece))


def test_another_instrument_is_offered_with_ratios_and_taken_with_a_reason(bench, answers):
    bench.go("2")
    before = bench.room.seen.instrument(bench.flow.at.row)

    def choose(question):
        method, _reason = question.fields
        assert all("unsuitable" not in label for _key, label in method.choices)
        assert question.check({"method": "x", "reason": " "})
        return {"method": next(key for key, label in method.choices if before.tag not in label), "reason": "at hand"}

    answers[0].append(None)
    bench.press(Qt.Key.Key_I, ALT)
    answers[0].append(choose(answers[1][0]))
    bench.press(Qt.Key.Key_I, ALT)
    bench.settle()
    after = bench.room.seen.instrument(bench.flow.at.row)
    assert after.tag != before.tag
    assert bench.line("2").instrument == after.name
    assert " : 1" in answers[1][0].fields[0].choices[0][1]
    assert bench.sheet.assignments[bench.flow.at.row].chosen_by_hand == "at hand"
    assert "at hand" in bench.room.card.why.more.text()


def test_what_is_typed_before_another_instrument_is_taken_waits_for_it(bench, answers, door):
    door.set()
    bench.go("2")
    before = bench.room.seen.instrument(bench.flow.at.row)

    answers[0].append(None)
    bench.press(Qt.Key.Key_I, ALT)
    other = next(key for key, label in answers[1][0].fields[0].choices if before.tag not in label)
    answers[0].append({"method": other, "reason": "at hand"})
    door.clear()
    bench.press(Qt.Key.Key_I, ALT)
    bench.types("1.2502\n")
    assert "1.2502" in bench.room.card.held.text()
    door.set()
    bench.settle()
    bench.qtbot.waitUntil(lambda: bench.readings("2") == ["1.2502"])
    (kept,) = bench.sheet.readings.values()
    assert kept.method.key == other


def test_the_mark_of_an_instrument_offers_it(bench, answers):
    bench.go("2")
    here = bench.room.seen.instrument(bench.flow.at.row)
    other = next(
        one for one in bench.house.shop.crib.values()
        if one.kind == here.kind and one.tag != here.tag and one.high > here.low
    )  # fmt: skip
    answers[0].append(None)
    bench.types(f"{other.tag}\n")
    assert answers[1][0].fields[0].value.endswith(other.identity)
    assert bench.room.entry.text() == ""
    bench.types(f"{here.tag}\n")
    assert here.name in bench.room.card.said.text()


def test_pages_turn_the_piece_and_the_serial_is_told(open_bench):
    bench = open_bench(serials=("001", "002", "003"))
    bench.press(Qt.Key.Key_PageDown)
    assert "Piece 002" in bench.room.card.said.text()
    bench.go("2")
    bench.types("1.2505\n")
    bench.settle()
    assert bench.readings("2", piece=1) == ["1.2505"]
    assert bench.readings("2", piece=0) == []
    bench.press(Qt.Key.Key_PageUp)
    assert bench.flow.at.piece == bench.sheet.pieces[0].identity


def test_the_run_takes_each_feature_on_every_piece(open_bench):
    bench = open_bench(serials=("001", "002"))
    bench.press(Qt.Key.Key_R, CONTROL)
    bench.settle()
    assert bench.sheet.order == "feature"
    bench.go("2")
    bench.types("1.2505\n")
    assert (bench.number(), bench.flow.at.piece) == ("2", bench.sheet.pieces[1].identity)
    bench.types("1.2510\n")
    bench.settle()
    assert bench.readings("2", piece=1) == ["1.2510"]


def test_a_reopened_window_returns_to_the_open_row(open_bench):
    bench = open_bench()
    bench.go("2")
    bench.types("1.2505\n")
    at = bench.number()
    bench.settle()
    open_bench.close()
    again = open_bench.window(bench.path, bench.sheet_id)
    assert again.number() == at
    assert again.readings("2") == ["1.2505"]
