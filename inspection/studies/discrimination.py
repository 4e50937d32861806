"""Whether an instrument shows a process, or its own steps and doubt."""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

from msgspec import Struct

from inspection.studies.sample import Sample


class Discrimination(Struct, frozen=True):
    """What is seen of a process with a ``sample`` of values through an instrument with the smallest ``step`` r (0:
    none) and the standard uncertainty ``doubt`` (0: not known) of one value, both in counts."""

    sample: Sample
    step: int
    doubt: Fraction = Fraction(0)

    @property
    def is_hidden_by_step(self) -> bool:
        """Whether the step hides the scatter: r > s, so that nearly all values fall on five marks or fewer. The moving
        range then says more of the step than of the process (common practice)."""
        return self.sample.n > 1 and self.step**2 > self.sample.square

    @property
    def doubt_share(self) -> float | None:
        """The share of the variance seen that the uncertainty u accounts for, u²/s²; None where either is not known."""
        if not self.doubt or self.sample.n < 2 or not self.sample.squares:
            return None
        return float(self.doubt**2 / self.sample.square)

    @property
    def categories(self) -> int | None:
        """How many groups of pieces can be told apart: √2 σ_process/u, rounded down, 1 at the least; None where u or
        the scatter is not known."""
        share = self.doubt_share
        if share is None:
            return None
        return max(1, int(sqrt(2 * max(0.0, 1 / share - 1))))
