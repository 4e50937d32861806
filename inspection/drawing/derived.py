"""Bands of the readings that a derived result is computed from.

A derived result y with band T is judged itself; each of its readings x is held to T / |∂y/∂x|, and the uncertainty
ratio uses U of the derived result. Bands stated without bonus.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction


class Derivation(StrEnum):
    """How a result follows from its readings."""

    DIAMETRAL_POSITION = "diametral position from two coordinates"
    EDGE_MEAN = "mean of two edge readings"
    RADIUS_FROM_DIAMETER = "radius from a diameter"
    PLATING_PER_SIDE = "plating per side from two diameters"


#: |∂y/∂x| of each reading: 2√(dx² + dy²) changes at most twice as fast as a coordinate; a mean half as fast.
SENSITIVITY = {
    Derivation.DIAMETRAL_POSITION: Fraction(2),
    Derivation.EDGE_MEAN: Fraction(1, 2),
    Derivation.RADIUS_FROM_DIAMETER: Fraction(1, 2),
    Derivation.PLATING_PER_SIDE: Fraction(1, 2),
}


def reading_band(band: int, sensitivity: Fraction) -> int:
    """The band (counts) of one reading: ``band`` / |∂y/∂x|, rounded down to a whole step. Raises ValueError if the
    result does not depend on the reading.

    >>> reading_band(100, Fraction(-2))
    50
    """
    if sensitivity == 0:
        raise ValueError("a result that does not depend on a reading leaves it no band")
    return int(band / abs(sensitivity))


def band_for(band: int, derivation: Derivation) -> int:
    """The band (counts) of each reading of a derived result whose own band is ``band``: T/2 per coordinate of a
    diametral position; 2T for an edge mean, a radius from a diameter, plating per side from diameters.

    >>> band_for(100, Derivation.EDGE_MEAN)
    200
    """
    return reading_band(band, SENSITIVITY[derivation])
