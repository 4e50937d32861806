"""What another hand did to the same thing since a person last looked: both entries are kept, and it is said."""

from __future__ import annotations

from sqlalchemy import Connection, select

from inspection.reasons import Reason
from inspection.sheet import acts
from inspection.sheet.acts import Act
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.events import Entry
from inspection.sheet.state import Sheet, Shop
from storage.book.tables import journal

_HEAD = "head"


def second_hands(connection: Connection, shop: Shop, sheet: Sheet, act: Act, entry: Entry) -> tuple[Reason, ...]:
    """Reasons that name each entry by another person or station on what the act is about (a row and piece, the head,
    one material, process or test), since the entry that this one was based on. Nothing is read while the person has
    seen the sheet's last entry."""
    about = _about(act)
    if not about or entry.based_on in ("", sheet.last_entry):
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
        _said(shop, sheet, act, record.entry)
        for record in records
        if _about(record.act) == about and _piece(record.act) in ("", _piece(act))
    )


def _about(act: Act) -> str:
    """What of a sheet an act is about: its head, a material, process or test, or a row; nothing for any other."""
    match act:
        case acts.WriteHead():
            return _HEAD
        case acts.EnterEvidence(evidence=evidence):
            return evidence.identity
        case acts.StrikeEvidence(evidence=identity):
            return identity
    row: str = getattr(act, "characteristic", "")
    return row


def _piece(act: Act) -> str:
    piece: str = getattr(act, "piece", "")
    return piece


def _said(shop: Shop, sheet: Sheet, act: Act, other: Entry) -> Reason:
    who = shop.people.get(other.person)
    person = who.name if who else other.person
    about = _about(act)
    if about == _HEAD:
        return Reason("book.second_head", {"person": person})
    if about in sheet.evidence:
        return Reason("book.second_evidence", {"person": person, "name": sheet.evidence[about].name})
    return Reason("book.second_hand", {"person": person, "number": sheet.characteristic(about).number})
