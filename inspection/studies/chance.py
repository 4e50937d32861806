"""How improbable it is that honest readings agree by chance.

A reading is a value rounded to a mark of the instrument, marks standing a step r apart. Whatever the value scatters
about, the probability that it falls on one given mark is greatest where that mark is the middle:
p = erf(r / (2√2 σ)). So p is also the most that two readings can be expected to agree, and what is told from it accuses
nobody who has a good machine.

σ is held small on purpose. It is what the hand scatters on a part, and beside it the least that a process does: a
twenty-fourth of the band, as one of C_p = 4 (common practice: hardly any first article is made on a better one), and
never more than a good machine does whatever the band is: ``ALIKE`` on the same feature of pieces made one after the
other, ``APART`` from one feature to the next. On steps much coarser than σ agreement is certain, and says nothing.

Improbability is counted in thousandths of a bit, −1000 log₂ p rounded down, so that it adds up in whole numbers. A
statement is made where honest readings would give rise to it on fewer than one sheet in ``ONE_IN``.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, comb, erf, log2, sqrt

from inspection.instruments.record import Instrument
from inspection.quantity.units import UNITS, Kind
from inspection.standards.usual_figures import usual_deviation

#: A process scatters by a band over this at the least: C_p = 4.
CAPABLE = 24
#: The most that is reckoned of a process (counts): on one feature of pieces made one after the other …
ALIKE = {Kind.LENGTH: 2 * UNITS["µm"].count, Kind.ANGLE: 20 * UNITS['"'].count}
#: … and from one feature to the next, which have their own tools, offsets and clamping.
APART = {Kind.LENGTH: 5 * UNITS["µm"].count, Kind.ANGLE: 60 * UNITS['"'].count}
#: One honest sheet in so many may give rise to a statement by chance.
ONE_IN = 1_000
#: Thousandths of a bit.
BIT = 1_000


def scatter_square(parts: tuple[Instrument, ...], band: int | None, most: int) -> int:
    """σ² (counts²) of what is read by the ``parts`` of a method on a row with a ``band``: the hand's part, each
    instrument's on-part deviation by its record or the usual one of its kind, and the process's, ``most`` at the most.
    """
    hand = sum(_deviation(part) ** 2 for part in parts)
    return hand + min((band or 0) // CAPABLE, most) ** 2


def _deviation(part: Instrument) -> int:
    if part.repeatability or part.quantity is not Kind.LENGTH:
        return part.repeatability
    return usual_deviation(part.kind.value, part.resolution) or 0


@lru_cache(maxsize=4_096)
def surprise(step: int, square: int) -> int:
    """How improbable one agreement is, in thousandths of a bit: −1000 log₂ erf(r / (2√2 σ)), rounded down.

    ``step`` is r and ``square`` σ² in counts; 0 where nothing scatters, or no step is known.

    >>> caliper = surprise(12_700_000, 7_620_000**2)  # steps of .0005 in, s = .0003 in
    >>> caliper, surprise(12_700_000, 0)
    (748, 0)
    """
    if step <= 0 or square <= 0:
        return 0
    p = erf(step / sqrt(8 * square))
    return int(-BIT * log2(p)) if p < 1 else 0


def needed(tried: int) -> int:
    """Beyond so many thousandths of a bit chance is no explanation, where it had ``tried`` occasions.

    >>> needed(1), needed(64)
    (9966, 15966)
    """
    return ceil(BIT * log2(ONE_IN * max(1, tried)))


def choosing(n: int, of: int) -> int:
    """What it costs, in thousandths of a bit, that any ``n`` out of ``of`` may be other ones: log₂ of the number of
    ways, rounded up.

    >>> choosing(0, 20), choosing(1, 16)
    (0, 4000)
    """
    return ceil(BIT * log2(comb(of, n)))
