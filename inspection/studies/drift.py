"""How an instrument's error moves from certificate to certificate, and what that says of the interval between them.

Two ways of common practice, each with what it assumes. *By steps*: after each calibration the interval is made longer
where the instrument was found well within its permissible error, shorter where it was found outside (the first method
of ILAC-G24 / OIML D 10:2007, "automatic adjustment or staircase", with its example of 80 % of the permissible error;
from memory). By how much is left to the shop there: a quarter longer and half as long are taken here, as common
practice. *By a line*: the least squares line through the errors at a point, with its 95 % band, is followed until the
band meets ±E. Errors are e = indication − true in counts; days are ordinals of the calendar.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from math import sqrt

from msgspec import Struct

from inspection.instruments.reach import permissible_error
from inspection.instruments.record import Instrument, Use
from inspection.measuring.quantiles import quantile
from inspection.reasons import Figure, Part, Reason

#: Below so many certificates no interval is advised, and below so many no line is followed (common practice).
LEAST, LEAST_ON_LINE = 3, 4
#: Within this share of the permissible error an instrument was found well (ILAC-G24 / OIML D 10, from memory).
WELL = Fraction(4, 5)
LONGER, SHORTER = Fraction(5, 4), Fraction(1, 2)
#: No interval longer than this is advised, in months; none shorter than one.
MOST_MONTHS = 60
DAYS_A_YEAR = Fraction(1461, 4)
DAYS_A_MONTH = DAYS_A_YEAR / 12
CONFIDENCE = Fraction(95, 100)


class Found(Struct, frozen=True):
    """What a certificate (``number``, ``day`` ISO) found at a point: the ``error`` and its ``expanded`` uncertainty U
    for the coverage ``factor`` in thousandths."""

    day: str
    number: str
    error: int
    expanded: int
    factor: int = 2_000

    @property
    def ordinal(self) -> int:
        """The day as a whole number."""
        return date.fromisoformat(self.day).toordinal()


class Line(Struct, frozen=True):
    """The least squares line through ``n`` errors against time: ``slope`` in counts a day through the mean (``day``,
    ``error``), with ``scatter`` s² (counts²) about it and ``squares`` Σ(day − mean)². Exact.

    s² is what the line leaves over n − 2, and (U/k)² of the certificates in the mean at least: errors that lie on a
    line by chance are known no better than that.
    """

    n: int
    slope: Fraction
    day: Fraction
    error: Fraction
    scatter: Fraction
    squares: Fraction

    @property
    def _t(self) -> float:
        return quantile((1 + CONFIDENCE) / 2, self.n - 2)

    @property
    def is_told(self) -> bool:
        """Whether the slope is told from nothing: |slope| over its standard deviation exceeds two-sided t at 95 %."""
        return self.slope**2 * self.squares > Fraction(self._t) ** 2 * self.scatter

    def at(self, day: int) -> Fraction:
        """The error on the line."""
        return self.error + self.slope * (day - self.day)

    def band(self, day: int) -> float:
        """Half the width of the line's own 95 % band on a day: t s √(1/n + (day − mean)² / Σ(day − mean)²)."""
        room = Fraction(1, self.n) + (day - self.day) ** 2 / self.squares
        return self._t * sqrt(self.scatter * room)


class PointInTime(Struct, frozen=True):
    """What the certificates found at one ``size`` in one ``use``, oldest first; ``limit`` is E there now, None where
    the record says none."""

    use: Use
    size: int
    limit: int | None
    found: tuple[Found, ...]

    @property
    def share(self) -> Fraction:
        """The part of ±E that the last error takes; 0 where there is no E."""
        return Fraction(abs(self.found[-1].error), self.limit) if self.limit else Fraction(0)

    @property
    def line(self) -> Line | None:
        """The line through the errors; None under ``LEAST_ON_LINE`` of them, or where all are of one day."""
        days = [each.ordinal for each in self.found]
        if len(days) < LEAST_ON_LINE or len(set(days)) < 3:
            return None
        n, errors = len(days), [each.error for each in self.found]
        mean, middle = Fraction(sum(days), n), Fraction(sum(errors), n)
        squares = sum((day - mean) ** 2 for day in days)
        slope = sum((day - mean) * error for day, error in zip(days, errors, strict=True)) / squares
        left = sum((error - middle - slope * (day - mean)) ** 2 for day, error in zip(days, errors, strict=True)) / (
            n - 2
        )
        known = sum(Fraction(each.expanded * 1_000, each.factor) ** 2 for each in self.found) / n
        return Line(n, Fraction(slope), mean, middle, max(Fraction(left), Fraction(known)), Fraction(squares))


def points_in_time(issues: Mapping[tuple[str, int], Instrument], instrument: Instrument) -> tuple[PointInTime, ...]:
    """Every point of the newest certificate with what earlier ones found there; none without a certificate's table.
    Of several issues of one certificate the newest counts."""
    held: dict[tuple[str, str], Instrument] = {}
    for (name, _), one in sorted(issues.items(), key=lambda item: item[0][1]):
        if name == instrument.identity and one.points and one.certified:
            held[one.certified, one.certificate] = one
    in_order = [held[key] for key in sorted(held)]
    if not in_order:
        return ()
    return tuple(
        PointInTime(
            point.use,
            point.size,
            permissible_error(instrument, point.use, point.size),
            tuple(
                Found(one.certified, one.certificate, each.error, each.expanded, each.factor)
                for one in in_order
                for each in one.points
                if (each.use, each.size) == (point.use, point.size)
            ),
        )
        for point in in_order[-1].points
    )


def worst(points: Iterable[PointInTime]) -> PointInTime | None:
    """The point that takes most of its ±E now."""
    return max(points, key=lambda each: (each.share, len(each.found)), default=None)


# --- the interval -------------------------------------------------------------------------------------------------


class Advice(Struct, frozen=True):
    """What the certificates say of the interval: ``months`` where they say any, and sentences on how."""

    months: int | None
    said: tuple[Reason, ...]


def interval_now(instrument: Instrument) -> int:
    """The interval in months: as the record states it, else from the certificate to the due date; 0 where neither says
    one."""
    if instrument.every_months or not (instrument.certified and instrument.due):
        return instrument.every_months
    days = date.fromisoformat(instrument.due).toordinal() - date.fromisoformat(instrument.certified).toordinal()
    return max(0, round(days / DAYS_A_MONTH))


def advice(points: Sequence[PointInTime], months: int) -> Advice:
    """What is advised where the interval is ``months`` now (0: not known): by steps, and by the line where there are
    enough certificates; the shorter of the two. An instrument that was found outside is told of however few there are.
    """
    judged = [each for each in points if each.limit]
    if not judged:
        return Advice(None, (Reason("drift.no_limit" if points else "drift.no_certificate"),))
    n = max(len(each.found) for each in judged)
    share = max(each.share for each in judged)
    if share <= 1 and n < LEAST:
        return Advice(None, (Reason("drift.too_few", {"n": n, "least": LEAST}),))
    steps, said = _by_steps(share, months)
    line, lines = _by_line(judged)
    advised = [each for each in (steps, line) if each is not None]
    return Advice(min(advised) if advised else None, (*said, *lines))


def _by_steps(share: Fraction, months: int) -> tuple[int | None, tuple[Reason, ...]]:
    code = "longer" if share <= WELL else "shorter" if share > 1 else "stays"
    parts: dict[str, Part] = {"share": Figure(str(-(-share.numerator * 100 // share.denominator)))}
    if not months:
        return None, (Reason(f"drift.steps.{code}_unknown", parts),)
    factor = {"longer": LONGER, "shorter": SHORTER, "stays": Fraction(1)}[code]
    advised = min(max(int(months * factor), 1), MOST_MONTHS)
    return advised, (Reason(f"drift.steps.{code}", {**parts, "now": months, "months": advised}),)


def _by_line(judged: Sequence[PointInTime]) -> tuple[int | None, tuple[Reason, ...]]:
    """How long the line of each point stays within ±E with its band: the point that meets it first."""
    lines = [(each, line) for each in judged if (line := each.line) is not None]
    if not lines:
        n = max(len(each.found) for each in judged)
        return None, (Reason("drift.line.too_few", {"n": n, "least": LEAST_ON_LINE}),)
    months, told = min((_months_within(each, line), line.is_told) for each, line in lines)
    code = "drift.line.far" if months >= MOST_MONTHS else "drift.line.meets" if months else "drift.line.now"
    chance = () if any(line.is_told for _, line in lines) else (Reason("drift.line.chance"),)
    return max(months, 1), (Reason(code, {"months": months, "told": int(told)}), *chance)


def _months_within(point: PointInTime, line: Line) -> int:
    """Whole months from the last certificate for which line and band stay within ±E; 0 where they are not now."""
    last = point.found[-1].ordinal
    assert point.limit is not None
    for month in range(MOST_MONTHS + 1):
        day = last + int(month * DAYS_A_MONTH)
        if float(abs(line.at(day))) + line.band(day) > point.limit:
            return max(month - 1, 0)
    return MOST_MONTHS


def told(points: Iterable[PointInTime]) -> Iterator[tuple[PointInTime, Fraction | None]]:
    """Each point that takes part in a line, with its drift in counts a year where the slope is told from nothing."""
    for each in points:
        line = each.line
        yield each, line.slope * DAYS_A_YEAR if line is not None and line.is_told else None
