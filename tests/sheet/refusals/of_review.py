"""Refusals of nonconformances and decisions, of marks, a review and its statements, and of sheets that follow."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from inspection.measuring.checks_good import good_answers
from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.people import Duty
from inspection.sheet.review import StatementKind
from tests.sheet.refusals.meetings import meets
from tests.sheet.refusals.of_proofs import check

# --- nonconformance and review --------------------------------------------------------------------------------------


def lead_of(life: Any) -> str:
    known = next((name for name, one in life.shop.people.items() if one.name == "Lea"), "")
    return known or str(life.enter("Lea", Duty.LEAD))


def out(life: Any) -> None:
    """A sheet of one piece on which row 1 is out."""
    life.make(("001",), row(1), row(2))
    life.take("1", ".5070")
    life.take("2", ".6000")


def row(n: int) -> dict[str, str]:
    return {"number": str(n), "kind": "length", "requirement": f".{n + 4}00 ±.005"}


def raising(life: Any, *numbers: str, **changes: Any) -> acts.RaiseNonconformance:
    given = {
        "piece": life.sheet.pieces[0].identity,
        "characteristics": tuple(life.row(number).identity for number in numbers),
        "number": "NC-7",
        "what": "over",
    }
    return acts.RaiseNonconformance(sheet=life.sheet_id, **{**given, **changes})


def deciding(life: Any, how: Disposition = Disposition.REWORK, **changes: Any) -> acts.DisposeNonconformance:
    name = next(iter(life.sheet.nonconformances), "none")
    given = {"nonconformance": name, "disposition": how, "words": "turn it down"}
    return acts.DisposeNonconformance(sheet=life.sheet_id, **{**given, **changes})


def stating(life: Any, kind: StatementKind, **given: Any) -> Any:
    act = acts.MakeStatement(sheet=life.sheet_id, kind=kind)
    who = given.pop("person", "") or lead_of(life)
    return life.refused(act, person=who, sign=life.signer(who))


@meets("life.approved")
def _(life: Any) -> Any:
    approve(life)
    return life.refused(life.reading("1", ".5"))


def approve(life: Any) -> None:
    life.make(("001",), row(1))
    life.take("1", ".5000")
    life.sign()
    who = lead_of(life)
    act = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED)
    life.do(act, person=who, sign=life.signer(who))


@meets("nonconformance.unnumbered")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life, "1", number=" "))


@meets("nonconformance.number_known")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(raising(life, "1"))


@meets("nonconformance.row_known")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(raising(life, "1", number="NC-8"))


@meets("nonconformance.without_words")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life, "1", what=" "))


@meets("nonconformance.no_rows")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life))


@meets("nonconformance.conforms")
def _(life: Any) -> Any:
    out(life)
    return life.refused(raising(life, "2"))


@meets("nonconformance.unknown")
def _(life: Any) -> Any:
    return life.refused(deciding(life), person=lead_of(life))


@meets("nonconformance.decided")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    life.do(deciding(life), person=lead_of(life))
    return life.refused(deciding(life), person=lead_of(life))


@meets("nonconformance.decided_without_words")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(deciding(life, words=" "), person=lead_of(life))


@meets("nonconformance.without_leave")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    return life.refused(deciding(life, Disposition.USE_AS_IS), person=lead_of(life))


@meets("nonconformance.leave_no_day")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    leave = Leave("CR-1", "31.3.2026", "all")
    return life.refused(deciding(life, Disposition.USE_AS_IS, leave=leave), person=lead_of(life))


@meets("nonconformance.sheet_signed")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    life.sign()
    return life.refused(deciding(life), person=lead_of(life))


@meets("nonconformance.affected_for_nothing")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    affected = (life.row("2").identity,)
    return life.refused(deciding(life, Disposition.SCRAP, affected=affected), person=lead_of(life))


@meets("approve.undecided")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    life.sign()
    return stating(life, StatementKind.APPROVED)


@meets("approve.not_named")
def _(life: Any) -> Any:
    out(life)
    life.sign()
    return stating(life, StatementKind.APPROVED)


@meets("review.answer_without_words")
def _(life: Any) -> Any:
    life.sign("nothing yet")
    return life.refused(acts.AnswerPoint(sheet=life.sheet_id, point="doubt:1", words=" "), person=lead_of(life))


def marking(life: Any, **fields: Any) -> acts.MarkForReview:
    """A mark of one reading of row 1."""
    reading = next(iter(life.sheet.readings.values()), None) or life.take("1", ".5000")
    given = {
        "instrument": reading.method.parts[0].identity,
        "error": 5_080_000,
        "size": None,
        "since": 0,
        "readings": (reading.identity,),
        "words": "found out",
    }
    return acts.MarkForReview(sheet=life.sheet_id, **{**given, **fields})


@meets("mark.without_words")
def _(life: Any) -> Any:
    return life.refused(marking(life, words=" "), person=lead_of(life))


@meets("mark.no_readings")
def _(life: Any) -> Any:
    return life.refused(marking(life, readings=()), person=lead_of(life))


@meets("mark.other_readings")
def _(life: Any) -> Any:
    return life.refused(marking(life, readings=("another",)), person=lead_of(life))


@meets("mark.known")
def _(life: Any) -> Any:
    lead = lead_of(life)
    life.do(marking(life), person=lead)
    return life.refused(marking(life), person=lead)


@meets("mark.unknown")
def _(life: Any) -> Any:
    return life.refused(acts.AnswerMark(sheet=life.sheet_id, mark="another", words="seen"), person=lead_of(life))


@meets("mark.answer_without_words")
def _(life: Any) -> Any:
    lead = lead_of(life)
    name = life.do(marking(life), person=lead)[0].mark.identity
    return life.refused(acts.AnswerMark(sheet=life.sheet_id, mark=name, words=" "), person=lead)


@meets("review.returned_without_words")
def _(life: Any) -> Any:
    life.sign("nothing yet")
    return life.refused(acts.ReturnSheet(sheet=life.sheet_id, rows=()), person=lead_of(life))


@meets("review.own_sheet")
def _(life: Any) -> Any:
    out(life)
    life.sign()
    return stating(life, StatementKind.APPROVED, person=life.person)


@meets("review.suspect")
def _(life: Any) -> Any:
    life.make(("001",), row(1))
    tag = "C-05"
    life.choose("1", tag)
    life.take("1", ".5000")
    life.sign()
    good = good_answers(life.shop.by_tag(tag))
    bad = tuple(replace(one, seen=False) if one.seen else one for one in good)
    life.do(check(life, tag, answers=bad))
    return stating(life, StatementKind.APPROVED)


@meets("review.unanswered")
def _(life: Any) -> Any:
    life.make(("001",), row(1))
    life.choose("1", "C-05")
    life.take("1", ".5000")
    life.sign()
    return stating(life, StatementKind.APPROVED)


@meets("review.clock_set_back")
def _(life: Any) -> Any:
    who = lead_of(life)
    life.make(("001",), row(1))
    life.take("1", ".5000")
    life.sign()
    life.entries -= 3
    return stating(life, StatementKind.APPROVED, person=who)


@meets("review.not_approved")
def _(life: Any) -> Any:
    life.sign("nothing yet")
    return stating(life, StatementKind.COMPLETE)


@meets("review.stated_already")
def _(life: Any) -> Any:
    approve(life)
    return stating(life, StatementKind.APPROVED)


@meets("review.not_complete")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    leave = Leave("CR-1", "2026-03-31", "all")
    who = lead_of(life)
    life.do(deciding(life, Disposition.USE_AS_IS, leave=leave), person=who)
    life.sign()
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    return stating(life, StatementKind.COMPLETE)


@meets("review.no_piece_left")
def _(life: Any) -> Any:
    out(life)
    life.do(raising(life, "1"))
    who = lead_of(life)
    life.do(deciding(life, Disposition.SCRAP), person=who)
    life.sign()
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    return stating(life, StatementKind.COMPLETE)


@meets("review.not_complete_without_words")
def _(life: Any) -> Any:
    approve(life)
    return stating(life, StatementKind.NOT_COMPLETE)


@meets("review.released_without_words")
def _(life: Any) -> Any:
    approve(life)
    return stating(life, StatementKind.RELEASED)


# --- sheets that follow ---------------------------------------------------------------------------------------------


def used_as_is(life: Any, *, stated: bool = True) -> str:
    """An approved sheet whose row 1 is out and used as is; stated as not complete."""
    out(life)
    life.do(raising(life, "1"))
    who = lead_of(life)
    life.do(deciding(life, Disposition.USE_AS_IS, leave=Leave("CR-1", "2026-03-31", "all")), person=who)
    life.sign()
    life.do(acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.APPROVED), person=who, sign=life.signer(who))
    if stated:
        said = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.NOT_COMPLETE, words="row 1")
        life.do(said, person=who, sign=life.signer(who))
    return str(life.sheet_id)


def following(life: Any, baseline: str, *numbers: str) -> acts.MakeSheet:
    rows = tuple(life.row(number).identity for number in numbers)
    return acts.MakeSheet(plan=life.sheet.plan.identity, serials=("9",), completes=baseline, rows=rows)


@meets("partial.asks_more")
def _(life: Any) -> Any:
    life.do(following(life, used_as_is(life)))
    plan = life.issue_again(lambda rows: (*rows, replace(rows[0], identity="", number="3")))
    return life.refused(acts.AdoptPlan(sheet=life.sheet_id, plan=plan.identity))


@meets("partial.other_part")
def _(life: Any) -> Any:
    baseline = used_as_is(life)
    life.make(("1",), row(1))
    return life.refused(following(life, baseline))


@meets("partial.baseline_not_stated")
def _(life: Any) -> Any:
    return life.refused(following(life, used_as_is(life, stated=False)))


@meets("partial.nothing_left")
def _(life: Any) -> Any:
    approve(life)
    who = lead_of(life)
    said = acts.MakeStatement(sheet=life.sheet_id, kind=StatementKind.NOT_COMPLETE, words="the notes are missing")
    life.do(said, person=who, sign=life.signer(who))
    return life.refused(following(life, life.sheet_id))


@meets("amend.without_reason")
def _(life: Any) -> Any:
    return life.refused(acts.AmendSheet(amended=used_as_is(life), reason=" "), person=lead_of(life))


@meets("amend.not_approved")
def _(life: Any) -> Any:
    return life.refused(acts.AmendSheet(amended=life.sheet_id, reason="one more"), person=lead_of(life))
