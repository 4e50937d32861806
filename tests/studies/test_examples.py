"""Every example in the docstrings of the studies runs and gives what it says."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest

MODULES = (
    "standards.ranges",
    "studies.sample",
    "studies.charts",
    "studies.distribution",
    "studies.capability",
    "studies.groups",
    "studies.standard_study",
    "studies.attribute_agreement",
    "studies.outlying",
    "studies.conducted",
)


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    found = doctest.testmod(import_module(f"inspection.{name}"))
    assert found.failed == 0
    assert found.attempted > 0
