"""The choice for a whole sheet at once: fitness and ratios as arrays over features × methods.

The arrays and ``assess`` answer alike, thresholds included. Resolution and accuracy are compared as whole counts: what
smallest band a step or an error needs is computed once a method, so nothing is multiplied in int64. What a certificate
leaves and the uncertainty ratio are computed in float64, whose error here is below 1e-14; pairs within 1e-9 of a
threshold are decided exactly, by what ``assess`` itself does.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.instruments.assess import assess, weigh
from inspection.instruments.crib import Offer, offers
from inspection.instruments.method import Assessment, Fitness
from inspection.instruments.pins import gauges_of
from inspection.instruments.ratios import effective_band, has_ratios, size_of, smallest_band
from inspection.instruments.reach import (
    limits_asked,
    missing_ends,
    spanning,
    thread_matches,
    touches,
    usable,
)
from inspection.instruments.reckoning import NEAR, Ground, Reckoning, ground
from inspection.instruments.record import Instrument, Use
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues, Manner
from inspection.measuring.bias import SMALL, Correction, Handling
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.measuring.uncertainty_arrays import doubts, jaws_left, limits_at
from inspection.measuring.uncertainty_sources import Source
from inspection.quantity.units import LARGEST_COUNT
from inspection.reasons import Refused

Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Fitness as held in the arrays, worst first.
FITNESS = (Fitness.UNSUITABLE, Fitness.MARGINAL, Fitness.FIT)
_MARGINAL, _FIT = 1, 2

_NEAR = 1e-9
#: U and drift of a certificate are rounded up to whole counts each; so far, in counts, that may carry them together.
_ROUNDED = 3
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
        self.bore = np.array([row.kind is FeatureKind.BORE for row in rows], dtype=bool)
        self.repeats = _counts([row.repeats for row in rows], 1)
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
        known: Known = NOTHING_KNOWN,
        issues: Issues | None = None,
    ) -> None:
        self.rows, self.offers, self.rules, self.day, self.material = tuple(rows), tuple(found), rules, day, material
        self.known = known
        self.issues = {**(issues or {}), **{(item.identity, item.issue): item for item in crib.values()}}
        shape = (len(self.rows), len(self.offers))
        self.fitness: NDArray[np.int8] = np.zeros(shape, dtype=np.int8, order="F")
        self.score: Floats = np.zeros(shape, order="F")
        features = _Features(self.rows)
        for j, offer in enumerate(self.offers):
            self._column(j, offer, features)

    def assess(self, i: int, j: int) -> Assessment:
        """Row ``i`` by method ``j`` with its checks, ratios and reasons, built now."""
        method = self.offers[j].method
        return assess(self.rows[i], method, self.issues, self.rules, self.day, self.material, self.known)

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
        for part in spanning(offer.way, offer.parts):
            at = at[(part.low <= features.least[at]) & (features.most[at] <= part.high)]
        try:
            held = ground(offer.way, offer.parts, self.issues, self.rules, self.known, self.material)
        except Refused:
            return
        for rows in _alike(held, features, at[_stated(held, features.size[at])]):
            try:
                case = held.at(self.rows[rows[0]])
            except Refused:
                continue
            if case.seen is None or case.seen.handling is not Handling.REFUSED:
                self._weigh(j, held, case, features, rows)

    def _weigh(self, j: int, held: Ground, case: Reckoning, features: _Features, at: Counts) -> None:
        """Rows that one method meets in the same way, as it meets that of ``case``."""
        found = _doubted(case, features, at)
        at, found = at[~found.refused], found.kept(~found.refused)
        self._plainly(j, at[~features.rated[at]])
        at, found = at[features.rated[at]], found.kept(features.rated[at])
        band, needed = features.band[at], self.rules.uncertainty_needed
        ratio: Floats = np.divide(band, 2 * found.expanded, out=np.zeros(len(at)), where=found.expanded > 0)
        near = found.unsure | (np.abs(ratio * 100 - needed) <= _NEAR * max(needed, 1))
        fine, edge = _accurate(case.read, features.size[at], band, self.rules.accuracy_needed)
        holds = fine & (ratio * 100 >= needed) & _resolved(case.read.resolution, band, self.rules.resolution_needed)
        known = band >= 0
        self.score[at, j] = np.where(known, ratio * 100 / max(needed, 1), 0.0)
        self.fitness[at, j] = np.where(holds & known, _FIT, _MARGINAL)
        self._exactly(j, held, at[near | edge])

    def _exactly(self, j: int, held: Ground, at: Counts) -> None:
        """Rows that lie too near to a threshold for float64; those of one size, band and repeats are decided once."""
        known: dict[tuple[int, int | None, int], int] = {}
        for i in at.tolist():
            row = self.rows[i]
            key = (size_of(row), effective_band(row), row.repeats)
            if key not in known:
                weighed = weigh(held.at(row), row.repeats, self.rules)
                known[key] = 0 if weighed.refused else _FIT if weighed.ratios and weighed.fit else _MARGINAL
            self.fitness[i, j] = known[key]
            self.score[i, j] = self.score[i, j] if known[key] else 0.0

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


class _Doubted(NamedTuple):
    """Rows by one method: U in counts, where the method is refused, and where float64 cannot tell."""

    expanded: Floats
    refused: Mask
    unsure: Mask

    def kept(self, rows: Mask) -> _Doubted:
        return _Doubted(self.expanded[rows], self.refused[rows], self.unsure[rows])


def _doubted(case: Reckoning, features: _Features, at: Counts) -> _Doubted:
    """U of rows that one method meets as it meets that of ``case``."""
    size, seen = features.size[at], case.seen
    lines = seen.lines if seen is not None and seen.handling is Handling.CORRECTED else ()
    try:
        found = doubts(size, features.repeats[at], [case.sources], [case.temperatures], [lines])
    except Refused:
        return _Doubted(np.zeros(len(at)), np.ones(len(at), dtype=bool), np.zeros(len(at), dtype=bool))
    expanded, refused, unsure = found.expanded[:, 0], found.refused[:, 0], found.unsure[:, 0]
    if seen is not None:
        expanded = expanded + float(seen.left)
    if case.usual is not None:
        band = np.where(features.rated[at], features.band[at], np.iinfo(np.int64).max)
        left = jaws_left(size, band, case.usual)
        # What float64 refuses on the very edge is decided exactly, so it is not taken out here.
        expanded, refused, unsure = expanded + left.small, refused | (left.refused & ~left.unsure), unsure | left.unsure
    return _Doubted(expanded, refused, unsure)


def _alike(held: Ground, features: _Features, at: Counts) -> Iterator[Counts]:
    """The rows in groups that a method meets in the same way: bores by jaws or not, near the block of its last check or
    not, corrected by a certificate or not, with a band that lets what the check showed stay or not."""
    size, none = features.size[at], np.zeros(len(at), dtype=bool)
    bore = features.bore[at] if held.jaws is not None else none
    checked = held.evidence.checked
    served = none if checked is None else np.abs(size - checked.size) <= NEAR
    certified = none if checked is None and not held.evidence.zero_of else _certified(held.sources[0], size)
    code = bore + 2 * served.astype(np.int8) + 4 * certified.astype(np.int8)
    for one in np.unique(code).tolist():
        rows = at[code == one]
        small = features.band[rows] >= _stays(held, bool(one & 2), bool(one & 4))
        for part in (rows[small], rows[~small]):
            if len(part):
                yield part


def _stays(held: Ground, served: bool, certified: bool) -> int:
    """The smallest band that lets the error seen in the last check stay uncorrected; 0 where none was seen."""
    try:
        seen: Correction | None = held.seen(served, certified, None, held.sources[0].unit)
    except Refused:
        return 0
    return 0 if seen is None else ceil(abs(seen.amount) / SMALL)


def _certified(source: Source, size: Counts) -> Mask:
    """Where a certificate corrects the reading, as ``Source.certificate_at`` has it."""
    if source.certificate is None:
        return np.zeros(len(size), dtype=bool)
    if not source.steps:
        return np.ones(len(size), dtype=bool)
    points = [point.size for point in source.certificate.points]
    covered: Mask = (min(points) <= size) & (size <= max(points))
    return covered


def _stated(held: Ground, size: Counts) -> Mask:
    """Where everything that errs has its error stated, or a certificate; the same as the checks of ``assess``."""
    found: Mask = np.ones(len(size), dtype=bool)
    for source in held.erring:
        last = max((up_to for up_to, _ in source.steps), default=_NONE_BELOW)
        found &= (size <= last) | _certified(source, size)
    return found


def _resolved(step: int, band: Counts, needed: int) -> Mask:
    """Whether T / r holds."""
    if step <= 0:
        return np.full(len(band), needed <= 0)
    holds: Mask = band >= smallest_band(step, needed)
    return holds


def _accurate(read: Source, size: Counts, band: Counts, needed: int) -> tuple[Mask, Mask]:
    """Whether T / 2E holds, and where float64 is too near to tell: only what a certificate leaves is no whole count."""
    by_steps = _by_steps(read, size, band, needed)
    certified = _certified(read, size)
    if not certified.any():
        return by_steps, np.zeros(len(size), dtype=bool)
    limit = 2 * limits_at(read, size) * needed / 100
    edge: Mask = certified & (np.abs(band - limit) <= _NEAR * limit + 2 * _ROUNDED * needed / 100)
    return np.where(certified, band >= limit, by_steps), edge


def _by_steps(read: Source, size: Counts, band: Counts, needed: int) -> Mask:
    errors = [error for _, error in read.steps] + [0]
    # Nothing is known of an error of 0, so it carries no band.
    least = [smallest_band(2 * error, needed) if error > 0 else _NONE_ABOVE * (needed > 0) for error in errors]
    step = np.searchsorted(np.array([up_to for up_to, _ in read.steps], dtype=np.int64), size, "left")
    holds: Mask = band >= np.array(least, dtype=np.int64)[step]
    return holds


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


def choose(
    characteristics: Sequence[Characteristic],
    crib: Mapping[str, Instrument],
    rules: Rules,
    day: str,
    material: str = "",
    known: Known = NOTHING_KNOWN,
    issues: Issues | None = None,
) -> Choice:
    """Weigh every row against every method that the crib's instruments make up on ``day`` (ISO date).

    ``known`` is what checks, studies and thermometers say; ``issues`` hold the crib's earlier issues, whose
    certificates tell of drift.
    """
    return Choice(characteristics, offers(crib, day), crib, rules, day, material, known, issues)
