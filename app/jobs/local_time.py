"""This computer's time: its zone, and moments told in it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, tzinfo
from time import localtime, tzname


class LocalZone(tzinfo):
    """This computer's time zone, with its changes of clocks through the years."""

    def __str__(self) -> str:
        """The zone's abbreviations through the year."""
        return "/".join(dict.fromkeys(tzname))

    def fromutc(self, moment: datetime) -> datetime:
        """The local time at a moment given in UTC."""
        return moment + timedelta(seconds=localtime(moment.replace(tzinfo=UTC).timestamp()).tm_gmtoff)

    def utcoffset(self, moment: datetime | None) -> timedelta | None:
        """How far local time is from UTC then."""
        return None if moment is None else moment.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, _moment: datetime | None) -> None:
        """Not told: the offset holds it."""

    def tzname(self, moment: datetime | None) -> str | None:
        """The zone's abbreviation then."""
        return None if moment is None else moment.replace(tzinfo=None).astimezone().tzname()


def moment(at: int) -> str:
    """A moment (UTC microseconds) as this computer's day and time, to the minute."""
    return datetime.fromtimestamp(at // 1_000_000, UTC).astimezone(LocalZone()).strftime("%Y-%m-%d %H:%M")
