"""A reading of a trace is told as it was written, its unit once."""

from __future__ import annotations

import pytest

from app.jobs.trace_told import as_read
from inspection.sheet.traced import ReadWith


@pytest.mark.parametrize(
    ("written", "unit", "told"),
    [
        ("2.4404", "in", "2.4404 in"),
        ("61.985mm", "mm", "61.985mm"),
        ("28 µm", "µm", "28 µm"),
        ('1 5/32"', "in", '1 5/32"'),
        ("5/64", "in", "5/64 in"),
        ("2.", "in", "2. in"),
    ],
)
def test_the_unit_stands_once(written: str, unit: str, told: str) -> None:
    read = ReadWith(
        "", "", "", "", "", "", 1, unit, written, None, 0, "", smallest=1, largest=1, of=1, expanded=None, guard=None,
    )  # fmt: skip
    assert as_read(read) == told
