"""A shop and its sheets in memory: acts decided and folded as the door does it, without a book."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.rows import characteristic
from inspection.instruments.method import InstrumentIssue, Method
from inspection.instruments.record import Instrument, Use
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.proofs import CheckRecord
from inspection.measuring.reading import Observed, Reading, Role, Slot
from inspection.measuring.verdict import Judgement
from inspection.quantity.reader import read
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.evolve import Step, fold_sheet, fold_shop, fold_study
from inspection.sheet.life import decide, follow_ups, other_named
from inspection.sheet.people import Duty, Person
from inspection.sheet.state import Sheet, Shop
from inspection.studies.conducted import Conducted

NOON = 1_772_452_800_000_000  # 2026-03-02 12:00 UTC
DAY = "2026-03-02"
IN_HAND = ("C-03", "C-05", "M-01", "M-02", "M-11", "R-02", "P-32", "T-06", "EYE")
TITLE = TitleBlock(inch={2: 254_000_000, 3: 127_000_000})
ROWS: tuple[dict[str, str], ...] = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005", "places": "top; foot"},
    {"number": "3", "kind": "length", "requirement": "1.250 ±.005", "repeats": "3"},
    {"number": "4", "kind": "note", "requirement": "DEBURR ALL EDGES"},
    {"number": "5", "kind": "thread", "requirement": "1/4-20 UNC-2B"},
    {"number": "6", "kind": "bore", "requirement": "⌀.5000 +.0030 -.0005"},
    {"number": "7", "kind": "length", "requirement": "3X .800 ±.005"},
    {"number": "8", "kind": "length", "requirement": "(2.000)"},
    {"number": "9", "kind": "length", "requirement": ".300 ±.005", "sampling": "first-last"},
)


def rows_of(*given: Mapping[str, str]) -> tuple[Characteristic, ...]:
    return tuple(row for each in given or ROWS for row in characteristic(each, TITLE))


def hand_crib(due: str = "2027-01-01", tags: tuple[str, ...] = IN_HAND) -> tuple[Instrument, ...]:
    return tuple(one for one in starter_crib(due=due) if one.tag in tags)


class Life:
    """One shop with one person, a crib and at most a few sheets. ``do`` decides an act and folds what follows; a
    refused act changes nothing. ``steps`` keeps every event of a sheet with its entry."""

    def __init__(self) -> None:
        self.shop = Shop()
        self.plans: dict[str, Plan] = {}
        self.sheets: dict[str, Sheet] = {}
        self.studies: dict[str, Conducted] = {}
        self.steps: dict[str, list[Step]] = {}
        self.entries = 0
        self.person = self.sheet_id = ""
        self.day = DAY

    # --- acting -------------------------------------------------------------------------------------------------------

    def entry(self, person: str | None = None, based_on: str = "", number: int | None = None) -> ev.Entry:
        """The next entry; a minute lies between two."""
        number = self.entries if number is None else number
        return ev.Entry(
            identity=str(uuid.uuid5(uuid.NAMESPACE_DNS, f"entry {number}")),
            person=self.person if person is None else person,
            at=NOON + number * 60_000_000,
            day=self.day,
            station="bench 1",
            based_on=based_on,
            previous=digest(str(number).encode()),
        )

    def do(self, act: acts.AnyAct, person: str | None = None, based_on: str = "", sign: Any = None) -> tuple[Any, ...]:
        entry = self.entry(person, based_on)
        of_sheet = self.sheets.get(act.sheet) if isinstance(act, acts.OnSheet) else None
        other = self.sheets.get(other_named(act, of_sheet))
        study = self.studies.get(getattr(act, "study", ""))
        events = decide(self.shop, of_sheet, self.plans, act, entry, sign, other=other, study=study)
        self.entries += 1
        steps = [(event, entry) for event in events]
        self.shop = fold_shop(self.shop, steps)
        if isinstance(act, acts.StartGaugeStudy | acts.OnStudy):
            study = fold_study(study, steps)
            self.studies[study.plan.identity] = study
        self.plans |= {event.plan.identity: event.plan for event in events if isinstance(event, ev.PlanIssued)}
        made = [event.sheet for event in events if isinstance(event, ev.SheetMade)]
        if of_sheet or made:
            name = of_sheet.identity if of_sheet else made[0]
            self.sheets[name] = fold_sheet(of_sheet, steps, self.plans)
            self.steps.setdefault(name, []).extend(steps)
            self.sheet_id = name
        for each in follow_ups(act, events, self.sheets_read_with):
            at, self.sheet_id = self.sheet_id, each.sheet
            self.do(each, person)
            self.sheet_id = at
        return events

    def sheets_read_with(self, instrument: str, since: int, until: int) -> list[str]:
        """The sheets with readings by an instrument in a time, as the book finds them."""
        return [
            name
            for name, sheet in self.sheets.items()
            if any(
                since < reading.taken <= until and any(part.identity == instrument for part in reading.method.parts)
                for reading in sheet.readings.values()
            )
        ]

    def refused(self, act: acts.AnyAct, **given: Any) -> tuple[Reason, ...]:
        """The reasons for which an act is refused, having changed nothing."""
        before = (self.shop, dict(self.plans), dict(self.sheets))
        with pytest.raises(Refused) as caught:
            self.do(act, **given)
        assert (self.shop, self.plans, self.sheets) == before
        assert caught.value.reasons, "a refusal without a reason"
        return caught.value.reasons

    def codes(self, act: acts.AnyAct, **given: Any) -> list[str]:
        return [reason.code for reason in self.refused(act, **given)]

    # --- a shop, a plan, a sheet --------------------------------------------------------------------------------------

    def open(self, crib: tuple[Instrument, ...] | None = None, *, checks: bool = False) -> Life:
        """The shop with one person and a crib; its rules ask for no checks before use unless ``checks``."""
        first = Person("", "Ann Ames", certificate="certificate of Ann Ames")
        self.do(acts.OpenShop(name="Ames & Daughter", first_person=first))
        self.person = next(iter(self.shop.people))
        self.do(acts.IssueInstruments(instruments=crib or hand_crib()))
        if not checks:
            self.shop = replace(self.shop, rules=replace(self.shop.rules, check_minutes=0, closing_band=0))
        return self

    def enter(self, name: str, *duties: Duty) -> str:
        person = Person("", name, duties or (Duty.INSPECTOR,), certificate=f"certificate of {name}")
        return self.do(acts.EnterPerson(person=person))[0].person.identity

    def issue(self, rows: tuple[Characteristic, ...] | None = None, part: str = "") -> Plan:
        plan = Plan("", part, 0, Part("HB-7", "B", "hinge block"), TITLE, rows or rows_of())
        return self.do(acts.IssuePlan(plan=plan))[0].plan

    def issue_again(self, change: Callable[[tuple[Characteristic, ...]], Any]) -> Plan:
        """A further issue of the sheet's part, with its rows changed."""
        return self.issue(tuple(change(self.sheet.plan.characteristics)), self.sheet.plan.part_identity)

    def make(self, serials: tuple[str, ...] = ("001", "002"), *given: Mapping[str, str]) -> Sheet:
        self.do(acts.MakeSheet(plan=self.issue(rows_of(*given)).identity, serials=serials))
        return self.sheet

    @property
    def sheet(self) -> Sheet:
        return self.sheets[self.sheet_id]

    def row(self, number: str) -> Characteristic:
        return next(row for row in self.sheet.plan.characteristics if row.number == number)

    def cell(self, number: str, piece: int = 0) -> tuple[str, str]:
        return self.row(number).identity, self.sheet.pieces[piece].identity

    def verdict(self, number: str, piece: int = 0) -> str:
        return str(self.sheet.judgement(*self.cell(number, piece)).verdict)

    def counting(self, number: str, piece: int = 0) -> list[str]:
        return [reading.written or str(reading.observed) for reading in self.sheet.counting(*self.cell(number, piece))]

    def counted(self, number: str, piece: int = 0) -> str:
        """The identity of the one reading of a cell that counts."""
        (reading,) = self.sheet.counting(*self.cell(number, piece))
        return str(reading.identity)

    # --- acts on the sheet --------------------------------------------------------------------------------------------

    def reading(self, number: str, text: str, piece: int = 0, slot: Slot | None = None, **more: Any) -> Any:
        """The act of reading a row: a number as typed, or what was seen."""
        row = self.row(number)
        seen = Observed(text) if text in tuple(Observed) else None
        slot = slot or Slot((*row.places, "")[0], 1, Role.FINDING if seen else Role.VALUE)
        quantity = None if seen else read(text, unit=row.requirement.unit, kind=row.requirement.kind)
        return acts.TakeReading(
            sheet=self.sheet_id,
            characteristic=row.identity,
            piece=self.sheet.pieces[piece].identity,
            slot=slot,
            quantity=quantity,
            observed=seen,
            **more,
        )

    def take(self, number: str, text: str, piece: int = 0, slot: Slot | None = None, **more: Any) -> Reading:
        given = {name: more.pop(name) for name in ("person", "based_on") if name in more}
        return self.do(self.reading(number, text, piece, slot, **more), **given)[0].reading

    def take_back(self, reading: Reading, reason: str = "", **given: Any) -> tuple[Any, ...]:
        return self.do(acts.TakeBack(sheet=self.sheet_id, reading=reading.identity, reason=reason), **given)

    def put_back(self, reading: Reading, reason: str = "", **given: Any) -> tuple[Any, ...]:
        return self.do(acts.PutBack(sheet=self.sheet_id, reading=reading.identity, reason=reason), **given)

    def method(self, tag: str, use: Use = Use.OUTSIDE) -> Method:
        instrument = self.shop.by_tag(tag)
        assert instrument is not None
        return Method(use, (InstrumentIssue(instrument.identity, instrument.issue),))

    def choose(self, number: str, tag: str, use: Use = Use.OUTSIDE, reason: str = "at hand") -> tuple[Any, ...]:
        row = self.row(number).identity
        method = self.method(tag, use)
        return self.do(acts.ChooseInstrument(sheet=self.sheet_id, characteristic=row, method=method, reason=reason))

    def check(self, tag: str, bad: str = "", person: str | None = None, **more: Any) -> CheckRecord:
        """Check an instrument well, or seeing the line ``bad`` not as it should be."""
        instrument = self.shop.by_tag(tag)
        assert instrument is not None
        set_up = more.pop("configuration", None) or configured(instrument)
        answers = more.pop("answers", None) or good_answers(instrument, set_up, closing=more.get("closing", False))
        if bad:
            answers = tuple(replace(one, seen=False) if one.line == bad else one for one in answers)
        act = acts.RecordCheck(
            instrument=instrument.identity, issue=instrument.issue, configuration=set_up, answers=answers, **more
        )
        return self.do(act, person)[0].check

    def judgement(self, number: str, piece: int = 0) -> Judgement:
        return self.sheet.judgement(*self.cell(number, piece))

    def change_instrument(self, tag: str, **fields: Any) -> None:
        instrument = self.shop.by_tag(tag)
        assert instrument is not None
        day, self.day = self.day, max(self.day, fields.get("certified", ""))
        self.do(acts.IssueInstrument(instrument=replace(instrument, **fields)))
        self.day = day

    def question(self) -> str:
        """The one slip question that waits."""
        (question,) = self.sheet.open_questions()
        return question.identity

    def signer(self, person: str | None = None) -> Callable[[bytes], ev.Signature]:
        """A signer that signs nothing but can be recognised: the digest stands for the signature."""
        certificate = self.shop.people[person or self.person].certificate
        return lambda content: ev.Signature("none", digest(content), certificate)

    def sign(self, incomplete: str = "", person: str | None = None) -> Any:
        act = acts.SignSheet(sheet=self.sheet_id, incomplete=incomplete)
        (sealed,) = self.do(act, person=person, sign=self.signer(person))
        return sealed

    def reopen(self, reason: str = "more came in") -> None:
        self.do(acts.Reopen(sheet=self.sheet_id, reason=reason))


@pytest.fixture(scope="session")
def life_kind() -> type[Life]:
    """The class of lives, for tests that begin several."""
    return Life


@pytest.fixture
def shop_life() -> Life:
    """A shop with a crib and no sheet."""
    return Life().open()


@pytest.fixture
def life() -> Life:
    """A shop with a sheet of eleven rows on two pieces."""
    made = Life().open()
    made.make()
    return made


@pytest.fixture
def listed(life_kind: Any) -> Any:
    """A sheet of five rows on two pieces in a shop that asks for no checks."""
    from tests.sheet.points_bench import Listed

    return Listed(life_kind().open())


@pytest.fixture
def checked(life_kind: Any) -> Any:
    """The same in a shop that asks for checks, for closing ones under .002 in."""
    from tests.sheet.points_bench import Listed

    life = life_kind().open(checks=True)
    life.shop = replace(life.shop, rules=replace(life.shop.rules, closing_band=2 * 25_400_000))
    return Listed(life)
