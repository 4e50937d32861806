"""The sketches beside the lines of a check: known parts, within their box, one for each line and none for nothing."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.resources import files
from itertools import pairwise
from typing import Any

import pytest

from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import checklist

WIDTH, HEIGHT = 120, 80
SKETCHES: list[dict[str, Any]] = tomllib.loads(
    (files("resources") / "symbols" / "sketches.toml").read_text(encoding="utf-8")
)["sketch"]
STROKES = {"circle": 3, "arc": 5, "line": None, "closed": None}
FILLS = {"disc": 3, "polygon": None}


def corners(sketch: dict[str, Any]) -> Iterator[tuple[float, float]]:
    """Points that a sketch reaches; a circle by the corners of the square about it, an arc by its ends."""
    from math import cos, radians, sin

    for part in (*sketch.get("stroke", ()), *sketch.get("thin", ()), *sketch.get("fill", ())):
        ((kind, numbers),) = part.items()
        if kind in ("circle", "disc"):
            x, y, r = numbers
            yield from ((x - r, y - r), (x + r, y + r))
        elif kind == "arc":
            x, y, r, start, end = numbers
            yield from ((x + r * cos(radians(a)), y + r * sin(radians(a))) for a in (start, (start + end) / 2, end))
        else:
            yield from zip(numbers[::2], numbers[1::2], strict=True)
    for x1, y1, x2, y2 in sketch.get("arrow", ()):
        yield from ((x1, y1), (x2, y2))
    for text, x, y, height in sketch.get("letters", ()):
        half = 0.3 * height * len(text)
        yield from ((x - half, y), (x + half, y + height))


@pytest.mark.parametrize("sketch", SKETCHES, ids=lambda sketch: sketch["line"])
def test_a_sketch_is_of_known_parts_within_its_box(sketch: dict[str, Any]) -> None:
    assert set(sketch) <= {"line", "stroke", "thin", "fill", "arrow", "letters"}
    for name, known in (("stroke", STROKES), ("thin", STROKES), ("fill", FILLS)):
        for part in sketch.get(name, ()):
            ((kind, numbers),) = part.items()
            assert kind in known
            assert len(numbers) == known[kind] if known[kind] else len(numbers) >= 4 and len(numbers) % 2 == 0
    outside = [(x, y) for x, y in corners(sketch) if not (0 <= x <= WIDTH and 0 <= y <= HEIGHT)]
    assert outside == []


def test_no_sketch_is_twice_or_for_a_line_that_nothing_asks() -> None:
    lines = [sketch["line"] for sketch in SKETCHES]
    assert sorted(lines) == sorted(set(lines))
    assert set(lines) == {line.code for each in starter_crib() for line in checklist(each)}


def test_no_two_sketches_are_the_same() -> None:
    drawn = sorted(str({name: part for name, part in sketch.items() if name != "line"}) for sketch in SKETCHES)
    assert all(one != other for one, other in pairwise(drawn))
