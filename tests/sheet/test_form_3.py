"""Form 3 is read for ever: kept entries and a kept seal give the values that their bytes say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import msgspec
import pytest

from inspection.measuring.reading import Observed, Role, Slot
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_3, form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.forms import said_by
from inspection.sheet.evolve import fold_sheet, fold_shop
from inspection.sheet.state import Sheet, Shop

KEPT = Path(__file__).parent / "form_3"
LINES = (KEPT / "entries.jsonl").read_bytes().splitlines()
CONTENT = (KEPT / "content.json").read_bytes()


#: Acts and events that came with a later form.
LATER: set[Any] = {
    acts.MarkForReview,
    acts.AnswerMark,
    ev.SheetMarked,
    ev.MarkAnswered,
    acts.TakeStudyIntoUse,
    acts.WithdrawStudy,
    acts.StartGaugeStudy,
    acts.TakeStudyReading,
    acts.KeepStudyReading,
    acts.GiveUpStudy,
    ev.StudyWithdrawn,
    ev.GaugeStudyStarted,
    ev.StudyReadingTaken,
    ev.StudyReadingKept,
    ev.GaugeStudyGivenUp,
    acts.KeepDocument,
    ev.DocumentKept,
}


def holds(read: Any, kept: Any) -> bool:
    """Whether everything in the kept plain values is in those read; a field that came later may stand beside."""
    if isinstance(kept, dict):
        return isinstance(read, dict) and all(key in read and holds(read[key], kept[key]) for key in kept)
    if isinstance(kept, list):
        pairs = zip(read, kept, strict=True) if isinstance(read, list | tuple) else [(None, kept)]
        return all(holds(*pair) for pair in pairs)
    return bool(read == kept)


def records() -> list[form_3.Record]:
    return [form_3.read_entry(line) for line in LINES]


def folded() -> tuple[Shop, Sheet]:
    """Shop and sheet at the moment before the first seal."""
    kept = records()
    until = next(i for i, record in enumerate(kept) if isinstance(record.act, acts.SignSheet))
    steps = [(event, record.entry) for record in kept[:until] for event in record.events]
    plans = {event.plan.identity: event.plan for event, _ in steps if isinstance(event, ev.PlanIssued)}
    of_sheet = [(event, record.entry) for record in kept[:until] if record.stream != "shop" for event in record.events]
    return fold_shop(Shop(), steps), fold_sheet(None, of_sheet, plans)


def test_every_act_and_event_is_kept() -> None:
    kept = records()
    assert {type(record.act) for record in kept} == set(get_args(acts.AnyAct)) - LATER
    assert {type(event) for record in kept for event in record.events} == set(get_args(ev.AnyEvent)) - LATER


@pytest.mark.parametrize(
    "line", LINES, ids=[f"{n}-{json.loads(line)['act']['type']}" for n, line in enumerate(LINES, 1)]
)
def test_a_kept_entry_says_all_that_its_bytes_say(line: bytes) -> None:
    assert form_3.read_entry(line).form == 3
    assert holds(msgspec.to_builtins(form_3.read_entry(line), str_keys=True), json.loads(line))


def test_kept_entries_hold_the_values_they_held() -> None:
    """Told here apart from the reader: a reading, its correction, what was seen, a slip, an indication, a seal."""
    taken = [event.reading for record in records() for event in record.events if isinstance(event, ev.ReadingTaken)]
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
    sealed = next(event for record in records() for event in record.events if isinstance(event, ev.SheetSealed))
    assert sealed.content.encode() == CONTENT
    assert sealed.digest == digest(CONTENT)


def test_the_kept_seal_says_all_that_its_bytes_say() -> None:
    content = form_3.read_content(CONTENT)
    assert content.form == 3
    assert (content.program, content.shop) == ("Tenthwright 0.1.0", "Ames & Daughter")
    assert (content.round, content.incomplete) == (1, "the second piece is in the machine")
    assert (content.head.temperature, content.plan.part.revision) == ("68 °F", "C")
    assert [note.text for note in content.notes] == ["burr at the slot\nleft side"]
    assert holds(msgspec.to_builtins(content, str_keys=True), json.loads(CONTENT))


def test_the_kept_seal_covers_what_the_kept_entries_made() -> None:
    shop, sheet = folded()
    entry = next(record.entry for record in records() if isinstance(record.act, acts.SignSheet))
    content = form_3.read_content(CONTENT)
    now = form_4.content_of(shop, sheet, entry, content.program, content.incomplete)
    assert [getattr(now, name) for name in said_by(content)] == [getattr(content, name) for name in said_by(content)]
    assert content.chain == entry.previous


def test_a_kept_statement_is_read() -> None:
    stated = next(event for record in records() for event in record.events if isinstance(event, ev.StatementSigned))
    content = form_4.read_statement(stated.content)
    assert (content.kind.value, content.by.name, content.own) == ("sheet approved", "Lea Lund", False)
    assert [one.number for one in content.nonconformances] == ["NC-1", "NC-2", "NC-3"]
    assert digest(stated.content.encode()) == stated.digest


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
def test_what_is_no_entry_of_the_form_is_not_read(damage: Any) -> None:
    plain = json.loads(LINES[0])
    damage(plain)
    with pytest.raises(msgspec.ValidationError):
        form_3.read_entry(json.dumps(plain).encode())


@pytest.mark.parametrize("cut", [0, 1, -1, 200])
def test_half_an_entry_is_not_read(cut: int) -> None:
    with pytest.raises(msgspec.DecodeError):
        form_3.read_entry(LINES[0][:cut])


def test_the_rest_of_the_record_is_under_the_seal() -> None:
    content = form_3.read_content(CONTENT)
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
