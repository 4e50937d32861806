"""What a removal for cause puts in question: looked at before, it is what follows when it is done; nothing else."""

from __future__ import annotations

from typing import Any

import pytest

from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.reopening import reading_text, removal_ahead, reopened_rows

ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005"},
    {"number": "2", "kind": "length", "requirement": ".600 ±.005"},
    {"number": "3", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005"},
)


@pytest.fixture
def life(life_kind: Any) -> Any:
    """Two sheets read with C-05 since it was checked, the first of them sealed; row 1 was read before."""
    life = life_kind().open(checks=True)
    life.make(("001",), *ROWS)
    first = life.sheet_id
    for number in ("1", "2"):
        life.choose(number, "C-05")
    life.check("C-05")
    life.take("1", ".5005")
    life.check("C-05")
    life.take("2", ".6005")
    life.sign("row 3 is read tomorrow")
    life.make(("007",), *ROWS)
    life.choose("1", "C-05")
    life.take("1", ".4995")
    life.first = first
    return life


def act(life: Any, reason: str = "a jaw is bent") -> acts.RemoveForCause:
    return acts.RemoveForCause(instrument=life.shop.by_tag("C-05").identity, reason=reason)


def test_what_is_looked_at_ahead_is_what_then_follows_and_looking_changes_nothing(life: Any) -> None:
    before = (life.shop, dict(life.sheets))
    ahead = removal_ahead(life.shop, act(life), life.entry(), life.sheets_read_with)
    rows = [row for sheet in ahead.sheets for row in ahead.rows(life.sheets[sheet])]
    assert (life.shop, dict(life.sheets)) == before
    assert [
        (row.part, row.number, row.serial, [reading_text(one) for one in row.readings], row.sealed) for row in rows
    ] == [
        ("HB-7", "2", "001", ["0.6005 in"], True),
        ("HB-7", "1", "007", ["0.4995 in"], False),
    ]
    life.do(act(life))
    failed = next(each for each in life.shop.proofs if each.at == ahead.check.at and each.instrument)
    assert failed == ahead.check
    done = [
        row
        for sheet in life.sheets.values()
        for event, _ in life.steps[sheet.identity]
        if isinstance(event, ev.ReadingsReopened)
        for row in reopened_rows(sheet, [event])
    ]
    assert done == rows


def test_an_instrument_that_nothing_was_read_with_since_puts_nothing_in_question(life: Any) -> None:
    life.check("C-05")
    ahead = removal_ahead(life.shop, act(life), life.entry(), life.sheets_read_with)
    assert [row for sheet in ahead.sheets for row in ahead.rows(life.sheets[sheet])] == []


def test_what_the_act_is_refused_for_is_said_before(life: Any) -> None:
    with pytest.raises(Refused) as refused:
        removal_ahead(life.shop, act(life, reason=" "), life.entry(), life.sheets_read_with)
    assert [reason.code for reason in refused.value.reasons] == ["instrument.removed_without_reason"]


def test_what_was_seen_is_told_in_words(life: Any) -> None:
    life.make(("001",), {"number": "4", "kind": "note", "requirement": "DEBURR ALL EDGES"})
    assert reading_text(life.take("4", "as required")) == "as required"
