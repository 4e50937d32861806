"""A method: the one or several instruments that together answer a characteristic, and how well they do."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.instruments.record import Use
from inspection.reasons import Reason


class InstrumentIssue(Struct, frozen=True):
    """Names one issue of one instrument record."""

    identity: str
    issue: int


class Method(Struct, frozen=True):
    """How a characteristic is answered. ``parts[0]`` is the instrument that is read (its unit and graduations
    apply); the others are what it needs: a small-hole gauge, a surface plate."""

    use: Use
    parts: tuple[InstrumentIssue, ...]

    @property
    def key(self) -> str:
        """One text naming use and instruments whatever their issues, to group pick-ups by."""
        return "+".join((self.use, *(part.identity for part in self.parts)))


class Fitness(StrEnum):
    """Fit: reaches and every ratio holds. Marginal: reaches, some ratio falls short. Unsuitable: neither chosen
    nor choosable for acceptance."""

    FIT = "fit"
    MARGINAL = "marginal"
    UNSUITABLE = "unsuitable"


class Ratio(Struct, frozen=True):
    """One computed ratio and what the shop's rules need; both decimal strings, ``got`` rounded down."""

    name: str  # "resolution", "accuracy", "uncertainty", "gauge class"
    got: str
    needed: str
    holds: bool


class Check(Struct, frozen=True):
    """One named reach check: ``reason`` holds what was asked, needed and got."""

    name: str
    holds: bool
    reason: Reason


class Assessment(Struct, frozen=True):
    """How well a method answers a characteristic on a day: the reach checks, the ratios, and what follows.

    ``expanded`` is U (k at 95.45 %) as a count, two significant digits rounded up; None for fixed-limit gauges.
    """

    method: Method
    fitness: Fitness
    checks: tuple[Check, ...] = ()
    ratios: tuple[Ratio, ...] = ()
    expanded: int | None = None
    choosable: bool = True  # False: overdue, out of service …: a reading with it is indication only

    @property
    def against(self) -> tuple[Reason, ...]:
        """The reasons that stand against the method: failed checks, then ratios that fall short."""
        failed = tuple(check.reason for check in self.checks if not check.holds)
        short = tuple(
            Reason("ratio.short", {"ratio": ratio.name, "got": ratio.got, "needed": ratio.needed})
            for ratio in self.ratios
            if not ratio.holds
        )
        return failed + short


class Assignment(Struct, frozen=True):
    """The method of one row: how it was assessed, and the reason if a person chose it."""

    characteristic: str
    assessment: Assessment | None  # None: nothing in the crib reaches
    chosen_by_hand: str = ""


class Stop(Struct, frozen=True):
    """One stop of the route: a method taken in hand, in one set-up, and the rows measured with it."""

    method: str  # Method.key, empty for rows that nothing in the crib answers
    set_up: str
    characteristics: tuple[str, ...]
