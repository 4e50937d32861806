"""T, the total band that a requirement leaves, and with it the ratios of the choice of instruments."""

from __future__ import annotations

from msgspec import Struct

from inspection.drawing.general import Dimension, general_tolerance
from inspection.drawing.plan import TitleBlock
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused


class Band(Struct, frozen=True):
    """T in counts of the kind's step (None: no band of its own) and where it came from."""

    width: int | None
    natural_zero: bool = False
    explained: tuple[Reason, ...] = ()


def band_of_limits(lower: int, upper: int) -> Band:
    """T of two limits: upper minus lower. Raises ValueError if the limits leave none."""
    if lower >= upper:
        raise ValueError("the lower limit is not below the upper one")
    return Band(upper - lower)


def band_of_error(limit: int, kind: Kind, unit: str) -> Band:
    """T of an error-type quantity (geometric tolerance, runout, roughness, edge break): it has a natural zero, so T is
    the limit itself. Raises ValueError for a limit of zero: at maximum material the feature's size tolerance is T."""
    if limit <= 0:
        raise ValueError("an error-type quantity needs a limit above zero")
    return Band(limit, natural_zero=True, explained=(Reason("band.natural_zero", {"band": Amount(limit, kind, unit)}),))


def band_at_zero_tolerance(size_lower: int, size_upper: int, unit: str) -> Band:
    """T of a geometric tolerance of zero at maximum or least material: the whole size tolerance of the feature (pm,
    told in ``unit``)."""
    width = size_upper - size_lower
    if width <= 0:
        raise ValueError("the feature has no size tolerance")
    return Band(width, True, (Reason("band.size_tolerance", {"band": Amount(width, Kind.LENGTH, unit)}),))


def band_of_single_limit(dimension: Dimension, title_block: TitleBlock, stated: int | None = None) -> Band:
    """T of one limit on a size (MAX, MIN), which has no natural zero: the full width of the general tolerance for its
    decimals, or the width that a person ``stated``.

    It feeds the ratios only; the open side stays open. Raises Refused ``band.ask`` where the title block gives none.
    """
    kind = Kind.ANGLE if dimension.unit == "°" else Kind.LENGTH
    if stated is not None:
        return Band(stated, explained=(Reason("band.stated", {"band": Amount(stated, kind, dimension.unit)}),))
    try:
        width = 2 * general_tolerance(dimension, title_block).half_width
    except Refused as refused:
        raise Refused(Reason("band.ask")) from refused
    return Band(width, explained=(Reason("band.general_width", {"band": Amount(width, kind, dimension.unit)}),))


def band_of_none(code: str) -> Band:
    """No band: a basic (``band.basic``), reference (``band.reference``) or stock (``band.stock``) dimension. General
    tolerances never apply to these."""
    return Band(None, explained=(Reason(code),))
