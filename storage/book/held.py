"""What the door holds in memory of a book: the fold of the journal so far, one frozen value.

It moves on only after a commit, so a failure leaves it as it was. Sheets and parts are folded when first asked for;
from then on only what came in since is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Connection, select

from inspection.drawing.plan import Plan
from inspection.sheet import events as ev
from inspection.sheet.events import Event
from inspection.sheet.evolve import Step, fold_sheet, fold_shop, fold_study
from inspection.sheet.state import Sheet, Shop
from inspection.studies.conducted import Conducted
from storage.book import journal, tables
from storage.book.collecting import no_collecting
from storage.book.glance import CHECKS, SHOP, Glance
from storage.book.journal import Kept
from storage.book.tally import Tally, counted, earlier, tally_after

#: Sheets kept in memory; the one longest not used goes first.
SHEETS_KEPT = 8
#: So many gauge studies likewise.
STUDIES_KEPT = 4

Plans = Mapping[str, Plan]


class Held(Struct, frozen=True):
    """The book up to and including entry ``sequence``, whose digest heads the chain."""

    sequence: int = 0
    digest: str = ""
    shop: Shop = Shop()
    parts: Mapping[str, Plans] = {}
    sheets: Mapping[str, Sheet] = {}
    tallies: Mapping[str, Tally] = {}
    studies: Mapping[str, Conducted] = {}


def first_held(connection: Connection, path: Path) -> Held:
    """The shop as it stands, with no part or sheet yet."""
    found = journal.head(connection, "")
    of_shop, proofs = journal.entries_of(connection, path, SHOP), journal.proofs(connection, path)
    shop = fold_shop(Shop(), (*_steps(of_shop), *_steps(proofs)))
    return Held(sequence=found.sequence, digest=found.digest, shop=shop)


def held_from(connection: Connection, look: Glance) -> Held | None:
    """What a first look saw, if it is a look at this very book; what came in since is caught up with as ever."""
    query = select(tables.journal.c.digest).where(tables.journal.c.sequence == look.sequence)
    if connection.execute(query).scalar() != look.digest:
        return None
    sheet, part = look.sheet.identity, look.sheet.plan.part_identity
    return Held(
        look.sequence, look.digest, look.shop, {part: look.plans}, {sheet: look.sheet}, {sheet: counted(look.sheet)}
    )


def caught_up(connection: Connection, path: Path, held: Held) -> Held:
    """With every entry that came in since; only those are read."""
    for kept in journal.entries_after(connection, path, held.sequence):
        held = moved_on(held, kept)
    return held


def moved_on(held: Held, kept: Kept) -> Held:
    """After one further entry. Streams that are not held are left unread."""
    record, stream = kept.record, kept.record.stream
    held = replace(held, sequence=kept.sequence, digest=kept.digest)
    steps = [(event, record.entry) for event in record.events]
    if stream in (SHOP, CHECKS):
        return replace(held, shop=fold_shop(held.shop, steps))
    if issued := plans_in(record.events):
        plans = held.parts.get(stream)
        return held if plans is None else replace(held, parts={**held.parts, stream: {**plans, **issued}})
    started = any(isinstance(event, ev.GaugeStudyStarted) for event in record.events)
    if started or stream in held.studies:
        return _with_study(held, stream, fold_study(held.studies.get(stream), steps))
    before = held.sheets.get(stream)
    made = next((event for event in record.events if isinstance(event, ev.SheetMade)), None)
    part = before.plan.part_identity if before else made.part_identity if made else ""
    if part not in held.parts:
        return held
    after = fold_sheet(before, steps, held.parts[part])
    stood = earlier(before, record.events) if before else None
    return _with_sheet(held, after, tally_after(held.tallies.get(stream), stood, after, record.events))


def plans_in(events: Iterable[Event]) -> dict[str, Plan]:
    """The plan issues among these events, by identity."""
    return {event.plan.identity: event.plan for event in events if isinstance(event, ev.PlanIssued)}


def with_part(connection: Connection, path: Path, held: Held, part: str) -> Held:
    """With every plan issue of this part; an unknown part has none."""
    if part in held.parts:
        return held
    plans: dict[str, Plan] = {}
    with no_collecting():
        for kept in journal.entries_of(connection, path, part):
            plans |= plans_in(kept.record.events)
    return replace(held, parts={**held.parts, part: plans})


def with_sheet(connection: Connection, path: Path, held: Held, sheet: str) -> Held:
    """With this sheet and its part; an unknown sheet stays unknown."""
    if sheet in held.sheets:
        return _with_sheet(held, held.sheets[sheet], held.tallies[sheet])
    part = connection.execute(select(tables.sheet.c.part).where(tables.sheet.c.sheet == sheet)).scalar()
    if part is None:
        return held
    held = with_part(connection, path, held, part)
    with no_collecting():
        folded = fold_sheet(None, _steps(journal.entries_of(connection, path, sheet)), held.parts[part])
    return _with_sheet(held, folded, counted(folded))


def with_study(connection: Connection, path: Path, held: Held, study: str) -> Held:
    """With this gauge study; an unknown one stays unknown."""
    if study in held.studies:
        return _with_study(held, study, held.studies[study])
    query = select(tables.gauge_study.c.study).where(tables.gauge_study.c.study == study)
    if connection.execute(query).scalar() is None:
        return held
    return _with_study(held, study, fold_study(None, _steps(journal.entries_of(connection, path, study))))


def _with_study(held: Held, name: str, study: Conducted) -> Held:
    """With this gauge study as the one last used."""
    others = [each for each in held.studies if each != name][-(STUDIES_KEPT - 1) :]
    return replace(held, studies={**{each: held.studies[each] for each in others}, name: study})


def part_of_plan(connection: Connection, plan: str) -> str:
    """The part that a plan issue belongs to; empty if there is no such issue."""
    query = select(tables.plan_issue.c.part).where(tables.plan_issue.c.plan == plan)
    return connection.execute(query).scalar() or ""


def _with_sheet(held: Held, sheet: Sheet, tally: Tally) -> Held:
    """With this sheet as the one last used."""
    others = [name for name in held.sheets if name != sheet.identity][-(SHEETS_KEPT - 1) :]
    return replace(
        held,
        sheets={**{name: held.sheets[name] for name in others}, sheet.identity: sheet},
        tallies={**{name: held.tallies[name] for name in others}, sheet.identity: tally},
    )


def _steps(entries: Iterable[Kept]) -> Iterable[Step]:
    return ((event, kept.record.entry) for kept in entries for event in kept.record.events)
