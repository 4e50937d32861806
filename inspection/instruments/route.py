"""The route: which method takes each row, in what order, so that a sheet costs the fewest seconds.

Handling, pick-ups and changes of set-up are weighed together for the whole sheet. Set-ups are visited once each, in
the natural order of their names; an instrument in hand at the end of one set-up may begin the next without being
picked up again. What comes out is an exact optimum.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.instruments.assess import assess
from inspection.instruments.covering import Group, Taken, cheapest
from inspection.instruments.crib import Offer
from inspection.instruments.method import Assignment, Method, Stop
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues
from inspection.measuring.known import NOTHING_KNOWN, Known

ByHand = Mapping[str, tuple[Method, str]]


class RouteCost(Struct, frozen=True):
    """What a route costs: seconds of handling, the number of pick-ups and of set-up changes, seconds in all."""

    handling_seconds: int
    pick_ups: int
    changes: int
    seconds: int


class _Setup:
    """One set-up: its rows by index, each row's methods, and solutions as they are asked for."""

    def __init__(
        self, name: str, options: Mapping[int, frozenset[int]], readings: Sequence[int], route: _Costs
    ) -> None:
        self.name, self.options, self.costs = name, options, route
        merged: dict[frozenset[int], int] = {}
        for row, methods in options.items():
            merged[methods] = merged.get(methods, 0) + readings[row]
        self.groups = [Group(weight, methods) for methods, weight in merged.items()]
        self.methods = frozenset().union(*merged)
        self.solved: dict[frozenset[int], Taken] = {}

    def taking(self, *methods: int | None) -> Taken:
        """The cheapest choice that takes ``methods`` among others."""
        forced = frozenset(m for m in methods if m is not None)
        if forced and not self.solved:
            self.taking()
        if forced not in self.solved:
            part = next((t for f, t in self.solved.items() if f < forced <= t.methods), None)
            start = self.solved[frozenset()].methods if self.solved else self.methods
            self.solved[forced] = part or cheapest(self.groups, self.costs.handling, self.costs.pick_up, forced, start)
        return self.solved[forced]

    def alone(self, method: int) -> Taken | None:
        """The set-up by one method alone; None if it does not answer every row."""
        if not all(method in group.methods for group in self.groups):
            return None
        readings = sum(group.readings for group in self.groups)
        return Taken(readings * self.costs.handling[method] + self.costs.pick_up, frozenset((method,)))

    def least(self, first: int | None, last: int | None) -> int:
        """A lower bound of what it costs to begin with one method and end with another."""
        return max(self.taking(first).seconds, self.taking(last).seconds)

    def between(self, first: int | None, last: int | None) -> Taken | None:
        """The cheapest choice that begins with ``first`` and ends with ``last`` (None: whatever)."""
        if first is not None and first == last:
            return self.alone(first)
        return self.taking(first, last)


class _Costs(Struct, frozen=True):
    """Seconds of one reading by each method, and of a pick-up."""

    handling: Mapping[int, int]
    pick_up: int


class _State(Struct, frozen=True):
    """A way through the set-ups so far: its cost, and for each set-up what is taken, first and last."""

    seconds: int
    way: tuple[tuple[Taken, int | None, int | None], ...]


def _through(setups: Sequence[_Setup], pick_up: int) -> _State:
    """The cheapest way through all set-ups, over what is carried from one to the next.

    Where each set-up's own optimum already holds something to carry over, nothing can cost less.
    """
    own = [setup.taking() for setup in setups]
    shared = [one.methods & two.methods for one, two in pairwise(own)]
    found = _carrying(setups, shared, pick_up)
    if found.seconds == sum(taken.seconds for taken in own) - pick_up * len(shared):
        return found
    return _carrying(setups, [one.methods & two.methods for one, two in pairwise(setups)], pick_up)


def _carrying(setups: Sequence[_Setup], carried: Sequence[frozenset[int]], pick_up: int) -> _State:
    """The cheapest way through all set-ups that carries nothing but ``carried`` from each to the next."""
    states: dict[int | None, _State] = {None: _State(0, ())}
    for k, setup in enumerate(setups):
        onward = sorted(carried[k]) if k < len(carried) else []
        empty = _ending(setup, states, None, pick_up, None)
        assert empty is not None  # with nothing carried in or out every set-up has a choice
        # What is carried out saves one pick-up at most: it is worth following only if it costs less than that.
        ceiling = empty.seconds + pick_up
        ends = ((last, _ending(setup, states, last, pick_up, ceiling)) for last in onward)
        states = {None: empty, **{last: state for last, state in ends if state is not None}}
    return states[None]


def _ending(
    setup: _Setup, states: Mapping[int | None, _State], last: int | None, pick_up: int, ceiling: int | None
) -> _State | None:
    """The cheapest state under ``ceiling`` after a set-up that ends with ``last`` in hand."""
    best: _State | None = None
    for first, before in states.items():
        saved = 0 if first is None else pick_up
        if ceiling is not None and before.seconds + setup.least(first, last) - saved >= ceiling:
            continue
        taken = setup.between(first, last)
        if taken is None:
            continue
        seconds = before.seconds + taken.seconds - saved
        if ceiling is None or seconds < ceiling:
            best, ceiling = _State(seconds, (*before.way, (taken, first, last))), seconds
    return best


def _stops(
    setup: _Setup, found: tuple[Taken, int | None, int | None], keys: Sequence[str], rows: Sequence[Characteristic]
) -> list[tuple[int, list[int]]]:
    """Methods of one set-up in order, each with its rows: what is carried in first, what is carried out last."""
    taken, first, last = found
    handling = setup.costs.handling
    given: dict[int, list[int]] = {}
    for row in sorted(setup.options, key=lambda r: (natural_key(rows[r].number), r)):
        method = min(setup.options[row] & taken.methods, key=lambda m: (handling[m], m != first, m != last, m))
        given.setdefault(method, []).append(row)
    return sorted(given.items(), key=lambda item: (item[0] != first, item[0] == last and item[0] != first))


def readings_of(row: Characteristic) -> int:
    """How many readings a row needs on one piece."""
    return max(len(row.places), 1) * row.repeats


def plan_route(
    characteristics: Sequence[Characteristic],
    crib: Mapping[str, Instrument],
    rules: Rules,
    day: str,
    by_hand: ByHand | None = None,
    material: str = "",
    known: Known = NOTHING_KNOWN,
    issues: Issues | None = None,
) -> tuple[tuple[Assignment, ...], tuple[Stop, ...]]:
    """Choose a method for every row and the order of the stops, at the least cost for one piece.

    Rows of ``by_hand`` (identity → method and reason) keep their method, whose issues must be the newest of ``crib``;
    the others get a fit one, or where none is fit the marginal one of the best ratio. Rows that nothing answers stand
    in a stop without a method at the end of their set-up. Within a stop rows keep the order of balloon numbers.
    ``known`` is what checks and logs say; ``issues`` hold the earlier issues of the crib's records.
    """
    from inspection.instruments.choice import choose  # numpy comes late

    chosen = dict(by_hand or {})
    choice = choose(characteristics, crib, rules, day, material, known, issues)
    preferred = _preferred(choice.offers, characteristics)
    methods = [choice.offers[j].method for j in preferred]
    seconds = {place: choice.offers[j].handling_seconds for place, j in enumerate(preferred)}
    places = {j: place for place, j in enumerate(preferred)}
    options = [frozenset(places[j] for j in mask.nonzero()[0].tolist()) for mask in choice.candidates]
    for i, row in enumerate(characteristics):
        if row.identity in chosen:
            options[i] = frozenset((_place(chosen[row.identity][0], methods, seconds, crib),))
    costs = _Costs(seconds, rules.pick_up_seconds)
    given, stops = _routed(characteristics, options, [method.key for method in methods], costs)
    assignments = tuple(
        Assignment(
            row.identity,
            assess(row, methods[given[i]], choice.issues, rules, day, material, known) if i in given else None,
            chosen[row.identity][1] if row.identity in chosen else "",
        )
        for i, row in enumerate(characteristics)
    )
    return assignments, stops


def _preferred(offers: Sequence[Offer], rows: Sequence[Characteristic]) -> list[int]:
    """The offers' indices in the order in which equally cheap ones are taken: first those that are read in the unit
    that most rows are drawn in, so that nothing need be converted."""
    units = Counter(row.requirement.unit for row in rows if row.requirement.judged)
    most = units.most_common(1)[0][0] if units else ""
    return sorted(range(len(offers)), key=lambda j: (offers[j].parts[0].unit != most, j))


def _place(method: Method, methods: list[Method], seconds: dict[int, int], crib: Mapping[str, Instrument]) -> int:
    """The index of a method, added if the crib's own combinations lack it."""
    if method not in methods:
        methods.append(method)
        seconds[len(methods) - 1] = sum(crib[part.identity].handling_seconds for part in method.parts)
    return methods.index(method)


def _routed(
    rows: Sequence[Characteristic], options: Sequence[frozenset[int]], keys: Sequence[str], costs: _Costs
) -> tuple[dict[int, int], tuple[Stop, ...]]:
    """Method of every answered row, and the stops in order."""
    readings = [readings_of(row) for row in rows]
    by_setup: dict[str, list[int]] = {}
    for i in sorted(range(len(rows)), key=lambda i: (natural_key(rows[i].number), i)):
        by_setup.setdefault(rows[i].set_up, []).append(i)
    names = sorted(by_setup, key=natural_key)
    held = {name: {i: options[i] for i in by_setup[name] if options[i]} for name in names}
    setups = [_Setup(name, held[name], readings, costs) for name in names if held[name]]
    found = dict(zip((setup.name for setup in setups), _through(setups, costs.pick_up).way, strict=True))
    by_name = {setup.name: setup for setup in setups}
    given: dict[int, int] = {}
    stops: list[Stop] = []
    for name in names:
        for method, taken in _stops(by_name[name], found[name], keys, rows) if name in found else ():
            given.update(dict.fromkeys(taken, method))
            stops.append(Stop(keys[method], name, tuple(rows[i].identity for i in taken)))
        left = tuple(rows[i].identity for i in by_setup[name] if not options[i])
        if left:
            stops.append(Stop("", name, left))
    return given, tuple(stops)


def route_cost(
    stops: Sequence[Stop],
    characteristics: Sequence[Characteristic],
    crib: Mapping[str, Instrument],
    rules: Rules,
) -> RouteCost:
    """What a route costs on one piece, from its stops alone; stops without a method cost nothing."""
    rows = {row.identity: row for row in characteristics}
    held = [stop for stop in stops if stop.method]
    handling = sum(
        sum(crib[name].handling_seconds for name in stop.method.split("+")[1:]) * readings_of(rows[identity])
        for stop in held
        for identity in stop.characteristics
    )
    kept = sum(one.method == two.method for one, two in pairwise(held))
    changes = max(len({stop.set_up for stop in stops}) - 1, 0)
    pick_ups = len(held) - kept
    seconds = handling + pick_ups * rules.pick_up_seconds + changes * rules.change_seconds
    return RouteCost(handling, pick_ups, changes, seconds)
