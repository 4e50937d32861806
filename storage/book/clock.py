"""Time and identities of entries: passed into the book, so that a run can be repeated to the byte."""

from __future__ import annotations

import time
import uuid
from collections.abc import Callable

from msgspec import Struct


class Moment(Struct, frozen=True):
    """One moment: ``at`` in UTC microseconds since 1970, ``day`` the shop's calendar day then (ISO)."""

    at: int
    day: str


Clock = Callable[[], Moment]
Identities = Callable[[], str]


def wall_clock() -> Moment:
    """Now, by this computer's clock and its time zone."""
    at = time.time_ns() // 1000
    return Moment(at, time.strftime("%Y-%m-%d", time.localtime(at / 1_000_000)))


def new_identity() -> str:
    """A new random identity (UUID version 4)."""
    return str(uuid.uuid4())
