"""A requirement of a drawing: what was written and the exact limits it leaves."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.quantity.units import Kind
from inspection.reasons import Reason


class Form(StrEnum):
    """How a requirement states its limits."""

    PLUS_MINUS = "plus and minus"
    LIMITS = "limits"
    MAXIMUM = "maximum"
    MINIMUM = "minimum"
    BASIC = "basic"
    REFERENCE = "reference"
    FIT = "fit"
    GENERAL = "general tolerance"
    THREAD = "thread"
    NOTE = "note"


class Requirement(Struct, frozen=True):
    """What a drawing asks of one characteristic.

    ``nominal``, ``lower``, ``upper`` and ``band`` are counts of ``kind``'s step (pm or µas); a missing limit is an
    open side. ``band`` is T, the total band that feeds the ratios (for a single limit on a size it is the general
    tolerance's full width while the open side stays open); ``explained`` says where limits and band came from.
    ``unit`` is the governing unit of the row and ``decimals`` the decimals of its limits.
    """

    written: str
    form: Form
    kind: Kind = Kind.LENGTH
    unit: str = "in"
    decimals: int = 0
    nominal: int | None = None
    lower: int | None = None
    upper: int | None = None
    band: int | None = None
    natural_zero: bool = False
    diameter: bool = False
    explained: tuple[Reason, ...] = ()

    @property
    def likely(self) -> int | None:
        """The size (counts) to expect of a good part: the nominal, else the middle of the limits, else the one limit;
        None where nothing states a size, as an error from zero does not."""
        if self.nominal is not None or self.natural_zero:
            return self.nominal
        ends = [end for end in (self.lower, self.upper) if end is not None]
        return sum(ends) // len(ends) if ends else None

    @property
    def judged(self) -> bool:
        """Whether readings meet limits at all: basic and reference dimensions are never judged."""
        return self.form not in (Form.BASIC, Form.REFERENCE)
