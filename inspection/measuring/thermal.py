"""Temperature: what a part and an instrument away from 20 °C do to a length, corrected or not.

θ is a temperature's departure from 20 °C (ISO 1), in thousandths of a kelvin; expansions α are in 1e-9 per kelvin;
lengths in pm. Sources: JCGM 100:2008 H.1 for the model, ISO 1 for the reference temperature; from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from inspection.instruments.materials import STEEL
from inspection.measuring.uncertainty import Line, Measure, bounded
from inspection.reasons import Figure, Reason, Refused

_MILLI = 1_000
_NANO = 10**9

#: From −200 °C to 1000 °C; beyond is no bench.
_COLDEST, _HOTTEST = -220_000, 980_000


class Measured(Struct, frozen=True):
    """Temperatures taken: ``part`` and ``instrument`` as departures θ from 20 °C, by one thermometer known within
    ± ``thermometer`` (mK, half-width)."""

    part: int
    instrument: int
    thermometer: int = 1_000


class Temperatures(Struct, frozen=True):
    """What is known of temperature for one reading.

    Expansions of part and instrument with the half-widths they are known within. ``spread`` is how far the part may
    be from the instrument, or from what was measured of both (mK, half-width). ``room`` is a bound on |θ| of both
    where nothing was measured; ``measured`` what was. A reading is ``corrected`` to 20 °C only by what was measured.
    """

    part_expansion: int = STEEL
    instrument_expansion: int = STEEL
    part_doubt: int = 1_000
    instrument_doubt: int = 1_000
    spread: int = 1_000
    room: int = 0
    measured: Measured | None = None
    corrected: bool = False


def check_temperatures(known: Temperatures) -> None:
    """Raises Refused for spans under 0, temperatures that no bench has, and a correction by nothing measured."""
    widths = (known.part_doubt, known.instrument_doubt, known.spread, known.room)
    if min(*widths, known.part_expansion, known.instrument_expansion) < 0:
        raise Refused(Reason("doubt.width_negative", {"part": "temperature"}))
    if known.corrected and known.measured is None:
        raise Refused(Reason("doubt.temperature_not_measured"))
    if known.measured is not None:
        if known.measured.thermometer < 0:
            raise Refused(Reason("doubt.width_negative", {"part": "temperature"}))
        for theta in (known.measured.part, known.measured.instrument):
            if not _COLDEST <= theta <= _HOTTEST:
                raise Refused(Reason("doubt.temperature_absurd", {"t": _celsius(theta + 20_000)}))


def correction(size: int, known: Temperatures) -> Fraction:
    """C = L (α_i θ_i − α_p θ_p), in pm: added to a reading it gives the part's length at 20 °C.

    First order, L standing for the reading or the nominal size. 0 where nothing was measured.

    >>> warm = Temperatures(part_expansion=23_600, measured=Measured(5_000, 5_000))
    >>> float(correction(100 * 10**9, warm)) / 10**6  # aluminium 100 mm read by steel at 25 °C, in µm
    -6.05
    """
    if known.measured is None:
        return Fraction(0)
    part, instrument = known.measured.part, known.measured.instrument
    grown = known.instrument_expansion * instrument - known.part_expansion * part
    return Fraction(size * grown, _NANO * _MILLI)


def temperature_lines(size: int, known: Temperatures) -> tuple[Line, ...]:
    """The lines of temperature at a ``size`` L.

    Always: part against instrument, L·α_p·d/√3. Only a room band known: the bound L·|α_p − α_i|·θ/√3. Measured: the
    thermometer, L·(α_p − α_i)·δ/√3, and each expansion, L·θ·u(α), whether the correction is made or only known.
    Raises Refused as ``check_temperatures`` does.

    >>> [line.name for line in temperature_lines(10**9, Temperatures(measured=Measured(5_000, 5_000)))]
    ['part against instrument', 'part expansion', 'instrument expansion']
    """
    check_temperatures(known)
    return tuple(line for line in _lines(size, known) if line.variance)


def _lines(size: int, known: Temperatures) -> Iterator[Line]:
    difference = Fraction(size * (known.part_expansion - known.instrument_expansion), _NANO)
    own = Fraction(size * known.part_expansion, _NANO)
    yield _kelvin("part against instrument", Reason("doubt.line.part_against_instrument"), known.spread, own)
    if known.measured is None:
        yield _kelvin("room", Reason("doubt.line.room"), known.room, difference)
        return
    yield _kelvin("thermometer", Reason("doubt.line.thermometer"), known.measured.thermometer, difference)
    yield _expanding(
        "part expansion", Reason("doubt.line.part_expansion"), known.part_doubt, size, -known.measured.part
    )
    yield _expanding(
        "instrument expansion",
        Reason("doubt.line.instrument_expansion"),
        known.instrument_doubt,
        size,
        known.measured.instrument,
    )


def _kelvin(name: str, what: Reason, width: int, sensitivity: Fraction) -> Line:
    estimate = Reason("doubt.estimate.kelvin", {"t": Figure(_decimal(width))})
    return bounded(name, what, estimate, Fraction(width, _MILLI), measure=Measure.TEMPERATURE, sensitivity=sensitivity)


def _expanding(name: str, what: Reason, width: int, size: int, theta: int) -> Line:
    estimate = Reason("doubt.estimate.expansion", {"a": Figure(_decimal(width))})
    sensitivity = Fraction(size * theta, _MILLI)
    return bounded(name, what, estimate, Fraction(width, _NANO), measure=Measure.EXPANSION, sensitivity=sensitivity)


def left_uncorrected(size: int, known: Temperatures) -> Fraction:
    """|C| in pm that U must be made greater by: what was measured and is not corrected; else 0."""
    return Fraction(0) if known.corrected else abs(correction(size, known))


def _decimal(thousandths: int) -> str:
    whole, rest = divmod(thousandths, 1_000)
    return f"{whole}.{rest:03d}".rstrip("0").rstrip(".")


def _celsius(thousandths: int) -> Figure:
    return Figure(("-" if thousandths < 0 else "") + _decimal(abs(thousandths)))
