"""A small shop in a real book: clock and identities are fixed, so that every run writes the same bytes."""

from __future__ import annotations

import itertools
import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import InstrumentKind
from inspection.instruments.rules import Rules
from inspection.instruments.starter import starter_crib
from inspection.layout.layout import Column, Layout, Table
from inspection.measuring.checks import Configuration, configured
from inspection.measuring.checks_good import good_answers
from inspection.measuring.checks_life import Upset
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Slot
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head
from inspection.sheet.nonconformance import Disposition
from inspection.sheet.people import Person
from inspection.sheet.review import Returned, StatementKind
from inspection.sheet.state import Sheet
from inspection.studies.conducted import Specimen, StudyKind
from storage.book.attached import attached
from storage.book.clock import Moment
from storage.book.door import Book
from storage.seals.keys import Key, make_key, unlock

INCH = 25_400_000_000
THOU = INCH // 1000
NOON = 1_772_452_800_000_000  # 2026-03-02 12:00 UTC
PASSPHRASE = "four grey geese"
CERTIFICATE = b"%PDF-1.7\nheat 55-201: 0.5 % silicon\n"
WORKBOOK = b"stands for a customer's blank workbook"
#: Rules of a shop that asks for no checks before use: these tests are about the book.
WITHOUT_CHECKS = Rules(check_minutes=0, closing_band=0, lead_may_approve_own=True)
IN_HAND = (InstrumentKind.OUTSIDE_MICROMETER, InstrumentKind.DIGITAL_CALIPER, InstrumentKind.RULE)


class Clockwork:
    """A clock that ticks a second an entry, and identities that count."""

    def __init__(self, name: str = "bench") -> None:
        self.name = name
        self.seconds, self.numbers = itertools.count(), itertools.count()
        self.day = "2026-03-02"

    def clock(self) -> Moment:
        return Moment(NOON + next(self.seconds) * 1_000_000, self.day)

    def identity(self) -> str:
        return str(uuid.uuid5(uuid.NAMESPACE_DNS, f"{self.name} {next(self.numbers)}"))


def row(number: int, nominal: int) -> Characteristic:
    """A length of ±.005 inch; the number is its balloon."""
    requirement = Requirement(
        f"{nominal / INCH:.3f} ±.005",
        Form.PLUS_MINUS,
        decimals=3,
        nominal=nominal,
        lower=nominal - 5 * THOU,
        upper=nominal + 5 * THOU,
        band=10 * THOU,
    )
    return Characteristic("", str(number), FeatureKind.LENGTH, requirement)


def plan(rows: int, number: str = "HB-7") -> Plan:
    """A plan whose rows are .501, .502 … inch, over again after 400."""
    part = Part(number, "B", "Hinge block", customer="Nobody & Sons")
    lengths = (INCH // 2 + (i % 400 + 1) * THOU for i in range(rows))
    return Plan("", "", 0, part, TitleBlock(), tuple(row(i, length) for i, length in enumerate(lengths, 1)))


class Bench:
    """A book with one person at it, and one sheet once ``make_sheet`` was called."""

    def __init__(self, path: Path, key: Key, station: str = "bench 1", clockwork: Clockwork | None = None) -> None:
        self.path, self.station = path, station
        self.time = clockwork or Clockwork(station)
        self.book = Book.new(path, clock=self.time.clock, identities=self.time.identity, station=station)
        first = Person("", "Ann Ames", certificate=key.certificate, locked_key=key.locked_key)
        shop = self.book.do(acts.OpenShop(name="Ames & Daughter", first_person=first), person="").shop
        self.person = next(iter(shop.people))
        self.sheet_id = ""

    def do(self, act: Any, **named: Any) -> Any:
        return self.book.do(act, person=self.person, **named)

    def make_sheet(self, rows: int = 4, serials: tuple[str, ...] = ("001", "002")) -> Sheet:
        if not self.book.shop().crib:
            hand = [one for one in starter_crib(due="2027-01-01") if one.kind in IN_HAND]
            self.do(acts.IssueInstruments(instruments=tuple(hand)))
            self.do(acts.IssueRules(rules=WITHOUT_CHECKS))
        issued = self.do(acts.IssuePlan(plan=plan(rows))).events[0].plan
        made = self.do(acts.MakeSheet(plan=issued.identity, serials=serials, head=Head(order="4711")))
        self.sheet_id = made.stream
        return made.sheet

    @property
    def sheet(self) -> Sheet:
        return self.book.sheet(self.sheet_id)

    def reading(self, place: int, piece: int = 0, off: int = 0, **more: Any) -> acts.TakeReading:
        """The act of reading row ``place`` (from 0) ``off`` thou over its nominal."""
        sheet = self.sheet
        chosen = sheet.plan.characteristics[place]
        count = chosen.requirement.nominal + off * THOU
        return acts.TakeReading(
            sheet=self.sheet_id,
            characteristic=chosen.identity,
            piece=sheet.pieces[piece].identity,
            slot=Slot(),
            quantity=Quantity(count, Kind.LENGTH, "in", f"{count / INCH:.4f}", 4),
            **more,
        )

    def take(self, place: int, piece: int = 0, off: int = 0, **more: Any) -> Any:
        return self.do(self.reading(place, piece, off, **more))

    def in_hand(self, sheet: Sheet, place: int = 1) -> tuple[str, int]:
        """Identity and issue of the instrument that a row is read with."""
        assessment = sheet.assignments[sheet.plan.characteristics[place].identity].assessment
        part = assessment.method.parts[0]
        return part.identity, part.issue

    def issue(self, instrument: str, issue: int) -> Any:
        return self.book.shop().issues[instrument, issue]

    def check(self, sheet: Sheet, place: int = 1, good: bool = True, **more: Any) -> Any:
        """Check the instrument that a row is read with; a bad check sees its first line not as it should be."""
        instrument, issue = self.in_hand(sheet, place)
        held = self.issue(instrument, issue)
        answers = good_answers(held)
        if not good:
            answers = (replace(answers[0], seen=False), *answers[1:])
        act = acts.RecordCheck(
            instrument=instrument, issue=issue, configuration=configured(held), answers=answers, **more
        )
        return self.do(act)

    def enter(self, name: str, kind: EvidenceKind, files: dict[str, bytes] | None = None, **more: Any) -> Any:
        """Enter a material, process or test with these files."""
        given = {attached(file, content): content for file, content in (files or {}).items()}
        evidence = Evidence("", kind, name, files=tuple(given), **more)
        act = acts.EnterEvidence(sheet=self.sheet_id, evidence=evidence)
        return self.do(act, files={one.digest: content for one, content in given.items()})

    def keep_documents(self) -> None:
        """Keep the signed PDF of the round with a signature for all that was signed of it; here it is no real one."""
        files: tuple[Attached, ...] = ()
        for signs in (self.sheet.seals[-1].digest, *(stated.digest for stated in self.sheet.statements)):
            content = f"%PDF part {len(files)} of {signs}".encode()
            files = (*files, attached(f"hb-7.{len(files)}.pdf", content))
            act = acts.KeepDocument(sheet=self.sheet_id, signs=signs, files=files)
            self.do(act, files={files[-1].digest: content})

    def sign(self, incomplete: str = "") -> Any:
        person = self.book.shop().people[self.person]
        return self.do(acts.SignSheet(sheet=self.sheet_id, incomplete=incomplete), sign=unlock(person, PASSPHRASE))

    def state(self, kind: StatementKind, words: str = "") -> Any:
        """Make one of the three statements of the sheet."""
        person = self.book.shop().people[self.person]
        act = acts.MakeStatement(sheet=self.sheet_id, kind=kind, words=words)
        return self.do(act, sign=unlock(person, PASSPHRASE))


@pytest.fixture(scope="session")
def key() -> Key:
    return make_key("Ann Ames", PASSPHRASE, NOON)


@pytest.fixture(scope="session")
def bench_kind() -> type[Bench]:
    """The class of benches, for fixtures that keep one longer than a test."""
    return Bench


@pytest.fixture
def bench(tmp_path: Path, key: Key) -> Iterator[Bench]:
    made = Bench(tmp_path / "a shop.tenthwright", key)
    yield made
    made.book.close()


@pytest.fixture
def new_bench(key: Key):
    """Make further benches: ``new_bench(path, station)``."""
    made: list[Bench] = []

    def make(path: Path, station: str = "bench 1") -> Bench:
        made.append(Bench(path, key, station))
        return made[-1]

    yield make
    for one in made:
        one.book.close()


def full_story(bench: Bench) -> None:
    """Every kind of act once: readings, a slip kept, a correction, back and forth, another plan, seals, files."""
    bench.do(acts.EnterPerson(person=Person("", "Bo Birch")))
    bench.do(acts.IssueRules(rules=bench.book.shop().rules))
    workbook = attached("fai.xlsx", WORKBOOK)
    table = Table("FAI", 5, 10, (Column("number", 1), Column("result", 2, 0)))
    layout = Layout(customer="Harrow Mills", name="FAI", workbook=workbook, tables=(table,))
    bench.do(acts.IssueLayout(layout=layout), files={workbook.digest: WORKBOOK})
    sheet = bench.make_sheet()
    bench.do(acts.RunBy(sheet=bench.sheet_id, order="feature"))
    first = bench.take(0).events[0].reading
    bench.take(0, off=1, replaces=first.identity, reason="held askew")
    bench.take(1, off=100)
    (question,) = bench.sheet.open_questions()
    bench.do(acts.LeaveOpen(sheet=bench.sheet_id, question=question.identity))
    bench.do(acts.KeepAsWritten(sheet=bench.sheet_id, question=question.identity))
    taken = bench.take(2).events[0].reading
    bench.do(acts.TakeBack(sheet=bench.sheet_id, reading=taken.identity))
    bench.do(acts.PutBack(sheet=bench.sheet_id, reading=taken.identity))
    chosen = sheet.assignments[sheet.plan.characteristics[3].identity].assessment.method
    bench.do(
        acts.ChooseInstrument(
            sheet=bench.sheet_id, characteristic=sheet.plan.characteristics[3].identity, method=chosen, reason="at hand"
        )
    )
    bench.do(acts.WriteNote(sheet=bench.sheet_id, characteristic=taken.characteristic, text="burr on the edge ⌀"))
    bench.do(acts.WriteHead(sheet=bench.sheet_id, head=Head(order="4711", order_line="3", cause="new part")))
    bar = (
        bench.enter("2024-T351 plate", EvidenceKind.MATERIAL, {"mill certificate.pdf": CERTIFICATE}).events[0].evidence
    )
    bench.enter("anodise, black", EvidenceKind.PROCESS)
    bench.do(acts.StrikeEvidence(sheet=bench.sheet_id, evidence=bar.identity, reason="another heat was used"))
    again = replace(sheet.plan, identity="", part=replace(sheet.plan.part, revision="C"))
    issued = bench.do(acts.IssuePlan(plan=again)).events[0].plan
    bench.do(acts.AdoptPlan(sheet=bench.sheet_id, plan=issued.identity))
    bench.do(acts.ChooseRoute(sheet=bench.sheet_id))
    bench.sign(incomplete="second piece is still in the machine")
    bench.do(acts.RecordSent(sheet=bench.sheet_id, form="pdf", name="hb-7.pdf", digest="ab" * 32))
    bench.do(acts.Reopen(sheet=bench.sheet_id, reason="second piece has come"))
    bench.take(0, piece=1)
    bench.sign(incomplete="two rows wait")
    bench.do(acts.Reopen(sheet=bench.sheet_id, reason="the two rows"))
    prove(bench)
    review(bench)


def review(bench: Bench) -> None:
    """A return, a piece worked on, rows read again, a point answered, and a statement, on a sheet of their own."""
    made = bench.do(acts.MakeSheet(plan=bench.sheet.plan.identity, serials=("7",)))
    kept, bench.sheet_id = bench.sheet_id, made.stream
    bench.take(0, off=9)
    piece, row = made.sheet.pieces[0].identity, made.sheet.plan.characteristics[0].identity
    raised = acts.RaiseNonconformance(
        sheet=bench.sheet_id, piece=piece, characteristics=(row,), number="NC-7", what="over by a feed step"
    )
    name = bench.do(raised).events[0].nonconformance.identity
    bench.do(
        acts.DisposeNonconformance(
            sheet=bench.sheet_id, nonconformance=name, disposition=Disposition.REWORK, words="turn it down"
        )
    )
    for place in range(4):
        bench.take(place)
    bench.sign()
    words = (Returned(row, piece, "read it at both ends"),)
    bench.do(acts.ReturnSheet(sheet=bench.sheet_id, rows=words))
    bench.sign()
    act = bench.reading(0)
    again = acts.ReadRowAgain(
        sheet=act.sheet, characteristic=act.characteristic, piece=act.piece, slot=act.slot, quantity=act.quantity
    )
    bench.do(again)
    bench.do(acts.AnswerPoint(sheet=bench.sheet_id, point="marginal:1", words="read again"))
    reading = next(name for names in bench.sheet.standing.values() for name in names)
    marked = acts.MarkForReview(
        sheet=bench.sheet_id,
        instrument=bench.sheet.readings[reading].method.parts[0].identity,
        error=-THOU,
        size=INCH // 2,
        since=0,
        readings=(reading,),
        words="found out at its calibration",
    )
    mark = bench.do(marked).events[0].mark.identity
    bench.do(acts.AnswerMark(sheet=bench.sheet_id, mark=mark, words="read again, it holds"))
    person = bench.book.shop().people[bench.person]
    approved = acts.MakeStatement(sheet=bench.sheet_id, kind=StatementKind.APPROVED)
    bench.do(approved, sign=unlock(person, PASSPHRASE))
    said = acts.MakeStatement(sheet=bench.sheet_id, kind=StatementKind.NOT_COMPLETE, words="the notes are missing")
    bench.do(said, sign=unlock(person, PASSPHRASE))
    bench.do(marked)
    bench.keep_documents()
    bench.do(acts.AmendSheet(amended=bench.sheet_id, reason="the notes are missing"))
    bench.sheet_id = kept


def prove(bench: Bench) -> None:
    """What doubt is computed from: checks good and failed, a mishap, a study, temperatures, a rule, a mean."""
    sheet = bench.sheet
    rule = DecisionRule(RuleKind.GUARDED)
    bench.do(acts.ChooseDecisionRule(sheet=bench.sheet_id, decision=rule, reason="agreed by letter"))
    bench.do(acts.LogTemperature(sheet=bench.sheet_id, part=23_000, instrument=22_500, thermometer="T-1", within=500))
    bench.check(sheet)
    bench.take(1, piece=1, off=5)
    row = sheet.plan.characteristics[1].identity
    piece = sheet.pieces[1].identity
    bench.do(acts.DeclareRepeats(sheet=bench.sheet_id, characteristic=row, piece=piece, repeats=4))
    instrument, issue = bench.in_hand(sheet)
    groups = ((INCH // 2, INCH // 2 + THOU),)
    fitted = configured(bench.issue(instrument, issue))
    recorded = bench.do(acts.RecordStudy(instrument=instrument, configuration=fitted, groups=groups))
    bench.do(acts.WithdrawStudy(study=recorded.events[0].study.identity, reason="read on the wrong block"))
    study_gauge(bench, instrument, fitted)
    bench.check(sheet, good=False)
    bench.do(acts.ReportUpset(instrument=instrument, what=Upset.DROPPED, note="off the bench"))


def study_gauge(bench: Bench, instrument: str, fitted: Configuration) -> None:
    """A gauge study that is begun, questioned and given up."""
    plan = acts.StartGaugeStudy(
        kind=StudyKind.STANDARDS,
        title="half-inch block",
        instrument=instrument,
        configuration=fitted,
        people=(bench.person,),
        specimens=(Specimen("1", INCH // 2),),
        trials=3,
    )
    study = bench.do(plan).stream
    for run, count in enumerate((INCH // 2, INCH // 2 + THOU // 1000)):  # the second is none that it can show
        quantity = Quantity(count, Kind.LENGTH, "in", f"{count / INCH:.6f}", 6)
        bench.do(acts.TakeStudyReading(study=study, run=run, quantity=quantity))
    waiting = bench.book.study(study).waiting(bench.person)
    bench.do(acts.KeepStudyReading(study=study, reading=waiting.identity))
    bench.do(acts.GiveUpStudy(study=study, reason="the block was lent out"))


@pytest.fixture
def told(bench: Bench) -> Bench:
    """A bench whose book has seen every kind of act."""
    full_story(bench)
    return bench


class Story:
    """A closed book that has seen every kind of act, to be tampered with."""

    def __init__(self, path: Path, sheet_id: str) -> None:
        self.path, self.sheet_id = path, sheet_id


@pytest.fixture(scope="session")
def told_once(tmp_path_factory: pytest.TempPathFactory, key: Key) -> Story:
    bench = Bench(tmp_path_factory.mktemp("told") / "told.tenthwright", key)
    full_story(bench)
    bench.book.close()
    return Story(bench.path, bench.sheet_id)


@pytest.fixture
def story(told_once: Story, tmp_path: Path) -> Story:
    """A copy of that book."""
    return Story(Path(shutil.copy(told_once.path, tmp_path / "story.tenthwright")), told_once.sheet_id)
