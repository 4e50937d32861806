"""Budgets of every row by every method at once, as arrays; what the choice weighs.

The scalar constructors stay the only place where a part is defined: what does not depend on size, or goes with its
square, is asked of them once a method. Only permissible errors, certificates and jaws go by size otherwise. float64
keeps a variance to about 1e-15 of itself; where a ratio is that near to its threshold, the scalar form decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from inspection.measuring.bias import Jaws
from inspection.measuring.certificates import Certificate
from inspection.measuring.quantiles import coverage_factors
from inspection.measuring.thermal import Temperatures, correction, temperature_lines
from inspection.measuring.uncertainty import Line
from inspection.measuring.uncertainty_sources import NOTHING, Source, scatter_lines, source_lines, zero_lines

Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

#: A metre in pm: the size that coefficients of squared size are asked at.
_METRE = 10**12

#: From here on k is 2.000.
_MANY = 10_000

#: Degrees of freedom this near under a whole number are that number; float64 alone would cut 4 to 3.
_WHOLE = 1e-9

#: What float64 may be off by in a comparison, as a part of what is compared.
_EDGE = 1e-12


class Doubts(NamedTuple):
    """Rows × methods: the combined ``variance`` (counts²), k, what is left ``uncorrected`` (counts), which pairs are
    ``refused`` because something that the budget needs is not known at that size, and for which float64 is ``unsure``
    to which whole number their degrees of freedom are cut."""

    variance: Floats
    factor: Floats
    uncorrected: Floats
    refused: Mask
    unsure: Mask

    @property
    def expanded(self) -> Floats:
        """U in counts, unrounded."""
        return np.asarray(self.factor * np.sqrt(self.variance) + self.uncorrected, dtype=np.float64)


class Share(NamedTuple):
    """What one thing contributes to every row: variances, what Welch and Satterthwaite need (None: infinitely many
    degrees of freedom), and where it refuses (None: nowhere)."""

    variance: Floats
    fourth: Floats | None = None
    refused: Mask | None = None


class Rows:
    """Rows whose budgets are asked, of ``sizes`` and declared ``repeats`` (both of one length).

    What a source or temperatures contribute is reckoned once for all rows, by which object they are: whoever asks keeps
    one for each.
    """

    def __init__(self, sizes: Counts, repeats: Counts) -> None:
        self.sizes, self.size = sizes, sizes.astype(np.float64)
        counts, self._place = np.unique(repeats, return_inverse=True)
        self._repeats = counts.tolist()
        self._shares: dict[int, tuple[Source, Share]] = {}
        self._warm: dict[int, tuple[Temperatures, Share, Floats | None]] = {}

    def doubts(
        self,
        sources: Sequence[Source],
        temperatures: Temperatures | None,
        further: Iterable[Line] = (),
        at: Counts | None = None,
        beside: Iterable[Share] = (),
    ) -> Doubts:
        """The budgets of the rows ``at`` (None: all) by one method, as ``doubts`` has them for several; ``beside`` are
        shares that were reckoned at sizes of their own."""
        parts = [*(self.share(source) for source in sources), *beside]
        left: Floats | None = None
        if temperatures is not None:
            part, left = self._temperature(temperatures)
            parts.append(part)
        rows = slice(None) if at is None else at
        lines, count = list(further), len(self.sizes) if at is None else len(at)
        variance: Floats = np.full(count, float(sum(line.variance for line in lines)))
        for part in parts:
            variance += part.variance[rows]
        refused: Mask = variance == 0
        for mask in [part.refused for part in parts if part.refused is not None]:
            refused |= mask[rows]
        variance[refused] = 0.0
        fourths = [part.fourth[rows] for part in parts if part.fourth is not None]
        factor, unsure = _factors(variance, sum(fourths, start=np.full(count, float(sum(map(_fourth, lines))))))
        return Doubts(variance, factor, np.zeros(count) if left is None else left[rows], refused, unsure)

    def share(self, source: Source) -> Share:
        """What a source contributes at each size."""
        if id(source) not in self._shares:
            self._shares[id(source)] = (source, self._of(source))
        return self._shares[id(source)][1]

    def _of(self, source: Source) -> Share:
        count = len(self.sizes)
        variance, fourth, refused = np.zeros(count), np.zeros(count), np.zeros(count, dtype=bool)
        _errors(variance, refused, source, self.sizes)
        _jaws(variance, refused, source, self.size)
        bare = replace(
            source, steps=(), travel=None, certificate=None, jaws=None, resolution=0, spread=NOTHING, zero=None
        )
        lines = [*source_lines(bare, _METRE), *zero_lines(source)]
        along = self.size if source.travel is None else np.full(count, float(source.travel))
        for line in lines:
            variance += _by_square(line, along) if line.name == "tilt" else float(line.variance)
            fourth += _fourth(line)
        scatter = [next(scatter_lines(source, m), None) for m in self._repeats]
        variance += np.array([float(line.variance) if line else 0.0 for line in scatter])[self._place]
        fourth += np.array([_fourth(line) if line else 0.0 for line in scatter])[self._place]
        return Share(variance, fourth if fourth.any() else None, refused if refused.any() else None)

    def _temperature(self, known: Temperatures) -> tuple[Share, Floats | None]:
        if id(known) not in self._warm:
            variance = np.zeros(len(self.sizes))
            for line in temperature_lines(_METRE, known):
                variance += _by_square(line, self.size)
            error = 0.0 if known.corrected else float(abs(correction(_METRE, known)))
            self._warm[id(known)] = (known, Share(variance), error / _METRE * self.size if error else None)
        return self._warm[id(known)][1:]


def doubts(
    sizes: Counts,
    repeats: Counts,
    methods: Sequence[Sequence[Source]],
    temperatures: Sequence[Temperatures | None],
    further: Sequence[Sequence[Line]] = (),
) -> Doubts:
    """The budgets of rows of ``sizes`` and declared ``repeats`` (both of one length) by ``methods``, each the sources
    of one method with its ``temperatures`` (None for angles) and the ``further`` lines that its corrections add.

    A pair for which the scalar form raises Refused is marked so and carries a variance of 0; whatever is wrong with a
    method itself (a negative span, an angle beyond 90°) raises Refused here too.
    """
    rows, more = Rows(sizes, repeats), further or [()] * len(methods)
    found = [rows.doubts(*each) for each in zip(methods, temperatures, more, strict=True)]
    if not found:
        empty = np.zeros((len(sizes), 0))
        return Doubts(empty, empty, empty, empty > 0, empty > 0)
    return Doubts(*(np.stack(columns, axis=1) for columns in zip(*found, strict=True)))


def _fourth(line: Line) -> float:
    return 0.0 if line.freedom is None else float(line.variance) ** 2 / float(line.freedom)


def _by_square(line: Line, size: Floats) -> Floats:
    """A line that goes with the square of the size, given at a metre."""
    return float(line.variance / _METRE**2) * size**2


def _jaws(variance: Floats, refused: Mask, source: Source, size: Floats) -> None:
    jaws = source.jaws
    if jaws is None:
        return
    if jaws.across is None or min(jaws.across, jaws.doubt) < 0:
        refused[:] = True
        return
    refused |= size <= jaws.across
    share = np.divide(jaws.across, size, out=np.zeros_like(size), where=size > jaws.across)
    variance += share**2 * (float(jaws.doubt) ** 2 / 3)


class Left(NamedTuple):
    """What jaws read ``small`` (counts) and is left, where they are ``refused``, and where float64 is ``unsure`` of
    that and refuses."""

    small: Floats
    refused: Mask
    unsure: Mask


def jaws_left(sizes: Counts, bands: Counts, jaws: Jaws) -> Left:
    """Inside jaws of which only the usual width is known, in bores of ``sizes`` with ``bands`` T (under 0: none): what
    they read small (counts), to be left and added to U, and where that is over a tenth of T or the jaws do not go in,
    so that the instrument is refused. The same as ``bias.jaws_in_bore`` with ``measured`` false, but for float64 on
    the very edge, which refuses.
    """
    if jaws.across is not None and min(jaws.across, jaws.doubt) < 0:
        return Left(np.zeros(len(sizes)), np.ones(len(sizes), dtype=bool), np.zeros(len(sizes), dtype=bool))
    across = float(jaws.across) if jaws.across is not None else np.inf
    size = sizes.astype(np.float64)
    fits: Mask = size > across
    read = np.sqrt(np.where(fits, size**2 - across**2, 0.0)) if np.isfinite(across) else np.zeros(len(sizes))
    small = np.divide(across**2, size + read, out=np.zeros(len(sizes)), where=fits)
    half = np.divide(across**2, 2 * size, out=np.zeros(len(sizes)), where=fits)
    refused: Mask = ~fits | (half * 10 > bands * (1 - _EDGE))
    unsure: Mask = fits & (np.abs(half * 10 - bands) <= _EDGE * bands)
    return Left(small, refused, unsure)


def _errors(variance: Floats, refused: Mask, source: Source, sizes: Counts) -> None:
    if source.travel is not None:
        sizes = np.full(len(sizes), source.travel, dtype=np.int64)
    error, beyond = errors_at(source, sizes)
    refused |= beyond
    if source.certificate is None:
        refused |= error < 0
        variance += error**2 / 3
        return
    found = _certified(source, source.certificate, sizes, error)
    refused |= found.refused | (~found.corrected & (error < 0))
    variance += np.where(found.corrected, found.square + found.drift**2 / 3 + found.between**2 / 3, error**2 / 3)


def errors_at(source: Source, sizes: Counts) -> tuple[Floats, Mask]:
    """E at each size, 0 where none is stated at all, and where the sizes lie beyond the last that it is stated for."""
    if not source.steps:
        return np.zeros(len(sizes)), np.zeros(len(sizes), dtype=bool)
    at = np.searchsorted(np.array([up_to for up_to, _ in source.steps], dtype=np.int64), sizes, "left")
    error = np.array([step for _, step in source.steps] + [0], dtype=np.float64)[at]
    return error, at == len(source.steps)


def limits_at(source: Source, sizes: Counts) -> Floats:
    """What stands for E in the accuracy ratio, as ``Source.limit_at`` but unrounded; of no meaning where ``doubts``
    refuses."""
    if source.travel is not None:
        sizes = np.full(len(sizes), source.travel, dtype=np.int64)
    error, _ = errors_at(source, sizes)
    if source.certificate is None:
        return error
    found = _certified(source, source.certificate, sizes, error)
    return np.where(found.corrected, 2 * np.sqrt(found.square) + found.drift, error)


class _Certified(NamedTuple):
    """Which rows a certificate corrects, and there (U/k)², the drift and the half-width between two points."""

    corrected: Mask
    refused: Mask
    square: Floats
    drift: Floats
    between: Floats


def _certified(source: Source, now: Certificate, sizes: Counts, error: Floats) -> _Certified:
    nothing = np.zeros(len(sizes))
    if not now.points:
        return _Certified(nothing > 0, np.full(len(sizes), not source.steps), nothing, nothing, nothing)
    curve = _Curve(now)
    says = curve.covers(sizes)
    corrected: Mask = says if source.steps else np.ones(len(sizes), dtype=bool)
    if not _sound(now):
        return _Certified(corrected, corrected, nothing, nothing, nothing)
    square, between = curve.doubt(sizes)
    drift, known = error, error > 0
    if source.before is not None and source.before.points and _sound(source.before):
        before = _Curve(source.before)
        both = before.covers(sizes)
        drift = np.where(both, np.abs(curve.error(sizes) - before.error(sizes)), drift)
        known = known | both
    return _Certified(corrected, corrected & ~(says & known), square, drift, between)


def _sound(certificate: Certificate) -> bool:
    """Whether the numbers of a certificate's points can be."""
    return all(point.expanded > 0 and point.factor > 0 for point in certificate.points)


class _Curve:
    """A certificate as arrays by size."""

    def __init__(self, certificate: Certificate) -> None:
        points = sorted(certificate.points, key=lambda point: point.size)
        self.sizes: Counts = np.array([point.size for point in points], dtype=np.int64)
        self.errors = np.array([point.error for point in points], dtype=np.float64)
        self.squares = np.array([(point.expanded * 1000 / (point.factor or 1)) ** 2 for point in points])

    def covers(self, sizes: Counts) -> Mask:
        inside: Mask = (self.sizes[0] <= sizes) & (sizes <= self.sizes[-1])
        return inside

    def error(self, sizes: Counts) -> Floats:
        """The error at each size, on the straight line between the two points beside it."""
        low, high = self._beside(sizes)
        width = np.maximum(self.sizes[high] - self.sizes[low], 1)
        part = (sizes - self.sizes[low]) / width
        return np.asarray(self.errors[low] + (self.errors[high] - self.errors[low]) * part, dtype=np.float64)

    def doubt(self, sizes: Counts) -> tuple[Floats, Floats]:
        """(U/k)² and the half-width between two points, at each size."""
        low, high = self._beside(sizes)
        square: Floats = np.maximum(self.squares[low], self.squares[high])
        between: Floats = np.abs(self.errors[high] - self.errors[low]) / 2
        return square, between

    def _beside(self, sizes: Counts) -> tuple[Counts, Counts]:
        """The points beside each size; twice the same where it is one, or beyond the last."""
        high = np.clip(np.searchsorted(self.sizes, sizes, "left"), 0, len(self.sizes) - 1)
        return np.where(self.sizes[high] == sizes, high, np.maximum(high - 1, 0)), high


def _factors(variance: Floats, fourth: Floats) -> tuple[Floats, Mask]:
    """k for each row's effective degrees of freedom, and where float64 is unsure to which whole number they are cut."""
    finite = (fourth > 0) & (variance > 0)
    if not finite.any():
        return np.full(len(finite), 2.0), np.zeros(len(finite), dtype=bool)
    effective = np.divide(variance**2, fourth, out=np.full(len(finite), np.inf), where=finite)
    few = effective < _MANY
    effective = np.where(few, effective, _MANY)
    whole = np.floor(effective * (1 + _WHOLE)).astype(np.int64)
    unsure: Mask = few & (np.abs(effective - np.round(effective)) <= 2 * _WHOLE * effective)
    return _table()[np.where(few, np.clip(whole, 1, _MANY - 1), 0)], unsure


@cache
def _table() -> Floats:
    """k by degrees of freedom; at 0 what it is from ``_MANY`` on."""
    return np.array([2.0, *coverage_factors(_MANY - 1)])
