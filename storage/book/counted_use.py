"""What of the crib was read as often as its interval allows: counted when it is asked, for the journal of acts on the
shop does not say it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from msgspec.structs import replace
from sqlalchemy import Connection

from inspection.instruments.intervals import used_up
from inspection.instruments.record import Instrument
from inspection.sheet.state import Shop
from storage.book.queries.readings_since import readings_since


def readings_since_certified(connection: Connection, one: Instrument, until: int | None = None) -> int | None:
    """How often an instrument was read from the day of its certificate on, before ``until`` (UTC microseconds; None: no
    end); None where its interval says nothing of that."""
    if not one.every_readings or not one.certified:
        return None
    began = datetime.fromisoformat(one.certified).astimezone()  # where the day begins at this computer
    since = int(began.timestamp()) * 1_000_000
    later = readings_since(connection, one.identity, max(until - 1, since)) if until is not None else 0
    return readings_since(connection, one.identity, since) - later


def used_up_of(connection: Connection, asked: Iterable[Instrument], until: int | None = None) -> dict[str, int]:
    """How often those instruments were read that were read as often as their interval allows, by identity."""
    read = {one.identity: (one, readings_since_certified(connection, one, until)) for one in asked}
    return {name: n for name, (one, n) in read.items() if n is not None and used_up(one, n) is not None}


def with_use(connection: Connection, shop: Shop) -> Shop:
    """The shop with what of its crib was read as often as it may be; the very one where that is as it says already."""
    found = used_up_of(connection, (one for one in shop.crib.values() if one.every_readings))
    return shop if found == shop.used_up else replace(shop, used_up=found)
