"""What would help a marginal row: remedies that name their check, each offered only if all ratios then hold.

Everything is computed by reckoning the row again with the remedy in it. Resolution is mended by a finer instrument
only; accuracy by a tighter permissible error or by correcting with the certificate; uncertainty by any part of the
budget.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.ratios import hundredths, spoken
from inspection.measuring.bias import Correction
from inspection.measuring.certificates import Certificate
from inspection.measuring.repeats import MOST
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty import Budget
from inspection.measuring.uncertainty_ratio import largest_bound, uncertainty_hundredths
from inspection.measuring.uncertainty_sources import Source, budget_of
from inspection.quantity.units import UNITS
from inspection.reasons import Amount, Figure, Part, Reason, Refused

#: Steps in which a soaked part's nearness to the instrument is asked for, in mK.
_SOAK_STEP = 100


class Check(StrEnum):
    """The ratio that a remedy mends."""

    RESOLUTION = "resolution"
    ACCURACY = "accuracy"
    UNCERTAINTY = "uncertainty"


class Needed(Struct, frozen=True):
    """The ratios needed, in hundredths."""

    resolution: int = 1_000
    accuracy: int = 400
    uncertainty: int = 300


class Case(Struct, frozen=True):
    """One row by one method: its ``sources`` (the one that is read first), the size, the band T and the declared
    repeats; what is known of temperature; what is needed; and the known errors with what is done about them."""

    sources: tuple[Source, ...]
    size: int
    band: int
    repeats: int = 1
    temperatures: Temperatures | None = None
    needed: Needed = Needed()
    corrections: tuple[Correction, ...] = ()

    def budget(self) -> Budget:
        """The budget as it stands. Raises Refused as ``budget_of`` does."""
        return budget_of(self.sources, self.size, self.repeats, self.temperatures, self.corrections)


class Ratios(NamedTuple):
    """The three ratios in hundredths, rounded down."""

    resolution: int
    accuracy: int
    uncertainty: int

    def hold(self, needed: Needed) -> bool:
        """Whether every ratio is at least what is needed."""
        wanted = (needed.resolution, needed.accuracy, needed.uncertainty)
        return all(got >= least for got, least in zip(self, wanted, strict=True))


class Remedy(Struct, frozen=True):
    """One thing that would help: which check it mends, what to do, and the ratio that the check then comes to."""

    check: Check
    reason: Reason
    ratio: str
    repeats: int = 0  # for repeats: m


def ratios_of(case: Case) -> Ratios:
    """T / r, T / 2E and T / 2U. With a certificate's correction, U of the certificate and drift stand for E.

    Raises Refused as the budget does.
    """
    read = case.sources[0]
    return Ratios(
        hundredths(case.band, read.resolution),
        hundredths(case.band, 2 * read.limit_at(case.size)),
        uncertainty_hundredths(case.band, case.budget()),
    )


def remedies(
    case: Case,
    certificates: Mapping[str, tuple[Certificate, Certificate | None]] = {},
    measured: Measured | None = None,
    most: int = MOST,
) -> tuple[Remedy, ...]:
    """What would make every ratio of a case hold, the easy thing first; nothing where they hold already.

    ``certificates`` are the last and the one before by tag, of instruments that have them; ``measured`` are
    temperatures that are, or could be, taken. Raises Refused as the budget does for the case as it stands.
    """
    if ratios_of(case).hold(case.needed):
        return ()
    found = (_repeats(case, most), _soak(case), _correct(case, measured), *_certified(case, certificates), _other(case))
    return tuple(remedy for remedy in found if remedy is not None)


def _reckoned(case: Case) -> Ratios | None:
    """The ratios of a changed case; None where something it then needs is not known."""
    try:
        found = ratios_of(case)
    except Refused:
        return None
    return found if found.hold(case.needed) else None


def _repeats(case: Case, most: int) -> Remedy | None:
    for m in range(case.repeats + 1, most + 1):
        found = _reckoned(replace(case, repeats=m))
        if found is not None:
            return Remedy(
                Check.UNCERTAINTY, Reason("doubt.remedy.repeats", {"m": m}), spoken(found.uncertainty), repeats=m
            )
    return None


def _soak(case: Case) -> Remedy | None:
    """The widest spread between part and instrument that would do, in tenths of a kelvin."""
    known = case.temperatures
    if known is None:
        return None
    for spread in range((known.spread - 1) // _SOAK_STEP * _SOAK_STEP, 0, -_SOAK_STEP):
        found = _reckoned(replace(case, temperatures=replace(known, spread=spread)))
        if found is not None:
            said: dict[str, Part] = {"d": Figure(f"{spread // 1000}.{spread % 1000 // 100}")}
            return Remedy(Check.UNCERTAINTY, Reason("doubt.remedy.soak", said), spoken(found.uncertainty))
    return None


def _correct(case: Case, measured: Measured | None) -> Remedy | None:
    known = case.temperatures
    if known is None or known.corrected or (measured or known.measured) is None:
        return None
    held = replace(known, measured=measured or known.measured, corrected=True)
    found = _reckoned(replace(case, temperatures=held))
    if found is None:
        return None
    return Remedy(Check.UNCERTAINTY, Reason("doubt.remedy.correct_temperature"), spoken(found.uncertainty))


def _certified(
    case: Case, certificates: Mapping[str, tuple[Certificate, Certificate | None]]
) -> Iterator[Remedy | None]:
    for at, source in enumerate(case.sources):
        if source.tag not in certificates or source.certificate is not None:
            continue
        now, before = certificates[source.tag]
        sources = list(case.sources)
        sources[at] = replace(source, certificate=now, before=before)
        found = _reckoned(replace(case, sources=tuple(sources)))
        if found is not None:
            check = Check.ACCURACY if at == 0 else Check.UNCERTAINTY
            said: dict[str, Part] = {"tag": source.tag, "number": now.number}
            ratio = found.accuracy if at == 0 else found.uncertainty
            yield Remedy(check, Reason("doubt.remedy.certificate", said), spoken(ratio))


def _other(case: Case) -> Remedy | None:
    """The coarsest step and the largest permissible error that another instrument of the kind could have."""
    read, needed = case.sources[0], case.needed
    now = ratios_of(case)
    step = _rounded_down(min(read.resolution, largest_bound(case.band, needed.resolution)), read.unit)
    stated = min(read.error_at(_at(case)), largest_bound(case.band, 2 * needed.accuracy))
    error = _largest_error(case, step, stated)
    if error <= 0 or step <= 0:
        return None
    found = _reckoned(_with(case, step, error))
    if found is None:
        return None
    said: dict[str, Part] = {"r": _amount(step, read.unit), "E": _amount(error, read.unit)}
    if now.resolution < needed.resolution:
        return Remedy(Check.RESOLUTION, Reason("doubt.remedy.finer", said), spoken(found.resolution))
    check = Check.ACCURACY if now.accuracy < needed.accuracy else Check.UNCERTAINTY
    ratio = found.accuracy if check is Check.ACCURACY else found.uncertainty
    return Remedy(check, Reason("doubt.remedy.tighter", said), spoken(ratio))


#: What a check showed of the instrument in hand; another one has not shown it.
_OWN = frozenset({"check", "zero"})


def _with(case: Case, step: int, error: int) -> Case:
    read = replace(case.sources[0], resolution=step, steps=((_at(case), error),), certificate=None, before=None)
    kept = tuple(each for each in case.corrections if each.name not in _OWN)
    return replace(case, sources=(read, *case.sources[1:]), corrections=kept)


def _at(case: Case) -> int:
    """The size at which the instrument read has its error."""
    return case.sources[0].at(case.size)


def _largest_error(case: Case, step: int, stated: int) -> int:
    """The largest E up to ``stated`` for which every ratio holds, of two digits in the unit; 0 if none does."""
    unit = case.sources[0].unit
    if stated <= 0 or step <= 0:
        return 0
    if _reckoned(_with(case, step, stated)) is not None:
        return _rounded_down(stated, unit)
    low, high = 0, stated
    while high - low > max(stated // 1000, 1):
        middle = (low + high) // 2
        low, high = (low, middle) if _reckoned(_with(case, step, middle)) is None else (middle, high)
    return _rounded_down(low, unit)


def _rounded_down(count: int, unit: str) -> int:
    """A count cut to two significant digits in its unit, and to whole counts."""
    if count <= 0:
        return 0
    step = Fraction(UNITS[unit].count)
    while 100 * step <= count:
        step *= 10
    while 10 * step > count:
        step /= 10
    cut = count // step * step
    return cut.numerator // cut.denominator


def _amount(count: int, unit: str) -> Amount:
    return Amount(count, UNITS[unit].kind, unit)
