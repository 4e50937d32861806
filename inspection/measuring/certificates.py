"""What a certificate says at a size: the error there, how far that can be trusted, and how far it may have drifted.

An error is e = indication − true; the correction that is added to a reading is −e. Counts of the row's kind throughout.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from msgspec import Struct

from inspection.measuring.uncertainty import Line, bounded, deviating
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.roots import root_up
from inspection.reasons import Reason, Refused


class Point(Struct, frozen=True):
    """One line of a certificate: at ``size`` the ``error`` e with its ``expanded`` uncertainty U for the coverage
    ``factor`` k in thousandths."""

    size: int
    error: int
    expanded: int
    factor: int = 2_000


class Certificate(Struct, frozen=True):
    """An instrument's certificate in one use: its ``number``, its day (ISO), and its points in any order."""

    number: str
    day: str
    points: tuple[Point, ...]


class Known(Struct, frozen=True):
    """What a certificate says at a size: the ``error``, the squared standard uncertainty ``square`` of it, and the
    half-width ``between`` that reading it off between two points adds (0 at a point)."""

    error: Fraction
    square: Fraction
    between: Fraction


def says_at(certificate: Certificate, size: int) -> bool:
    """Whether a certificate says anything at ``size``: from its first to its last point.

    >>> held = Certificate("17", "2026-03-02", (Point(5, 0, 4), Point(100, 8, 6)))
    >>> [says_at(held, size) for size in (4, 5, 100, 101)]
    [False, True, True, False]
    """
    sizes = [point.size for point in certificate.points]
    return bool(sizes) and min(sizes) <= size <= max(sizes)


def known_at(certificate: Certificate, size: int, tag: str) -> Known:
    """The error at ``size``, on the straight line between the two points beside it.

    U / k is the larger of the two points', for their errors come from one laboratory and largely go together. How far
    the true curve may leave the line is not known; half the step between the two errors is taken as its half-width,
    as common practice. Raises Refused beyond the first and last point, for nothing is said there, and for points
    whose numbers cannot be.

    >>> points = (Point(0, 0, 4), Point(100, 8, 6))
    >>> known_at(Certificate("17", "2026-03-02", points), 25, "M-1")
    Known(error=Fraction(2, 1), square=Fraction(9, 1), between=Fraction(4, 1))
    """
    points = sorted(certificate.points, key=lambda point: point.size)
    if any(point.expanded <= 0 or point.factor <= 0 for point in points):
        raise Refused(Reason("doubt.certificate_numbers", {"tag": tag}))
    for point in points:
        if point.size == size:
            return Known(Fraction(point.error), _square(point), Fraction(0))
    for low, high in pairwise(points):
        if low.size < size < high.size:
            error = low.error + Fraction((high.error - low.error) * (size - low.size), high.size - low.size)
            return Known(error, max(_square(low), _square(high)), Fraction(abs(high.error - low.error), 2))
    raise Refused(Reason("doubt.certificate_beyond", {"tag": tag, "number": certificate.number}))


def _square(point: Point) -> Fraction:
    return Fraction(point.expanded * 1_000, point.factor) ** 2


def drift_at(size: int, error: int, tag: str, now: Certificate, before: Certificate | None = None) -> Fraction:
    """How far the error may have moved since the certificate (half-width): the difference of the last two at this
    size; ``error``, the permissible one, where the one before is not there or says nothing at this size.

    Raises Refused where neither is known.
    """
    if before is not None:
        try:
            return abs(known_at(now, size, tag).error - known_at(before, size, tag).error)
        except Refused:
            pass
    if error <= 0:
        raise Refused(Reason("doubt.drift_unknown", {"tag": tag}))
    return Fraction(error)


def certificate_lines(
    size: int, error: int, tag: str, unit: str, now: Certificate, before: Certificate | None = None
) -> tuple[Line, ...]:
    """The lines of a reading that is corrected by its certificate, in place of the permissible error.

    U / k of the certificate; drift as a rectangle of the half-width of ``drift_at``; the reading between two points
    as a rectangle. ``error`` is E at this use and size. Raises Refused as ``known_at`` and ``drift_at`` do.

    >>> lines = certificate_lines(50, 6, "M-1", "mm", Certificate("17", "2026-03-02", (Point(50, 3, 4),)))
    >>> [(line.name, line.variance) for line in lines]
    [('certificate', Fraction(4, 1)), ('drift', Fraction(12, 1))]
    """
    return tuple(line for line in _lines(size, error, tag, unit, now, before) if line.variance)


def _lines(size: int, error: int, tag: str, unit: str, now: Certificate, before: Certificate | None) -> Iterator[Line]:
    known, drift = known_at(now, size, tag), drift_at(size, error, tag, now, before)
    named = Reason("doubt.line.certificate", {"tag": tag, "number": now.number})
    estimate = Reason("doubt.estimate.standard", {"u": about(known.square, unit)})
    yield deviating("certificate", named, estimate, known.square)
    what = Reason("doubt.line.drift", {"tag": tag, "day": now.day})
    yield bounded("drift", what, Reason("doubt.estimate.within", {"a": about(drift**2, unit)}), drift)
    what = Reason("doubt.line.interpolation", {"tag": tag, "number": now.number})
    width = Reason("doubt.estimate.within", {"a": about(known.between**2, unit)})
    yield bounded("interpolation", what, width, known.between)


def certified_error(size: int, error: int, tag: str, now: Certificate, before: Certificate | None = None) -> int:
    """What stands in place of E in the accuracy ratio of a reading that is corrected by its certificate: the expanded
    uncertainty U at the size (k = 2) and the drift, in counts, rounded up.

    >>> certified_error(50, 6, "M-1", Certificate("17", "2026-03-02", (Point(50, 3, 4),)))
    10
    """
    drift = drift_at(size, error, tag, now, before)
    return root_up(4 * known_at(now, size, tag).square) - (-drift.numerator // drift.denominator)
