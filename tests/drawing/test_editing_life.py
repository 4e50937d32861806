"""Any life of a plan: typed, pasted, split, renumbered, undone, issued, and sheets sealed in between.

Identities never change, collide or move to another requirement, and what was sealed stays the same byte for byte.
"""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from inspection.drawing import editing, editing_numbers
from inspection.drawing.editing import Draft
from inspection.drawing.editing_history import History
from inspection.drawing.editing_issue import draft_of, faults_of, plan_of, reader_of
from inspection.drawing.editing_text import block_of, text_of
from inspection.drawing.plan import Plan
from inspection.instruments.starter import starter_crib
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.edition import PROGRAM
from inspection.sheet.evolve import Step, fold_sheet, fold_shop
from inspection.sheet.life import decide
from inspection.sheet.people import Person
from inspection.sheet.state import Shop

STEP = Reason("plan.step.type")
FIELDS = ("number", "kind", "requirement", "name", "place")
NUMBERS = st.one_of(st.integers(1, 30).map(str), st.sampled_from(["7.1", "7.2", "7.9", "7.10", "12A", "N1"]))
REQUIREMENTS = st.sampled_from(
    [".500 ±.005", "1.250 ±.005", "2X .300 ±.002", "3X .800 ±.005", ".75 ±.01", "1.000 MAX", "(2.0)"]
)
LINES = st.lists(st.tuples(NUMBERS, st.just("length"), REQUIREMENTS), min_size=1, max_size=4)
HEAD = {"number": "KT-9", "revision": "A", "default .xxx": "±.005"}
PLACE = st.integers(0, 40)


class PlanLife(RuleBasedStateMachine):
    """A draft beside the shop that it is issued in."""

    def __init__(self) -> None:
        super().__init__()
        self.shop, self.plans = Shop(), dict[str, Plan]()
        self.entries = 0
        self.history = History(Draft(HEAD))
        self.ever: set[str] = set()
        self.sealed: list[tuple[list[Step], bytes]] = []

    # --- the shop -----------------------------------------------------------------------------------------------------

    @initialize(lines=st.lists(st.tuples(NUMBERS, st.just("length"), REQUIREMENTS), min_size=3, max_size=8))
    def open(self, lines: list[tuple[str, str, str]]) -> None:
        person = Person("", "Mira Oduya", certificate="hers")
        self.person = ""
        self._act(acts.OpenShop(name="Quillfeather Machine", first_person=person))
        self.person = next(iter(self.shop.people))
        hand = tuple(one for one in starter_crib(due="2099-01-01") if one.tag in ("C-03", "M-01", "M-02"))
        self._act(acts.IssueInstruments(instruments=hand))
        numbered = tuple((str(n), kind, written) for n, (_, kind, written) in enumerate(lines, 1))
        self._did(editing.paste(self.draft, numbered, [], FIELDS).draft)
        self.issue()

    def _entry(self) -> ev.Entry:
        name = str(uuid.uuid5(uuid.NAMESPACE_DNS, f"entry {self.entries}"))
        previous = digest(str(self.entries).encode())
        at = 1_772_452_800_000_000 + self.entries
        return ev.Entry(identity=name, person=self.person, at=at, day="2026-03-02", previous=previous)

    def _act(self, act: acts.AnyAct, sheet: Any = None, sign: Any = None) -> list[Step]:
        entry = self._entry()
        steps = [(event, entry) for event in decide(self.shop, sheet, self.plans, act, entry, sign)]
        self.entries += 1
        self.shop = fold_shop(self.shop, steps)
        return steps

    # --- the draft ----------------------------------------------------------------------------------------------------

    @property
    def draft(self) -> Draft:
        return self.history.present

    def _did(self, after: Draft, *, keeps: tuple[str, ...] = ("requirement",)) -> None:
        """What no step may do: make an identity up, use one twice, or give one to another requirement."""
        before = {row.identity: row for row in self.draft.rows if row.identity}
        held = [row.identity for row in after.rows if row.identity]
        assert len(set(held)) == len(held) and set(held) <= before.keys()
        for row in after.rows:
            was = before.get(row.identity)
            assert was is None or any(row.text(field) == was.text(field) for field in keeps)
        self.history = self.history.did(STEP, after)

    def _try(self, step: Any, *given: Any, **keeps: Any) -> None:
        try:
            after = step(self.draft, *given)
        except Refused:
            return
        self._did(after, **keeps)

    def _place(self, place: int) -> int:
        return place % max(len(self.draft.rows), 1)

    @rule(place=PLACE, number=NUMBERS)
    def type_a_number(self, place: int, number: str) -> None:
        self._did(editing.type_cells(self.draft, self._place(place), {"number": number}))

    @rule(place=PLACE, written=REQUIREMENTS)
    def type_a_requirement(self, place: int, written: str) -> None:
        cells = {"requirement": written, "kind": "length"}
        self._did(editing.type_cells(self.draft, self._place(place), cells), keeps=("number",))

    @rule(place=PLACE)
    def insert(self, place: int) -> None:
        self._did(editing.insert(self.draft, self._place(place)))

    @rule(places=st.sets(PLACE, max_size=3))
    def delete(self, places: set[int]) -> None:
        self._did(editing.delete(self.draft, {self._place(place) for place in places}))

    @rule(places=st.sets(PLACE, min_size=1, max_size=3), to=PLACE)
    def move(self, places: set[int], to: int) -> None:
        self._did(editing.move(self.draft, {self._place(place) for place in places}, self._place(to)))

    @rule(place=PLACE, lines=LINES, left=st.integers(0, 2))
    def paste_lines(self, place: int, lines: list[tuple[str, str, str]], left: int) -> None:
        at = self._place(place)
        block = block_of(text_of(tuple(line[left:] for line in lines)))
        rows = range(at, len(self.draft.rows))
        self._did(editing.paste(self.draft, block, rows, FIELDS[left:]).draft, keeps=self._kept_by_paste(left))

    @staticmethod
    def _kept_by_paste(left: int) -> tuple[str, ...]:
        return ("number", "requirement") if left == 0 else ("number",)

    @rule(first=PLACE, last=PLACE, to=PLACE)
    def copy_and_paste(self, first: int, last: int, to: int) -> None:
        rows = range(self._place(first), min(self._place(last) + 1, self._place(first) + 4))
        block = block_of(text_of(editing.copied(self.draft, rows, FIELDS)))
        over = range(self._place(to), len(self.draft.rows))
        self._did(editing.paste(self.draft, block, over, FIELDS).draft, keeps=("number", "requirement"))

    @precondition(lambda self: self.draft.rows)
    @rule(place=PLACE)
    def split(self, place: int) -> None:
        self._try(editing_numbers.split, self._place(place))

    @precondition(lambda self: self.draft.rows)
    @rule(place=PLACE)
    def join(self, place: int) -> None:
        self._try(editing_numbers.join, self._place(place), ())

    @precondition(lambda self: self.draft.rows)
    @rule(place=PLACE, number=NUMBERS)
    def renumber(self, place: int, number: str) -> None:
        self._did(editing_numbers.renumber(self.draft, self._place(place), number))

    @rule(place=PLACE, by=st.integers(-3, 9))
    def shift(self, place: int, by: int) -> None:
        self._try(editing_numbers.shift, range(self._place(place), len(self.draft.rows)), by)

    @rule(ordered=st.booleans())
    def order(self, ordered: bool) -> None:
        self._did(
            editing_numbers.number_in_order(self.draft) if ordered else editing_numbers.sort_by_number(self.draft)
        )

    @rule(steps=st.integers(1, 4))
    def undo(self, steps: int) -> None:
        for _ in range(steps):
            self.history = self.history.undone()

    @rule(steps=st.integers(1, 4))
    def redo(self, steps: int) -> None:
        for _ in range(steps):
            self.history = self.history.redone()

    # --- issues and sheets --------------------------------------------------------------------------------------------

    @rule()
    def issue(self) -> None:
        """Issue what can be read; the rows at fault are given up first."""
        reader = reader_of(self.draft)
        self._did(editing.delete(self.draft, {fault.row for fault in faults_of(self.draft, reader)}))
        try:
            asked = plan_of(self.draft, reader)
        except Refused:
            return
        ((event, _entry),) = self._act(acts.IssuePlan(plan=asked))
        plan = event.plan
        given = [row.identity for row in plan.characteristics]
        asked_for = [row.identity for row in asked.characteristics]
        assert [was or now for was, now in zip(asked_for, given, strict=True)] == given
        new = set(given) - set(asked_for)
        assert len(set(given)) == len(given) and not new & self.ever
        self.ever |= new
        self.plans[plan.identity] = plan
        self.history = History(draft_of(plan))
        again = plan_of(self.draft, reader_of(self.draft))
        assert again.characteristics == plan.characteristics

    @precondition(lambda self: self.plans)
    @rule()
    def seal_a_sheet(self) -> None:
        plan = max(self.plans.values(), key=lambda plan: plan.issue)
        steps = self._act(acts.MakeSheet(plan=plan.identity, serials=("001",)))
        sheet = fold_sheet(None, steps, self.plans)
        judged = any(row.requirement.judged for row in plan.characteristics)
        act = acts.SignSheet(sheet=sheet.identity, incomplete="only the plan is looked at" if judged else "")
        steps += self._act(act, sheet, lambda content: ev.Signature("none", digest(content), "hers"))
        self.sealed.append((steps, steps[-1][0].content.encode()))

    @invariant()
    def identities_are_known_and_single(self) -> None:
        held = [row.identity for row in self.draft.rows if row.identity]
        assert len(set(held)) == len(held) and set(held) <= self.ever

    @invariant()
    def what_was_sealed_stays(self) -> None:
        for steps, content in self.sealed[-3:]:
            self._same(steps, content)

    def _same(self, steps: list[Step], content: bytes) -> None:
        """The sheet folded anew beside every later issue, and written as it was signed."""
        before = fold_sheet(None, steps[:-1], self.plans)
        (event, entry) = steps[-1]
        written = form_4.write_content(form_4.content_of(self.shop, before, entry, PROGRAM, event.incomplete))
        assert written == content
        assert digest(content) == event.digest

    def teardown(self) -> None:
        for steps, content in self.sealed:
            self._same(steps, content)


def run(examples: int) -> None:
    from hypothesis.stateful import run_state_machine_as_test

    run_state_machine_as_test(PlanLife, settings=settings(max_examples=examples, stateful_step_count=40, deadline=None))


def test_any_life_of_a_plan() -> None:
    run(25)


@pytest.mark.slow
def test_a_thousand_lives_of_plans() -> None:
    run(1000)
