"""Whether a result lies apart from those before it: more than 3 s from their mean, exactly."""

from __future__ import annotations

from collections.abc import Sequence

from inspection.studies.sample import Sample, sums_of

#: From so many earlier results on, their own scatter is believed (as of siblings, common practice).
ENOUGH = 5
#: A result stands apart beyond so many standard deviations; common practice of control charts.
SIGMAS = 3


class Past(Sample, frozen=True):
    """What ``n`` earlier results come to together."""

    def is_beyond(self, value: int, least: int = 0) -> bool:
        """Whether a value (counts) lies more than 3 s from the mean.

        ``least`` is the least s² that is believed (counts²): equal results are no evidence of s = 0. With so few
        results s is itself uncertain: of honest ones, one in nineteen lies beyond where n = 5, one in sixty-seven where
        n = 12 (Student's t of a further value), so that this asks for a look and proves nothing.
        """
        off = (self.n * value - self.total) ** 2
        own, floor = off * (self.n - 1) > SIGMAS**2 * self.n * self.squares, SIGMAS**2 * self.n**2 * least
        return own and off > floor


def past_of(values: Sequence[int]) -> Past | None:
    """What earlier results (counts) say together; None under five.

    >>> past = past_of([10, 12, 11, 9, 13])
    >>> past.mean, past.square, past.is_beyond(15), past.is_beyond(16)
    (Fraction(11, 1), Fraction(5, 2), False, True)
    """
    return sums_of(values, Past) if len(values) >= ENOUGH else None
