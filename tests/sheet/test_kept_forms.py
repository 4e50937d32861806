"""Every form is read for ever: kept entries and a kept seal give the values that their bytes say, and those of the
newest form the same bytes again."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple, get_args

import msgspec
import pytest

from inspection.measuring.reading import Observed, Role, Slot
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_1, form_2, form_3, form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.forms import said_by
from inspection.sheet.evolve import fold_sheet, fold_shop
from inspection.sheet.state import Sheet, Shop

#: The acts and events that came with each form but the first.
CAME: dict[int, set[Any]] = {
    2: {
        acts.WriteHead,
        acts.EnterEvidence,
        acts.StrikeEvidence,
        ev.HeadWritten,
        ev.EvidenceEntered,
        ev.EvidenceStruck,
    },
    3: {
        acts.IssueLayout,
        acts.RecordCheck,
        acts.RemoveForCause,
        acts.ReportUpset,
        acts.RecordStudy,
        acts.ChooseDecisionRule,
        acts.LogTemperature,
        acts.DeclareRepeats,
        acts.ReopenReadings,
        acts.Reweigh,
        acts.RaiseNonconformance,
        acts.DisposeNonconformance,
        acts.AnswerPoint,
        acts.ReadRowAgain,
        acts.ReturnSheet,
        acts.MakeStatement,
        acts.AmendSheet,
        ev.LayoutIssued,
        ev.NonconformanceRaised,
        ev.NonconformanceDisposed,
        ev.PieceReworked,
        ev.PieceLeft,
        ev.PointAnswered,
        ev.RowReadAgain,
        ev.SheetReturned,
        ev.StatementSigned,
        ev.ReadingsCarried,
        ev.CheckRecorded,
        ev.UpsetReported,
        ev.StudyRecorded,
        ev.DecisionRuleChosen,
        ev.TemperatureLogged,
        ev.RepeatsDeclared,
        ev.ReadingsReopened,
    },
    4: {
        acts.MarkForReview,
        acts.AnswerMark,
        acts.TakeStudyIntoUse,
        acts.WithdrawStudy,
        acts.StartGaugeStudy,
        acts.TakeStudyReading,
        acts.KeepStudyReading,
        acts.GiveUpStudy,
        acts.KeepDocument,
        ev.SheetMarked,
        ev.MarkAnswered,
        ev.StudyWithdrawn,
        ev.GaugeStudyStarted,
        ev.StudyReadingTaken,
        ev.StudyReadingKept,
        ev.GaugeStudyGivenUp,
        ev.DocumentKept,
    },
}


class Kept(NamedTuple):
    """What was kept of a form when it was released, and its reader."""

    number: int
    reader: ModuleType
    lines: list[bytes]
    content: bytes

    @classmethod
    def of(cls, number: int, reader: ModuleType) -> Kept:
        folder = Path(__file__).parent / f"form_{number}"
        lines = (folder / "entries.jsonl").read_bytes().splitlines()
        return cls(number, reader, lines, (folder / "content.json").read_bytes())

    @property
    def later(self) -> set[Any]:
        """Acts and events that came with a later form."""
        return set().union(*(came for number, came in CAME.items() if number > self.number))

    def records(self) -> list[Any]:
        return [self.reader.read_entry(line) for line in self.lines]

    def folded(self) -> tuple[Shop, Sheet]:
        """Shop and sheet at the moment before the first seal."""
        kept = self.records()
        until = next(i for i, record in enumerate(kept) if isinstance(record.act, acts.SignSheet))
        steps = [(event, record.entry) for record in kept[:until] for event in record.events]
        plans = {event.plan.identity: event.plan for event, _ in steps if isinstance(event, ev.PlanIssued)}
        of_sheet = [(event, rec.entry) for rec in kept[:until] if rec.stream != "shop" for event in rec.events]
        return fold_shop(Shop(), steps), fold_sheet(None, of_sheet, plans)


FORMS = [Kept.of(number, reader) for number, reader in enumerate((form_1, form_2, form_3, form_4), 1)]
NEWEST = FORMS[-1]

in_every_form = pytest.mark.parametrize("kept", FORMS, ids=lambda kept: f"form {kept.number}")
from_the_second = pytest.mark.parametrize("kept", FORMS[1:], ids=lambda kept: f"form {kept.number}")
from_the_third = pytest.mark.parametrize("kept", FORMS[2:], ids=lambda kept: f"form {kept.number}")


def holds(read: Any, kept: Any) -> bool:
    """Whether everything in the kept plain values is in those read; a field that came later may stand beside."""
    if isinstance(kept, dict):
        return isinstance(read, dict) and all(key in read and holds(read[key], kept[key]) for key in kept)
    if isinstance(kept, list):
        pairs = zip(read, kept, strict=True) if isinstance(read, list | tuple) else [(None, kept)]
        return all(holds(*pair) for pair in pairs)
    return bool(read == kept)


@in_every_form
def test_every_act_and_event_is_kept(kept: Kept) -> None:
    records = kept.records()
    assert {type(record.act) for record in records} == set(get_args(acts.AnyAct)) - kept.later
    assert {type(event) for record in records for event in record.events} == set(get_args(ev.AnyEvent)) - kept.later


@in_every_form
def test_a_kept_entry_says_all_that_its_bytes_say(kept: Kept) -> None:
    for line in kept.lines:
        record = kept.reader.read_entry(line)
        assert record.form == kept.number
        assert holds(msgspec.to_builtins(record, str_keys=True), json.loads(line)), line


@pytest.mark.parametrize("line", NEWEST.lines, ids=lambda line: json.loads(line)["act"]["type"])
def test_an_entry_of_the_newest_form_is_written_back_to_the_same_bytes(line: bytes) -> None:
    record = form_4.read_entry(line)
    again = form_4.write_entry(
        stream=record.stream, sequence=record.sequence, entry=record.entry, act=record.act, events=record.events
    )
    assert again == line


@in_every_form
def test_kept_entries_hold_the_values_they_held(kept: Kept) -> None:
    """Told here apart from the reader: a reading, its correction, what was seen, a slip, an indication, a seal."""
    taken = [
        event.reading for record in kept.records() for event in record.events if isinstance(event, ev.ReadingTaken)
    ]
    first, second = taken[:2]
    assert (first.written, first.count, first.unit, first.decimals) == (".51", 12_954_000_000, "in", 2)
    assert (second.written, second.count, second.unit, second.decimals) == ("12.7mm", 12_700_000_000, "mm", 1)
    assert (second.replaces, second.reason) == (first.identity, 'held "askew" \\ twice')
    assert (first.taken, first.day) == (1_772_452_800_000_000 + 9 * 60_000_000, "2026-03-02")
    seen = [reading for reading in taken if reading.observed is Observed.NOT_AS_REQUIRED]
    assert [reading.slot for reading in seen] == [Slot(role=Role.FINDING)]
    fraction = next(reading for reading in taken if reading.written == "3/4")
    assert (fraction.decimals, fraction.slot.place) == (None, "foot")
    assert [reading.written for reading in taken if reading.indication] == [".8"]
    sealed = next(event for record in kept.records() for event in record.events if isinstance(event, ev.SheetSealed))
    assert sealed.content.encode() == kept.content
    assert sealed.digest == digest(kept.content)


@in_every_form
def test_the_kept_seal_says_all_that_its_bytes_say(kept: Kept) -> None:
    content = kept.reader.read_content(kept.content)
    assert content.form == kept.number
    assert (content.program, content.shop) == ("Tenthwright 0.1.0", "Ames & Daughter")
    assert (content.round, content.incomplete) == (1, "the second piece is in the machine")
    assert (content.head.temperature, content.plan.part.revision) == ("68 °F", "C")
    assert [note.text for note in content.notes] == ["burr at the slot\nleft side"]
    assert holds(msgspec.to_builtins(content, str_keys=True), json.loads(kept.content))


@in_every_form
def test_the_kept_seal_covers_what_the_kept_entries_made(kept: Kept) -> None:
    shop, sheet = kept.folded()
    entry = next(record.entry for record in kept.records() if isinstance(record.act, acts.SignSheet))
    content = kept.reader.read_content(kept.content)
    now = form_4.content_of(shop, sheet, entry, content.program, content.incomplete)
    assert [getattr(now, name) for name in said_by(content)] == [getattr(content, name) for name in said_by(content)]
    assert content.chain == entry.previous


def test_the_seal_of_the_newest_form_is_written_back() -> None:
    content = form_4.read_content(NEWEST.content)
    assert form_4.write_content(content) == NEWEST.content
    shop, sheet = NEWEST.folded()
    entry = next(record.entry for record in NEWEST.records() if isinstance(record.act, acts.SignSheet))
    assert form_4.content_of(shop, sheet, entry, content.program, content.incomplete) == content


@from_the_third
def test_a_kept_statement_is_read_and_written_back(kept: Kept) -> None:
    events = (event for record in kept.records() for event in record.events)
    stated = next(event for event in events if isinstance(event, ev.StatementSigned))
    content = form_4.read_statement(stated.content)
    assert (content.kind.value, content.by.name, content.own) == ("sheet approved", "Lea Lund", False)
    assert [one.number for one in content.nonconformances] == ["NC-1", "NC-2", "NC-3"]
    assert digest(stated.content.encode()) == stated.digest
    if kept is NEWEST:
        assert form_4.write_statement(content).decode() == stated.content


@in_every_form
@pytest.mark.parametrize(
    "damage",
    [
        lambda plain: plain["act"].update(type="TakeTea"),
        lambda plain: plain["entry"].pop("at"),
        lambda plain: plain["entry"].update(at="noon"),
        lambda plain: plain["entry"].update(at=1.5),
        lambda plain: plain.update(events={}),
    ],
)
def test_what_is_no_entry_of_the_form_is_not_read(kept: Kept, damage: Any) -> None:
    plain = json.loads(kept.lines[0])
    damage(plain)
    with pytest.raises(msgspec.ValidationError):
        kept.reader.read_entry(json.dumps(plain).encode())


@in_every_form
@pytest.mark.parametrize("cut", [0, 1, -1, 200])
def test_half_an_entry_is_not_read(kept: Kept, cut: int) -> None:
    with pytest.raises(msgspec.DecodeError):
        kept.reader.read_entry(kept.lines[0][:cut])


@from_the_second
def test_the_rest_of_the_record_is_under_the_seal(kept: Kept) -> None:
    content = kept.reader.read_content(kept.content)
    assert [(one.kind.value, one.name, one.certificate) for one in content.evidence] == [
        ("material", "bar ⌀2 in", "55-201"),
        ("functional test", "hardness of the core", ""),
    ]
    (certificate,) = content.evidence[0].files
    assert (certificate.name, certificate.digest, certificate.size) == ("55-201.pdf", "cd" * 32, 4_711)
    measured = content.evidence[1].measurement
    assert measured is not None
    assert (measured.required, measured.written) == ("28 … 32 HRC", "30.5")
    assert [(one.number, one.sheet) for one in content.head.sub_items] == [("HB-3", "S-118")]
