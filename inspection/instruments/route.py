"""The route: which method takes each row, in what order, so that a sheet costs the fewest seconds.

Handling, pick-ups and changes of set-up are weighed together for the whole sheet. Set-ups are visited once each, in
the natural order of their names; an instrument in hand at the end of one set-up may begin the next without being
picked up again. What comes out is an exact optimum.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import partial
from itertools import pairwise

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.numbers import natural_key
from inspection.drawing.requirement import Form
from inspection.instruments.assess import assess
from inspection.instruments.covering import Group, Taken, cheapest
from inspection.instruments.crib import Offer
from inspection.instruments.method import Assignment, Method, Stop
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.quantity.units import INCH_UNITS, UNITS, Kind

#: What a row costs more by an instrument in the other system than it is drawn in, in seconds, however often it is read:
#: the mind has to change over to limits in another unit (our own judgement; no source). Small beside a pick-up: where
#: another instrument would have to be fetched for a row or two, the one in hand is read on.
OTHER_SYSTEM_SECONDS = 5

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
        self, name: str, options: Mapping[int, frozenset[int]], rows: Sequence[Characteristic], route: _Costs
    ) -> None:
        self.name, self.options, self.costs = name, options, route
        readings: Counter[tuple[frozenset[int], str]] = Counter()
        merged: Counter[tuple[frozenset[int], str]] = Counter()
        for row, methods in options.items():
            merged[methods, system_of(rows[row])] += 1
            readings[methods, system_of(rows[row])] += readings_of(rows[row])
        self.groups = [
            Group({method: route.seconds(method, system, held, readings[methods, system]) for method in methods})
            for (methods, system), held in merged.items()
        ]
        self.methods = frozenset[int]().union(*(methods for methods, _ in merged))
        self.solved: dict[frozenset[int], Taken] = {}

    def taking(self, *methods: int | None) -> Taken:
        """The cheapest choice that takes ``methods`` among others."""
        forced = frozenset(m for m in methods if m is not None)
        if forced and not self.solved:
            self.taking()
        if forced not in self.solved:
            part = next((t for f, t in self.solved.items() if f < forced <= t.methods), None)
            start = self.solved[frozenset()].methods if self.solved else self.methods
            self.solved[forced] = part or cheapest(self.groups, self.costs.pick_up, forced, start)
        return self.solved[forced]

    def alone(self, method: int) -> Taken | None:
        """The set-up by one method alone; None if it does not answer every row."""
        if not all(method in group.methods for group in self.groups):
            return None
        seconds = sum(group.seconds[method] for group in self.groups)
        return Taken(seconds + self.costs.pick_up, frozenset((method,)))

    def least(self, first: int | None, last: int | None) -> int:
        """A lower bound of what it costs to begin with one method and end with another."""
        return max(self.taking(first).seconds, self.taking(last).seconds)

    def between(self, first: int | None, last: int | None) -> Taken | None:
        """The cheapest choice that begins with ``first`` and ends with ``last`` (None: whatever)."""
        if first is not None and first == last:
            return self.alone(first)
        return self.taking(first, last)


class _Costs(Struct, frozen=True):
    """Seconds of one reading by each method, the system that it is read in, and seconds of a pick-up."""

    handling: Mapping[int, int]
    systems: Mapping[int, str]
    pick_up: int

    def seconds(self, method: int, system: str, rows: int, readings: int) -> int:
        """What so many rows of this system cost, read so often in all."""
        return self.handling[method] * readings + seconds_apart(self.systems[method], system) * rows


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
    given: dict[int, list[int]] = {}
    for row in sorted(setup.options, key=lambda r: (natural_key(rows[r].number), r)):
        cost = partial(setup.costs.seconds, system=system_of(rows[row]), rows=1, readings=readings_of(rows[row]))
        method = min(setup.options[row] & taken.methods, key=lambda m: (cost(m), m != first, m != last, m))
        given.setdefault(method, []).append(row)
    return sorted(given.items(), key=lambda item: (item[0] != first, item[0] == last and item[0] != first))


def system_of(row: Characteristic) -> str:
    """The system that a row's number is read in, "in" or "mm"; "" where no number is read, or a gauge may answer it,
    and for angles, which have one system."""
    asked = row.requirement
    if asked.form in (Form.NOTE, Form.THREAD) or row.attribute_allowed:
        return ""
    return _system(asked.unit)


def _system(unit: str) -> str:
    if unit not in UNITS or UNITS[unit].kind is not Kind.LENGTH:
        return ""
    return "in" if unit in INCH_UNITS else "mm"


def seconds_apart(one: str, other: str) -> int:
    """What a row costs more between two systems."""
    return OTHER_SYSTEM_SECONDS if one and other and one != other else 0


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
    places = {j: place for place, j in enumerate(preferred)}
    options = [frozenset(places[j] for j in mask.nonzero()[0].tolist()) for mask in choice.candidates]
    for i, row in enumerate(characteristics):
        if row.identity in chosen:
            options[i] = frozenset((_place(chosen[row.identity][0], methods),))
    costs = _costs(methods, crib, rules)
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
    that most rows are drawn in."""
    units = Counter(row.requirement.unit for row in rows if row.requirement.judged)
    most = units.most_common(1)[0][0] if units else ""
    return sorted(range(len(offers)), key=lambda j: (offers[j].parts[0].unit != most, j))


def _place(method: Method, methods: list[Method]) -> int:
    """The index of a method, added if the crib's own combinations lack it."""
    if method not in methods:
        methods.append(method)
    return methods.index(method)


def _costs(methods: Sequence[Method], crib: Mapping[str, Instrument], rules: Rules) -> _Costs:
    parts = [[crib[part.identity] for part in method.parts] for method in methods]
    handling = {j: sum(part.handling_seconds for part in held) for j, held in enumerate(parts)}
    return _Costs(handling, {j: _system(held[0].unit) for j, held in enumerate(parts)}, rules.pick_up_seconds)


def _routed(
    rows: Sequence[Characteristic], options: Sequence[frozenset[int]], keys: Sequence[str], costs: _Costs
) -> tuple[dict[int, int], tuple[Stop, ...]]:
    """Method of every answered row, and the stops in order."""
    by_setup: dict[str, list[int]] = {}
    for i in sorted(range(len(rows)), key=lambda i: (natural_key(rows[i].number), i)):
        by_setup.setdefault(rows[i].set_up, []).append(i)
    names = sorted(by_setup, key=natural_key)
    held = {name: {i: options[i] for i in by_setup[name] if options[i]} for name in names}
    setups = [_Setup(name, held[name], rows, costs) for name in names if held[name]]
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
        _handling([crib[name] for name in stop.method.split("+")[1:]], rows[identity])
        for stop in held
        for identity in stop.characteristics
    )
    kept = sum(one.method == two.method for one, two in pairwise(held))
    changes = max(len({stop.set_up for stop in stops}) - 1, 0)
    pick_ups = len(held) - kept
    seconds = handling + pick_ups * rules.pick_up_seconds + changes * rules.change_seconds
    return RouteCost(handling, pick_ups, changes, seconds)


def _handling(parts: Sequence[Instrument], row: Characteristic) -> int:
    """Seconds of all readings of a row by a method's instruments."""
    handling = sum(part.handling_seconds for part in parts) * readings_of(row)
    return handling + seconds_apart(_system(parts[0].unit), system_of(row))
