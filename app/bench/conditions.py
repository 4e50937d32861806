"""Under which conditions a sheet is measured, for its head: marks, whether sealed, the temperature log, the rule."""

from __future__ import annotations

from typing import NamedTuple

from app.bench.times import told_at
from inspection.measuring.guard import rule_reason
from inspection.measuring.temperature_log import TemperatureLog, celsius, log_at
from inspection.reasons import Reason
from inspection.sheet.state import Sheet
from inspection.words.say import say, word
from storage.book.clock import Moment


class State(NamedTuple):
    """What is said, in full and in short, a part each."""

    full: tuple[str, ...] = ()
    short: tuple[str, ...] = ()


def state_of(sheet: Sheet, now: Moment) -> State:
    """The conditions of a sheet at a moment."""
    sealed = word("bench.sealed", round=sheet.round) if sheet.sealed else ""
    said = rule_reason(sheet.rules.decision)
    rule = say(Reason(f"bench.{said.code}", said.parts))
    temperature, brief = _temperature(sheet, now)
    waiting = sum(mark.waits for mark in sheet.marks.values())
    marked = word("bench.marked", n=waiting) if waiting else ""
    return State((marked, sealed, temperature, rule), (marked, sealed, brief, rule))


def _temperature(sheet: Sheet, now: Moment) -> tuple[str, str]:
    """The newest line of the log, and whether it still holds; what the head says where nothing is logged."""
    last = max(sheet.temperatures, key=lambda each: each.at, default=None)
    if last is None:
        written = sheet.head.temperature
        said = word("bench.temperature.unlogged", t=written) if written else word("bench.temperature.none")
        return said, said
    holds = log_at(sheet.temperatures, now.at, sheet.rules.temperature_minutes) is not None
    code = "bench.temperature.logged" if holds else "bench.temperature.stale"
    brief = word(code, t=word("bench.temperature.one", t=celsius(last.part)), when=told_at(last.at, now))
    return word(code, t=_of_both(last), when=told_at(last.at, now)), brief


def _of_both(log: TemperatureLog) -> str:
    if log.part == log.instrument:
        return word("bench.temperature.one", t=celsius(log.part))
    return word("bench.temperature.both", part=celsius(log.part), instrument=celsius(log.instrument))
