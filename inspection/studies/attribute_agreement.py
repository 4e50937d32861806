"""Whether people who only say yes or no, or name one of several kinds, say the same: kappa.

Kappa is the agreement beyond what chance alone brings, over the most it could be: 1 for people who always agree, 0 for
people who might as well toss a coin that is as biased as they are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE


class Kappa(Struct, frozen=True):
    """Agreement on ``n`` things: the share ``seen``, the share to be ``expected`` by chance, exact."""

    n: int
    seen: Fraction
    expected: Fraction

    @property
    def kappa(self) -> Fraction | None:
        """(seen − expected) / (1 − expected); None where everybody said one and the same of everything, so that chance
        would agree as well."""
        return None if self.expected == 1 else (self.seen - self.expected) / (1 - self.expected)


def of_two(first: Sequence[str], second: Sequence[str]) -> Kappa:
    """Cohen's kappa of two who said something of the same things in the same order, one thing at the least.

    Source: J. Cohen, Educational and Psychological Measurement 20 (1960) 37. ValueError if they did not say as many.

    >>> of_two("yynny", "yynnn").kappa
    Fraction(8, 13)
    """
    n = len(first)
    agreed = sum(one == other for one, other in zip(first, second, strict=True))
    mine, others = Counter(first), Counter(second)
    chance = sum(mine[what] * others[what] for what in mine)
    return Kappa(n, Fraction(agreed, n), Fraction(chance, n * n))


def of_many(said: Sequence[Sequence[str]]) -> Kappa:
    """Fleiss' kappa of what was ``said`` of each thing, by so many each time, two at least: by several people, or by
    one again and again.

    Source: J. L. Fleiss, Psychological Bulletin 76 (1971) 378. ValueError if things were not judged equally often.
    """
    n, times = len(said), len(said[0])
    if times < 2 or any(len(each) != times for each in said):
        raise ValueError("every thing is judged equally often, twice at least")
    tallies = [Counter(each) for each in said]
    pairs = sum(count * (count - 1) for tally in tallies for count in tally.values())
    whole = sum(tallies, Counter[str]())
    chance = sum(count * count for count in whole.values())
    return Kappa(n, Fraction(pairs, n * times * (times - 1)), Fraction(chance, (n * times) ** 2))


class Share(Struct, frozen=True):
    """``hits`` out of ``n``, with where the true share lies."""

    hits: int
    n: int

    @property
    def value(self) -> Fraction:
        """The share seen."""
        return Fraction(self.hits, self.n)

    def interval(self, confidence: Fraction = CONFIDENCE) -> tuple[float, float]:
        """The exact interval of a binomial share. Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404.

        >>> low, high = Share(19, 20).interval(Fraction(95, 100))
        >>> round(low, 4), round(high, 4)
        (0.7513, 0.9987)
        """
        from scipy.special import betaincinv

        tail = float((1 - confidence) / 2)
        low = float(betaincinv(self.hits, self.n - self.hits + 1, tail)) if self.hits else 0.0
        high = float(betaincinv(self.hits + 1, self.n - self.hits, 1 - tail)) if self.hits < self.n else 1.0
        return low, high


class AgainstKnown(Struct, frozen=True):
    """What a person said of things that are known: how many were said right every time, how many of the bad were let
    through (``missed``) and of the good turned away (``alarmed``), reading by reading, and kappa against what is
    known. A share is None where there was nothing of the kind."""

    right: Share
    missed: Share | None
    alarmed: Share | None
    kappa: Kappa


def against_known(said: Sequence[Sequence[str]], known: Sequence[str], good: str) -> AgainstKnown:
    """``said[thing][trial]`` against what each thing is ``known`` to be, where ``good`` names the good ones.

    ValueError if not as many things are known as were judged.
    """
    pairs = list(zip(said, known, strict=True))
    flat = [(one, truth) for each, truth in pairs for one in each]
    right = Share(sum(all(one == truth for one in each) for each, truth in pairs), len(pairs))
    bad = [one for one, truth in flat if truth != good]
    fine = [one for one, truth in flat if truth == good]
    missed = Share(sum(one == good for one in bad), len(bad)) if bad else None
    alarmed = Share(sum(one != good for one in fine), len(fine)) if fine else None
    return AgainstKnown(right, missed, alarmed, of_two([one for one, _ in flat], [truth for _, truth in flat]))
