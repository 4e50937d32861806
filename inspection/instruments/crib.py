"""What the crib offers: every method its instruments make up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from inspection.instruments.comparing import shows
from inspection.instruments.method import InstrumentIssue, Method
from inspection.instruments.reach import usable
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.ways import Way, ways


class Offer(Struct, frozen=True):
    """A method with the way it follows and the instruments it takes, in the order of its parts."""

    way: Way
    method: Method
    parts: tuple[Instrument, ...]

    @property
    def handling_seconds(self) -> int:
        """What one reading by this method costs."""
        return sum(part.handling_seconds for part in self.parts)


def _issue(instrument: Instrument) -> InstrumentIssue:
    return InstrumentIssue(instrument.identity, instrument.issue)


def _companion(held: Iterable[Instrument], day: str) -> Instrument | None:
    """The best of a kind that only carries part or instrument: usable on the day, least error, finest step."""
    return min(
        held,
        key=lambda item: (
            not usable(item, day),
            max((step.error for step in item.permissible), default=0),
            item.resolution,
            item.tag,
            item.identity,
        ),
        default=None,
    )


def _made_up(way: Way, held: Mapping[InstrumentKind, list[Instrument]], day: str) -> Iterator[tuple[Instrument, ...]]:
    companions = [_companion(held.get(kind, ()), day) for kind in way.companions]
    rest = tuple(item for item in companions if item is not None)
    if len(rest) < len(companions):
        return
    for read in held.get(way.read, ()):
        if way.set_on is not None:
            yield from ((read, *rest, carrying) for carrying in held.get(way.set_on, ()) if shows(read, carrying))
        elif way.transfer is not None:
            gauges = (gauge for gauge in held.get(way.transfer, ()) if _reads(read, gauge))
            yield from ((read, gauge, *rest) for gauge in gauges)
        else:
            yield (read, *rest)


def _reads(read: Instrument, gauge: Instrument) -> bool:
    return not gauge.read_over or read.kind in gauge.read_over


def offers(crib: Mapping[str, Instrument], day: str) -> tuple[Offer, ...]:
    """Every method that the crib's instruments make up, by way and tag; one that lacks a companion is not offered.

    Of surface plates and indicators that merely serve, the best one usable on ``day`` is taken; of what carries the
    size, each in a unit that the instrument read shows.
    """
    held: dict[InstrumentKind, list[Instrument]] = {}
    for instrument in sorted(crib.values(), key=lambda item: (item.tag, item.identity)):
        held.setdefault(instrument.kind, []).append(instrument)
    return tuple(
        Offer(way, Method(way.use, tuple(map(_issue, parts))), parts)
        for way in ways()
        for parts in _made_up(way, held, day)
    )
