"""A review in lines: points with their answers, the rows of one, nonconformances, and how far the sheet has come."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import TYPE_CHECKING

from app.bench import told
from app.jobs.linked_told import linked_text
from app.jobs.local_time import moment
from app.parts.items import Item
from app.parts.marks import Mark, mark_of
from inspection.reasons import Reason
from inspection.sheet.nonconformance_life import unnamed
from inspection.sheet.points_marks import CODE as MARKED
from inspection.sheet.points_table import Point
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Stage
from inspection.words.say import say, word

if TYPE_CHECKING:
    from inspection.sheet.nonconformance import Nonconformance
    from inspection.sheet.state import Cell, Sheet, Shop, Statement
    from storage.book.queries.linked_sheets import LinkedSheet


def name_of(shop: Shop, person: str) -> str:
    """A person's name, "" if the book does not hold them."""
    known = shop.people.get(person)
    return known.name if known is not None else ""


def serial_of(sheet: Sheet, piece: str) -> str:
    """The serial of a piece of the sheet."""
    return next((one.serial for one in sheet.pieces if one.identity == piece), "")


def serials_of(sheet: Sheet) -> str:
    """All serials."""
    return ", ".join(piece.serial for piece in sheet.pieces)


def nothing_for(name: str, sheet: Sheet) -> str:
    """Why there is nothing on a sheet that a key of the review could be for; "" where there is."""
    if name == "decide" and all(held.disposition is not None for held in sheet.nonconformances.values()):
        return word("review.decide.none")
    if name == "raise" and not any(unnamed(sheet)):
        return word("nonconformance.dialog.none")
    said = sheet.first_article
    if name == "partial" and (said is None or said.kind is not StatementKind.NOT_COMPLETE):
        return say(Reason("partial.baseline_not_stated"))
    if name == "amend" and sheet.stage is not Stage.APPROVED:
        return say(Reason("amend.not_approved"))
    return ""


# --- points -----------------------------------------------------------------------------------------------------


def waits(point: Point, sheet: Sheet) -> bool:
    """Whether nobody has answered this point."""
    return point.key not in sheet.point_answers


def closed(point: Point, sheet: Sheet) -> bool:
    """Whether a point can be answered no more: approved, only marks for review are."""
    return sheet.stage is Stage.APPROVED and point.code != MARKED


def point_item(point: Point, sheet: Sheet, shop: Shop, units: str) -> Item:
    """One point: its sentence, what makes it one, and its answer."""
    why = tuple(say(reason, units) for reason in point.why)
    answer = sheet.point_answers.get(point.key)
    if answer is None:
        mark, side = (Mark.QUESTION, "must") if point.must_answer else (Mark.OPEN, "may")
        if closed(point, sheet):
            mark, side = Mark.OPEN, "not"
        return Item(say(point.reason, units), mark, why, word(f"review.point.{side}"))
    given = word("review.point.answer", person=name_of(shop, answer.by), when=moment(answer.at), words=answer.words)
    return Item(say(point.reason, units), None, (*why, given), word("review.point.answered"), ticked=True)


def points_count(points: Iterable[Point], sheet: Sheet) -> str:
    """How many points wait for an answer, and how many of them must have one."""
    points = tuple(points)
    if sheet.stage is Stage.APPROVED:
        points = tuple(point for point in points if not closed(point, sheet))
        if not points:
            return ""
    open_ = [point for point in points if waits(point, sheet)]
    must = sum(point.must_answer for point in open_)
    if not points:
        return word("review.points.none")
    if not open_:
        return word("review.points.done", n=len(points))
    said = word("review.points.wait", n=len(open_), of=len(points))
    return f"{said}, {word('review.points.must', n=must)}" if must else said


# --- rows -------------------------------------------------------------------------------------------------------


def row_item(sheet: Sheet, cell: Cell, units: str, *, names_piece: bool = True) -> Item:
    """One row on one piece: number, requirement, what was read, verdict; and the piece where there are several."""
    row, judgement = sheet.row_at(*cell), sheet.judgement(*cell)
    readings = sheet.counting(*cell) or sheet.reopened_at(*cell)
    read = ", ".join(told.reading(each, row.requirement, units) for each in readings) or word("review.row.unread")
    several = names_piece and len(sheet.pieces) > 1
    serial = word("review.row.piece", serial=serial_of(sheet, cell[1])) if several else ""
    text = "   ".join(filter(None, (row.number, row.requirement.written, serial)))
    verdict = told.verdict(row, judgement, 0, 0, units)
    return Item(text, mark_of(judgement.verdict), ("   ".join(filter(None, (read, row.name))),), verdict)


# --- nonconformances --------------------------------------------------------------------------------------------


def rows_text(sheet: Sheet, rows: Iterable[str]) -> str:
    """Rows by their balloon numbers."""
    return ", ".join(sheet.characteristic(row).number for row in rows)


def nonconformance_item(held: Nonconformance, sheet: Sheet, shop: Shop) -> Item:
    """One nonconformance: number, piece and rows, what was found, and what is done about it."""
    serial, rows = serial_of(sheet, held.piece), rows_text(sheet, held.rows)
    text = word("review.nonconformance", number=held.number, rows=rows, n=len(held.rows), serial=serial)
    raised = word("review.nonconformance.raised", person=name_of(shop, held.by), when=moment(held.at), what=held.what)
    told = (raised, *_decided(held, sheet, shop))
    return waiting_item(text, told, _done(held), waits=held.disposition is None)


def waiting_item(text: str, told: tuple[str, ...], side: str, *, waits: bool) -> Item:
    """Something that waits for somebody, or that is settled and ticked."""
    return Item(text, Mark.QUESTION, told, side) if waits else Item(text, None, told, side, ticked=True)


def _done(held: Nonconformance) -> str:
    if held.disposition is None:
        return word("review.nonconformance.waits")
    return word(f"review.disposition.{held.disposition.name.lower()}")


def _decided(held: Nonconformance, sheet: Sheet, shop: Shop) -> Iterator[str]:
    if held.disposition is None:
        return
    when, person = moment(held.decided_at), name_of(shop, held.decided_by)
    yield word("review.nonconformance.decided", person=person, when=when, words=held.words)
    if held.affected:
        yield word("review.nonconformance.affected", rows=rows_text(sheet, held.affected))
    if held.leave is not None:
        leave = held.leave
        yield word("review.nonconformance.leave", document=leave.document, day=leave.day, scope=leave.scope)


# --- how far the sheet has come ---------------------------------------------------------------------------------


def standing(sheet: Sheet, shop: Shop, linked: Iterable[LinkedSheet] = ()) -> str:
    """What the sheet completes or amends, who signed, what was stated since, by whom and when, and what follows."""
    linked = tuple(linked)
    before, after = (linked_text(linked, follows=follows) for follows in (False, True))
    return " · ".join(filter(None, (*before, _stated(sheet, shop), *after, _next_step(sheet, linked))))


def _stated(sheet: Sheet, shop: Shop) -> str:
    if not sheet.sealed:
        return word("review.standing.open", round=sheet.round)
    seal = sheet.seals[-1]
    said = [word("review.standing.signed", person=name_of(shop, seal.by), when=moment(seal.at), round=seal.round)]
    later = sheet.in_place_of()
    for statement in sheet.statements:
        if statement.round == sheet.round:
            name = statement_name(statement, later)
            said.append(
                word(
                    "review.standing.stated",
                    statement=name,
                    person=name_of(shop, statement.by),
                    when=moment(statement.at),
                )
            )
    return " · ".join(said)


def statement_name(one: Statement, later: Collection[str]) -> str:
    """What is stated, in words that say so where it holds no longer: where its digest is among ``later``."""
    name = word(f"statement.{one.kind.name.lower()}")
    return word("review.statement.replaced", statement=name) if one.digest in later else name


def _next_step(sheet: Sheet, linked: Iterable[LinkedSheet]) -> str:
    """What is to be done next of a signed sheet; "" where all is stated, or something else follows it already."""
    if not sheet.sealed or any(each.follows for each in linked):
        return ""
    if sheet.stated(StatementKind.APPROVED) is None:
        return word("review.standing.waits")
    if (about := sheet.first_article) is None:
        return word("review.next.first_article")
    if sheet.stated(StatementKind.RELEASED) is None:
        return word("review.next.release")
    return word("review.next.partial") if about.kind is StatementKind.NOT_COMPLETE else ""
