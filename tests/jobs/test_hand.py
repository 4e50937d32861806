"""Moments of entries: looked at ahead they are kept, looked at in passing they are not."""

from __future__ import annotations

import itertools

from app.jobs.hand import Foreseen
from storage.book.clock import Moment


def foreseen() -> Foreseen:
    seconds, numbers = itertools.count(1), itertools.count(1)
    return Foreseen(lambda: Moment(next(seconds), "2026-09-21"), lambda: str(next(numbers)))


def test_what_time_it_is_is_not_when_the_next_entry_was_made() -> None:
    """Somebody looks at a list in the morning and takes a reading at noon."""
    hand = foreseen()
    assert hand.now().at == 1
    assert hand.clock().at == 2


def test_a_moment_looked_at_ahead_is_the_next_entry_s() -> None:
    hand = foreseen()
    assert hand.moment_ahead().at == hand.now().at == hand.moment_ahead().at == 1
    assert [hand.clock().at, hand.clock().at] == [1, 2]


def test_another_hand_s_look_ahead_is_its_own() -> None:
    hand = foreseen()
    assert hand.apart().moment_ahead().at == 1
    assert hand.clock().at == 2
