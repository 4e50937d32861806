"""What a gauge study says: its table as decimal strings, and each finding as a reason."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from inspection.measuring.uncertainty_stated import significant
from inspection.quantity.units import UNITS
from inspection.reasons import Figure, Part, Reason
from inspection.standards.ranges import range_constants
from inspection.studies.component_intervals import terms_of, within
from inspection.studies.gauge_study import Shares, Study

#: Up to the first share of the band (without one, of the study) a gauge serves well, up to the second it may serve
#: where the need is small and a better one dear; common practice.
SERVES, MAY_SERVE = 0.10, 0.30
#: A gauge that tells fewer kinds of parts apart does not show a process; common practice.
LEAST_CATEGORIES = 5
#: So many parts whose readings lie too far apart are named, the farthest first.
MOST_NAMED = 6
#: A study of fewer parts says little of their scatter; common practice.
LEAST_PARTS = 10


class GaugeRow(Struct, frozen=True):
    """One line: its name (``gauge.row.<name>``), σ in the unit asked for, and in per cent its share of the whole study
    and six σ of the band; from where (``low``) to where (``high``) σ lies. Empty where there is none."""

    name: str
    deviation: str
    of_study: str
    of_band: str
    low: str = ""
    high: str = ""

    @property
    def between(self) -> str:
        """Both ends in one cell."""
        return f"{self.low}\u00a0… {self.high}" if self.high else ""


def gauge_rows(shares: Shares, unit: str, band: int | None = None) -> tuple[GaugeRow, ...]:
    """The table of a study with σ in ``unit``, and against the ``band`` T (counts) where one is given."""
    parts = {
        "repeatability": shares.repeatability,
        "reproducibility": shares.reproducibility,
        "interaction": shares.interaction,
        "gauge": shares.gauge,
        "parts": shares.parts,
        "total": shares.total,
    }
    if shares.variances is None or shares.variances.pooled is not None:
        del parts["interaction"]
    ends = _ends(shares, unit)
    return tuple(
        GaugeRow(
            name,
            significant(Fraction(variance) / UNITS[unit].count ** 2),
            _percent(shares.of_study(variance)),
            _percent(shares.of_band(variance, band) if band else None),
            *ends.get(name, ("", "")),
        )
        for name, variance in parts.items()
    )


def _ends(shares: Shares, unit: str) -> dict[str, tuple[str, str]]:
    """Where each deviation lies at the confidence of every interval here; none by ranges, of which there are none, nor
    where no repeat ever differed, which is the step's doing."""
    table = shares.variances
    if table is None or not (table.pooled or table.repeats).squares:
        return {}
    per = UNITS[unit].count ** 2
    return {
        name: (significant(Fraction(low) / per, 2), significant(Fraction(high) / per, 2))
        for name, terms in terms_of(table).items()
        for low, high in (within(terms),)
    }


def _percent(share: float | None) -> str:
    return "" if share is None else f"{100 * share:.1f}"


def gauge_findings(read: Study, shares: Shares, band: int | None = None) -> tuple[Reason, ...]:
    """What is to be said of a study, of the gauge first; what holds however it is reckoned stands by the variances."""
    return tuple(_findings(read, shares, band))


def _findings(read: Study, shares: Shares, band: int | None) -> Iterator[Reason]:
    if shares.categories is None:
        yield Reason("gauge.found.no_scatter")
        return
    share = shares.of_band(shares.gauge, band) if band else shares.of_study(shares.gauge) or 0.0
    how = "serves" if share <= SERVES else "may_serve" if share <= MAY_SERVE else "unfit"
    limits: dict[str, Part] = {"serves": round(100 * SERVES), "may": round(100 * MAY_SERVE)}
    told: dict[str, Part] = {"share": Figure(_percent(share)), **limits}
    yield Reason(f"gauge.found.{how}.{'band' if band else 'study'}", told)
    enough = "enough" if shares.categories >= LEAST_CATEGORIES else "few"
    yield Reason(f"gauge.found.categories.{enough}", {"n": shares.categories, "least": LEAST_CATEGORIES})
    if shares.variances is None:
        yield from _wide(read)
    else:
        if (shares.variances.pooled or shares.variances.repeats).squares:
            yield Reason("gauge.found.between", {"people": len(read.people)})
        if len(read.parts) < LEAST_PARTS:
            yield Reason("gauge.found.few_parts", {"n": len(read.parts), "least": LEAST_PARTS})
        chance = shares.variances.interaction.chance
        if shares.variances.pooled is not None:
            yield Reason("gauge.found.pooled", {"chance": Figure(_probability(1.0 if chance is None else chance))})
        else:
            yield Reason("gauge.found.interaction", {"chance": Figure(_probability(chance or 0.0))})


def _probability(chance: float) -> str:
    """A probability to three decimals, never told as none.

    >>> _probability(0.0312), _probability(0.0002)
    ('= 0.031', '< 0.001')
    """
    return f"= {chance:.3f}" if chance >= 0.0005 else "< 0.001"


def _wide(read: Study) -> Iterator[Reason]:
    """Who read which part so that its range lies beyond D₄R̄, the limit of the chart of ranges, where a reading is
    likely to have gone wrong. Source: NIST/SEMATECH e-Handbook 6.3.2.1."""
    ranges = {
        f"{part} ({person})": max(cell) - min(cell)
        for person, row in zip(read.people, read.readings, strict=True)
        for part, cell in zip(read.parts, row, strict=True)
    }
    constants = range_constants(read.trials)
    assert constants is not None, "a study holds what is tabled"
    most = constants.upper * Fraction(sum(ranges.values()), len(ranges))
    wide = sorted((name for name, each in ranges.items() if each > most), key=lambda name: -ranges[name])
    if wide:
        named = ", ".join([*wide[:MOST_NAMED], *(["…"] if len(wide) > MOST_NAMED else [])])
        yield Reason("gauge.found.wide", {"n": len(wide), "cells": named})
