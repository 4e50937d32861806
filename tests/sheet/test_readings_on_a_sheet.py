"""Readings kept as typed, judged, questioned, corrected, taken back and put back."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.instruments.record import Use
from inspection.measuring.reading import Role, Slot
from inspection.quantity.reader import read
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.reading_life import day_of
from inspection.sheet.why import ANSWERED, CORRECTION_TAKEN_BACK, why_event, why_withdrawn
from inspection.sheet.withdrawals import own_last

GO, NOT_GO = Slot(role=Role.GO), Slot(role=Role.NOT_GO)


def kinds(events: tuple[Any, ...]) -> list[str]:
    return [type(event).__name__ for event in events]


# --- taking ---------------------------------------------------------------------------------------------------------


def test_a_reading_is_kept_as_typed_with_who_when_and_by_what(life: Any) -> None:
    entry = life.entry()
    reading = life.take("1", "12.7mm")
    assert (reading.written, reading.unit, reading.count, reading.decimals) == ("12.7mm", "mm", 12_700_000_000, 1)
    assert (reading.by, reading.taken, reading.day) == (life.person, entry.at, entry.day)
    assert (reading.plan, reading.method) == (life.sheet.plan.identity, life.method("C-05"))
    assert (reading.reason, reading.replaces, reading.indication) == ("", "", False)


def test_a_reading_is_judged_after_it_is_kept(life: Any) -> None:
    events = life.do(life.reading("1", ".5051"))
    assert kinds(events) == ["ReadingTaken", "CellJudged", "QuestionAsked"]
    assert life.verdict("1") == "not conforming"
    assert events[2].question.reason.code == "slip.graduation"
    assert events[2].question.reading == events[0].reading.identity


def test_a_file_may_tell_time_and_day(life: Any) -> None:
    at = life.entry().at
    told = life.take("1", ".5", taken=at - 10, day="2026-03-01")
    assert (told.taken, told.day) == (at - 10, "2026-03-01")
    assert life.take("9", ".3", taken=0).day == "1970-01-01"
    assert day_of(at) == "2026-03-02"


def test_places_and_repeats_fill_slot_by_slot(life: Any) -> None:
    life.take("2", ".75")
    assert life.verdict("2") == "open"
    life.take("2", ".7502", slot=Slot("foot"))
    assert life.verdict("2") == "conforming"
    for repeat in (1, 2, 3):
        assert life.verdict("3") == "open"
        life.take("3", f"1.250{repeat * 5 % 10}", slot=Slot(repeat=repeat))
    assert life.verdict("3") == "conforming"


def test_gauges_and_findings_answer_with_what_was_seen(life: Any) -> None:
    life.take("5", "enters", slot=GO)
    assert life.verdict("5") == "open"
    life.take("5", "does not enter", slot=NOT_GO)
    life.take("4", "not as required")
    life.take("6", ".5000", slot=Slot(role=Role.ENTERS))
    life.take("6", ".5005", slot=Slot(role=Role.STOPS))
    assert [life.verdict(number) for number in "456"] == ["not conforming", "conforming", "conforming"]


def test_a_reference_is_measured_and_never_judged(life: Any) -> None:
    life.take("8", "2.05")
    assert life.verdict("8") == "not judged"
    assert life.counting("8") == ["2.05"]


def test_another_instrument_is_taken_with_a_reason(life: Any) -> None:
    reading = life.take("1", ".5", method=life.method("M-01"), reason="caliper is at the other bench")
    assert reading.method == life.method("M-01")
    assert life.verdict("1") == "conforming"


def test_a_reading_names_the_issue_of_its_instrument(life: Any) -> None:
    """The record issued since the route was chosen is the one that a reading rests on."""
    life.change_instrument("C-05", place="drawer 3")
    assert [part.issue for part in life.take("1", ".5").method.parts] == [2]


# --- indications ----------------------------------------------------------------------------------------------------


def test_a_reading_with_an_overdue_instrument_is_an_indication_and_leaves_the_row_open(life: Any) -> None:
    life.change_instrument("C-05", due="2026-03-01")
    assert life.take("1", ".5").indication
    assert life.verdict("1") == "open"
    life.change_instrument("C-05", due="2026-03-02")
    assert not life.take("1", ".501").indication, "the due date is the last good day; an indication fills no slot"
    assert life.verdict("1") == "conforming"
    assert life.counting("1") == [".5", ".501"]


def test_due_is_asked_on_the_readings_own_day(life: Any) -> None:
    life.change_instrument("C-05", due="2026-03-01")
    assert not life.take("1", ".5", taken=life.entry().at - 86_400_000_000, day="2026-03-01").indication


def test_falling_due_later_changes_nothing(life: Any) -> None:
    life.take("1", ".5")
    life.change_instrument("C-05", due="2026-03-01")
    first = life.take("9", ".3")
    assert first.indication
    assert (life.verdict("1"), life.verdict("9")) == ("conforming", "open")


def test_an_indication_is_put_back_beside_a_reading(life: Any) -> None:
    life.change_instrument("C-05", due="2026-03-01")
    indication = life.take("1", ".5")
    life.change_instrument("C-05", due="2026-12-01")
    life.take("1", ".501")
    life.take_back(indication, "was no use")
    life.put_back(indication)
    assert life.counting("1") == [".5", ".501"]
    assert life.verdict("1") == "conforming"


# --- correcting -----------------------------------------------------------------------------------------------------


def test_a_correction_keeps_what_was_first_written(life: Any) -> None:
    first = life.take("1", ".51")
    second = life.take("1", ".501", replaces=first.identity, reason=" held askew ")
    assert (life.verdict("1"), life.counting("1")) == ("conforming", [".501"])
    why = life.sheet.withdrawn[first.identity]
    assert (why.by, why.reason, why.replaced_by) == (life.person, "held askew", second.identity)
    assert life.sheet.readings[first.identity] == first


def test_taking_back_a_correction_restores_the_reading_it_replaced(life: Any) -> None:
    first = life.take("1", ".51")
    second = life.take("1", ".501", replaces=first.identity, reason="held askew")
    events = life.take_back(second)
    assert kinds(events) == ["ReadingTakenBack", "ReadingPutBack", "CellJudged"]
    assert (life.verdict("1"), life.counting("1")) == ("not conforming", [".51"])
    assert list(life.sheet.withdrawn) == [second.identity]
    life.put_back(second)
    assert (life.verdict("1"), life.counting("1")) == ("conforming", [".501"])
    assert life.sheet.withdrawn[first.identity].replaced_by == second.identity
    assert life.sheet.withdrawn[first.identity].reason == "held askew"


def test_a_chain_of_corrections_is_undone_link_by_link(life: Any) -> None:
    first = life.take("1", ".501")
    second = life.take("1", ".502", replaces=first.identity, reason="a")
    third = life.take("1", ".503", replaces=second.identity, reason="b")
    life.take_back(third)
    assert life.counting("1") == [".502"]
    life.take_back(second, "not that either")
    assert life.counting("1") == [".501"]
    (reason,) = life.refused(acts.PutBack(sheet=life.sheet_id, reading=third.identity))
    assert (reason.code, reason.parts["written"]) == ("reading.slot_taken", ".501")


def test_what_was_taken_back_by_itself_is_not_restored_by_another(life: Any) -> None:
    first = life.take("1", ".501")
    second = life.take("1", ".502", replaces=first.identity, reason="a")
    life.take_back(second)
    life.take_back(first, "wrong part")
    life.put_back(second)
    life.take_back(second)
    assert life.counting("1") == []
    assert life.sheet.withdrawn[first.identity].reason == "wrong part"
    assert life.verdict("1") == "open"


def test_a_correction_of_an_indication_is_put_back_in_its_stead(life: Any) -> None:
    life.change_instrument("C-05", due="2026-03-01")
    first = life.take("1", ".5")
    life.change_instrument("C-05", due="2026-12-01")
    second = life.take("1", ".501", replaces=first.identity, reason="caliper came back")
    life.take_back(second)
    assert life.counting("1") == [".5"]
    life.put_back(second)
    assert life.counting("1") == [".501"]


def test_own_last_reading_is_taken_back_without_saying_why(life: Any) -> None:
    first = life.take("1", ".5")
    other = life.enter("Bo")
    theirs = life.take("9", ".3", person=other)
    assert own_last(life.sheet, first, life.person), "what somebody else read since does not matter"
    assert not own_last(life.sheet, theirs, life.person)
    life.do(acts.WriteNote(sheet=life.sheet_id, characteristic=first.characteristic, text="burr"))
    life.take_back(first)
    assert life.sheet.withdrawn[first.identity].reason == ""
    life.take_back(theirs, "misread it", person=life.person)
    assert life.sheet.withdrawn[theirs.identity].reason == "misread it"


# --- undo never reaches across a seal -------------------------------------------------------------------------------


def test_a_sealed_reading_is_corrected_and_never_taken_back(life: Any) -> None:
    first = life.take("1", ".51")
    away = life.take("9", ".3")
    life.take_back(away)
    life.sign("more to come")
    life.reopen()
    assert life.codes(acts.TakeBack(sheet=life.sheet_id, reading=first.identity, reason="x")) == ["reading.under_seal"]
    assert life.codes(acts.PutBack(sheet=life.sheet_id, reading=away.identity, reason="x")) == ["reading.under_seal"]
    second = life.take("1", ".501", replaces=first.identity, reason="held askew")
    assert life.counting("1") == [".501"]
    life.take_back(second)
    assert life.counting("1") == [".51"], "within the round it is undone again"
    assert life.take("9", ".301").written == ".301"


# --- slip questions -------------------------------------------------------------------------------------------------


def test_a_slip_is_kept_as_written(life: Any) -> None:
    life.take("1", "12.7")
    life.do(acts.LeaveOpen(sheet=life.sheet_id, question=life.question()))
    question = life.question()
    life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=question))
    assert life.sheet.open_questions() == ()
    assert (life.counting("1"), life.verdict("1")) == (["12.7"], "not conforming")


def test_a_slip_is_answered_by_a_new_reading_and_both_stay(life: Any) -> None:
    first = life.take("1", "12.7")
    question = life.question()
    events = life.do(life.reading("1", ".5", answers=question))
    assert kinds(events) == ["ReadingTaken", "QuestionAnswered", "CellJudged"]
    reading = events[0].reading
    assert (reading.replaces, reading.reason, events[0].answers) == (first.identity, "", question)
    assert life.sheet.answers[question] == ev.QuestionAnswered(
        question=question, answer="new reading", reading=reading.identity
    )
    assert (life.counting("1"), life.verdict("1")) == ([".5"], "conforming")
    assert life.sheet.withdrawn[first.identity].replaced_by == reading.identity
    assert why_event(life.reading("1", ".5"), events[0]) == ANSWERED
    assert why_withdrawn(life.sheet, first.identity) == ANSWERED


def test_a_slip_is_answered_by_a_correction_too(life: Any) -> None:
    first = life.take("1", "12.7")
    life.do(acts.LeaveOpen(sheet=life.sheet_id, question=life.question()))
    events = life.do(life.reading("1", ".5", replaces=first.identity, reason="was millimetres"))
    assert life.sheet.open_questions() == ()
    assert events[0].answers == ""
    assert why_event(life.reading("1", ".5"), events[0]) == why_withdrawn(life.sheet, first.identity) == ""
    assert life.sheet.withdrawn[first.identity].reason == "was millimetres"


def test_a_slip_may_be_read_with_another_instrument(life: Any) -> None:
    first = life.take("1", "12.7")
    life.take("1", ".5002", answers=life.question(), method=life.method("M-01"), reason="micrometer to be sure")
    assert why_withdrawn(life.sheet, first.identity) == ""
    assert life.sheet.withdrawn[first.identity].reason == "micrometer to be sure"


def test_taking_back_the_answer_asks_again(life: Any) -> None:
    """The questioned reading counts once more, and nobody has said that it stands."""
    first = life.take("1", "12.7")
    question = life.question()
    answer = life.take("1", ".5", answers=question)
    events = life.take_back(answer)
    assert [why_event(acts.TakeBack(sheet="", reading=""), event) for event in events] == [
        "",
        CORRECTION_TAKEN_BACK,
        "",
        "",
    ]
    assert life.counting("1") == ["12.7"]
    assert life.question() == question
    life.put_back(answer)
    assert life.sheet.open_questions() == ()
    assert why_withdrawn(life.sheet, first.identity) == ANSWERED


def test_a_question_goes_and_comes_with_its_reading(life: Any) -> None:
    reading = life.take("1", "12.7")
    question = life.question()
    life.take_back(reading)
    assert life.sheet.answers[question].answer == "taken back"
    assert life.sheet.open_questions() == ()
    life.put_back(reading)
    assert life.question() == question


def test_a_reading_kept_as_written_is_not_asked_about_again(life: Any) -> None:
    reading = life.take("1", "12.7")
    life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=life.question()))
    life.take_back(reading)
    life.put_back(reading)
    assert life.sheet.open_questions() == ()


def test_siblings_are_other_pieces_and_other_places_of_a_count(life: Any) -> None:
    """A reading is asked about because of the others of its count and piece, though it is inside its limits."""
    by = {"method": life.method("C-05"), "reason": "as the other lengths"}
    life.make(("1", "2"), {"number": "7", "kind": "length", "requirement": "5X .800 ±.150"})
    for number in ("7.1", "7.2", "7.3"):
        life.take(number, ".8000", **by)
    life.take("7.4", ".9", **by)  # three siblings are too few to tell
    assert life.sheet.open_questions() == ()
    life.make(("1", "2"), {"number": "7", "kind": "length", "requirement": "5X .800 ±.150"})
    for number in ("7.1", "7.2", "7.3", "7.4"):
        life.take(number, ".8000", **by)
    life.take("7.5", ".8005", piece=1, **by)
    events = life.do(life.reading("7.5", ".9", **by))
    assert [e.question.reason.code for e in events if isinstance(e, ev.QuestionAsked)] == ["slip.tenth_inch_beside"]
    assert "conforming" in life.verdict("7.5")


def test_what_may_be_a_slip_itself_makes_no_slip_of_the_next_piece(life: Any) -> None:
    """Millimetres typed into an inch row and left: the next piece is honest, and 25.4 times smaller than the first."""
    life.take("1", "12.7")
    life.do(acts.LeaveOpen(sheet=life.sheet_id, question=life.question()))
    life.take("1", ".5000", piece=1)
    assert len(life.sheet.open_questions()) == 1


@pytest.mark.parametrize("text", ["@slip.answered", "slip.answered", "{who}", "[slip.answered]"])
def test_what_a_person_typed_is_never_taken_for_a_code(life: Any, text: str) -> None:
    first = life.take("1", ".51")
    act = life.reading("1", ".501", replaces=first.identity, reason=text)
    events = life.do(act)
    assert life.sheet.withdrawn[first.identity].reason == text
    assert why_event(act, events[0]) == why_withdrawn(life.sheet, first.identity) == ""


# --- two at once ----------------------------------------------------------------------------------------------------


def test_a_second_station_fills_the_same_slot_and_both_are_kept(life: Any) -> None:
    seen = life.sheet.last_entry
    life.take("1", ".5005")
    other = life.enter("Bo")
    life.take("1", ".51", person=other, based_on=seen)
    assert life.counting("1") == [".5005", ".51"]
    assert life.verdict("1") == "not conforming", "none of the two is dropped"
    assert life.codes(life.reading("1", ".5"), person=other, based_on=life.sheet.last_entry) == ["reading.slot_taken"]


def test_a_correction_that_came_second_is_kept_beside_the_first(life: Any) -> None:
    first = life.take("1", ".51")
    seen = life.sheet.last_entry
    life.take("1", ".501", replaces=first.identity, reason="askew")
    late = life.take("1", ".502", replaces=first.identity, reason="burr", person=life.enter("Bo"), based_on=seen)
    assert (late.replaces, late.reason) == ("", "burr")
    assert life.counting("1") == [".501", ".502"]
    assert life.sheet.withdrawn[first.identity].reason == "askew"


@pytest.mark.parametrize("kept", [True, False])
def test_an_answer_that_came_second_is_kept_beside_the_first(life: Any, kept: bool) -> None:
    life.take("1", "12.7")
    question, seen = life.question(), life.sheet.last_entry
    if kept:
        life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=question))
    else:
        life.take("1", ".501", answers=question)
    events = life.do(life.reading("1", ".5", answers=question), based_on=seen)
    assert events[0].answers == events[0].reading.replaces == ""
    assert life.counting("1") == ["12.7" if kept else ".501", ".5"]


# --- another instrument between -------------------------------------------------------------------------------------


def test_changing_the_instrument_of_an_unread_cell_judges_what_it_still_asks_for(life: Any) -> None:
    reading = life.take("6", ".5000", slot=Slot(role=Role.ENTERS))
    life.take_back(reading)
    assert life.sheet.judgement(*life.cell("6")).reasons[0].parts == {"n": 2, "of": 2}
    events = life.choose("6", "C-05", Use.INSIDE)
    assert kinds(events) == ["InstrumentChosen", "CellJudged"]
    assert life.sheet.judgement(*life.cell("6")).reasons[0].parts == {"n": 1, "of": 1}
    assert kinds(life.choose("1", "M-01")) == ["InstrumentChosen"]


@given(texts=st.lists(st.sampled_from(["as required", "not as required"]), min_size=1, max_size=4))
def test_a_finding_is_corrected_like_a_number(life_kind: Any, texts: list[str]) -> None:
    life = life_kind().open()
    life.make(("1",), {"number": "4", "kind": "note", "requirement": "DEBURR"})
    last = life.take("4", texts[0])
    for text in texts[1:]:
        last = life.take("4", text, replaces=last.identity, reason="looked again")
    assert life.counting("4") == texts[-1:]
    assert len(life.sheet.readings) == len(texts) == len(life.sheet.withdrawn) + 1


def test_the_act_is_not_changed_by_being_decided(life: Any) -> None:
    act = life.reading("1", ".5")
    copy = replace(act)
    life.do(act)
    assert act == copy
    assert act.quantity == read(".5", unit="in")
