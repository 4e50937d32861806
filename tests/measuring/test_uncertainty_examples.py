"""Every example in the docstrings of the reckoning of doubt runs and gives what it says."""

from __future__ import annotations

import doctest
import subprocess
import sys
from importlib import import_module

import pytest

MODULES = (
    "quantiles",
    "spread",
    "uncertainty",
    "uncertainty_stated",
    "uncertainty_parts",
    "certificates",
    "thermal",
    "bias",
    "bias_stated",
    "uncertainty_sources",
    "uncertainty_ratio",
    "guard",
)


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    found = doctest.testmod(import_module(f"inspection.measuring.{name}"))
    assert found.failed == 0
    assert found.attempted > 0


def test_nothing_heavy_is_loaded_until_a_quantile_is_asked_for() -> None:
    """A budget and its U with infinitely many degrees of freedom need neither numpy nor scipy."""
    code = """
import sys
from inspection.measuring import guard, remedies, repeats, uncertainty_sources, uncertainty_stated
from inspection.measuring.uncertainty_sources import Source, Use, budget_of
budget = budget_of([Source("M-1", Use.OUTSIDE, "mm", ((10**11, 4_000_000),), resolution=1_000_000)], 10**10)
uncertainty_stated.stated(budget, "mm")
guard.decide(guard.DecisionRule(), 5, guard.Limits(0, 10), budget)
print(sorted({"numpy", "scipy"} & set(sys.modules)))
guard.decide(guard.DecisionRule(guard.RuleKind.GUARDED), 5, guard.Limits(0, 10), budget)
print("scipy.special" in sys.modules, "scipy.stats" in sys.modules)
"""
    told = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.splitlines() == ["[]", "True False"]
