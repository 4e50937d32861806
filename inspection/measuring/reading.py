"""A reading as it was taken, and the slots a row's readings go into."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.instruments.method import Method
from inspection.measuring.checks import Configuration
from inspection.quantity.units import Kind
from inspection.reasons import Reason


class Role(StrEnum):
    """What a reading answers."""

    VALUE = "value"
    ENTERS = "largest that enters"
    STOPS = "smallest that does not enter"
    GO = "GO"
    NOT_GO = "NOT GO"
    FINDING = "finding"


class Slot(Struct, frozen=True):
    """Where in its cell a reading goes: the declared place, the repeat counted from 1, and what it answers."""

    place: str = ""
    repeat: int = 1
    role: Role = Role.VALUE


class Observed(StrEnum):
    """What was seen where there is no number: a gauge enters or does not, a note is met or is not."""

    ENTERS = "enters"
    DOES_NOT_ENTER = "does not enter"
    AS_REQUIRED = "as required"
    NOT_AS_REQUIRED = "not as required"


class Reading(Struct, frozen=True):
    """One reading, never altered.

    A number stands in ``count`` (pm or µas) with what was ``written`` and its ``unit``; ``observed`` is for gauges
    and notes. ``plan`` and ``method`` name the issues it was judged by. ``taken`` is UTC microseconds and ``day``
    the shop's calendar day then. ``replaces`` names the reading it corrects and ``reason`` says why.
    ``indication`` marks a reading with an instrument that nobody may choose for acceptance: it leaves the row open.
    ``configuration`` is how the instrument read was set up; ``checks`` are the checks before use that the reading rests
    on, ``unproven`` says why where there is none; ``log`` is the line of the temperature log that it inherits.
    """

    identity: str
    characteristic: str
    piece: str
    slot: Slot
    method: Method
    plan: str
    by: str
    taken: int
    day: str
    count: int | None = None
    kind: Kind = Kind.LENGTH
    unit: str = ""
    written: str = ""
    decimals: int | None = None
    observed: Observed | None = None
    replaces: str = ""
    reason: str = ""
    indication: bool = False
    configuration: Configuration | None = None
    checks: tuple[str, ...] = ()
    unproven: tuple[Reason, ...] = ()
    log: str = ""
