"""Who may do what, and when: the whole table written out a second time, as the shop's people would read it aloud.

Every act stands here with who may do it and at which stages of a sheet; an act that is added without a line fails. What
is a lead's to decide and an inspector's to measure is common practice; a shop's own quality system goes before it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from itertools import combinations
from typing import Any, get_args

import pytest

from inspection.sheet import acts
from inspection.sheet.nonconformance import Disposition
from inspection.sheet.people import Duty
from inspection.sheet.review import Returned
from inspection.sheet.state import Stage
from inspection.sheet.steps import not_now
from tests.sheet.test_review import ROWS, at_stage, dispose, measured, raised

#: i inspector, l lead, o office, k keeper; then o open, s signed, a approved, "-" where no stage of a sheet matters.
WHO_MAY = """
EnterPerson          lk    -
IssueInstrument      ilk   -
IssueInstruments     ilk   -
IssueRules           lk    -
IssueLayout          ok    -
RecordCheck          il    -
RemoveForCause       ilk   -
ReportUpset          ilok  -
RecordStudy          il    -
TakeStudyIntoUse     l     -
WithdrawStudy        l     -
StartGaugeStudy      il    -
TakeStudyReading     il    -
KeepStudyReading     il    -
GiveUpStudy          il    -
IssuePlan            ilo   -
MakeSheet            ilo   -
AmendSheet           l     -
ChooseRoute          il    o
ChooseInstrument     il    o
RunBy                il    o
ChooseDecisionRule   lk    o
LogTemperature       il    o
DeclareRepeats       il    o
ReopenReadings       il    osa
Reweigh              il    osa
TakeReading          il    o
KeepAsWritten        il    o
LeaveOpen            il    o
TakeBack             il    o
PutBack              il    o
WriteNote            ilok  o
WriteHead            ilo   o
EnterEvidence        ilo   o
StrikeEvidence       ilo   o
AdoptPlan            ilo   o
SignSheet            il    o
Reopen               il    s
RaiseNonconformance  il    os
DisposeNonconformance l    os
AnswerPoint          l     s
MarkForReview        l     osa
AnswerMark           l     osa
ReadRowAgain         l     s
ReturnSheet          l     s
MakeStatement        l     sa
RecordSent           ilok  osa
KeepDocument         il    sa
"""
DUTIES = {"i": Duty.INSPECTOR, "l": Duty.LEAD, "o": Duty.OFFICE, "k": Duty.KEEPER}
STAGES = {"o": Stage.OPEN, "s": Stage.SIGNED, "a": Stage.APPROVED}
TABLE = {name: (who, when) for name, who, when in map(str.split, WHO_MAY.strip().splitlines())}
#: What is said where the duty is right and the stage is not.
OTHERWISE = {Stage.OPEN: "life.not_sealed", Stage.SIGNED: "life.sealed", Stage.APPROVED: "life.approved"}


def test_every_act_every_duty_and_every_stage_has_its_line() -> None:
    """The opening of a shop alone is nobody's: there is nobody yet."""
    assert {kind.__name__ for kind in get_args(acts.AnyAct)} - {"OpenShop"} == set(TABLE)
    assert set(DUTIES.values()) == set(Duty) and set(STAGES.values()) == set(Stage)


def nothing_read(life: Any) -> None:
    """Nothing is read yet."""


def returned(life: Any) -> None:
    """Signed, and back at the bench: the words begin a round in which everything is open again."""
    at_stage(life, Stage.SIGNED)
    life.do(acts.ReturnSheet(sheet=life.sheet_id, rows=(Returned("", "", "once more"),)), person=life.lead)


def amended(life: Any) -> None:
    """Approved, and another sheet stands in its place: the approved one stays as it is."""
    at_stage(life, Stage.APPROVED)
    life.do(acts.AmendSheet(amended=life.sheet_id, reason="the lot was wrong"), person=life.lead)


def scrapped(life: Any) -> None:
    """One of two pieces has left the sheet, which goes on with the other."""
    measured(life, ".5200")
    life.do(dispose(life, raised(life), Disposition.SCRAP), person=life.lead)


#: Every state in which a sheet can be met: how it comes there, and the stage whose letter holds for it.
STATES: dict[str, tuple[Callable[[Any], object], str]] = {
    "open": (nothing_read, "o"),
    "measured": (measured, "o"),
    "piece scrapped": (scrapped, "o"),
    "returned": (returned, "o"),
    "signed": (partial(at_stage, stage=Stage.SIGNED), "s"),
    "approved": (partial(at_stage, stage=Stage.APPROVED), "a"),
    "amended": (amended, "a"),
}


@pytest.mark.parametrize("state", STATES)
def test_what_the_table_says_is_what_is_refused_and_nothing_else(life_kind: Any, state: str) -> None:
    """Each act, by everybody with any duties together, on a sheet in each state: the duty is told of first."""
    life = life_kind().open()
    life.make(("001", "002"), *ROWS)
    life.lead, name = life.enter("Lea Lund", Duty.LEAD), life.sheet_id
    come_there, letter = STATES[state]
    come_there(life)
    sheet, stage = life.sheets[name], STAGES[letter]
    assert sheet.stage is stage
    people = {
        duties: life.enter(f"with {' and '.join(duties)}", *(DUTIES[each] for each in duties))
        for n in range(1, len(DUTIES) + 1)
        for duties in combinations(DUTIES, n)
    }
    wrong = []
    for kind in set(get_args(acts.AnyAct)) - {acts.OpenShop}:
        who, when = TABLE[kind.__name__]
        for duties, person in people.items():
            against = not_now(life.shop, sheet, kind, person)
            late = when != "-" and letter not in when
            expected = "life.duty" if not set(who) & set(duties) else OTHERWISE[stage] if late else ""
            if (against.code if against else "") != expected:
                wrong.append((kind.__name__, duties, expected, against))
    assert not wrong


def test_nobody_that_the_book_does_not_know_may_do_anything(life: Any) -> None:
    asked = {kind: not_now(life.shop, life.sheet, kind, "nobody") for kind in get_args(acts.AnyAct)}
    assert {against.code for against in asked.values() if against} == {"life.nobody"} and all(asked.values())
