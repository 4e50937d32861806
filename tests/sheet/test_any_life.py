"""Any life of a sheet: whatever is done in whatever order, what the rules promise holds after every act."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from msgspec.structs import replace

from inspection.instruments.record import Use
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.checks_life import Upset
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Observed, Role
from inspection.measuring.slots import slots_of
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.cells import instrument_of, open_cells, required, waiting_slots
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.head import Head, SubItem
from inspection.sheet.life import decide
from inspection.sheet.measured import measurement
from inspection.sheet.reading_life import judgement_of

ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005", "places": "top; foot"},
    {"number": "3", "kind": "length", "requirement": ".800 ±.005", "repeats": "2", "sampling": "1"},
    {"number": "4", "kind": "note", "requirement": "DEBURR ALL EDGES"},
    {"number": "6", "kind": "bore", "requirement": "⌀.5000 +.0010 -.0005"},
    {"number": "8", "kind": "length", "requirement": "(2.000)"},
)
#: Inside, on the limit, outside, and each of the commonest slips; in one unit or the other.
OFF = st.sampled_from(["0", ".0005", ".0050", "-.0004", ".0080", ".0250", "-.1"])
SEEN = {Role.FINDING: (Observed.AS_REQUIRED, Observed.NOT_AS_REQUIRED)}
PEOPLE = st.sampled_from([0, 1])
WHY = st.sampled_from(["held askew", "", "@slip.answered", "burr"])
#: Instruments to choose for each row, not all of them suitable.
TAGS = {
    "1": "C-05 M-01 M-11",
    "2": "M-01 M-11 C-05",
    "3": "C-05 C-03 R-02",
    "4": "EYE",
    "6": "P-32 C-05 M-01",
    "8": "C-05",
}


class AnyLife(RuleBasedStateMachine):
    """One sheet, two people, and an act at a time; ``life_kind`` is set by the test."""

    life_kind: Any = None

    @initialize(due=st.booleans())
    def begin(self, due: bool) -> None:
        self.life = self.life_kind().open(checks=True)
        self.people = [self.life.person, self.life.enter("Bo")]
        if due:
            self.life.change_instrument("C-05", due="2026-03-02")
        self.life.make(("001", "002"), *ROWS)
        self.kept: dict[str, Any] = {}
        self.seen = ""

    # --- acting, with what holds of every act -------------------------------------------------------------------------

    def act(self, act: Any, person: int = 0, stale: bool = False, sign: bool = False) -> bool:
        """Do it if the rules allow. Deciding twice gives the same, writing and reading gives the same bytes."""
        who, life = self.people[person], self.life
        based_on = self.seen if stale else life.sheet.last_entry
        signer = life.signer(who) if sign else None
        before, entry = life.sheet, life.entry(who, based_on)
        again = fold_sheet(None, life.steps[life.sheet_id], life.plans)
        try:
            events = decide(life.shop, before, life.plans, act, entry, signer)
        except Refused as refused:
            assert refused.reasons
            assert [reason.code for reason in refused.reasons] == life.codes(
                act, person=who, based_on=based_on, sign=signer
            )
            assert life.sheet is before
            return False
        assert before == again, "deciding left the sheet as it was"
        assert events == decide(life.shop, again, life.plans, act, entry, signer)
        written = form_4.write_entry(stream=life.sheet_id, sequence=1, entry=entry, act=act, events=events)
        record = form_4.read_entry(written)
        assert (record.act, record.events, record.entry) == (act, events, entry)
        assert (
            form_4.write_entry(
                stream=record.stream, sequence=record.sequence, entry=record.entry, act=record.act, events=record.events
            )
            == written
        )
        assert life.do(act, person=who, based_on=based_on, sign=signer) == events
        return True

    def some(self, data: Any, items: Any) -> Any:
        return data.draw(st.sampled_from(list(items)))

    # --- what may be done ---------------------------------------------------------------------------

    def reading(self, data: Any, row: Any, piece: int, slot: Any, **more: Any) -> Any:
        if slot.role in SEEN:
            return self.life.reading(row.number, self.some(data, SEEN[slot.role]), piece, slot, **more)
        middle = row.requirement.nominal / 25_400_000_000
        return self.life.reading(row.number, f"{middle + float(data.draw(OFF)):.4f}", piece, slot, **more)

    @rule(data=st.data(), piece=PEOPLE, person=PEOPLE, stale=st.booleans())
    def take(self, data: Any, piece: int, person: int, stale: bool) -> None:
        self._take(data, piece, person, stale)

    @rule(data=st.data(), person=PEOPLE)
    def take_again(self, data: Any, person: int) -> None:
        self._take(data, 0, person, stale=True)

    def _take(self, data: Any, piece: int, person: int, stale: bool) -> bool:
        row = self.some(data, self.life.sheet.plan.characteristics)
        instrument = instrument_of(self.life.shop, self.life.sheet, row.identity)
        slots = slots_of(row, instrument)
        wait = waiting_slots(self.life.shop, self.life.sheet, (row.identity, self.life.sheet.pieces[piece].identity))
        return self.act(self.reading(data, row, piece, self.some(data, wait or slots)), person, stale)

    @precondition(lambda self: self.life.sheet.readings)
    @rule(data=st.data(), person=PEOPLE, stale=st.booleans(), why=WHY)
    def correct(self, data: Any, person: int, stale: bool, why: str) -> None:
        was = self.some(data, self.life.sheet.readings.values())
        piece = [one.identity for one in self.life.sheet.pieces].index(was.piece)
        row = self.life.sheet.characteristic(was.characteristic)
        method = was.method
        act = self.reading(data, row, piece, was.slot, replaces=was.identity, reason=why, method=method)
        self.act(act, person, stale)

    @precondition(lambda self: self.life.sheet.questions)
    @rule(data=st.data(), person=PEOPLE, stale=st.booleans(), how=st.sampled_from(["keep", "leave", "read"]))
    def answer(self, data: Any, person: int, stale: bool, how: str) -> None:
        question = self.some(data, self.life.sheet.questions.values())
        was = self.life.sheet.readings[question.reading]
        piece = [one.identity for one in self.life.sheet.pieces].index(was.piece)
        row = self.life.sheet.characteristic(was.characteristic)
        if how == "read":
            act: Any = self.reading(data, row, piece, was.slot, answers=question.identity, method=was.method)
        else:
            kind = acts.KeepAsWritten if how == "keep" else acts.LeaveOpen
            act = kind(sheet=self.life.sheet_id, question=question.identity)
        self.act(act, person, stale)

    @precondition(lambda self: self.life.sheet.readings)
    @rule(data=st.data(), person=PEOPLE, why=WHY)
    def take_back(self, data: Any, person: int, why: str) -> None:
        sheet = self.life.sheet
        standing = [name for name in sheet.readings if name not in sheet.withdrawn]
        reading = self.some(data, standing or sheet.readings)
        self.act(acts.TakeBack(sheet=self.life.sheet_id, reading=reading, reason=why), person)

    @precondition(lambda self: self.life.sheet.withdrawn)
    @rule(data=st.data(), person=PEOPLE, why=WHY)
    def put_back(self, data: Any, person: int, why: str) -> None:
        withdrawn = self.life.sheet.withdrawn
        back = [name for name in withdrawn if not withdrawn[name].replaced_by]
        reading = self.some(data, back or withdrawn)
        self.act(acts.PutBack(sheet=self.life.sheet_id, reading=reading, reason=why), person)

    @rule(data=st.data(), kind=st.sampled_from(["choose", "issue", "route", "run", "note", "adopt", "send", "look"]))
    def manage(self, data: Any, kind: str) -> None:
        sheet = self.life.sheet_id
        row = self.some(data, self.life.sheet.plan.characteristics)
        match kind:
            case "choose":
                self._choose(row, self.some(data, TAGS[row.number].split()))
            case "issue":
                tag = self.some(data, ["C-05", "M-01", "P-32"])
                self.life.change_instrument(tag, due=self.some(data, ["2027-01-01", "2026-03-01", "2026-03-02"]))
            case "route":
                self.act(acts.ChooseRoute(sheet=sheet))
            case "run":
                self.act(acts.RunBy(sheet=sheet, order=self.some(data, ["feature", "piece"])))
            case "note":
                self.act(acts.WriteNote(sheet=sheet, characteristic=row.identity, text="burr"), person=1)
            case "adopt":
                self._adopt(data.draw(st.integers(-4, 4)), row.number if data.draw(st.booleans()) else "")
            case "send":
                self.act(acts.RecordSent(sheet=sheet, form="pdf", name="a.pdf", digest="ab" * 32))
            case "look":  # what is done without looking again is based on this
                self.seen = self.life.sheet.last_entry

    @rule(data=st.data(), person=PEOPLE, kind=st.sampled_from(["head", "enter", "again", "strike"]))
    def account(self, data: Any, person: int, kind: str) -> None:
        """The head, and materials, processes and tests: entered, written anew, struck."""
        sheet, known = self.life.sheet_id, list(self.life.sheet.evidence)
        if kind == "head":
            order = self.some(data, ["", "4711", "4712"])
            detail = self.some(data, ["", "detail", "assembly"])
            items = (SubItem("HB-8"),) if data.draw(st.booleans()) else ()
            act: Any = acts.WriteHead(sheet=sheet, head=Head(order=order, detail=detail, sub_items=items))
        elif kind == "strike":
            struck = self.some(data, known or ["none"])
            act = acts.StrikeEvidence(sheet=sheet, evidence=struck, reason=data.draw(WHY))
        else:
            identity = self.some(data, known or ["none"]) if kind == "again" else ""
            what = self.some(data, EvidenceKind)
            result = self.some(data, ["", "44", "45", "46.5"])
            measured = measurement("≥ 45 HRC", result) if data.draw(st.booleans()) else None
            name = self.some(data, ["", "hardness", "anodise"])
            act = acts.EnterEvidence(sheet=sheet, evidence=Evidence(identity, what, name, measurement=measured))
        self.act(act, person)

    @rule(data=st.data(), person=PEOPLE, kind=st.sampled_from(["good", "good", "bad", "dropped", "study", "removed"]))
    def prove(self, data: Any, person: int, kind: str) -> None:
        """Checks good and bad, mishaps, studies, an instrument that leaves service for cause."""
        held = self.life.shop.by_tag(self.some(data, ["C-05", "M-01", "P-32", "EYE"]))
        set_up = configured(held, fitted=self.some(data, ["", "", "depth base"]))
        match kind:
            case "dropped":
                act: Any = acts.ReportUpset(instrument=held.identity, what=Upset.DROPPED)
            case "removed":
                act = acts.RemoveForCause(instrument=held.identity, reason=data.draw(WHY))
            case "study":
                counts = data.draw(st.lists(st.integers(12_690_000_000, 12_710_000_000), min_size=1, max_size=3))
                act = acts.RecordStudy(instrument=held.identity, configuration=set_up, groups=(tuple(counts),))
            case _:
                answers = good_answers(held, set_up)
                if kind == "bad":
                    answers = tuple(replace(one, seen=False) if one.seen else one for one in answers)
                sheet = self.some(data, ["", self.life.sheet_id])
                act = acts.RecordCheck(
                    instrument=held.identity, issue=held.issue, configuration=set_up, answers=answers, sheet=sheet
                )
        self.act(act, person)

    @rule(data=st.data(), person=PEOPLE, kind=st.sampled_from(["log", "rule", "repeats", "repeats"]))
    def doubt(self, data: Any, person: int, kind: str) -> None:
        """Temperatures, another decision rule, a mean set after a doubt."""
        sheet = self.life.sheet_id
        if kind == "log":
            part = data.draw(st.integers(15_000, 30_000))
            act: Any = acts.LogTemperature(sheet=sheet, part=part, instrument=part, thermometer="K-1", within=500)
        elif kind == "rule":
            chosen = DecisionRule(self.some(data, RuleKind), printed=data.draw(st.booleans()))
            act = acts.ChooseDecisionRule(sheet=sheet, decision=chosen, reason=data.draw(WHY))
        else:
            row, piece = self.some(data, self.life.sheet.judgements or [("", "")])
            act = acts.DeclareRepeats(
                sheet=sheet, characteristic=row, piece=piece, repeats=data.draw(st.integers(1, 5))
            )
        self.act(act, person)

    def _choose(self, row: Any, tag: str) -> None:
        use = {"EYE": Use.SIGHT}.get(tag, Use.INSIDE if row.number == "6" else Use.OUTSIDE)
        self.act(
            acts.ChooseInstrument(
                sheet=self.life.sheet_id,
                characteristic=row.identity,
                method=self.life.method(tag, use),
                reason="at hand",
            )
        )

    def _adopt(self, thou: int, gone: str) -> None:
        """Another issue with one row's upper limit moved, and perhaps a row left out."""

        def change(rows: Any) -> Any:
            moved = [
                replace(row, requirement=replace(row.requirement, upper=row.requirement.upper + thou * 25_400_000))
                if row.number == "1"
                else row
                for row in rows
            ]
            return [row for row in moved if row.number != gone] if len(moved) > 3 else moved

        act = acts.AdoptPlan(sheet=self.life.sheet_id, plan=self.life.issue_again(change).identity)
        row = next((row.identity for row in self.life.sheet.plan.characteristics if row.number == "1"), "")
        if not self.act(act):
            self.act(replace(act, accepted=(row,)))

    @precondition(lambda self: len(self.life.sheet.readings) > 3)
    @rule(data=st.data(), why=WHY, person=PEOPLE, again=st.sampled_from([True, True, False]))
    def sign(self, data: Any, why: str, person: int, again: bool) -> None:
        if not self.act(acts.SignSheet(sheet=self.life.sheet_id, incomplete=why), person, sign=True):
            return
        seal = self.life.sheet.seals[-1]
        content = form_4.read_content(seal.content)
        assert form_4.write_content(content).decode() == seal.content
        assert content.readings == tuple(self.life.sheet.readings.values())
        assert content.evidence == tuple(self.life.sheet.evidence.values())
        assert content.head == self.life.sheet.head
        assert bool(seal.incomplete) == bool(open_cells(self.life.sheet))
        assert not self._take(data, 0, person, stale=False)
        if again:
            self.reopen()

    @precondition(lambda self: self.life.sheet.sealed)
    @rule()
    def reopen(self) -> None:
        self.act(acts.Reopen(sheet=self.life.sheet_id, reason="more came in"))

    # --- what always holds ---------------------------------------------------------------------------

    @invariant()
    def no_reading_vanishes(self) -> None:
        readings = dict(self.life.sheet.readings)
        assert {name: readings[name] for name in self.kept} == self.kept
        assert list(readings)[: len(self.kept)] == list(self.kept), "they stay in the order taken"
        self.kept = readings

    @invariant()
    def a_reading_counts_or_is_withdrawn(self) -> None:
        sheet = self.life.sheet
        counting = [name for names in sheet.standing.values() for name in names]
        assert len(counting) == len(set(counting))
        assert set(counting) | set(sheet.withdrawn) == set(sheet.readings)
        assert not set(counting) & set(sheet.withdrawn)
        for cell, names in sheet.standing.items():
            assert {(sheet.readings[name].characteristic, sheet.readings[name].piece) for name in names} <= {cell}
            assert list(names) == [name for name in sheet.readings if name in names]

    @invariant()
    def a_judgement_is_that_of_judging_afresh(self) -> None:
        life, sheet = self.life, self.life.sheet
        for (row, piece), judgement in sheet.judgements.items():
            assert judgement == judgement_of(life.shop, sheet, sheet.characteristic(row), piece)
        assert set(sheet.judgements) == set(sheet.standing)

    @invariant()
    def a_reopened_reading_counts_for_nothing(self) -> None:
        sheet = self.life.sheet
        assert not set(sheet.reopened) & set(sheet.suspect)
        assert set(sheet.reopened.values()) | set(sheet.suspect.values()) <= set(sheet.checks)
        counting = {reading.identity for cell in sheet.standing for reading in sheet.counting(*cell)}
        assert not counting & set(sheet.reopened)
        for name in (*sheet.reopened, *sheet.suspect):
            check = sheet.checks[sheet.reopened.get(name) or sheet.suspect[name]]
            assert check.since < sheet.readings[name].taken <= check.at

    @invariant()
    def a_reading_rests_on_a_check_that_the_sheet_holds(self) -> None:
        sheet = self.life.sheet
        for reading in sheet.readings.values():
            for name in reading.checks:
                check = sheet.checks[name]
                assert check.made.passed and check.made.by == reading.by and check.at <= reading.taken

    @invariant()
    def a_closed_cell_waits_for_nothing(self) -> None:
        sheet = self.life.sheet
        for cell in open_cells(sheet):
            assert required(sheet, cell)
        for row in sheet.plan.characteristics:
            for piece in sheet.pieces:
                if str(sheet.judgement(row.identity, piece.identity).verdict).startswith("conforming"):
                    assert waiting_slots(self.life.shop, sheet, (row.identity, piece.identity)) == ()

    @invariant()
    def a_question_waits_only_while_its_reading_counts(self) -> None:
        sheet = self.life.sheet
        for question in sheet.open_questions():
            assert question.reading not in sheet.withdrawn
        for name, answer in sheet.answers.items():
            assert name in sheet.questions
            if answer.answer == "new reading":
                assert sheet.withdrawn[sheet.questions[name].reading].replaced_by

    @invariant()
    def evidence_is_called_by_its_identity(self) -> None:
        for name, evidence in self.life.sheet.evidence.items():
            assert name == evidence.identity
            assert evidence.name

    @invariant()
    def what_is_under_seal_is_not_taken_back(self) -> None:
        sheet = self.life.sheet
        for seal in sheet.seals:
            content = form_4.read_content(seal.content)
            gone = {one.reading for one in content.withdrawn}
            assert gone <= set(sheet.withdrawn)
            for reading in content.readings:
                why = sheet.withdrawn.get(reading.identity)
                assert why is None or reading.identity in gone or why.replaced_by

    def teardown(self) -> None:
        """Folded one event at a time, an entry at a time, or all at once: one sheet."""
        if not hasattr(self, "life"):
            return
        steps = self.life.steps[self.life.sheet_id]
        single = None
        for step in steps:
            single = fold_sheet(single, [step], self.life.plans)
        assert single == self.life.sheet == fold_sheet(None, iter(steps), self.life.plans)
        sealed = False
        for event, _ in steps:
            assert not sealed or isinstance(event, ev.SheetReopened | ev.SheetSent | ev.ReadingsReopened)
            sealed = isinstance(event, ev.SheetSealed) or (sealed and not isinstance(event, ev.SheetReopened))


def test_any_life(life_kind: Any) -> None:
    AnyLife.life_kind = life_kind
    run_state_machine_as_test(AnyLife, settings=settings(max_examples=25, stateful_step_count=20, deadline=None))


@pytest.mark.slow
def test_many_long_lives(life_kind: Any) -> None:
    AnyLife.life_kind = life_kind
    run_state_machine_as_test(AnyLife, settings=settings(max_examples=150, stateful_step_count=50, deadline=None))
