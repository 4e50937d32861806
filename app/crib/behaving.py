"""How an instrument behaves, as its page shows it: proven or not, its checks as a plot, evidence and records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from app.crib.drifting import Drift, Drifting, drift_of
from app.jobs.local_time import moment
from app.parts.marks import Mark
from app.parts.plot import Level, Plot, Point, Stroke, Upright
from inspection.instruments.keeping import SOON
from inspection.instruments.record import Instrument
from inspection.measuring.proofs import Proof, UpsetRecord, checks_of, identity_of
from inspection.quantity.units import UNITS
from inspection.sheet import behaviour
from inspection.sheet.alive import alive_for
from inspection.sheet.behaviour import ErrorSeen, Read, Remembered
from inspection.words.say import OTHER_UNITS, say, word

if TYPE_CHECKING:
    from inspection.measuring.checks_life import Used
    from inspection.sheet.state import Shop

#: Checks that the plot shows, the last ones.
MOST_PLOTTED = 24
#: The mark of each reading in a check that passed; in one that failed all have the same.
_MARKS = {Read.BLOCK: Mark.CONFORMING, Read.ZERO: Mark.OPEN, Read.SPOT: Mark.CONFORMING}
_SERIES = {Read.BLOCK: 0, Read.SPOT: 0, Read.ZERO: 1}
_GOOD = {True: Mark.CONFORMING, False: Mark.OUT, None: None}


class Record(NamedTuple):
    """One check, mishap or study in words."""

    when: str
    person: str
    what: str
    mark: Mark | None
    said: tuple[str, ...]


class Behaving(NamedTuple):
    """What a page tells of how an instrument behaves: where its check stands with its mark, what is known of its
    scatter and error, what is on record with the newest first, and the plot; from how many days ``ahead`` it is told as
    due soon, and whether it was read as often as it may be."""

    stands: tuple[str, ...] = ()
    mark: Mark = Mark.NOT_JUDGED
    evidence: tuple[str, ...] = ()
    records: tuple[Record, ...] = ()
    plot: Plot | None = None
    drift: Drift | None = None
    ahead: int = SOON
    used_up: bool = False


NOTHING_TOLD = Behaving()


class Known(NamedTuple):
    """What the book knows beside the shop: records of the instrument, and uses of it by others than who checked it
    last."""

    instrument: str = ""
    proofs: tuple[Proof, ...] = ()
    uses: tuple[Used, ...] = ()
    drift: Drifting | None = None
    readings: int | None = None


def behaving(
    shop: Shop, instrument: Instrument, known: Known, person: str, at: int, units: str, view: int = 0
) -> Behaving:
    """How an instrument behaves, told to the person at the bench at a moment (UTC µs), lengths in ``units``; ``view``
    is which plot of its certificates is shown."""
    held = tuple(each for each in shop.proofs if each.instrument == instrument.identity)
    asked = known.instrument == instrument.identity
    proofs = _together(known.proofs, held) if asked else held
    checks = checks_of(shop.proofs, instrument.identity)
    maker = checks[-1].made.by if checks else person
    found = alive_for(shop, instrument, maker, at, known.uses if asked else ())
    stands = behaviour.stands(shop, found, person, moment)
    evidence = behaviour.evidence_now(shop, instrument)
    return Behaving(
        tuple(say(reason, units) for reason in stands.said) if stands else (),
        {True: Mark.CONFORMING, False: Mark.MARGINAL, None: Mark.NOT_JUDGED}[stands.proven if stands else None],
        tuple(say(reason, units) for reason in behaviour.evidence_said(instrument, evidence)) if evidence else (),
        tuple(_record(shop, each, units) for each in behaviour.remembered(shop, proofs)),
        plot_of(shop, instrument, proofs, units),
        drift_of(instrument, known.drift, known.readings, units, view) if asked else None,
        shop.rules.remind_days,
        instrument.identity in shop.used_up,
    )


def _together(asked: Iterable[Proof], held: Iterable[Proof]) -> tuple[Proof, ...]:
    """What the book told, and what has come in since, each once and in the order of time."""
    found = {identity_of(each): each for each in (*asked, *held)}
    return tuple(sorted(found.values(), key=lambda each: each.at))


def _record(shop: Shop, one: Remembered, units: str) -> Record:
    who = shop.people.get(one.by)
    name = who.name if who is not None else one.by
    return Record(
        moment(one.at), name, say(one.what, units), _GOOD[one.good], tuple(say(reason, units) for reason in one.said)
    )


# --- the plot -----------------------------------------------------------------------------------------------------


def plot_of(shop: Shop, instrument: Instrument, proofs: Sequence[Proof], units: str) -> Plot | None:
    """The errors that the last checks read against time, with what was permitted; None where none read any."""
    seen = behaviour.errors_seen(shop, proofs)
    moments = sorted({one.at for one in seen})[-MOST_PLOTTED:]
    shown = [one for one in seen if one.at in moments]
    if not shown:
        return None
    unit = OTHER_UNITS.get(units, {}).get(instrument.unit, instrument.unit)
    return Plot(
        tuple(_point(one) for one in shown),
        tuple(_levels(shown)),
        UNITS[unit].kind,
        unit,
        least=4 * instrument.resolution,
        ticks=_ticks(moments),
        legend=tuple(_legend(shown)),
        uprights=tuple(_uprights(proofs, moments[0])),
    )


def _point(one: ErrorSeen) -> Point:
    mark = _MARKS[one.what] if one.passed else Mark.OUT
    reach = (one.low, one.high) if one.low != one.high else None
    return Point(one.at, one.error, mark, moment(one.at), reach, _SERIES[one.what])


def _levels(shown: Sequence[ErrorSeen]) -> Iterator[Level]:
    """±E of what was read last on a block, and that of zero where it is another."""
    last = {one.what: one for one in shown if one.limit is not None}
    main = last.get(Read.BLOCK) or last.get(Read.SPOT) or last.get(Read.ZERO)
    if main is None or main.limit is None:
        return
    yield Level(main.limit, word("crib.plot.above"))
    if main.what is not Read.SPOT:
        yield Level(-main.limit, word("crib.plot.below"))
    zero = last.get(Read.ZERO)
    if zero is not None and zero.limit not in (None, main.limit):
        yield Level(zero.limit or 0, word("crib.plot.zero_above"), Stroke.SCATTER)
        yield Level(-(zero.limit or 0), word("crib.plot.zero_below"), Stroke.SCATTER)


def _legend(shown: Iterable[ErrorSeen]) -> Iterator[tuple[Mark, str]]:
    read = {one.what for one in shown}
    for what in (each for each in Read if each in read):
        yield _MARKS[what], word(f"crib.plot.{what.value}")
    yield Mark.OUT, word("crib.plot.failed")


def _uprights(proofs: Iterable[Proof], since: int) -> Iterator[Upright]:
    for each in proofs:
        if isinstance(each, UpsetRecord) and each.at >= since:
            yield Upright(each.at, word(f"check.upset.{each.happened.what.value}"))


def _ticks(moments: Sequence[int]) -> tuple[tuple[int, str], ...]:
    """The days of the checks, each once, or their times where all were made on one day."""
    told = [(at, moment(at)) for at in moments]
    days = {text[:10]: at for at, text in reversed(told)}
    return (
        tuple((at, text[11:]) for at, text in told) if len(days) == 1 else tuple((at, day) for day, at in days.items())
    )
