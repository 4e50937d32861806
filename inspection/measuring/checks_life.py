"""How long a check before use lives, which reading rests on which check, and what a failed one re-opens.

A check belongs to one instrument (one issue of its record, as far as that measures), one configuration and one hand. It
lives for a time that the shop rules; it ends with a drop or repair, with the first use by another hand or in another
configuration, and with the next check, good or bad. A failed check re-opens what was read since the last good one of
the same instrument with the same things fitted, whoever read it, and nothing else. Times are UTC microseconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.measuring.checks import CLOSING_BAND, Configuration
from inspection.reasons import Figure, Reason

MICROSECONDS_PER_MINUTE = 60_000_000


class CheckRules(Struct, frozen=True):
    """What the shop rules of checks: a check lives ``life_minutes`` (a shift of eight hours by default, common
    practice); rows with a band under ``closing_band`` pm ask for a closing check (0: none does)."""

    life_minutes: int = 480
    closing_band: int = CLOSING_BAND


class Upset(StrEnum):
    """What ends every check of an instrument at once."""

    DROPPED = "dropped"
    REPAIRED = "repaired or adjusted"
    CHANGED = "set up otherwise"


class Used(Struct, frozen=True):
    """One use of an instrument: a reading, by its identity, with the issue of the record that it named."""

    identity: str
    instrument: str
    issue: int
    configuration: Configuration
    by: str
    at: int


class Made(Struct, frozen=True):
    """One check that was made, and whether it passed."""

    identity: str
    instrument: str
    issue: int
    configuration: Configuration
    by: str
    at: int
    passed: bool
    closing: bool = False


class Happened(Struct, frozen=True):
    """What happened to an instrument at a time."""

    instrument: str
    at: int
    what: Upset = Upset.DROPPED


class Rest(Struct, frozen=True):
    """On what a reading rests: the check of this identity, or none (empty) and ``why``. ``reopened_by`` is the failed
    check that re-opened it, and ``last_good`` the good one before it (empty: there was none)."""

    reading: str
    check: str = ""
    why: Reason | None = None
    reopened_by: str = ""
    last_good: str = ""

    @property
    def counts(self) -> bool:
        """Whether the reading rests on a living check and none since has re-opened it."""
        return bool(self.check) and not self.reopened_by


def rests(
    checks: Iterable[Made],
    readings: Sequence[Used],
    happened: Iterable[Happened] = (),
    rules: CheckRules | None = None,
    good_since: Mapping[str, int] | None = None,
) -> tuple[Rest, ...]:
    """On which check each reading rests, in the order of ``readings``, and which are re-opened.

    At one and the same time a mishap comes before a check and a check before a reading. ``good_since`` tells, by
    instrument, when it was last known to be good without a check (calibrated): what was read until then no failed
    check re-opens.
    """
    by_instrument: dict[str, list[Made | Used | Happened]] = {}
    met: list[Made | Used | Happened] = [*happened, *checks, *readings]
    for each in met:
        by_instrument.setdefault(each.instrument, []).append(each)
    found: dict[str, Rest] = {}
    for instrument, line in by_instrument.items():
        line.sort(key=lambda each: each.at)  # stable: keeps mishap, check, reading at one time
        walk = _Walk(rules or CheckRules(), (good_since or {}).get(instrument))
        for each in line:
            walk.meet(each)
        found |= walk.found
    return tuple(found[reading.identity] for reading in readings)


class _Walk:
    """Goes along one instrument's time line."""

    def __init__(self, rules: CheckRules, good_since: int | None) -> None:
        self.life = rules.life_minutes * MICROSECONDS_PER_MINUTE
        self.hours = Figure(f"{rules.life_minutes / 60:.3g}")
        self.good_since = good_since
        self.alive: Made | None = None
        self.why = Reason("check.dead.never")
        self.since_good: dict[str, list[str]] = {}  # readings by what was fitted
        self.good: dict[str, str] = {}
        self.found: dict[str, Rest] = {}

    def meet(self, each: Made | Used | Happened) -> None:
        if isinstance(each, Made):
            self._checked(each)
        elif isinstance(each, Used):
            self._used(each)
        else:
            self._end(Reason("check.dead.upset", {"what": each.what.value}))

    def _end(self, why: Reason) -> None:
        self.alive, self.why = None, why

    def _checked(self, check: Made) -> None:
        fitted = check.configuration.fitted
        if check.passed:
            self.alive = check
            self.good[fitted] = check.identity
        else:
            self._end(Reason("check.dead.failed"))
            for reading in self.since_good.get(fitted, ()):
                self.found[reading] = replace(
                    self.found[reading], reopened_by=check.identity, last_good=self.good.get(fitted, "")
                )
        self.since_good[fitted] = []

    def _used(self, use: Used) -> None:
        if self.alive is not None and (why := self._mismatch(self.alive, use)) is not None:
            self._end(why)
        if self.alive is None:
            self.found[use.identity] = Rest(use.identity, why=self.why)
        else:
            self.found[use.identity] = Rest(use.identity, self.alive.identity)
        if self.good_since is None or use.at > self.good_since:
            self.since_good.setdefault(use.configuration.fitted, []).append(use.identity)

    def _mismatch(self, check: Made, use: Used) -> Reason | None:
        if use.at - check.at > self.life:
            return Reason("check.dead.aged", {"hours": self.hours})
        return next(iter(mismatches(check, use)), None)


def mismatches(check: Made, use: Used) -> Iterator[Reason]:
    """Why a check is not one for this use, whatever the time: another instrument, issue, configuration or hand."""
    if check.instrument != use.instrument:
        yield Reason("check.dead.instrument")
    if check.issue != use.issue:
        yield Reason("check.dead.issue", {"was": check.issue, "now": use.issue})
    made, now = check.configuration, use.configuration
    if made.fitted != now.fitted:
        yield Reason("check.dead.fitted", {"was": made.fitted or "–", "now": now.fitted or "–"})
    if made.unit != now.unit:
        yield Reason("check.dead.unit", {"was": made.unit, "now": now.unit})
    if (made.low, made.high) != (now.low, now.high):
        yield Reason("check.dead.range")
    if check.by != use.by:
        yield Reason("check.dead.hand")


def standing(
    use: Used,
    checks: Iterable[Made],
    readings: Iterable[Used] = (),
    happened: Iterable[Happened] = (),
    rules: CheckRules | None = None,
) -> Rest:
    """On which check a use would rest, given all that came before it: what the bench asks before a reading is taken.

    What is later than the use is left out.
    """
    checks = [each for each in checks if each.at <= use.at and each.instrument == use.instrument]
    before = [each for each in readings if each.at <= use.at and each.instrument == use.instrument]
    upsets = [each for each in happened if each.at <= use.at and each.instrument == use.instrument]
    return rests(checks, [*before, use], upsets, rules)[-1]


def reopened(found: Iterable[Rest]) -> tuple[str, ...]:
    """The readings that a failed check re-opened."""
    return tuple(rest.reading for rest in found if rest.reopened_by)


# --- issues that measure alike ------------------------------------------------------------------------------------

#: What may change in a record without a word about how the instrument measures.
_NO_MATTER = {"issue": 0, "tag": "", "name": "", "place": "", "note": "", "holder": "", "files": (), "laboratory": ""}


def _measure(instrument: Instrument) -> Instrument:
    return replace(instrument, handling_seconds=0, **_NO_MATTER)


def measuring_issue(issues: Mapping[tuple[str, int], Instrument], identity: str, issue: int) -> int:
    """The earliest issue of a record since which nothing has changed that measures; a check lives across those (a new
    place or holder ends none). Raises KeyError for an issue that is not there."""
    now = _measure(issues[identity, issue])
    while (before := issues.get((identity, issue - 1))) is not None and _measure(before) == now:
        issue -= 1
    return issue
