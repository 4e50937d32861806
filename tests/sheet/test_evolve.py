"""Folding: values in, new values out, and never a change to what was there."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.measuring.reading import Slot
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.evolve import fold_sheet, fold_shop
from inspection.sheet.head import Head, SubItem
from inspection.sheet.state import Rows, Shop, family
from inspection.sheet.why import why_withdrawn


def test_a_sheet_begins_by_being_made(life: Any) -> None:
    entry = life.entry()
    with pytest.raises(ValueError, match="SheetMade"):
        fold_sheet(None, [(ev.RunChanged(order="feature"), entry)], life.plans)
    with pytest.raises(ValueError, match="SheetMade"):
        fold_sheet(None, [], life.plans)
    made = life.steps[life.sheet_id][0]
    with pytest.raises(KeyError):
        fold_sheet(None, [made], {})


def test_folding_leaves_the_sheet_it_began_from(life: Any) -> None:
    mappings = ("assignments", "readings", "standing", "withdrawn", "judgements", "questions", "answers", "evidence")
    first = life.take("1", ".51")
    before = life.sheet
    copies = {name: dict(getattr(before, name)) for name in mappings}
    life.take("1", "12.7", replaces=first.identity, reason="askew")
    life.do(acts.KeepAsWritten(sheet=life.sheet_id, question=life.question()))
    life.choose("1", "M-01")
    life.do(acts.EnterEvidence(sheet=life.sheet_id, evidence=Evidence("", EvidenceKind.PROCESS, "anodise")))
    assert {name: getattr(before, name) for name in mappings} == copies
    assert all(getattr(life.sheet, name) != copies[name] for name in mappings)


def test_what_an_event_does_not_touch_is_shared(life: Any) -> None:
    before = life.sheet
    life.take("1", ".5")
    for name in ("plan", "rows", "assignments", "withdrawn", "questions", "answers", "stops", "evidence", "head"):
        assert getattr(life.sheet, name) is getattr(before, name)


def test_evidence_written_anew_stays_in_its_place_and_struck_is_gone(life: Any) -> None:
    def enter(name: str, identity: str = "", **fields: Any) -> Any:
        evidence = Evidence(identity, EvidenceKind.PROCESS, name, **fields)
        return life.do(acts.EnterEvidence(sheet=life.sheet_id, evidence=evidence))[0].evidence

    first, second = enter(" anodise "), enter("passivate")
    again = enter("anodise", first.identity, certificate="C-9")
    assert list(life.sheet.evidence.values()) == [again, second]
    assert (first.name, again.certificate) == ("anodise", "C-9")
    before = life.sheet
    life.do(acts.StrikeEvidence(sheet=life.sheet_id, evidence=first.identity, reason="other bath"))
    assert list(life.sheet.evidence) == [second.identity]
    assert list(before.evidence) == [first.identity, second.identity]


def test_the_head_is_the_one_written_last(life: Any) -> None:
    head = Head(order="4711", detail="assembly", sub_items=(SubItem("HB-8", "A"),))
    life.do(acts.WriteHead(sheet=life.sheet_id, head=head))
    assert life.sheet.head == head
    assert fold_sheet(None, iter(life.steps[life.sheet_id]), life.plans) == life.sheet


def test_an_event_of_the_shop_moves_only_the_last_entry(life: Any) -> None:
    entry = life.entry()
    after = fold_sheet(life.sheet, [(ev.ShopOpened(name="x"), entry)], life.plans)
    assert after == replace(life.sheet, last_entry=entry.identity)


def test_the_shop_keeps_every_issue_and_shows_the_newest(life: Any) -> None:
    instrument = life.shop.by_tag("C-05")
    events = [ev.InstrumentIssued(instrument=replace(instrument, issue=n, place=f"drawer {n}")) for n in (2, 3)]
    shop = fold_shop(life.shop, [(event, life.entry()) for event in events])
    assert shop.by_tag("C-05").place == "drawer 3"
    assert [shop.issues[instrument.identity, n].place for n in (1, 2, 3)] == ["", "drawer 2", "drawer 3"]
    assert life.shop.by_tag("C-05").issue == 1
    assert fold_shop(Shop(), []) == Shop()
    assert shop.by_tag("none") is None


def test_a_reading_put_back_stands_where_it_stood(life: Any) -> None:
    first = life.take("2", ".75")
    second = life.take("2", ".7501", slot=Slot("foot"))
    life.take_back(first, "lifted")
    assert life.sheet.standing[life.cell("2")] == (second.identity,)
    life.put_back(first)
    assert life.sheet.standing[life.cell("2")] == (first.identity, second.identity)


def test_why_is_empty_where_nobody_needs_to_say(life: Any) -> None:
    first = life.take("1", ".5")
    life.take_back(first)
    assert why_withdrawn(life.sheet, first.identity) == why_withdrawn(life.sheet, "none") == ""


def test_rows_are_found_by_identity_place_and_count(life: Any) -> None:
    rows = Rows.of(life.sheet.plan)
    counted = [row for row in life.sheet.plan.characteristics if row.count > 1]
    assert rows.families == {"7": tuple(row.identity for row in counted)}
    assert [family(row) for row in counted] == ["7", "7", "7"]
    assert [rows.position[row.identity] for row in life.sheet.plan.characteristics] == list(range(11))
    assert family(replace(counted[0], number="A.12", count=1)) == "A.12"
