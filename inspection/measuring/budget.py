"""The uncertainty of a reading before it is taken: the first, simple budget.

Every part is a variance, kept as an exact fraction of pm² (µas² for angles), so that a ratio can be compared with
its threshold without a rounding in between. Sources: JCGM 100:2008 (rectangular bounds, sum of squares) with the
simplifications of ISO 14253-2; from memory of both.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.materials import STEEL
from inspection.quantity.roots import root_up

#: A length (pm) times an expansion (1e-9/K) times a temperature (mK) is a growth in 1e-12 pm.
_GROWTH_SCALE = 10**12


class Temperature(Struct, frozen=True):
    """What is known of temperature. Expansions in 1e-9 per kelvin, temperatures in thousandths of a kelvin.

    ``spread`` is how far the part may be from the instrument. ``room`` is how far both may be from 20 °C: a bound
    if not ``corrected``; if corrected, the measured departure, known within ``thermometer``, with both expansions
    known within ``expansion_doubt`` (half-widths).
    """

    expansion: int = STEEL
    instrument_expansion: int = STEEL
    spread: int = 1_000
    room: int = 0
    corrected: bool = False
    thermometer: int = 1_000
    expansion_doubt: int = 1_000


class Source(Struct, frozen=True):
    """One thing that a reading passes through, in counts of its kind's step.

    ``error`` is a permissible error ±E without certificate, ``resolution`` the smallest step shown (0: no scale),
    ``repeatability`` and ``zero`` are standard deviations. ``zeroed`` says whether setting its zero adds its part.
    """

    error: int = 0
    resolution: int = 0
    repeatability: int = 0
    zero: int = 0
    zeroed: bool = True


class Line(Struct, frozen=True):
    """One line of a budget: its name and its variance, in squared counts."""

    name: str
    variance: Fraction


class Budget(Struct, frozen=True):
    """A reading's uncertainty by its parts."""

    lines: tuple[Line, ...]

    @property
    def variance(self) -> Fraction:
        """The combined variance, in squared counts."""
        return sum((line.variance for line in self.lines), Fraction(0))

    def expanded(self, unit_count: int) -> int:
        """U = 2u in counts, rounded up to two significant digits in the unit of ``unit_count`` counts.

        >>> Budget((Line("error", Fraction(3_556_000**2, 12)),)).expanded(25_400_000_000)  # .000081 in
        2057400
        """
        return rounded_up(4 * self.variance, unit_count)


def growth_square(size: int, expansion: int, temperature: int) -> Fraction:
    """The square (pm²) of how much ``size`` pm of expansion 1e-9/K grows over ``temperature`` mK."""
    return Fraction((size * expansion * temperature) ** 2, _GROWTH_SCALE**2)


def _bound(square: Fraction | int) -> Fraction:
    """Variance of a quantity known within ±a, from a²: a rectangular distribution."""
    return Fraction(square) / 3


def _reading(deviation: int, resolution: int) -> Fraction:
    """max(s, r/√12)²: the scatter seen already holds the step, but can't be less than it."""
    return max(Fraction(deviation * deviation), Fraction(resolution * resolution, 12))


def _temperature(size: int, known: Temperature) -> Iterable[Line]:
    yield Line("part against instrument", _bound(growth_square(size, known.expansion, known.spread)))
    if not known.room:
        return
    difference = known.expansion - known.instrument_expansion
    if not known.corrected:
        yield Line("room", _bound(growth_square(size, difference, known.room)))
        return
    yield Line("thermometer", _bound(growth_square(size, difference, known.thermometer)))
    yield Line("expansion", 2 * _bound(growth_square(size, known.expansion_doubt, known.room)))


def _source(source: Source) -> Iterable[Line]:
    if source.error:
        yield Line("permissible error", _bound(source.error * source.error))
    yield Line("reading", _reading(source.repeatability, source.resolution))
    if source.zeroed:
        yield Line("zero", _reading(source.zero, source.resolution))


def budget(sources: Iterable[Source], size: int = 0, temperature: Temperature | None = None) -> Budget:
    """The budget of one reading at ``size`` pm through all ``sources``; no temperature for angles."""
    lines = [line for source in sources for line in _source(source)]
    if temperature is not None:
        lines.extend(_temperature(size, temperature))
    return Budget(tuple(lines))


def correction(size: int, known: Temperature) -> int:
    """C = L(α_i − α_p)θ in pm, to be added to a reading taken at ``known.room`` from 20 °C; nearest pm.

    Part and instrument are at one temperature.
    """
    return round(Fraction(size * (known.instrument_expansion - known.expansion) * known.room, _GROWTH_SCALE))


def rounded_up(square: Fraction, unit_count: int) -> int:
    """√``square`` (counts) rounded up to two significant digits in a unit of ``unit_count`` counts.

    Where a digit of the unit is finer than a count, the next whole count.
    """
    if square <= 0:
        return 0
    step = Fraction(unit_count)
    while square > (99 * step) ** 2:
        step *= 10
    while square <= (Fraction(99, 10) * step) ** 2:
        step /= 10
    digits = root_up(square / step**2)
    return -(-digits * step.numerator // step.denominator)
