"""Honest sheets by chance: pieces of a process, read by hands, rounded to the marks of their instruments."""

from __future__ import annotations

from random import Random
from typing import Any

from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.measuring.reading import Reading
from inspection.measuring.slips import step_shown
from inspection.sheet.state import Sheet, Shop
from inspection.standards.usual_figures import usual_deviation

MICROMETRE = 1_000_000
SECOND = 1_000_000


class Process:
    """How parts come out and hands read them.

    ``apart`` and ``alike`` are standard deviations, as a part of the band and in µm at the most: of a row's mean from
    its nominal, and of one piece from the next. ``pace`` is how much of the planned time a hand takes, from and to;
    ``coarse`` how often somebody reads an instrument to every other mark.
    """

    def __init__(
        self,
        apart: tuple[float, float] = (1 / 8, 15.0),
        alike: tuple[float, float] = (1 / 16, 6.0),
        pace: tuple[float, float] = (0.35, 2.5),
        coarse: float = 0.2,
    ) -> None:
        self.apart, self.alike, self.pace, self.coarse = apart, alike, pace, coarse


#: The best that is reckoned with: parts of C_p = 4, on a machine of a few microns, all at nominal; a nimble hand.
BEST = Process((1 / 24, 5.0), (1 / 24, 2.0), (0.25, 0.6))


def honest(shop: Shop, sheet: Sheet, chance: Random, process: Process | None = None) -> Sheet:
    """The sheet with every number that counts made anew, in the order they were taken, by a process and a hand."""
    process = process or Process()
    marks = {tag: 2 if chance.random() < process.coarse else 1 for tag in sorted(shop.crib)}
    means: dict[tuple[str, str], float] = {}
    pieces: dict[tuple[str, str, str], float] = {}
    readings: dict[str, Reading] = {}
    at = sheet.made_at + 3 * SECOND
    before: Reading | None = None
    for name, reading in sheet.readings.items():
        if reading.count is None:
            readings[name] = reading
            continue
        row = sheet.characteristic(reading.characteristic)
        parts = [shop.issues[part.identity, part.issue] for part in reading.method.parts]
        band, place = row.requirement.band or 0, (row.identity, reading.slot.place)
        means.setdefault(place, chance.gauss(0, _least(process.apart, band)))
        pieces.setdefault((*place, reading.piece), chance.gauss(0, _least(process.alike, band)))
        hand = chance.gauss(0, sum(_deviation(part) ** 2 for part in parts) ** 0.5)
        value = (row.requirement.nominal or 0) + means[place] + pieces[*place, reading.piece] + hand
        step = step_shown(parts[0], reading.unit)[0] * marks[parts[0].identity]
        at += _takes(chance, process, parts, before, reading, sheet)
        readings[name] = replace(reading, count=round(value / step) * step, taken=round(at))
        before = reading
    return replace(sheet, readings=readings)


def _least(given: tuple[float, float], band: int) -> float:
    return min(given[0] * band, given[1] * MICROMETRE)


def _deviation(part: Instrument) -> int:
    return part.repeatability or usual_deviation(part.kind.value, part.resolution) or 0


def _takes(
    chance: Random, process: Process, parts: list[Instrument], before: Reading | None, reading: Reading, sheet: Sheet
) -> float:
    """Microseconds that a hand takes for a reading: handling, another pick-up, and no less than three seconds."""
    planned = float(sum(part.handling_seconds for part in parts))
    if before is None or before.method.key != reading.method.key:
        planned += sheet.rules.pick_up_seconds
    return max(3.0, planned * chance.uniform(*process.pace)) * SECOND


def template(life: Any, rows: list[dict[str, str]], serials: tuple[str, ...]) -> Any:
    """A life with a sheet on which every row is read at nominal on every piece."""
    life.make(serials, *rows)
    for piece in range(len(serials)):
        for row in life.sheet.plan.characteristics:
            nominal = row.requirement.written.removeprefix("⌀").split(" ")[0]
            life.take(row.number, nominal, piece)
    return life
