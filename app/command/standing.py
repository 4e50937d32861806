"""Where a sheet is on its way from the bench to its release: its stage, what was stated of it, and nonconformances."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from app.command.table import table
from app.jobs.local_time import moment
from inspection.sheet.canonical import form_4
from inspection.sheet.nonconformance import Nonconformance
from inspection.sheet.state import Sheet, Shop, Stage
from inspection.words.say import word

#: The columns of a sheet's nonconformances.
COLUMNS = ("number", "serial", "rows", "what", "decided")


def standing_lines(shop: Shop, sheet: Sheet) -> list[str]:
    """The stage, every statement of the present round, and every nonconformance of the sheet."""
    lines = [stage_text(sheet), *(f"  {each}" for each in _stated(shop, sheet))]
    if sheet.nonconformances:
        lines += ["", *nonconformance_table(sheet)]
    return lines


def stage_text(sheet: Sheet) -> str:
    """Where the sheet is, and how many nonconformances wait for a decision."""
    open_ = sum(held.disposition is None for held in sheet.nonconformances.values())
    stage = "unsigned" if sheet.stage is Stage.OPEN else sheet.stage.value
    told = word(f"command.state.{stage}", round=sheet.round)
    return f"{told}, {word('command.state.undecided', n=open_)}" if open_ else told


def _stated(shop: Shop, sheet: Sheet) -> Iterator[str]:
    later = sheet.in_place_of()
    for one in sheet.statements:
        if one.round != sheet.round:
            continue
        said = form_4.read_statement(one.content)
        name, person = word(f"statement.{one.kind.name.lower()}"), shop.people[one.by].name
        told = word("command.standing.stated", statement=name, person=person, when=moment(one.at))
        own = f" ({word('command.standing.own')})" if said.own else ""
        gone = f" ({word('command.standing.replaced')})" if one.digest in later else ""
        yield f"{told}{own}{gone}: {said.words}" if said.words else f"{told}{own}{gone}"


def nonconformance_table(sheet: Sheet) -> list[str]:
    """The nonconformances of a sheet, those that wait first."""
    held = sorted(sheet.nonconformances.values(), key=lambda each: each.disposition is not None)
    heads = [word(f"command.nonconformance.head.{column}") for column in COLUMNS]
    return table(heads, [[each.number, serial_of(sheet, each.piece), *_told(sheet, each)] for each in held])


def _told(sheet: Sheet, held: Nonconformance) -> list[str]:
    if held.disposition is None:
        return [numbers_of(sheet, held.rows), held.what, word("command.nonconformance.waits")]
    document = f" ({held.leave.document})" if held.leave is not None else ""
    return [numbers_of(sheet, held.rows), held.what, f"{held.disposition.value}{document}: {held.words}"]


def numbers_of(sheet: Sheet, rows: tuple[str, ...]) -> str:
    """Rows by their balloon numbers."""
    return ", ".join(sheet.characteristic(row).number for row in rows)


def serial_of(sheet: Sheet, piece: str) -> str:
    """The serial of a piece."""
    return next((each.serial for each in sheet.pieces if each.identity == piece), piece)


def standing_data(shop: Shop, sheet: Sheet) -> Mapping[str, Any]:
    """The same for scripts."""
    later = sheet.in_place_of()
    return {
        "stage": sheet.stage.value,
        "round": sheet.round,
        "statements": [
            {
                "kind": one.kind.value,
                "round": one.round,
                "person": shop.people[one.by].name,
                "at": one.at,
                "words": form_4.read_statement(one.content).words,
                "digest": one.digest,
                "holds": one.digest not in later,
            }
            for one in sheet.statements
        ],
        "nonconformances": [_data(sheet, held) for held in sheet.nonconformances.values()],
    }


def _data(sheet: Sheet, held: Nonconformance) -> dict[str, Any]:
    leave = held.leave
    return {
        "nonconformance": held.identity,
        "number": held.number,
        "serial": serial_of(sheet, held.piece),
        "rows": [sheet.characteristic(row).number for row in held.rows],
        "what": held.what,
        "disposition": held.disposition.value if held.disposition else "",
        "words": held.words,
        "affected": [sheet.characteristic(row).number for row in held.affected],
        "document": leave.document if leave else "",
        "day": leave.day if leave else "",
        "scope": leave.scope if leave else "",
    }
