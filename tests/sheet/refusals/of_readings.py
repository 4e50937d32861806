"""Refusals of acts on the instruments of a row, on readings and questions, and of signing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from inspection.instruments.method import Method
from inspection.instruments.record import Use
from inspection.measuring.reading import Observed, Role, Slot
from inspection.quantity.reader import read
from inspection.quantity.units import Kind
from inspection.sheet import acts
from tests.sheet.refusals.meetings import meets

# --- instruments of a row -------------------------------------------------------------------------------------------


def choosing(life: Any, method: Method, reason: str = "at hand") -> acts.ChooseInstrument:
    row = life.row("1").identity
    return acts.ChooseInstrument(sheet=life.sheet_id, characteristic=row, method=method, reason=reason)


@meets("instrument.unknown")
def _(life: Any) -> Any:
    method = life.method("C-05")
    life.refused(choosing(life, Method(Use.OUTSIDE, ())))
    return life.refused(choosing(life, replace(method, parts=(replace(method.parts[0], identity="none"),))))


@meets("instrument.choice_without_reason")
def _(life: Any) -> Any:
    return life.refused(choosing(life, life.method("M-01"), " "))


@meets("instrument.unsuitable")
def _(life: Any) -> Any:
    life.change_instrument("C-03", due="2026-03-01")
    reasons = life.refused(choosing(life, life.method("C-03")))
    assert len(reasons) > 1, "the reasons against it are told with it"
    return reasons


@meets("reading.no_instrument")
def _(life: Any) -> Any:
    life.make(("1",), {"number": "1", "kind": "length", "requirement": "9.000 ±.005"})
    return life.refused(life.reading("1", "9"))


@meets("reading.other_instrument")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5", method=life.method("M-01"), reason=" "))


# --- readings -------------------------------------------------------------------------------------------------------


def taken_back(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    life.take_back(reading)
    return reading


def back(life: Any, reading: Any, **given: Any) -> Any:
    return life.refused(acts.TakeBack(sheet=life.sheet_id, reading=reading.identity), **given)


def put(life: Any, reading: Any, **given: Any) -> Any:
    return life.refused(acts.PutBack(sheet=life.sheet_id, reading=reading.identity), **given)


def two_ways(code: str, meet: Callable[[Any, str, str], Any]) -> None:
    """A refusal that names a reading: a number as written, or what was seen."""
    meets(code)(lambda life: meet(life, "1", ".501"))
    meets(f"{code}_seen")(lambda life: meet(life, "4", "as required"))


def slot_taken(life: Any, number: str, text: str) -> Any:
    life.take(number, text)
    return life.refused(life.reading(number, text))


def withdrawn_already(life: Any, number: str, text: str) -> Any:
    reading = taken_back(life, number, text)
    life.refused(life.reading(number, text, replaces=reading.identity, reason="again"))
    return back(life, reading)


def not_taken_back(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    life.take(number, text, replaces=reading.identity, reason="held askew")
    return put(life, reading)


def correction_without_reason(life: Any, number: str, text: str) -> Any:
    return life.refused(life.reading(number, text, replaces=life.take(number, text).identity, reason=" "))


def take_back_without_reason(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    back(life, reading, person=life.enter("Bo"))
    life.take("9", ".3")
    return back(life, reading)


def put_back_without_reason(life: Any, number: str, text: str) -> Any:
    return put(life, taken_back(life, number, text), person=life.enter("Bo"))


def under_seal(life: Any, number: str, text: str) -> Any:
    reading = life.take(number, text)
    life.sign("more to come")
    life.reopen()
    return back(life, reading)


for code, meeting in {
    "reading.slot_taken": slot_taken,
    "reading.withdrawn_already": withdrawn_already,
    "reading.not_taken_back": not_taken_back,
    "reading.correction_without_reason": correction_without_reason,
    "reading.take_back_without_reason": take_back_without_reason,
    "reading.put_back_without_reason": put_back_without_reason,
    "reading.under_seal": under_seal,
}.items():
    two_ways(code, meeting)


@meets("reading.no_such_slot")
def _(life: Any) -> Any:
    life.refused(life.reading("1", ".5", slot=Slot(repeat=2)))
    life.refused(life.reading("2", ".75", slot=Slot("middle")))
    life.refused(life.reading("4", ".5"))
    return life.refused(life.reading("1", ".5", slot=Slot(role=Role.NOT_GO)))


@meets("reading.other_slot")
def _(life: Any) -> Any:
    top = life.take("2", ".75")
    return life.refused(life.reading("2", ".75", slot=Slot("foot"), replaces=top.identity, reason="other end"))


@meets("reading.not_a_number")
def _(life: Any) -> Any:
    life.refused(life.reading("1", "enters", slot=Slot()))
    return life.refused(replace(life.reading("1", ".5"), quantity=None))


@meets("reading.not_observed")
def _(life: Any) -> Any:
    go = Slot(role=Role.GO)
    life.refused(life.reading("5", "as required", slot=go))
    life.refused(replace(life.reading("4", "as required"), observed=Observed.ENTERS))
    return life.refused(replace(life.reading("5", "enters", slot=go), quantity=read(".25", unit="in")))


@meets("reading.wrong_kind")
def _(life: Any) -> Any:
    angle = read("45", unit="°", kind=Kind.ANGLE)
    return life.refused(replace(life.reading("1", ".5"), quantity=angle))


@meets("reading.unknown")
def _(life: Any) -> Any:
    life.refused(acts.TakeBack(sheet=life.sheet_id, reading="none"))
    life.refused(acts.PutBack(sheet=life.sheet_id, reading="none"))
    elsewhere = life.take("9", ".3")
    return life.refused(life.reading("1", ".5", replaces=elsewhere.identity, reason="wrong row"))


@meets("reading.from_the_future")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5", taken=life.entry().at + 1))


@meets("reading.no_such_day")
def _(life: Any) -> Any:
    return life.refused(life.reading("1", ".5", day="2026-02-30"))


@meets("reading.day_apart")
def _(life: Any) -> Any:
    """A day long ago would let an instrument pass that is overdue now."""
    return life.refused(life.reading("1", ".5", day="2025-03-02"))


# --- questions and signing ------------------------------------------------------------------------------------------


@meets("question.not_open")
def _(life: Any) -> Any:
    life.refused(acts.LeaveOpen(sheet=life.sheet_id, question="none"))
    life.take("1", "12.7")
    question = life.question()
    life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=question))
    life.refused(life.reading("1", ".5", answers=question))
    return life.refused(acts.KeepAsWritten(sheet=life.sheet_id, question=question))


def signing(life: Any, incomplete: str = "", **given: Any) -> Any:
    return life.refused(acts.SignSheet(sheet=life.sheet_id, incomplete=incomplete), **given)


@meets("sign.row_open")
def _(life: Any) -> Any:
    reasons = signing(life, " ", sign=life.signer())
    assert len(reasons) == 20, "ten rows are judged, on two pieces each"
    return reasons


@meets("sign.nothing_open")
def _(life: Any) -> Any:
    life.make(("1",), {"number": "1", "kind": "length", "requirement": ".500 ±.005"})
    life.take("1", ".5")
    return signing(life, "not all read", sign=life.signer())


@meets("sign.question_open")
def _(life: Any) -> Any:
    life.take("1", "12.7")
    return signing(life, "more to come", sign=life.signer())


@meets("sign.without_key")
def _(life: Any) -> Any:
    return signing(life, "more to come")


@meets("sign.other_key")
def _(life: Any) -> Any:
    return signing(life, "more to come", sign=life.signer(life.enter("Bo")))
