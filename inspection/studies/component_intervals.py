"""Within what the parts of a gauge study's scatter are known: the repeatability exactly, the others by modified large
samples.

Each part is a sum and difference of mean squares, of which each by itself is a variance times χ²/ν. Of one alone the
interval is exact; of several, each end is reckoned so that it would be exact were all the others known. Source:
F. A. Graybill and C. M. Wang, J. Amer. Statist. Assoc. 75 (1980) 869 (sums); N. Ting, R. K. Burdick, F. A. Graybill,
S. Jeyaratnam and T.-F. C. Lu, J. Statist. Comput. Simul. 35 (1990) 135 (differences); put together for gauge studies in
R. K. Burdick, C. M. Borror and D. C. Montgomery, J. Quality Technology 35 (2003) 342; from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations
from math import sqrt

from msgspec import Struct

from inspection.measuring.quantiles import CONFIDENCE
from inspection.studies.gauge_study import Source, Variances


class Term(Struct, frozen=True):
    """A mean square (counts²) with its degrees of freedom, and how often it is taken, less than 0 for a difference."""

    times: Fraction
    source: Source

    @property
    def share(self) -> float:
        """|times| mean square."""
        return float(abs(self.times) * self.source.mean)


def terms_of(table: Variances) -> dict[str, tuple[Term, ...]]:
    """The parts of the scatter, by their names, as sums and differences of mean squares: those of two crossed random
    effects, with or without their interaction."""
    people, parts = table.people.freedom + 1, table.parts.freedom + 1
    trials = Fraction(table.repeats.freedom, people * parts) + 1
    own = table.pooled or table.repeats
    of_people, of_parts, of_repeats = Fraction(1, parts) / trials, Fraction(1, people) / trials, 1 / trials
    rest = table.pooled or table.interaction

    def made(*pairs: tuple[Fraction, Source]) -> tuple[Term, ...]:
        return tuple(Term(times, source) for times, source in pairs if times)

    between = made((of_parts, table.parts), (-of_parts, rest))
    if table.pooled is not None:
        return {
            "repeatability": made((Fraction(1), own)),
            "reproducibility": made((of_people, table.people), (-of_people, own)),
            "gauge": made((of_people, table.people), (1 - of_people, own)),
            "parts": between,
            "total": made((of_parts, table.parts), (of_people, table.people), (1 - of_parts - of_people, own)),
        }
    both = of_repeats - of_people
    return {
        "repeatability": made((Fraction(1), own)),
        "reproducibility": made((of_people, table.people), (both, rest), (-of_repeats, own)),
        "interaction": made((of_repeats, rest), (-of_repeats, own)),
        "gauge": made((of_people, table.people), (both, rest), (1 - of_repeats, own)),
        "parts": between,
        "total": made(
            (of_parts, table.parts), (of_people, table.people), (both - of_parts, rest), (1 - of_repeats, own)
        ),
    }


def within(terms: Sequence[Term], confidence: Fraction = CONFIDENCE) -> tuple[float, float]:
    """Where the variance (counts²) lies that ``terms`` estimate, both tails equal, neither end under 0. More than one
    difference among them is a ValueError."""
    added, taken = [each for each in terms if each.times > 0], [each for each in terms if each.times < 0]
    if len(taken) > 1:
        raise ValueError("one mean square at the most is taken off")
    tail = float((1 - confidence) / 2)
    estimate = sum(each.share for each in added) - sum(each.share for each in taken)
    below = sum((_under(each, tail) * each.share) ** 2 for each in added)
    above = sum((_over(each, tail) * each.share) ** 2 for each in added)
    for off in taken:
        below += (_over(off, tail) * off.share) ** 2 + sum(_apart_below(each, off, tail) for each in added)
        above += (_under(off, tail) * off.share) ** 2 + sum(_apart_above(each, off, tail) for each in added)
        below += sum(_together(added, tail))
    return max(0.0, estimate - sqrt(max(below, 0.0))), max(0.0, estimate + sqrt(max(above, 0.0)))


def _under(each: Term, tail: float) -> float:
    """G = 1 − ν/χ² at the upper tail."""
    return 1 - 1 / _f(1 - tail, each.source.freedom)


def _over(each: Term, tail: float) -> float:
    """H = ν/χ² − 1 at the lower tail."""
    return 1 / _f(tail, each.source.freedom) - 1


def _f(share: float, freedom: int, other: int = 0) -> float:
    """The value of F that a ``share`` lies below; without ``other`` degrees of freedom the other is known: χ²/ν."""
    from scipy.special import chdtri, fdtri

    return float(fdtri(freedom, other, share) if other else chdtri(freedom, 1 - share) / freedom)


def _apart_below(each: Term, off: Term, tail: float) -> float:
    at = _f(1 - tail, each.source.freedom, off.source.freedom)
    g, h = _under(each, tail), _over(off, tail)
    return ((at - 1) ** 2 - (g * at) ** 2 - h**2) / at * each.share * off.share


def _apart_above(each: Term, off: Term, tail: float) -> float:
    at = _f(tail, each.source.freedom, off.source.freedom)
    h, g = _over(each, tail), _under(off, tail)
    return ((1 - at) ** 2 - (h * at) ** 2 - g**2) / at * each.share * off.share


def _together(added: Sequence[Term], tail: float) -> Iterator[float]:
    """What two that are added bring to the lower end where one is taken off."""
    for one, other in combinations(added, 2):
        m, n = one.source.freedom, other.source.freedom
        both = (1 - 1 / _f(1 - tail, m + n)) ** 2 * (m + n) ** 2 / (m * n)
        apart = both - _under(one, tail) ** 2 * m / n - _under(other, tail) ** 2 * n / m
        yield apart / (len(added) - 1) * one.share * other.share
