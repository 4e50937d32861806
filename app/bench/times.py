"""Moments at the Bench: now, and how a moment is told to who stands there today."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.jobs.local_time import moment
from storage.book.clock import Moment, wall_clock

if TYPE_CHECKING:
    from app.window.house import House


def now_at(house: House) -> Moment:
    """Now, by the clock of the book; the entry that comes next gets its own moment."""
    return house.foreseen.apart().moment_ahead() if house.foreseen is not None else wall_clock()


def told_at(at: int, now: Moment) -> str:
    """A moment (UTC microseconds) in this computer's time: the hour alone on the same day, else with its day."""
    day, _, hour = moment(at).partition(" ")
    return hour if day == moment(now.at).partition(" ")[0] else f"{day} {hour}"
