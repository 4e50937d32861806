"""The route against an exact optimum: an integer programme solved by scipy, and small cases by hand."""

from __future__ import annotations

import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.method import Fitness, InstrumentIssue, Method
from inspection.instruments.record import Contacts, Instrument, InstrumentKind, Permissible, Use
from inspection.instruments.route import OTHER_SYSTEM_SECONDS, plan_route, route_cost
from inspection.instruments.rules import Rules

IN = 25_400_000_000
THOU = IN // 1000
DAY = "2026-11-25"


def caliper(name: str, seconds: int, low: int, high: int, error: int = THOU, unit: str = "in") -> Instrument:
    return Instrument(
        name,
        1,
        name,
        InstrumentKind.DIGITAL_CALIPER,
        name,
        low=low,
        high=high,
        resolution=THOU // 2,
        permissible=(Permissible(Use.OUTSIDE, 100 * IN, error),),
        contacts=Contacts(),
        handling_seconds=seconds,
        unit=unit,
    )


def length(i: int, nominal: int, set_up: str = "", repeats: int = 1, unit: str = "in") -> Characteristic:
    half = 10 * THOU
    requirement = Requirement(
        "x", Form.PLUS_MINUS, unit=unit, nominal=nominal, lower=nominal - half, upper=nominal + half, band=2 * half
    )
    return Characteristic(f"c{i}", str(i), FeatureKind.LENGTH, requirement, set_up=set_up, repeats=repeats)


class Programme:
    """min Σ handling + p (methods taken − carried) over binary variables named by tuples."""

    def __init__(self) -> None:
        self.index: dict[tuple[object, ...], int] = {}
        self.cost: dict[int, float] = {}
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def name(self, *key: object, cost: float | None = None) -> int:
        at = self.index.setdefault(key, len(self.index))
        if cost is not None:
            self.cost[at] = cost
        return at

    def solve(self) -> int:
        matrix = lil_matrix((len(self.rows), len(self.index)))
        for r, (row, _, _) in enumerate(self.rows):
            for c, factor in row.items():
                matrix[r, c] = factor
        cost = np.array([self.cost.get(at, 0.0) for at in range(len(self.index))])
        low, high = [row[1] for row in self.rows], [row[2] for row in self.rows]
        within = LinearConstraint(matrix.tocsr(), low, high)
        found = milp(cost, constraints=within, integrality=np.ones(len(cost)), bounds=Bounds(0, 1))
        assert found.success
        return round(found.fun)


def optimum(set_ups: list[list[dict[int, int]]], n: int, pick_up: int) -> int:
    """Least seconds; a row is what it costs by each of the ``n`` instruments that answers it; set-ups stand in their
    order."""
    model = Programme()
    if not set_ups:
        return 0
    for k, rows in enumerate(set_ups):
        taken = [model.name("taken", k, j, cost=pick_up) for j in range(n)]
        for i, answers in enumerate(rows):
            uses = {j: model.name("by", k, i, j, cost=seconds) for j, seconds in answers.items()}
            model.rows.append((dict.fromkeys(uses.values(), 1.0), 1, 1))
            model.rows += [({use: 1.0, taken[j]: -1.0}, -np.inf, 0) for j, use in uses.items()]
    for k in range(len(set_ups) - 1):
        carried = [model.name("carried", k, j, cost=-pick_up) for j in range(n)]
        model.rows.append((dict.fromkeys(carried, 1.0), -np.inf, 1))
        for j, one in enumerate(carried):
            model.rows += [({one: 1.0, model.name("taken", at, j): -1.0}, -np.inf, 0) for at in (k, k + 1)]
    for k in range(1, len(set_ups) - 1):  # carried in and on only if nothing else is taken between
        for j in range(n):
            row = {model.name("taken", k, other): 1.0 for other in range(n) if other != j}
            both = {model.name("carried", k - 1, j): float(n), model.name("carried", k, j): float(n)}
            model.rows.append((row | both, -np.inf, 2 * n))
    return model.solve()


@pytest.mark.parametrize("units", [("in",), ("in", "mm")])
@pytest.mark.parametrize("seed", range(100))
def test_route_costs_what_the_integer_programme_says(seed: int, units: tuple[str, ...]) -> None:
    rng = random.Random(seed)
    n, setups = rng.randint(2, 20), rng.randint(1, 4)
    held = [
        caliper(f"i{j:02d}", rng.randint(5, 60), low * IN, (low + rng.randint(1, 6)) * IN, unit=rng.choice(units))
        for j, low in ((j, rng.randint(0, 8)) for j in range(n))
    ]
    rows = [
        length(i, rng.randint(1, 280) * IN // 20, str(rng.randrange(setups)), rng.randint(1, 3), rng.choice(units))
        for i in range(rng.randint(1, 40))
    ]
    rules = Rules(pick_up_seconds=rng.choice([3, 30, 60, 200]))
    crib = {item.identity: item for item in held}
    assignments, stops = plan_route(rows, crib, rules, DAY)

    def answers(row: Characteristic) -> dict[int, int]:
        need = row.requirement
        assert need.lower is not None and need.upper is not None
        return {
            j: row.repeats * one.handling_seconds + OTHER_SYSTEM_SECONDS * (one.unit != need.unit)
            for j, one in enumerate(held)
            if one.low <= need.lower and need.upper <= one.high
        }

    by_setup: dict[str, list[dict[int, int]]] = {}
    for row in sorted(rows, key=lambda row: row.set_up):
        if answers(row):
            by_setup.setdefault(row.set_up, []).append(answers(row))
    cost = route_cost(stops, rows, crib, rules)
    want = optimum(list(by_setup.values()), n, rules.pick_up_seconds)
    assert cost.seconds - cost.changes * rules.change_seconds == want
    assert sorted(name for stop in stops for name in stop.characteristics) == sorted(row.identity for row in rows)
    at_stop = {name: stop.method for stop in stops for name in stop.characteristics}
    for item in assignments:
        assert at_stop[item.characteristic] == (item.assessment.method.key if item.assessment else "")


def test_set_ups_and_balloons_keep_their_natural_order() -> None:
    crib = {"a": caliper("a", 10, 0, 6 * IN)}
    rows = [length(10, IN, "op 10"), length(9, IN, "op 10"), length(2, IN, "op 5"), length(3, 9 * IN, "op 5")]
    _, stops = plan_route(rows, crib, Rules(), DAY)
    assert [(stop.set_up, stop.method, stop.characteristics) for stop in stops] == [
        ("op 5", "outside+a", ("c2",)),
        ("op 5", "", ("c3",)),
        ("op 10", "outside+a", ("c9", "c10")),
    ]
    cost = route_cost(stops, rows, crib, Rules())
    assert (cost.handling_seconds, cost.pick_ups, cost.changes, cost.seconds) == (30, 1, 1, 30 + 30 + 240)


def test_rows_chosen_by_hand_keep_their_method_and_reason() -> None:
    crib = {"a": caliper("a", 10, 0, 6 * IN), "b": caliper("b", 50, 0, 6 * IN, 20 * THOU)}
    rows = [length(1, IN), length(2, IN)]
    by_hand = {"c2": (Method(Use.OUTSIDE, (InstrumentIssue("b", 1),)), "the other is lent")}
    (first, second), stops = plan_route(rows, crib, Rules(), DAY, by_hand=by_hand)
    assert first.assessment is not None and first.assessment.fitness is Fitness.FIT
    assert second.assessment is not None and second.assessment.fitness is Fitness.MARGINAL
    assert second.chosen_by_hand == "the other is lent"
    assert [stop.method for stop in stops] == ["outside+a", "outside+b"]


def test_an_empty_crib_leaves_every_row_without_instrument() -> None:
    assignments, stops = plan_route([length(1, IN)], {}, Rules(), DAY)
    assert assignments[0].assessment is None
    assert [(stop.method, stop.characteristics) for stop in stops] == [("", ("c1",))]
