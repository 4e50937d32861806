"""The choice for a whole sheet at once: fitness and ratios as arrays over features × methods.

The arrays and ``assess`` answer alike, thresholds included. Resolution and accuracy are compared as whole counts: what
smallest band a step or an error needs is computed once a method, so nothing is multiplied in int64. The uncertainty
ratio is computed in float64, whose error here is below 1e-14; pairs within 1e-9 of the threshold are decided exactly.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.assess import assess, budget_of, has_ratios, sources_of, temperature_of
from inspection.instruments.crib import Offer, offers
from inspection.instruments.materials import expansion_of
from inspection.instruments.method import Assessment, Fitness
from inspection.instruments.pins import gauges_of
from inspection.instruments.ratios import effective_band, size_of, smallest_band, uncertainty_hundredths
from inspection.instruments.reach import (
    limits_asked,
    missing_ends,
    permissible_error,
    spanning,
    thread_matches,
    touches,
    usable,
)
from inspection.instruments.record import Instrument, Use
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Manner
from inspection.measuring.budget import Temperature, budget
from inspection.quantity.units import LARGEST_COUNT, Kind

Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Fitness as held in the arrays, worst first.
FITNESS = (Fitness.UNSUITABLE, Fitness.MARGINAL, Fitness.FIT)
_MARGINAL, _FIT = 1, 2

_NEAR = 1e-9
_NONE_BELOW, _NONE_ABOVE = -LARGEST_COUNT, LARGEST_COUNT


def _counts(values: Sequence[int | None], absent: int) -> Counts:
    return np.array([absent if value is None else value for value in values], dtype=np.int64)


class _Features:
    """What the rows ask, as arrays; an absent value stands where it can never be exceeded."""

    def __init__(self, rows: Sequence[Characteristic]) -> None:
        self.rows = rows
        asked = [limits_asked(row) for row in rows]
        self.least = _counts([least for least, _ in asked], _NONE_ABOVE)
        self.most = _counts([most for _, most in asked], _NONE_BELOW)
        self.lower = _counts([row.requirement.lower for row in rows], _NONE_BELOW)
        self.upper = _counts([row.requirement.upper for row in rows], _NONE_ABOVE)
        self.size = _counts([size_of(row) for row in rows], 0)
        self.band = _counts([effective_band(row) for row in rows], -1)
        self.rated = np.array([has_ratios(row) for row in rows], dtype=bool)
        self.reach = _counts([row.access.reach for row in rows], _NONE_BELOW)
        self.corner = _counts([row.access.corner_radius for row in rows], _NONE_BELOW)
        self.wall = _counts([row.access.wall for row in rows], _NONE_ABOVE)
        self.bore_length = _counts([row.access.bore_length for row in rows], _NONE_ABOVE)
        self.soft = np.array([row.access.soft for row in rows], dtype=bool)

    @cached_property
    def by_way(self) -> dict[tuple[object, ...], Counts]:
        """Indices of the rows that a way of a given kind of quantity answers, filled as asked for."""
        return {}

    def answered(self, offer: Offer) -> Counts:
        """Indices of the rows that the offer's way answers."""
        quantity = offer.parts[0].quantity
        key = (offer.way.features, offer.way.axial, quantity)
        if key not in self.by_way:
            found = [
                i for i, row in enumerate(self.rows) if offer.way.answers(row) and row.requirement.kind is quantity
            ]
            self.by_way[key] = np.array(found, dtype=np.int64)
        return self.by_way[key]


class Choice:
    """Rows × methods, as arrays of that shape: ``fitness`` (index into FITNESS) and ``score``, the deciding ratio
    (T / 2U, for fixed limits T / t) as a share of what is needed: infinite where no ratio applies, 0 if unsuitable."""

    def __init__(
        self,
        rows: Sequence[Characteristic],
        found: Sequence[Offer],
        crib: Mapping[str, Instrument],
        rules: Rules,
        day: str,
        material: str,
    ) -> None:
        self.rows, self.offers, self.rules, self.day, self.material = tuple(rows), tuple(found), rules, day, material
        self.issues = {(item.identity, item.issue): item for item in crib.values()}
        shape = (len(self.rows), len(self.offers))
        self.fitness: NDArray[np.int8] = np.zeros(shape, dtype=np.int8, order="F")
        self.score: Floats = np.zeros(shape, order="F")
        self._temperature = temperature_of(rules, expansion_of(material))
        features = _Features(self.rows)
        for j, offer in enumerate(self.offers):
            self._column(j, offer, features)

    def assess(self, i: int, j: int) -> Assessment:
        """Row ``i`` by method ``j`` with its checks, ratios and reasons, built now."""
        method = self.offers[j].method
        return assess(self.rows[i], method, self.issues, self.rules, self.day, self.material)

    @cached_property
    def best(self) -> Counts:
        """The best method of each row taken by itself, -1 if none reaches: of the fit the quickest to handle, then the
        surest; with none fit the best marginal by its ratio."""
        if not self.offers:
            return np.full(len(self.rows), -1, dtype=np.int64)
        quick = np.array([offer.handling_seconds for offer in self.offers], dtype=np.float64)
        share = np.minimum(self.score, 1e6) / 1e7
        fit = np.where(self.fitness == _FIT, share - quick, -np.inf)
        marginal = np.where(self.fitness == _MARGINAL, self.score, -np.inf)
        has_fit = (self.fitness == _FIT).any(axis=1)
        has_any = (self.fitness != 0).any(axis=1)
        found = np.where(has_fit, fit.argmax(axis=1), marginal.argmax(axis=1))
        return np.where(has_any, found, -1).astype(np.int64)

    @cached_property
    def candidates(self) -> Mask:
        """Which methods the route may give a row: every fit one, else the marginal ones of the best ratio."""
        fit: Mask = self.fitness == _FIT
        marginal = np.where(self.fitness == _MARGINAL, self.score, -np.inf)
        top = marginal.max(axis=1, keepdims=True, initial=-np.inf)
        best: Mask = (self.fitness == _MARGINAL) & (marginal == top)
        return np.where(fit.any(axis=1, keepdims=True), fit, best)

    def _column(self, j: int, offer: Offer, features: _Features) -> None:
        at = features.answered(offer)
        if not len(at) or not all(usable(part, self.day) for part in offer.parts):
            return
        at = at[_clear(offer, features, at)]
        if offer.way.manner is Manner.SCALE:
            self._scale(j, offer, features, at)
        elif offer.way.manner is Manner.LIMITS:
            self._limits(j, offer, features, at)
        elif offer.way.manner is Manner.THREAD:
            whole = not missing_ends(offer.parts[0])
            matching = [i for i in at if whole and thread_matches(self.rows[i], offer.parts[0])]
            self._plainly(j, np.array(matching, dtype=np.int64))
        else:
            self._plainly(j, at)

    def _plainly(self, j: int, at: Counts) -> None:
        """Rows that have no ratio are answered by whatever reaches."""
        self.fitness[at, j] = _FIT
        self.score[at, j] = np.inf

    def _scale(self, j: int, offer: Offer, features: _Features, at: Counts) -> None:
        errors = _Steps(offer.parts[0], offer.way.read_use)
        for part in spanning(offer.way, offer.parts):
            at = at[(part.low <= features.least[at]) & (features.most[at] <= part.high)]
        at = at[features.size[at] <= errors.last]
        self._plainly(j, at[~features.rated[at]])
        at = at[features.rated[at]]
        band, step = features.band[at], errors.at(features.size[at])
        ratio = self._uncertainty(offer, features, at, errors.errors[step])
        needed = self.rules.uncertainty_needed
        read = offer.parts[0]
        holds = (read.resolution > 0) & (band >= smallest_band(read.resolution, self.rules.resolution_needed))
        holds &= (errors.errors[step] > 0) & (band >= errors.needed(self.rules.accuracy_needed)[step])
        holds &= self._holds(offer, at, band, ratio, needed)
        known = band >= 0
        self.score[at, j] = np.where(known, ratio * 100 / max(needed, 1), 0.0)
        self.fitness[at, j] = np.where(holds & known, _FIT, _MARGINAL)

    def _uncertainty(self, offer: Offer, features: _Features, at: Counts, errors: Counts) -> Floats:
        """T / 2U in float64."""
        size = features.size[at].astype(np.float64)
        fixed = budget(sources_of(offer.way, offer.parts, 0, 0)[:1]).variance
        variance = float(fixed) + errors.astype(np.float64) ** 2 / 3
        for aid in offer.parts[1:]:
            variance += _aid_variance(offer, aid, features.size[at])
        if offer.parts[0].quantity is Kind.LENGTH:
            variance += _growth(self._temperature) * size**2
        root = 4 * np.sqrt(variance)
        ratio: Floats = np.divide(features.band[at], root, out=np.zeros(len(at)), where=root > 0)
        return ratio

    def _holds(self, offer: Offer, at: Counts, band: Counts, ratio: Floats, needed: int) -> Mask:
        """Whether the uncertainty ratio holds; near the threshold by exact fractions."""
        holds: Mask = ratio * 100 >= needed
        for k in np.flatnonzero(np.abs(ratio * 100 - needed) <= _NEAR * max(needed, 1)):
            row = self.rows[at[k]]
            error = permissible_error(offer.parts[0], offer.way.read_use, size_of(row)) or 0
            exact = budget_of(row, offer.way, offer.parts, error, self._temperature).variance
            holds[k] = uncertainty_hundredths(max(int(band[k]), 0), exact) >= needed
        return holds

    def _limits(self, j: int, offer: Offer, features: _Features, at: Counts) -> None:
        gauges = gauges_of(offer.parts[0])
        if not gauges:
            return
        size = np.array([gauge.size for gauge in gauges], dtype=np.int64)
        go = np.searchsorted(np.array([gauge.least for gauge in gauges], dtype=np.int64), features.lower[at], "left")
        stop = (
            np.searchsorted(np.array([gauge.most for gauge in gauges], dtype=np.int64), features.upper[at], "right") - 1
        )
        has_go, has_stop = features.lower[at] != _NONE_BELOW, features.upper[at] != _NONE_ABOVE
        found = (~has_go | (go < len(gauges))) & (~has_stop | (stop >= 0)) & (has_go | has_stop)
        at, go, stop = at[found], go[found], stop[found]
        has_go, has_stop = has_go[found], has_stop[found]
        paired = ~(has_go & has_stop) | (size[np.minimum(go, len(size) - 1)] < size[stop])
        at, go, stop, has_go, has_stop = at[paired], go[paired], stop[paired], has_go[paired], has_stop[paired]
        tolerance = np.array([gauge.tolerance for gauge in gauges], dtype=np.int64)
        worst = np.maximum(
            np.where(has_go, tolerance[np.minimum(go, len(size) - 1)], 0), np.where(has_stop, tolerance[stop], 0)
        )
        self._by_class(j, features, at, worst)

    def _by_class(self, j: int, features: _Features, at: Counts, tolerance: Counts) -> None:
        """Fixed limits by T / t, ``tolerance`` being t of the member that spends most (every one is over 0)."""
        rated = features.rated[at]
        self._plainly(j, at[~rated])
        at, tolerance = at[rated], tolerance[rated]
        band, rules = features.band[at], self.rules
        least = {
            t: (smallest_band(t, rules.gauge_class_needed), smallest_band(t, rules.gauge_class_marginal))
            for t in set(tolerance.tolist())
        }
        needed = np.array([least[t][0] for t in tolerance.tolist()], dtype=np.int64)
        marginal = np.array([least[t][1] for t in tolerance.tolist()], dtype=np.int64)
        known = band >= 0
        fitness = np.where(band >= needed, _FIT, np.where((band >= marginal) | ~known, _MARGINAL, 0))
        self.fitness[at, j] = fitness
        score = np.where(known, band / tolerance * 100 / max(rules.gauge_class_needed, 1), 0.0)
        self.score[at, j] = np.where(fitness > 0, score, 0.0)


class _Steps:
    """An instrument's permissible errors in one use, by size."""

    def __init__(self, instrument: Instrument, use: Use) -> None:
        held = sorted((step for step in instrument.permissible if step.use is use), key=lambda step: step.up_to)
        self.up_to = np.array([step.up_to for step in held], dtype=np.int64)
        self.errors = np.array([step.error for step in held], dtype=np.int64)
        self.last = held[-1].up_to if held else _NONE_BELOW

    def at(self, size: Counts) -> Counts:
        """Index of the step that each size falls in."""
        return np.searchsorted(self.up_to, size, "left")

    def needed(self, hundredths: int) -> Counts:
        """The smallest band that each step's 2E allows."""
        return np.array([smallest_band(2 * error, hundredths) for error in self.errors.tolist()], dtype=np.int64)


def _clear(offer: Offer, features: _Features, at: Counts) -> Mask:
    """Which rows the contacts clear; the same conditions as ``reach.contacts_clear``."""
    contacts = touches(offer.way, offer.parts).contacts
    clear: Mask = np.ones(len(at), dtype=bool)
    inside = offer.way.use is Use.INSIDE
    if inside and contacts.smallest_bore is not None:
        clear &= features.least[at] >= contacts.smallest_bore
    if contacts.reach is not None:
        clear &= features.reach[at] <= contacts.reach
    if contacts.relief is not None:
        clear &= features.corner[at] <= contacts.relief
    if contacts.width is not None:
        clear &= features.wall[at] >= contacts.width
        if inside:
            clear &= features.bore_length[at] >= contacts.width
    if contacts.hard:
        clear &= ~features.soft[at]
    return clear


def _aid_variance(offer: Offer, aid: Instrument, size: Counts) -> Floats:
    """Variance that one further instrument adds at each size."""
    reading = float(budget(sources_of(offer.way, (offer.parts[0], _bare(aid)), 0, 0)[1:]).variance)
    variance = np.full(len(size), reading)
    if not aid.resolution:
        steps = _Steps(aid, offer.way.use)
        held = size <= steps.last
        variance[held] += steps.errors[steps.at(size[held])].astype(np.float64) ** 2 / 3
    return variance


def _bare(aid: Instrument) -> Instrument:
    """The instrument without its permissible errors."""
    return Instrument(
        aid.identity,
        aid.issue,
        aid.tag,
        aid.kind,
        aid.name,
        resolution=aid.resolution,
        repeatability=aid.repeatability,
    )


def _growth(temperature: Temperature) -> float:
    """Variance of temperature (pm²) per squared pm of size."""
    metre = 10**12
    return float(budget((), metre, temperature).variance / metre**2)


def choose(
    characteristics: Sequence[Characteristic],
    crib: Mapping[str, Instrument],
    rules: Rules,
    day: str,
    material: str = "",
) -> Choice:
    """Weigh every row against every method that the crib's instruments make up on ``day`` (ISO date)."""
    return Choice(characteristics, offers(crib, day), crib, rules, day, material)
