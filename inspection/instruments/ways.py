"""Ways of measuring: which instrument, read alone or over and with others, answers which kind of feature."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import cache

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.standards.tables import Row, rows

Issues = Mapping[tuple[str, int], Instrument]


class Manner(StrEnum):
    """What is read: a scale, the limits as two fixed sizes, a thread gauge, or the part by eye."""

    SCALE = "scale"
    LIMITS = "limits"
    THREAD = "thread"
    SIGHT = "sight"


class Way(Struct, frozen=True):
    """One way of measuring.

    ``read_use`` is the use in which the instrument read meets what it reads: a micrometer read over a small-hole
    gauge measures outside, though the way measures a bore. The ``transfer`` gauge, if any, touches the part;
    ``companions`` carry part and instrument. Where the instrument read only compares, it is ``set_on`` what carries the
    size, and reads the difference of the part from that. ``features`` are the feature kinds answered; ``axial`` says
    that a geometric tolerance with a ⌀ zone (position of an axis) is among them.
    """

    read: InstrumentKind
    use: Use
    read_use: Use
    manner: Manner
    features: frozenset[FeatureKind]
    axial: bool
    transfer: InstrumentKind | None = None
    companions: tuple[InstrumentKind, ...] = ()
    set_on: InstrumentKind | None = None

    def answers(self, characteristic: Characteristic) -> bool:
        """Whether this way answers the characteristic's kind of feature at all."""
        if zone_is_axial(characteristic):
            return self.axial
        return characteristic.kind in self.features

    @property
    def aids(self) -> tuple[InstrumentKind, ...]:
        """The kinds beside the instrument read, in the order of a method's parts."""
        others = (self.transfer, *self.companions, self.set_on)
        return tuple(kind for kind in others if kind is not None)


_AXIAL = "geometric tolerance ⌀"


def zone_is_axial(characteristic: Characteristic) -> bool:
    """Whether the tolerance zone is a cylinder: it is measured by coordinates, each with half of the band."""
    return characteristic.kind is FeatureKind.GEOMETRIC and characteristic.requirement.diameter


def _way(row: Row) -> Way:
    features = row["features"].split(";")
    return Way(
        read=InstrumentKind(row["read"]),
        use=Use(row["use"]),
        read_use=Use(row["read_use"]),
        manner=Manner(row["manner"]),
        features=frozenset(FeatureKind(name) for name in features if name != _AXIAL),
        axial=_AXIAL in features,
        transfer=InstrumentKind(row["transfer"]) if row["transfer"] else None,
        companions=tuple(InstrumentKind(name) for name in row["companions"].split(";") if name),
        set_on=InstrumentKind(row["set_on"]) if row["set_on"] else None,
    )


@cache
def ways() -> tuple[Way, ...]:
    """All ways, as in ``resources/tables/ways.csv``."""
    return tuple(_way(row) for row in rows("ways"))


@cache
def _by_make_up() -> dict[tuple[Use, tuple[InstrumentKind, ...]], Way]:
    return {(way.use, (way.read, *way.aids)): way for way in ways()}


def way_of(method: Method, issues: Issues) -> Way | None:
    """The way that a method follows; None if its instruments make up none. KeyError for an unknown issue."""
    kinds = tuple(issues[part.identity, part.issue].kind for part in method.parts)
    return _by_make_up().get((method.use, kinds))
