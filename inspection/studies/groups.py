"""Whether groups of values differ: what different people, or different instruments, read of the same characteristic.

A difference tells that the groups differ, never why: who measured in spring measured what was made in spring.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE
from inspection.studies.sample import Sample, sample_of


class Groups(Struct, frozen=True):
    """Groups of values by name with their sums of squares (counts²): ``between`` the groups and ``within`` them."""

    samples: Mapping[str, Sample]
    between: Fraction
    within: Fraction

    @property
    def n(self) -> int:
        """How many values there are."""
        return sum(sample.n for sample in self.samples.values())

    @property
    def freedoms(self) -> tuple[int, int]:
        """Degrees of freedom between and within."""
        return len(self.samples) - 1, self.n - len(self.samples)

    @property
    def ratio(self) -> float | None:
        """F, the mean square between over that within; None where nothing scatters within."""
        between, within = self.freedoms
        return float(self.between * within / (self.within * between)) if self.within else None

    @property
    def chance(self) -> float:
        """How probable so large an F is where the groups do not differ."""
        ratio = self.ratio
        if ratio is None:
            return 0.0 if self.between else 1.0
        return f_above(ratio, *self.freedoms)

    def is_told(self, step: int = 0, confidence: Fraction = CONFIDENCE) -> bool:
        """Whether the groups differ by more than chance, and the farthest apart by more than a ``step`` r of what they
        were read with (counts): means that differ by less than a mark are of no use to anybody."""
        means = [sample.mean for sample in self.samples.values()]
        return self.chance < 1 - confidence and max(means) - min(means) > step


def groups_of(values: Mapping[str, Sequence[int]]) -> Groups | None:
    """The groups that hold two values (counts) or more; None under two groups.

    Source: NIST/SEMATECH e-Handbook 7.4.3, one-way analysis of variance.
    """
    samples = {name: sample_of(of) for name, of in values.items() if len(of) > 1}
    if len(samples) < 2:
        return None
    within = sum((sample.about_mean for sample in samples.values()), Fraction(0))
    whole = sample_of([value for name in samples for value in values[name]])
    return Groups(samples, whole.about_mean - within, within)


def f_above(ratio: float, above: int, below: int) -> float:
    """The probability of an F over ``ratio`` with these degrees of freedom of its numerator and denominator.

    >>> round(f_above(4.96, 1, 10), 3)
    0.05
    """
    from scipy.special import fdtrc

    return float(fdtrc(above, below, ratio))
