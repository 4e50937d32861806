"""General tolerances: what the title block gives to a dimension without limits of its own."""

from __future__ import annotations

from msgspec import Struct

from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.plan import TitleBlock
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Part, Reason, Refused
from inspection.standards import general

_BROKEN_EDGES = (FeatureKind.RADIUS, FeatureKind.CHAMFER)


class Dimension(Struct, frozen=True):
    """A dimension to be toleranced: its kind, nominal count, decimals (None for a fraction), governing unit, and for
    an angle the length of its shorter side in pm, if known."""

    kind: FeatureKind
    nominal: int
    decimals: int | None
    unit: str
    shorter_side: int | None = None


class General(Struct, frozen=True):
    """± ``half_width`` (count of the kind's step) and the reason that names the default or table it came from."""

    half_width: int
    reason: Reason


def general_tolerance(dimension: Dimension, title_block: TitleBlock) -> General:
    """The general tolerance of a dimension: the title block's by decimals, fraction or angle, else ISO 2768-1.

    ISO 2768-1 is a metric table and is applied to metric rows (and angles) only. Raises Refused with
    ``general.missing``, ``general.decimals``, ``general.fraction``, ``general.shorter_side`` or ``general.no_value``
    where there is none: nothing is assumed.
    """
    if dimension.kind is FeatureKind.ANGLE:
        return _of_angle(dimension, title_block)
    if dimension.decimals is None:
        return _of_fraction(title_block)
    defaults = title_block.inch if dimension.unit == "in" else title_block.metric
    if dimension.decimals in defaults:
        half = defaults[dimension.decimals]
        parts: dict[str, Part] = {"decimals": dimension.decimals, "half": Amount(half, Kind.LENGTH, dimension.unit)}
        return General(half, Reason("limits.by_decimals", parts))
    if title_block.general and dimension.unit != "in":
        return _of_table(dimension, title_block.general[0])
    if defaults:
        raise Refused(Reason("general.decimals", {"decimals": dimension.decimals}))
    raise Refused(Reason("general.missing"))


def _of_fraction(title_block: TitleBlock) -> General:
    if title_block.fraction is None:
        raise Refused(Reason("general.fraction"))
    half = Amount(title_block.fraction, Kind.LENGTH, "in")
    return General(title_block.fraction, Reason("limits.by_fraction", {"half": half}))


def _of_angle(dimension: Dimension, title_block: TitleBlock) -> General:
    if title_block.angle is not None:
        half = Amount(title_block.angle, Kind.ANGLE, "°")
        return General(title_block.angle, Reason("limits.by_angle", {"half": half}))
    if not title_block.general:
        raise Refused(Reason("general.missing"))
    if dimension.shorter_side is None:
        raise Refused(Reason("general.shorter_side", {"class": title_block.general[0]}))
    found = general.angle(title_block.general[0], dimension.shorter_side)
    return _tabled(found, title_block.general[0], Kind.ANGLE, "°")


def _of_table(dimension: Dimension, tolerance_class: str) -> General:
    look_up = general.broken_edge if dimension.kind in _BROKEN_EDGES else general.linear
    return _tabled(look_up(tolerance_class, dimension.nominal), tolerance_class, Kind.LENGTH, "mm")


def _tabled(found: int | None, tolerance_class: str, kind: Kind, unit: str) -> General:
    if found is None:
        raise Refused(Reason("general.no_value", {"class": tolerance_class}))
    return General(found, Reason("limits.by_iso2768", {"class": tolerance_class, "half": Amount(found, kind, unit)}))


def general_note(title_block: TitleBlock) -> str | None:
    """The requirement of the note row that a second letter of the general tolerances asks for: in ``mK``, m gives
    limits and K geometrical tolerances (ISO 2768-2), which a row must answer. None without a second letter.

    >>> general_note(TitleBlock(general="mK"))
    'ISO 2768-2 K'
    """
    return f"ISO 2768-2 {title_block.general[1:]}" if title_block.general[1:] else None
