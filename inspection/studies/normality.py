"""Whether values may come of a normal distribution: the test of Anderson and Darling, with mean and scatter estimated.

It can speak against normality and never for it: of few values it hardly ever finds anything.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from inspection.studies.sample import sample_of

#: Of fewer values nothing is told: the test would let nearly everything pass.
LEAST = 25
#: A*² beyond this comes of one normal sample in twenty (R. B. D'Agostino, M. A. Stephens, Goodness-of-Fit Techniques,
#: 1986, table 4.7, mean and variance estimated, 5 %; scipy.stats.anderson has the same).
CRITICAL = 0.752


class Normality(Struct, frozen=True):
    """A² of ``n`` values."""

    n: int
    square: float

    @property
    def adjusted(self) -> float:
        """A*² = A² (1 + 0.75/n + 2.25/n²), which one table of critical values serves for every n."""
        return self.square * (1 + 0.75 / self.n + 2.25 / self.n**2)

    @property
    def is_refused(self) -> bool:
        """Whether so much is told against a normal distribution that chance explains it once in twenty times."""
        return self.adjusted > CRITICAL


def normality(values: Sequence[int]) -> Normality | None:
    """The test of values (counts); None under ``LEAST`` of them, or where they do not scatter.

    A² = −n − Σ (2i − 1) (ln Φ(zᵢ) + ln Φ(−zₙ₊₁₋ᵢ)) / n over the values in their order, z = (x − x̄)/s.
    Source: NIST/SEMATECH e-Handbook 1.3.5.14.
    """
    if len(values) < LEAST:
        return None
    sample = sample_of(values)
    if not sample.squares:
        return None
    from scipy.special import log_ndtr

    n, s = sample.n, sample.deviation
    z = [(sample.n * value - sample.total) / (sample.n * s) for value in sorted(values)]
    below, above = (log_ndtr(side).tolist() for side in (z, [-each for each in reversed(z)]))
    total = sum((2 * place - 1) * (low + high) for place, (low, high) in enumerate(zip(below, above, strict=True), 1))
    return Normality(n, -n - total / n)
