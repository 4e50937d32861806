"""A sheet as a whole: made, routed, moved to another plan issue, signed, reopened, sent; and who may do what."""

from __future__ import annotations

from typing import Any, get_args

import msgspec
import pytest
from msgspec.structs import replace

from inspection.instruments.method import Fitness
from inspection.instruments.record import Use
from inspection.instruments.rules import Rules
from inspection.measuring.reading import Role, Slot
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.cells import cells_by_route, open_cells, required, rows_by_route, waiting, waiting_slots
from inspection.sheet.edition import PROGRAM
from inspection.sheet.identities import derived
from inspection.sheet.people import Duty, Person
from inspection.sheet.state import Stage
from inspection.sheet.steps import STEPS
from inspection.words.say import known

ONE = {"number": "1", "kind": "length", "requirement": ".500 ±.005"}


def numbers(sheet: Any, cells: Any) -> list[str]:
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    return [f"{sheet.characteristic(row).number}/{serials[piece]}" for row, piece in cells]


# --- the shop -------------------------------------------------------------------------------------------------------


def test_the_first_person_has_every_duty(life: Any) -> None:
    assert life.shop.people[life.person].duties == tuple(Duty)


def test_a_person_is_issued_again_under_the_same_identity(life: Any) -> None:
    name = life.enter("Bo")
    person = life.shop.people[name]
    life.do(acts.EnterPerson(person=replace(person, name="Bo Birch", duties=(Duty.LEAD,))))
    assert [one.name for one in life.shop.people.values()] == ["Ann Ames", "Bo Birch"]


def test_instrument_issues_count_from_one_and_all_are_kept(life: Any) -> None:
    life.change_instrument("C-05", place="drawer 3")
    instrument = life.shop.by_tag("C-05")
    assert instrument.issue == 2
    assert [life.shop.issues[instrument.identity, n].place for n in (1, 2)] == ["", "drawer 3"]
    twice = (replace(instrument, place="drawer 4"), replace(instrument, place="drawer 5"))
    life.do(acts.IssueInstruments(instruments=twice))
    assert life.shop.by_tag("C-05").issue == 4
    assert [life.shop.issues[instrument.identity, n].place for n in (3, 4)] == ["drawer 4", "drawer 5"]


def test_one_bad_instrument_keeps_all_out(life: Any) -> None:
    good = replace(life.shop.by_tag("C-05"), identity="", tag="C-77")
    life.refused(acts.IssueInstruments(instruments=(good, replace(good, tag=""))))
    life.do(acts.IssueInstrument(instrument=replace(good, tag=" C-77 ")))
    assert life.shop.by_tag("C-77") is not None


def test_rules_are_issued_in_turn(life: Any) -> None:
    life.do(acts.IssueRules(rules=Rules(issue=17, accuracy_needed=300)))
    assert (life.shop.rules.issue, life.shop.rules.accuracy_needed) == (1, 300)


def test_rows_keep_their_identity_through_all_issues(life: Any) -> None:
    first = life.sheet.plan
    again = life.issue_again(lambda rows: [replace(rows[1], number="22"), replace(rows[0], identity="", number="23")])
    assert (again.issue, again.part_identity) == (2, first.part_identity)
    assert again.characteristics[0].identity == first.characteristics[1].identity
    assert again.characteristics[1].identity not in {row.identity for row in first.characteristics}


# --- made and routed ------------------------------------------------------------------------------------------------


def test_a_sheet_is_made_with_instruments_and_route(life: Any) -> None:
    sheet = life.sheet
    assert [piece.serial for piece in sheet.pieces] == ["001", "002"]
    assert set(sheet.assignments) == {row.identity for row in sheet.plan.characteristics}
    assert sorted(rows_by_route(sheet)) == sorted(row.identity for row in sheet.plan.characteristics)
    assert sheet.rules == life.shop.rules
    assert sheet.identity == derived(life.steps[sheet.identity][0][1], "sheet")


def test_required_cells_follow_route_order_and_sampling(life: Any) -> None:
    life.make(("a", "b", "c"), ONE, {**ONE, "number": "2", "sampling": "first-last"}, {**ONE, "number": "3"})
    life.make(
        ("a", "b", "c"),
        ONE,
        {**ONE, "number": "2", "sampling": "first-last"},
        {**ONE, "number": "8", "requirement": "(2)"},
    )
    sheet = life.sheet
    assert numbers(sheet, cells_by_route(sheet)) == ["1/a", "2/a", "1/b", "1/c", "2/c"]
    assert numbers(sheet, open_cells(sheet)) == numbers(sheet, cells_by_route(sheet))
    life.do(acts.RunBy(sheet=sheet.identity, order="feature"))
    assert numbers(sheet, cells_by_route(life.sheet)) == ["1/a", "1/b", "1/c", "2/a", "2/c"]
    every = [(row.identity, piece.identity) for row in sheet.plan.characteristics for piece in sheet.pieces]
    assert [required(sheet, cell) for cell in every] == [cell in cells_by_route(sheet) for cell in every]


def test_what_waits_begins_after_the_cell_in_hand_and_comes_round(life: Any) -> None:
    life.make(("a",), ONE, {**ONE, "number": "2", "places": "left; right"}, {**ONE, "number": "3"})
    two, three = life.cell("2"), life.cell("3")

    def wait(**given: Any) -> list[tuple[str, str]]:
        waits = waiting(life.shop, life.sheet, **given)
        return [(life.sheet.characteristic(row).number, slot.place) for row, _, slot in waits]

    assert wait() == [("1", ""), ("2", "left"), ("2", "right"), ("3", "")]
    assert wait(after=three) == [("3", ""), ("1", ""), ("2", "left"), ("2", "right")]
    assert wait(after=two, under_way={(*two, Slot("left"))}) == [("2", "right"), ("3", ""), ("1", "")]
    life.take("2", ".5", slot=Slot("right"))
    assert wait(after=("none", "none")) == [("1", ""), ("2", "left"), ("3", "")]


def test_a_cell_answered_by_another_instrument_waits_for_nothing(life: Any) -> None:
    life.take("6", ".5000", slot=Slot(role=Role.ENTERS))
    life.take("6", ".5005", slot=Slot(role=Role.STOPS))
    life.choose("6", "C-05", Use.INSIDE)
    assert waiting_slots(life.shop, life.sheet, life.cell("6")) == ()
    assert waiting_slots(life.shop, life.sheet, life.cell("6", 1)) == (Slot(),)


def test_each_place_may_be_answered_by_its_own_instrument(life: Any) -> None:
    bore = {"number": "6", "kind": "bore", "requirement": "⌀.5000 +.0030 -.0005", "places": "near; far"}
    life.make(("1",), bore)
    life.take("6", ".5000", slot=Slot("near", role=Role.ENTERS))
    life.take("6", ".5005", slot=Slot("near", role=Role.STOPS))
    life.choose("6", "C-05", Use.INSIDE)
    assert waiting_slots(life.shop, life.sheet, life.cell("6")) == (Slot("far"),)
    life.take("6", ".5005", slot=Slot("far"))
    assert life.verdict("6") == "conforming, instrument marginal"
    assert open_cells(life.sheet) == ()


def test_another_instrument_moves_the_row_on_the_route(life: Any) -> None:
    assert (
        life.row("1").identity
        in life.sheet.stops[[s.method for s in life.sheet.stops].index(life.method("C-05").key)].characteristics
    )
    life.choose("1", "M-01")
    kept = life.sheet.assignments[life.row("1").identity]
    assert (kept.chosen_by_hand, kept.assessment.method) == ("at hand", life.method("M-01"))
    stop = next(stop for stop in life.sheet.stops if stop.method == life.method("M-01").key)
    assert life.row("1").identity in stop.characteristics
    life.choose("9", "R-02", reason="only rule left")
    assert life.sheet.assignments[life.row("9").identity].assessment.fitness is Fitness.MARGINAL
    assert sorted(rows_by_route(life.sheet)) == sorted(row.identity for row in life.sheet.plan.characteristics)
    assert all(stop.characteristics for stop in life.sheet.stops)


def test_choosing_afresh_keeps_what_was_chosen_by_hand_while_it_may_be(life: Any) -> None:
    life.choose("1", "M-01")
    life.choose("9", "C-03")
    life.change_instrument("C-03", due="2026-01-01")
    life.do(acts.ChooseRoute(sheet=life.sheet_id))
    chosen = [life.sheet.assignments[life.row(number).identity] for number in ("1", "9")]
    assert [one.chosen_by_hand for one in chosen] == ["at hand", ""]
    assert chosen[1].assessment.fitness is Fitness.FIT


def test_a_sheet_keeps_the_rules_it_was_made_by(life: Any) -> None:
    """Routes chosen later are held against the same rules as its readings."""
    life.do(acts.IssueRules(rules=Rules(accuracy_needed=100_000)))
    life.do(acts.ChooseRoute(sheet=life.sheet_id))
    assert life.sheet.assignments[life.row("1").identity].assessment.fitness is Fitness.FIT
    life.take("1", ".5")
    assert life.verdict("1") == "conforming"
    life.make(("9",), ONE)
    assert life.sheet.assignments[life.row("1").identity].assessment.fitness is Fitness.MARGINAL


def test_notes_are_kept_with_who_and_when(life: Any) -> None:
    at = life.entry().at
    for piece in ("", life.sheet.pieces[1].identity):
        life.do(acts.WriteNote(sheet=life.sheet_id, characteristic=life.row("1").identity, text=" burr ", piece=piece))
    first, second = life.sheet.notes
    assert (first.text, first.by, first.at, first.piece) == ("burr", life.person, at, "")
    assert second.piece == life.sheet.pieces[1].identity


# --- another plan issue ---------------------------------------------------------------------------------------------


def tightened(rows: Any) -> Any:
    """Row 1 to .499 … .501, and row 9 to other limits that change no verdict of the tests."""
    thou = 25_400_000
    middle = rows[0].requirement.nominal
    tight = replace(rows[0].requirement, lower=middle - thou, upper=middle + thou)
    wide = replace(rows[-1].requirement, upper=rows[-1].requirement.upper + thou)
    return [replace(rows[0], requirement=tight), *rows[1:-1], replace(rows[-1], requirement=wide)]


def test_another_plan_issue_changes_verdicts_only_when_accepted(life: Any) -> None:
    life.take("1", ".504")
    life.take("1", ".5005", piece=1)
    act = acts.AdoptPlan(sheet=life.sheet_id, plan=life.issue_again(tightened).identity)
    (reason,) = life.refused(act)
    assert (reason.parts["number"], reason.parts["serial"]) == ("1", "001")
    events = life.do(replace(act, accepted=(life.row("1").identity,)))
    assert [type(event).__name__ for event in events][:2] == ["PlanAdopted", "RouteChosen"]
    assert life.sheet.plan.identity == act.plan
    assert (life.verdict("1"), life.verdict("1", 1)) == ("not conforming", "conforming")


def test_every_judgement_is_that_of_the_new_issue(life: Any) -> None:
    """Also one whose verdict stays, but which is out by another amount now."""
    life.take("9", ".310")
    before = life.sheet.judgement(*life.cell("9"))
    life.do(acts.AdoptPlan(sheet=life.sheet_id, plan=life.issue_again(tightened).identity))
    after = life.sheet.judgement(*life.cell("9"))
    assert before.verdict is after.verdict
    assert (before.out_by, after.out_by) == (127_000_000, 101_600_000)


def test_a_row_without_readings_may_go_and_come(life: Any) -> None:
    life.take("1", ".5")
    without = life.issue_again(lambda rows: rows[:3])
    life.do(acts.AdoptPlan(sheet=life.sheet_id, plan=without.identity))
    assert [row.number for row in life.sheet.plan.characteristics] == ["1", "2", "3"]
    assert set(rows_by_route(life.sheet)) == {row.identity for row in life.sheet.plan.characteristics}
    assert life.verdict("1") == "conforming"


# --- signed, reopened, sent -----------------------------------------------------------------------------------------


def test_a_sheet_with_open_rows_is_signed_only_with_a_reason(life: Any) -> None:
    life.make(("1", "2"), ONE, {**ONE, "number": "2", "sampling": "1"}, {**ONE, "number": "8", "requirement": "(2)"})
    life.take("1", ".5")
    act = acts.SignSheet(sheet=life.sheet_id)
    reasons = life.refused(act, sign=life.signer())
    assert [(reason.code, reason.parts) for reason in reasons] == [
        ("sign.row_open", {"number": "2", "serial": "1"}),
        ("sign.row_open", {"number": "1", "serial": "2"}),
    ]
    life.take("2", ".5")
    assert life.sign(" the second piece is in the machine ").incomplete == "the second piece is in the machine"
    life.reopen()
    life.take("1", ".517", piece=1)
    assert life.verdict("1", 1) == "not conforming"
    assert life.sign().incomplete == "", "what does not conform is not open"


def test_an_indication_leaves_the_row_open_for_signing(life: Any) -> None:
    life.make(("1",), ONE)
    life.change_instrument("C-05", due="2026-01-01")
    life.take("1", ".5")
    assert life.codes(acts.SignSheet(sheet=life.sheet_id), sign=life.signer()) == ["sign.row_open"]


def test_the_seal_covers_the_whole_sheet_and_the_head_of_the_chain(life: Any) -> None:
    first = life.take("1", ".51", person=life.enter("Bo"))
    life.take("1", ".501", replaces=first.identity, reason="askew")
    life.take("9", "7.62", piece=1)
    life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=life.question()))
    entry = life.entry()
    sealed = life.sign("more to come")
    content = form_4.read_content(sealed.content)
    assert content.chain == entry.previous
    assert sealed.digest == digest(sealed.content.encode()) == sealed.signature.value
    assert (content.program, content.shop, content.sheet) == (PROGRAM, "Ames & Daughter", life.sheet_id)
    assert (content.signed_by, content.signed_at, content.incomplete) == (life.person, entry.at, "more to come")
    assert content.plan == life.sheet.plan
    assert content.readings == tuple(life.sheet.readings.values())
    assert {one.reading: one.withdrawal for one in content.withdrawn} == dict(life.sheet.withdrawn)
    assert {(c.characteristic, c.piece): c.judgement for c in content.cells} == {
        (row.identity, piece.identity): life.sheet.judgement(row.identity, piece.identity)
        for row in life.sheet.plan.characteristics
        for piece in life.sheet.pieces
    }
    assert {person.name for person in content.people} == {"Ann Ames", "Bo"}
    used = {(part.identity, part.issue) for r in content.readings for part in r.method.parts}
    assert used <= {(one.identity, one.issue) for one in content.instruments}
    assert form_4.write_content(content) == sealed.content.encode()


def test_a_new_round_keeps_the_old_seal(life: Any) -> None:
    first = life.sign("nothing yet")
    life.reopen(" the part came ")
    assert (life.sheet.round, life.sheet.sealed) == (2, False)
    life.take("1", ".5")
    second = life.sign("one row")
    assert [seal.digest for seal in life.sheet.seals] == [first.digest, second.digest]
    assert form_4.read_content(second.content).earlier == (first.digest,)
    assert form_4.read_content(second.content).round == 2


def test_files_are_recorded_open_or_sealed(life: Any) -> None:
    sent = acts.RecordSent(sheet=life.sheet_id, form="pdf", name="hb-7.pdf", digest="ab" * 32)
    life.do(sent, person=life.enter("Cy", Duty.OFFICE))
    life.sign("nothing yet")
    life.do(replace(sent, form="csv"))
    assert [(one.form, one.digest) for one in life.sheet.sent] == [("pdf", "ab" * 32), ("csv", "ab" * 32)]


# --- who may do what, and when --------------------------------------------------------------------------------------


def test_every_act_has_its_step_and_its_name() -> None:
    every = set(get_args(acts.AnyAct))
    assert set(STEPS) == every - {acts.OpenShop}
    assert [act.__name__ for act in every if not known(f"act.{act.__name__}")] == []
    assert [
        act.__name__ for act, step in STEPS.items() if step.stages is not None and not issubclass(act, acts.OnSheet)
    ] == []


def test_every_step_names_who_may() -> None:
    missing = {
        step.duties_code for step in STEPS.values() if step.duties != frozenset(Duty) and not known(step.duties_code)
    }
    assert missing == set()


def example(life: Any, kind: type[acts.Act]) -> acts.Act:
    """An act of this kind on the sheet, as far as the table of steps looks at it."""
    known: dict[str, Any] = {"sheet": life.sheet_id, "person": Person("", "Eve")}
    given = {field.name: known.get(field.name) for field in msgspec.structs.fields(kind) if field.required}
    return kind(**given)


@pytest.mark.parametrize("kind", [kind for kind in STEPS if issubclass(kind, acts.OnSheet)], ids=lambda k: k.__name__)
def test_a_seal_stops_what_it_must(life: Any, kind: type[acts.Act]) -> None:
    stages = STEPS[kind].stages
    if stages is None:
        assert kind in (acts.RecordSent, acts.ReopenReadings, acts.Reweigh, acts.MarkForReview, acts.AnswerMark)
        return
    if Stage.OPEN not in stages:
        assert life.codes(example(life, kind)) == ["life.not_sealed"]
    life.sign("nothing yet")
    if Stage.SIGNED not in stages:
        assert life.codes(example(life, kind)) == ["life.sealed"]


@pytest.mark.parametrize("duty", list(Duty))
@pytest.mark.parametrize("kind", list(STEPS), ids=lambda kind: kind.__name__)
def test_a_duty_opens_what_it_must(life: Any, kind: type[acts.Act], duty: Duty) -> None:
    if duty not in STEPS[kind].duties:
        person = life.enter("Dee", duty)
        assert life.codes(example(life, kind), person=person) == ["life.duty"]


def test_the_office_plans_and_does_not_measure(life: Any) -> None:
    office = life.enter("Cy", Duty.OFFICE)
    life.do(acts.MakeSheet(plan=life.sheet.plan.identity, serials=("9",)), person=office)
    assert life.codes(life.reading("1", ".5"), person=office) == ["life.duty"]


def test_a_keeper_enters_people_and_does_not_sign(life: Any) -> None:
    keeper = life.enter("Kit", Duty.KEEPER)
    life.do(acts.EnterPerson(person=Person("", "Bo")), person=keeper)
    assert "life.duty" in life.codes(acts.SignSheet(sheet=life.sheet_id), person=keeper, sign=life.signer(keeper))


def test_the_same_act_in_the_same_entry_makes_the_same_identities(life: Any) -> None:
    entry = life.entry()
    assert derived(entry, "reading") == derived(replace(entry, person="other"), "reading")
    assert len({derived(entry, "reading"), derived(entry, "question"), derived(life.entry(number=0), "reading")}) == 3


def test_events_of_the_shop_leave_a_sheet_alone(life: Any) -> None:
    before = life.sheet
    life.change_instrument("C-05", due="2020-01-01")
    life.do(acts.IssueRules(rules=Rules()))
    assert life.sheet is before
    assert all(not isinstance(event, ev.InstrumentIssued) for event, _ in life.steps[life.sheet_id])
