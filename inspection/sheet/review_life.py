"""Acts of a review, and what follows: rows read again, the sheet returned, statements signed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime

from msgspec.structs import replace

from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.cells import open_cells
from inspection.sheet.complete_rows import no_piece_left, unfinished
from inspection.sheet.edition import PROGRAM
from inspection.sheet.nonconformance_life import unsettled
from inspection.sheet.points_table import Point
from inspection.sheet.reading_life import read_at_review
from inspection.sheet.review import FIRST_ARTICLE, ReadAgain, StatementKind
from inspection.sheet.sheet_life import reopened
from inspection.sheet.state import Sheet, Shop, Stage

Sign = Callable[[bytes], ev.Signature]


def read_row_again(shop: Shop, sheet: Sheet, act: acts.ReadRowAgain, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """A row is read again by the lead: kept beside the readings, to be compared with them."""
    reading = read_at_review(shop, sheet, act, entry)
    return (ev.RowReadAgain(again=ReadAgain(reading, sheet.round)),)


def return_sheet(shop: Shop, sheet: Sheet, act: acts.ReturnSheet, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """The sheet goes back to the bench with words to its rows, and a new round begins; the old seal stays."""
    faults = [Reason("review.returned_without_words")] if not any(row.words.strip() for row in act.rows) else []
    pieces = {piece.identity for piece in sheet.pieces}
    for row in act.rows:
        if row.characteristic and row.characteristic not in sheet.rows.by_identity:
            faults.append(Reason("sheet.no_such_row", {"row": row.characteristic}))
        if row.piece and row.piece not in pieces:
            faults.append(Reason("sheet.no_such_piece", {"piece": row.piece}))
    if faults:
        raise Refused(*faults)
    rows = tuple(replace(row, words=row.words.strip()) for row in act.rows if row.words.strip())
    reason = next((row.words for row in rows if not row.characteristic), rows[0].words)
    return ev.SheetReturned(rows=rows), *reopened(shop, sheet, reason, entry)


# --- statements -----------------------------------------------------------------------------------------------------


def make_statement(
    shop: Shop,
    sheet: Sheet,
    act: acts.MakeStatement,
    entry: ev.Entry,
    sign: Sign | None,
    baseline: Sheet | None = None,
    listed: Iterable[Point] = (),
) -> tuple[ev.Event, ...]:
    """One of the three statements, signed for itself over its own canonical bytes, which name the seal it speaks of;
    that a partial first article completes its ``baseline`` names the baseline's seal too."""
    faults = list(not_to_state(shop, sheet, act, entry.person, entry.at, listed))
    if sign is None:
        faults.append(Reason("sign.without_key"))
    if faults or sign is None:
        raise Refused(*faults)
    seal = baseline.seals[-1].digest if baseline is not None and act.kind is StatementKind.COMPLETE else ""
    made = form_4.statement_of(shop, sheet, entry, PROGRAM, act.kind, act.words.strip(), seal)
    content = form_4.write_statement(made)
    signature = sign(content)
    if signature.certificate != shop.people[entry.person].certificate:
        raise Refused(Reason("sign.other_key", {"person": shop.people[entry.person].name}))
    stated = ev.StatementSigned(
        kind=act.kind, round=sheet.round, content=content.decode(), digest=digest(content), signature=signature
    )
    return (stated,)


def not_to_state(
    shop: Shop,
    sheet: Sheet,
    act: acts.MakeStatement,
    person: str,
    at: int,
    listed: Iterable[Point] = (),
) -> Iterator[Reason]:
    """Everything that keeps ``person`` from making a statement at ``at`` (UTC microseconds), but for its signature."""
    yield from in_the_way(shop, sheet, act.kind, person, at, listed)
    needs_words = act.kind in (StatementKind.NOT_COMPLETE, StatementKind.RELEASED) and sheet.stage is Stage.APPROVED
    if needs_words and not act.words.strip():
        yield Reason(f"review.{act.kind.name.lower()}_without_words")


def in_the_way(
    shop: Shop,
    sheet: Sheet,
    kind: StatementKind,
    person: str,
    at: int,
    listed: Iterable[Point] = (),
) -> Iterator[Reason]:
    """What stands in the way of a statement of a sheet that ``person`` would make at ``at`` (UTC microseconds), but for
    its words and its signature; ``listed`` is the lead's list."""
    if kind is StatementKind.APPROVED:
        against = tuple(_not_to_approve(shop, sheet, person, at))
        yield from against or _unanswered(sheet, listed)
        return
    if sheet.stage is not Stage.APPROVED:
        yield Reason("review.not_approved", {"statement": f"statement.{kind.name.lower()}"})
        return
    if kind in FIRST_ARTICLE and sheet.first_article is not None and sheet.first_article.kind is kind:
        yield Reason("review.stated_already", {"statement": f"statement.{kind.name.lower()}"})
    yield from _clock_set_back(sheet, at)
    if kind is StatementKind.COMPLETE:
        yield from incomplete(sheet)


def _not_to_approve(shop: Shop, sheet: Sheet, person: str, at: int) -> Iterator[Reason]:
    if sheet.stage is Stage.APPROVED:
        yield Reason("review.stated_already", {"statement": "statement.approved"})
        return
    if sheet.is_own(person) and not sheet.rules.lead_may_approve_own:
        yield Reason("review.own_sheet", {"person": shop.people[person].name})
    for row, piece in open_cells(sheet):
        serial = next(each.serial for each in sheet.pieces if each.identity == piece)
        yield Reason("sign.row_open", {"number": sheet.characteristic(row).number, "serial": serial})
    if sheet.suspect:
        yield Reason("review.suspect", {"n": len(sheet.suspect)})
    yield from unsettled(sheet)
    yield from _clock_set_back(sheet, at)


def _clock_set_back(sheet: Sheet, at: int) -> Iterator[Reason]:
    """Nothing is stated of a sheet before the moment of what was signed of it last."""
    signed = max((*(each.at for each in sheet.seals), *(each.at for each in sheet.statements)), default=0)
    if at < signed:
        day = f"{datetime.fromtimestamp(signed / 1_000_000, UTC):%Y-%m-%d %H:%M}"
        yield Reason("review.clock_set_back", {"signed": day})


def _unanswered(sheet: Sheet, listed: Iterable[Point]) -> Iterator[Reason]:
    """The points that must be answered and wait, asked for once nothing else stands in the way: what is put right may
    end a point."""
    waits = [point.reason for point in listed if point.must_answer and point.key not in sheet.point_answers]
    if waits:
        yield Reason("review.unanswered", {"n": len(waits)})
        yield from waits


def incomplete(sheet: Sheet) -> Iterator[Reason]:
    """What keeps a first article from being complete: every characteristic that the sheet is about, on every piece that
    is left, has to have been measured and to conform, whatever the customer accepts. A partial first article is about
    all that its baseline lacks (``linked_life.make_partial``), so that both together are complete with it."""
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    for row, piece in unfinished(sheet):
        found = f"verdict.{sheet.judgement(row, piece).verdict.name.lower()}"
        number = sheet.characteristic(row).number
        yield Reason("review.not_complete", {"number": number, "serial": serials[piece], "verdict": found})
    if no_piece_left(sheet):
        yield Reason("review.no_piece_left")
