"""Whether an instrument's last check still serves a person, whatever the sheet, and until when."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.measuring.checks_life import MICROSECONDS_PER_MINUTE, CheckRules, Used, measuring_issue, standing
from inspection.measuring.proofs import CheckRecord, checks_of
from inspection.reasons import Reason
from inspection.sheet.proving import configuration_of, upsets_of
from inspection.sheet.state import Shop


class Alive(Struct, frozen=True):
    """The ``last`` check of an instrument (None: never checked), until when it serves (UTC microseconds), and ``why``
    it serves no longer."""

    instrument: Instrument
    last: CheckRecord | None = None
    until: int = 0
    why: Reason | None = None

    @property
    def serves(self) -> bool:
        """Whether a reading taken now would rest on it."""
        return self.last is not None and self.why is None


def alive_for(shop: Shop, instrument: Instrument, by: str, at: int, uses: Sequence[Used] = ()) -> Alive:
    """Whether the last check of an instrument serves a person (by identity) at a moment (UTC microseconds), set up as
    this person last checked it, by the shop's rules; ``uses`` are those by others since, on any sheet,
    however they set it up."""
    checks = checks_of(shop.proofs, instrument.identity, at)
    if not checks:
        return Alive(instrument, why=Reason("check.dead.never"))
    last = checks[-1]

    def measuring(issue: int) -> int:
        return measuring_issue(shop.issues, instrument.identity, issue)

    now = Used("", instrument.identity, measuring(instrument.issue), configuration_of(shop, instrument, by, at), by, at)
    rest = standing(
        now,
        [replace(last.made, issue=measuring(last.made.issue))],
        [replace(use, issue=measuring(use.issue), configuration=last.made.configuration) for use in uses],
        upsets_of(shop.proofs, instrument.identity),
        CheckRules(shop.rules.check_minutes, shop.rules.closing_band),
    )
    return Alive(instrument, last, last.at + shop.rules.check_minutes * MICROSECONDS_PER_MINUTE, rest.why)
