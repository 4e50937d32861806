"""Which methods to take in hand in one set-up: an exact optimum of handling and pick-ups.

Every row goes to the cheapest method taken that answers it; every method taken costs one pick-up. This is the
uncapacitated location problem; it is solved by branch and bound over its dual ascent (D. Erlenkotter, A dual-based
procedure for uncapacitated facility location, Operations Research 26, 1978).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence, Set

from msgspec import Struct


class Group(Struct, frozen=True):
    """Rows that the same methods answer at the same cost: the seconds of all their readings by each method's index."""

    seconds: Mapping[int, int]

    @property
    def methods(self) -> Set[int]:
        """The methods that answer these rows."""
        return self.seconds.keys()


class Taken(Struct, frozen=True):
    """Methods taken in a set-up and what handling and pick-ups cost, in seconds."""

    seconds: int
    methods: frozenset[int]


def without_dominated(groups: Sequence[Group], kept: frozenset[int]) -> set[int]:
    """Methods worth considering: all but those for which another answers at least the same groups, none of them at a
    greater cost."""
    answers: dict[int, dict[int, int]] = {}
    for g, group in enumerate(groups):
        for method, seconds in group.seconds.items():
            answers.setdefault(method, {})[g] = seconds
    left: list[int] = []
    # what dominates a method answers more, or the same at no greater cost: it comes before it
    for method in sorted(answers, key=lambda m: (-len(answers[m]), sum(answers[m].values()), m)):
        if method in kept or not any(_dominates(answers[other], answers[method]) for other in left):
            left.append(method)
    return set(left)


def _dominates(one: Mapping[int, int], other: Mapping[int, int]) -> bool:
    return other.keys() <= one.keys() and all(one[g] <= seconds for g, seconds in other.items())


_NEVER = 1 << 62


class _Search:
    """Branch and bound for one set-up."""

    def __init__(
        self,
        groups: Sequence[Group],
        pick_up: int,
        forced: frozenset[int],
        start: frozenset[int],
    ) -> None:
        self.pick_up = pick_up
        useful = without_dominated(groups, forced)
        self.costs = [
            sorted((seconds, method) for method, seconds in group.seconds.items() if method in useful)
            for group in groups
        ]
        self.reach = Counter(method for costs in self.costs for _, method in costs)
        self.taken = frozenset(useful & start) | forced
        self.best = self._cost(self.taken)
        if self.best >= _NEVER:
            self.taken = frozenset(useful) | forced
            self.best = self._cost(self.taken)

    def _cost(self, taken: Iterable[int]) -> int:
        held = set(taken)
        handling = 0
        for costs in self.costs:
            first = next((cost for cost, method in costs if method in held), None)
            if first is None:
                return _NEVER
            handling += first
        return handling + self.pick_up * len(held)

    def _bound(self, held: frozenset[int], shut: frozenset[int]) -> tuple[int, set[int]] | None:
        """A lower bound and the methods that the dual would open; None if some group is left unanswered."""
        slack: dict[int, int] = {}
        rows = [[(cost, m) for cost, m in costs if m not in shut] for costs in self.costs]
        if not all(rows):
            return None
        for row in rows:
            for _, method in row:
                slack[method] = 0 if method in held else self.pick_up
        values = [row[0][0] for row in rows]
        reached = [0] * len(rows)
        rising = True
        while rising:
            rising = False
            for i, row in enumerate(rows):
                rising |= self._raise(i, row, values, reached, slack)
        free = {method for method, left in slack.items() if left == 0}
        return sum(values) + self.pick_up * len(held), free

    @staticmethod
    def _raise(
        i: int, row: list[tuple[int, int]], values: list[int], reached: list[int], slack: dict[int, int]
    ) -> bool:
        """Raise one group's value to its next cost, or as far as the methods below it have room."""
        value = values[i]
        while reached[i] < len(row) and row[reached[i]][0] <= value:
            reached[i] += 1
        below = row[: reached[i]]
        room = min(slack[method] for _, method in below)
        if reached[i] < len(row):
            room = min(room, row[reached[i]][0] - value)
        if room <= 0:
            return False
        for _, method in below:
            slack[method] -= room
        values[i] += room
        return True

    def improve(self, taken: Iterable[int], forced: frozenset[int]) -> frozenset[int]:
        """Drop what is not worth its pick-up, one at a time, and keep the result if it is the best yet."""
        held = set(taken)
        cost = self._cost(held)
        for method in sorted(held - forced, reverse=True):
            less = self._cost(held - {method})
            if less <= cost:
                held.discard(method)
                cost = less
        if cost < self.best:
            self.best, self.taken = cost, frozenset(held)
        return frozenset(held)

    def run(self, held: frozenset[int], shut: frozenset[int]) -> None:
        """Search all choices that take ``held`` and leave ``shut``."""
        found = self._bound(held, shut)
        if found is None or found[0] >= self.best:
            return
        bound, free = found
        open_now = self.improve(free | held, held)
        if bound >= self.best:
            return
        undecided = (open_now - held) or (free - held) or set(self.reach) - held - shut
        if not undecided:
            return
        method = max(undecided, key=lambda m: (self.reach[m], -m))
        self.run(held | {method}, shut)
        self.run(held, shut | {method})


def cheapest(
    groups: Sequence[Group],
    pick_up: int,
    forced: frozenset[int],
    start: frozenset[int],
) -> Taken:
    """The methods to take so that handling and pick-ups cost least, ``forced`` among them; seconds throughout.

    Every group must have a method. ``start`` is a choice to improve on, any at all.
    """
    search = _Search(groups, pick_up, forced, start)
    search.improve(search.taken, forced)
    search.run(forced, frozenset())
    return Taken(search.best, search.taken)
