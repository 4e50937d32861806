"""What another hand did to the same feature since a person last looked: both entries are kept, and it is said."""

from __future__ import annotations

from sqlalchemy import Connection, select

from inspection.reasons import Reason
from inspection.sheet.acts import Act
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.events import Entry
from inspection.sheet.state import Sheet, Shop
from storage.book.tables import journal


def second_hands(connection: Connection, shop: Shop, sheet: Sheet, act: Act, entry: Entry) -> tuple[Reason, ...]:
    """Reasons that name each entry on the act's row and piece by another person or station, since the entry that
    this one was based on. Nothing is read while the person has seen the sheet's last entry."""
    row, piece = getattr(act, "characteristic", ""), getattr(act, "piece", "")
    if not row or entry.based_on in ("", sheet.last_entry):
        return ()
    seen = select(journal.c.sequence).where(journal.c.identity == entry.based_on).scalar_subquery()
    since = (
        select(journal.c.form, journal.c.content)
        .where(journal.c.stream == sheet.identity, journal.c.sequence > seen)
        .where((journal.c.person != entry.person) | (journal.c.station != entry.station))
        .order_by(journal.c.sequence)
    )
    records = [ENTRY_READERS[form](content) for form, content in connection.execute(since)]
    return tuple(
        _said(shop, sheet, row, record.entry)
        for record in records
        if getattr(record.act, "characteristic", "") == row and getattr(record.act, "piece", "") in ("", piece)
    )


def _said(shop: Shop, sheet: Sheet, row: str, other: Entry) -> Reason:
    who = shop.people.get(other.person)
    number = sheet.characteristic(row).number
    return Reason("book.second_hand", {"person": who.name if who else other.person, "number": number})
