"""Every example in the docstrings of the reckoning of doubt runs and gives what it says."""

from __future__ import annotations

import doctest
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
    "uncertainty_sources",
    "uncertainty_ratio",
    "guard",
)


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    found = doctest.testmod(import_module(f"inspection.measuring.{name}"))
    assert found.failed == 0
    assert found.attempted > 0
