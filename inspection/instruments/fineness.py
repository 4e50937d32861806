"""Resolution and accuracy of one instrument for every row at once, as arrays; the same as ``assess`` row by row."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inspection.instruments.ratios import smallest_band
from inspection.instruments.rules import Rules
from inspection.measuring.uncertainty_arrays import limits_at
from inspection.measuring.uncertainty_sources import Source
from inspection.quantity.units import LARGEST_COUNT

Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]

#: float64 is off by less than this part of what is compared.
NEAR = 1e-9
#: U and drift of a certificate are rounded up to whole counts each; so far, in counts, that may carry them together.
_ROUNDED = 3


class Fine(NamedTuple):
    """Where resolution and accuracy hold, and where float64 is too near to accuracy's threshold to tell."""

    holds: Mask
    unsure: Mask


def fineness(read: Source, size: Counts, band: Counts, rules: Rules) -> Fine:
    """T / r and T / 2E of the instrument read, for rows of a ``size`` and a ``band`` each."""
    accurate = _accurate(read, size, band, rules.accuracy_needed)
    return Fine(accurate.holds & _resolved(read.resolution, band, rules.resolution_needed), accurate.unsure)


def certified(source: Source, size: Counts) -> Mask:
    """Where a certificate corrects the reading, as ``Source.certificate_at`` has it."""
    if source.certificate is None:
        return np.zeros(len(size), dtype=bool)
    if not source.steps:
        return np.ones(len(size), dtype=bool)
    points = [point.size for point in source.certificate.points]
    covered: Mask = (min(points) <= size) & (size <= max(points))
    return covered


def _resolved(step: int, band: Counts, needed: int) -> Mask:
    if step <= 0:
        return np.full(len(band), needed <= 0)
    holds: Mask = band >= smallest_band(step, needed)
    return holds


def _accurate(read: Source, size: Counts, band: Counts, needed: int) -> Fine:
    """Steps of E are whole counts and compared as such; only what a certificate leaves is none."""
    by_steps = _by_steps(read, size, band, needed)
    by_certificate = certified(read, size)
    if not by_certificate.any():
        return Fine(by_steps, by_certificate)
    limit = 2 * limits_at(read, size) * needed / 100
    unsure: Mask = by_certificate & (np.abs(band - limit) <= NEAR * limit + 2 * _ROUNDED * needed / 100)
    return Fine(np.where(by_certificate, band >= limit, by_steps), unsure)


def _by_steps(read: Source, size: Counts, band: Counts, needed: int) -> Mask:
    errors = [error for _, error in read.steps] + [0]
    # Nothing is known of an error of 0, so it carries no band.
    least = [smallest_band(2 * error, needed) if error > 0 else LARGEST_COUNT * (needed > 0) for error in errors]
    step = np.searchsorted(np.array([up_to for up_to, _ in read.steps], dtype=np.int64), size, "left")
    holds: Mask = band >= np.array(least, dtype=np.int64)[step]
    return holds
