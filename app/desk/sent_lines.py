"""What was sent of a sheet, as lines of a table."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from app.jobs.local_time import moment
from inspection.words.say import known, word

if TYPE_CHECKING:
    from inspection.sheet.state import Shop
    from storage.book.queries.sent_of_sheet import SentOfSheet

#: Digits of a digest that tell files apart at a glance; all 64 on demand.
SHORT = 12


class SentLine(NamedTuple):
    """One file that was sent, as shown; ``digest`` whole. ``since`` is "", "changed" or "reopened"."""

    when: str
    form: str
    name: str
    digest: str
    person: str
    since: str


def sent_line(sent: SentOfSheet, shop: Shop) -> SentLine:
    """A file that was sent, in words."""
    person = shop.people.get(sent.by)
    form = word(f"desk.form.{sent.form}") if known(f"desk.form.{sent.form}") else sent.form
    name = person.name if person is not None else sent.by
    return SentLine(moment(sent.at), form, sent.name, sent.digest, name, sent.since)
