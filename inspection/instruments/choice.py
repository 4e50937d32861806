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
from inspection.instruments.blocks_arrays import stacks_at
from inspection.instruments.comparing import ends_of, travel_of
from inspection.instruments.crib import Offer, offers
from inspection.instruments.fineness import NEAR, Fine, certified, fineness
from inspection.instruments.method import Assessment, Fitness
from inspection.instruments.pins import gauges_of
from inspection.instruments.ratios import effective_band, has_ratios, size_of, smallest_band
from inspection.instruments.reach import (
    limits_asked,
    missing_ends,
    smallest_bore,
    spanning,
    thread_matches,
    touches,
    usable,
)
from inspection.instruments.reckoning import NEAR as SERVED_TO
from inspection.instruments.reckoning import Ground, Grounds, Head, Met
from inspection.instruments.record import Instrument, Use
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues, Manner
from inspection.measuring.bias import SMALL, Handling
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.measuring.uncertainty_arrays import Rows, Share, jaws_left
from inspection.quantity.units import LARGEST_COUNT
from inspection.reasons import Refused

Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Fitness as held in the arrays, worst first.
FITNESS = (Fitness.UNSUITABLE, Fitness.MARGINAL, Fitness.FIT)
_MARGINAL, _FIT = 1, 2

#: By what rows differ for one instrument read: bits.
_BORE, _SERVED, _CERTIFIED = 1, 2, 4
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
        self.likely = _counts([row.requirement.likely for row in rows], 0)
        self.band = _counts([effective_band(row) for row in rows], -1)
        self.rated = np.array([has_ratios(row) for row in rows], dtype=bool)
        self.bore = np.array([row.kind is FeatureKind.BORE for row in rows], dtype=bool)
        self.repeats = _counts([max(row.repeats, 1) for row in rows], 1)
        self.reach = _counts([row.access.reach for row in rows], _NONE_BELOW)
        self.corner = _counts([row.access.corner_radius for row in rows], _NONE_BELOW)
        self.wall = _counts([row.access.wall for row in rows], _NONE_ABOVE)
        self.bore_length = _counts([row.access.bore_length for row in rows], _NONE_ABOVE)
        self.soft = np.array([row.access.soft for row in rows], dtype=bool)

    @cached_property
    def ends(self) -> tuple[Counts, Counts]:
        """The smallest and the largest size that a good part of each row has, 0 where it has none."""
        found = [ends_of(row) or (0, 0) for row in self.rows]
        return _counts([low for low, _ in found], 0), _counts([high for _, high in found], 0)

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
        self._features = _Features(self.rows)
        self._asked = Rows(self._features.size, self._features.repeats)
        self._grounds = Grounds(self.issues, rules, known, material)
        self._over: dict[tuple[str, int], _Over] = {}
        self._known_met: dict[tuple[int, int, int | None], Met | None] = {}
        self._fine: dict[tuple[int, int], Fine] = {}
        for j, offer in enumerate(self.offers):
            self._column(j, offer)

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

    def _column(self, j: int, offer: Offer) -> None:
        features = self._features
        at = features.answered(offer)
        used_up = self.known.used_up
        if not len(at) or not all(usable(part, self.day) and part.identity not in used_up for part in offer.parts):
            return
        at = at[_clear(offer, features, at)]
        if offer.way.manner is Manner.SCALE:
            self._scale(j, offer, at)
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

    def _scale(self, j: int, offer: Offer, at: Counts) -> None:
        over = self._compared(offer.parts[-1]) if offer.way.set_on is not None else None
        if over is not None:
            at = at[over.there[at] & (over.span[at] <= travel_of(offer.parts[0]))]
        else:
            for part in spanning(offer.way, offer.parts):
                at = at[(part.low <= self._features.least[at]) & (self._features.most[at] <= part.high)]
        try:
            ground = self._grounds.of(offer.way, offer.parts)
        except Refused:
            return
        if all(source.steps or source.certificate for source in ground.erring):
            for met, rows in self._cases(ground.head, at):
                self._weigh(j, ground, met, rows, over)

    def _compared(self, blocks: Instrument) -> _Over:
        """The rows over the stacks of a set; stacks from which no instrument of the crib reaches need not be right."""
        key = (blocks.identity, blocks.issue)
        if key not in self._over:
            moving = (travel_of(offer.parts[0]) for offer in self.offers if offer.way.set_on is not None)
            self._over[key] = _over(self._features, blocks, max(moving))
        return self._over[key]

    def _cases(self, head: Head, at: Counts) -> Iterator[tuple[Met, Counts]]:
        """The rows in groups that an instrument meets in the same way: bores by jaws or not, near the block of its last
        check or not, corrected by a certificate or not, with a band that lets what the check showed stay or not."""
        code = _code(head, self._features, at)
        for one in np.unique(code).tolist():
            rows = at[code == one]
            least = self._stays(head, one)
            small = self._features.band[rows] >= least if least else np.ones(len(rows), dtype=bool)
            for stays in (True, False):
                part = rows[small == stays]
                met = self._met(head, one, least if stays else None) if len(part) else None
                if met is not None:
                    yield met, part

    def _stays(self, head: Head, code: int) -> int:
        """The smallest band that lets the error seen in the last check stay uncorrected; 0 where none was seen."""
        met = self._met(head, code, None)
        return ceil(abs(met.seen.amount) / SMALL) if met is not None and met.seen is not None else 0

    def _met(self, head: Head, code: int, band: int | None) -> Met | None:
        """How an instrument meets rows of a code and of such a band; None where it is refused."""
        key = (id(head), code, band)
        if key not in self._known_met:
            try:
                met: Met | None = head.met(bool(code & _BORE), bool(code & _SERVED), bool(code & _CERTIFIED), band)
            except Refused:
                met = None
            if met is not None and met.seen is not None and met.seen.handling is Handling.REFUSED:
                met = None
            self._known_met[key] = met
        return self._known_met[key]

    def _weigh(self, j: int, ground: Ground, met: Met, at: Counts, over: _Over | None) -> None:
        """Rows that one method meets in one way, ``over`` stacks where it compares."""
        try:
            expanded, refused, unsure = self._doubted(ground, met, at, over)
        except Refused:
            return
        if refused.any():
            at, expanded, unsure = at[~refused], expanded[~refused], unsure[~refused]
        rated, band, needed = self._features.rated[at], self._features.band[at], self.rules.uncertainty_needed
        fine = self._fineness(ground.head, over)
        ratio: Floats = band / expanded * 50  # in hundredths, as the rules
        known = band >= 0
        holds = fine.holds[at] & (ratio >= needed) & known
        self.fitness[at, j] = np.where(holds | ~rated, _FIT, _MARGINAL)
        self.score[at, j] = np.where(rated, np.where(known, ratio / max(needed, 1), 0.0), np.inf)
        near = (unsure | fine.unsure[at] | (np.abs(ratio - needed) <= NEAR * max(needed, 1))) & rated
        if near.any():
            self._exactly(j, ground, at[near])

    def _doubted(self, ground: Ground, met: Met, at: Counts, over: _Over | None) -> tuple[Floats, Mask, Mask]:
        """U in counts, where the method is refused, and where float64 cannot tell."""
        seen = met.seen
        lines = seen.lines if seen is not None and seen.handling is Handling.CORRECTED else ()
        beside = (over.moved.share(met.source), over.stacks) if over else (self._asked.share(met.source),)
        found = self._asked.doubts(ground.aids, ground.temperatures, lines, at, beside)
        expanded = found.expanded + (float(seen.left) if seen is not None else 0.0)
        if met.usual is None:
            return expanded, found.refused, found.unsure
        band = np.where(self._features.rated[at], self._features.band[at], np.iinfo(np.int64).max)
        left = jaws_left(self._features.size[at], band, met.usual)
        # What float64 refuses on the very edge is decided exactly, so it is not taken out here.
        return expanded + left.small, found.refused | (left.refused & ~left.unsure), found.unsure | left.unsure

    def _fineness(self, head: Head, over: _Over | None) -> Fine:
        """Resolution and accuracy of an instrument read, for all rows."""
        key, sizes = (id(head), id(over)), over.moved.sizes if over else self._features.size
        if key not in self._fine:
            self._fine[key] = fineness(head.source, sizes, self._features.band, self.rules)
        return self._fine[key]

    def _exactly(self, j: int, ground: Ground, at: Counts) -> None:
        """Rows that lie too near to a threshold for float64; those alike in all that is weighed are decided once."""
        known: dict[tuple[object, ...], int] = {}
        for i in at.tolist():
            row = self.rows[i]
            key = (size_of(row), effective_band(row), row.repeats, row.requirement.likely, ends_of(row))
            if key not in known:
                found = weigh(ground.at(row), row.repeats, self.rules)
                known[key] = 0 if found.refused else _FIT if found.ratios and found.fit else _MARGINAL
            self.fitness[i, j] = known[key]
            self.score[i, j] *= known[key] > 0

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


class _Over(NamedTuple):
    """All rows over the stacks of one set: those whose stack is ``there``, the ``span`` of an instrument's range that
    they take, the rows as far as it has ``moved`` from the stack, and what the stacks contribute."""

    there: Mask
    span: Counts
    moved: Rows
    stacks: Share


def _over(features: _Features, blocks: Instrument, within: int) -> _Over:
    found, (low, high) = stacks_at(blocks, features.likely, within), features.ends
    travel = np.maximum(np.abs(high - found.size), np.abs(low - found.size))
    span = np.maximum(high, found.size) - np.minimum(low, found.size)
    there: Mask = found.known & (found.size >= 0)
    return _Over(there, span, Rows(travel, features.repeats), Share(found.square))


def _code(head: Head, features: _Features, at: Counts) -> Counts:
    """By what rows differ for an instrument read, as bits."""
    code: Counts = np.zeros(len(at), dtype=np.int64)
    size, checked = features.size[at], head.evidence.checked
    if head.jaws is not None:
        code += _BORE * features.bore[at]
    if checked is not None:
        code += _SERVED * (np.abs(size - checked.size) <= SERVED_TO)
    if checked is not None or head.evidence.zero_of:
        code += _CERTIFIED * certified(head.source, size)
    return code


def _clear(offer: Offer, features: _Features, at: Counts) -> Mask:
    """Which rows the contacts clear; the same conditions as ``reach.contacts_clear``."""
    touching = touches(offer.way, offer.parts)
    contacts, smallest = touching.contacts, smallest_bore(touching)
    clear: Mask = np.ones(len(at), dtype=bool)
    inside = offer.way.use is Use.INSIDE
    if inside and smallest is not None:
        clear &= features.least[at] >= smallest
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
