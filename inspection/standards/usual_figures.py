"""What instruments of a kind usually are, where nobody has measured the one in hand: common practice, not standards."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cache

from inspection.standards.tables import Row, rows, steps


def _deviation(row: Row) -> tuple[int, int]:
    return steps(row["step"], row["unit"]), steps(row["deviation"], row["unit"])


@cache
def _deviations(kind: str) -> tuple[tuple[int, int], ...]:
    """Step and deviation of a kind, by step."""
    return tuple(sorted(_deviation(row) for row in rows("on_part_spreads") if row["kind"] == kind))


def usual_deviation(kind: str, step: int) -> int | None:
    """The usual standard deviation s (pm) of one reading on a part by a ``kind`` of instrument that shows steps of
    ``step`` pm, 0 for one without a scale: that of the next coarser step tabled. None where none is.

    Steps of inches and millimetres stand side by side, for the hand is the same.

    >>> usual_deviation("digital caliper", 12_700_000), usual_deviation("steel rule", 10**9)
    (7620000, None)
    """
    return next((deviation for tabled, deviation in _deviations(kind) if step <= tabled), None)


@cache
def usual_jaws(kind: str) -> tuple[int, int] | None:
    """How far inside jaws of a ``kind`` usually measure across both flats and the gap (pm), and within what half-width;
    None for kinds without such jaws.

    >>> usual_jaws("dial caliper"), usual_jaws("outside micrometer")
    ((400000000, 100000000), None)
    """
    for row in rows("inside_jaws"):
        if row["kind"] == kind:
            return steps(row["across"], row["unit"]), steps(row["half_width"], row["unit"])
    return None


@cache
def usual_smallest_bore(kind: str) -> int | None:
    """The smallest bore (pm) that inside jaws of a ``kind`` usually enter cleanly; None for kinds without such jaws.

    >>> usual_smallest_bore("vernier caliper"), usual_smallest_bore("three-point bore gauge")
    (4000000000, None)
    """
    for row in rows("inside_jaws"):
        if row["kind"] == kind:
            return steps(row["smallest_bore"], row["unit"])
    return None


@cache
def instrument_expansions() -> Mapping[str, int]:
    """Linear expansions in 1e-9 per kelvin by the words, in small letters, for what instruments are made of.

    >>> instrument_expansions()["glass"]
    8000
    """
    return {
        word: int(Decimal(row["expansion_1e-6_per_kelvin"]) * 1_000)
        for row in rows("instrument_expansions")
        for word in row["words"].split(";")
    }
