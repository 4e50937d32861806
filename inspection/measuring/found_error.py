"""What an error that was found in an instrument does to a result that was read with it: still good, or not, or nearly.

An error is e = indication − true, as on a certificate: an instrument found e large read every size e large, so that a
true size is what was read less e. Counts of the row's kind throughout.
"""

from __future__ import annotations

from enum import StrEnum
from fractions import Fraction

from msgspec import Struct


class Outcome(StrEnum):
    """What a found error makes of a result, the gravest first."""

    TAKEN_OUT = "taken_out"  # it was inside the limits and is not
    NEAR = "near"  # it stays inside, within g of a limit
    QUESTIONED = "questioned"  # a slip question about it was never answered: what it came to nobody knows
    TAKEN_IN = "taken_in"  # it was outside and is inside
    STILL_OUT = "still_out"
    STILL_IN = "still_in"
    NOT_NUMBERED = "not_numbered"  # what was seen is no number: it is to be looked at again
    NOT_JUDGED = "not_judged"  # no limit to hold it against


#: Outcomes that somebody has to look at.
TO_BE_SEEN = frozenset({Outcome.TAKEN_OUT, Outcome.NEAR, Outcome.QUESTIONED, Outcome.TAKEN_IN, Outcome.NOT_NUMBERED})


class Weighed(Struct, frozen=True):
    """A result weighed: its ``outcome``, and the ``rooms`` to the nearer limit before and after the error was taken off
    (counts times ``of``, under 0 outside); None where there is none."""

    outcome: Outcome
    rooms: tuple[int, int] | None = None
    of: int = 1

    @property
    def before(self) -> Fraction | None:
        """The room that there was (counts)."""
        return None if self.rooms is None else Fraction(self.rooms[0], self.of)

    @property
    def after(self) -> Fraction | None:
        """The room that the error leaves (counts)."""
        return None if self.rooms is None else Fraction(self.rooms[1], self.of)


def weigh(
    smallest: int | None,
    largest: int | None,
    of: int,
    lower: int | None,
    upper: int | None,
    error: int,
    *,
    shared: int | None = None,
    guard: int | None = None,
) -> Weighed:
    """Weigh a result against a found ``error``.

    ``smallest`` and ``largest`` are the results over places; of a mean of n they are the sum, with ``of`` = n, and
    ``shared`` counts the readings in it that the instrument gave (None: all). ``guard`` is g: a result that stays
    inside by less is near. A natural zero is handed in as no lower limit. On the limit is inside.

    >>> weigh(1004, 1004, 1, 990, 1005, -3).outcome  # read 3 small: it is 1007
    <Outcome.TAKEN_OUT: 'taken_out'>
    """
    if smallest is None or largest is None:
        return Weighed(Outcome.NOT_NUMBERED)
    off = error * (of if shared is None else shared)
    # times ``of``, in integers; twenty thousand results are weighed at once, so nothing is asked of a side twice
    if lower is not None and upper is not None:
        above, below = smallest - lower * of, upper * of - largest
        before, after = min(above, below), min(above - off, below + off)
    elif lower is not None:
        before = smallest - lower * of
        after = before - off
    elif upper is not None:
        before = upper * of - largest
        after = before + off
    else:
        return Weighed(Outcome.NOT_JUDGED)
    return Weighed(_outcome(before, after, None if guard is None else guard * of), (before, after), of)


def _outcome(before: int, after: int, guard: int | None) -> Outcome:
    if after < 0:
        return Outcome.TAKEN_OUT if before >= 0 else Outcome.STILL_OUT
    if before < 0:
        return Outcome.TAKEN_IN
    return Outcome.NEAR if guard is not None and after < guard else Outcome.STILL_IN
