"""What a review left on a sheet, as sections of its page: words of a return, nonconformances, rows read again, and
statements with their digests."""

from __future__ import annotations

from collections.abc import Iterator

from app.bench import told
from app.jobs.local_time import moment
from app.ledger.review.told import name_of, nonconformance_item, serial_of, statement_name
from app.parts.marks import Mark
from app.parts.paper import SIGNS, Paper
from inspection.sheet.canonical import form_4
from inspection.sheet.points_marks import cells_of, found_out
from inspection.sheet.returned import last_return
from inspection.sheet.review import Mark as Review
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import say, word

#: Digits of a digest that tell statements apart at a glance.
SHORT = 16
#: Rows read again that are told one by one; the rest is counted.
MOST_ROWS = 10


def statements(paper: Paper, sheet: Sheet, shop: Shop) -> Iterator[str]:
    """What was stated of the sheet, the newest first: who, when, with which words."""
    if not sheet.statements:
        return
    yield paper.section(word("ledger.section.statements"))
    later = sheet.in_place_of()
    for one in reversed(sheet.statements):
        name, person = statement_name(one, later), name_of(shop, one.by)
        head = word("ledger.statement", round=one.round, when=moment(one.at), person=person)
        said = form_4.read_statement(one.content)
        own = word("ledger.statement.own") if said.own else ""
        yield paper.paragraph(head, (name, said.words, own, word("ledger.digest", digest=one.digest[:SHORT])))


def marks(paper: Paper, sheet: Sheet, shop: Shop) -> Iterator[str]:
    """Marks for review: what was found of which instrument, who marked the sheet with which words, and the answer."""
    if not sheet.marks:
        return
    yield paper.section(word("ledger.section.marks"))
    for held in sheet.marks.values():
        sign, color = ("", "quiet") if not held.waits else (f"{SIGNS[Mark.QUESTION]} ", "doubt")
        yield paper.paragraph(f"{sign}{say(found_out(shop, held))}", tuple(marked(sheet, held, shop)), color=color)


def marked(sheet: Sheet, held: Review, shop: Shop) -> Iterator[str]:
    """Who marked a sheet, when and why, which rows, and what was answered."""
    rows = ", ".join(dict.fromkeys(sheet.characteristic(row).number for row, _ in cells_of(sheet, held)))
    person = name_of(shop, held.by)
    yield word("ledger.mark.by", person=person, when=moment(held.at), words=held.words, rows=rows)
    if held.waits:
        yield word("ledger.mark.waits")
    else:
        person, when = name_of(shop, held.answered_by), moment(held.answered_at)
        yield word("ledger.mark.answered", person=person, when=when, words=held.answer)


def returned(paper: Paper, sheet: Sheet, shop: Shop) -> Iterator[str]:
    """The words with which the sheet was returned last, as long as nothing was signed since."""
    last = last_return(sheet)
    if last is None:
        return
    yield paper.section(word("ledger.section.returned"))
    yield paper.paragraph(word("ledger.returned", when=moment(last.at), person=name_of(shop, last.by)), ())
    for each in last.rows:
        number = sheet.characteristic(each.characteristic).number if each.characteristic else ""
        where = word("ledger.returned.row", number=number) if number else word("ledger.returned.sheet")
        serial = word("review.row.piece", serial=serial_of(sheet, each.piece)) if each.piece else ""
        yield paper.paragraph(", ".join(filter(None, (where, serial))), (each.words,), color="doubt")


def nonconformances(paper: Paper, sheet: Sheet, shop: Shop) -> Iterator[str]:
    """Each with what was found and what is done about it."""
    if not sheet.nonconformances:
        return
    yield paper.section(word("ledger.section.nonconformances"))
    for held in sheet.nonconformances.values():
        item = nonconformance_item(held, sheet, shop)
        color = "doubt" if item.mark is not None else "quiet"
        sign = f"{SIGNS[item.mark]} " if item.mark is not None else ""
        yield paper.paragraph(f"{sign}{item.text}", (item.side, *item.told), color=color)


def read_again(paper: Paper, sheet: Sheet, shop: Shop) -> Iterator[str]:
    """Rows that the lead read again."""
    if not sheet.read_again:
        return
    yield paper.section(word("ledger.section.read_again"))
    for each in sheet.read_again[-MOST_ROWS:]:
        reading = each.reading
        row = sheet.row_at(reading.characteristic, reading.piece)
        serial = serial_of(sheet, reading.piece)
        where = word("ledger.row", number=row.number, requirement=row.requirement.written, serial=serial)
        by = word("ledger.read_again", person=name_of(shop, reading.by), when=moment(reading.taken))
        yield paper.paragraph(where, (f"{told.reading(reading, row.requirement)}   {by}",))
    if len(sheet.read_again) > MOST_ROWS:
        yield paper.line(word("ledger.more", n=len(sheet.read_again) - MOST_ROWS), "quiet")
