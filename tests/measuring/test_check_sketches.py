"""The sketches beside the lines of a check: known parts, within their box, one for each line and none for nothing."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib.resources import files
from itertools import pairwise
from math import cos, radians, sin
from typing import Any

import pytest

from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import checklist

WIDTH, HEIGHT = 120, 80
TABLE: dict[str, list[dict[str, Any]]] = tomllib.loads(
    (files("resources") / "symbols" / "sketches.toml").read_text(encoding="utf-8")
)
SKETCHES, SHAPES = TABLE["sketch"], TABLE["shape"]
STROKES = {"circle": 3, "arc": 5, "line": None, "closed": None}
FILLS = {"disc": 3, "polygon": None}
PARTS = {"solid": {"closed": None}, "stroke": STROKES, "thin": STROKES, "fill": FILLS}
LAID = {*PARTS, "arrow", "turn", "letters"}


def on_arc(x: float, y: float, r: float, start: float, end: float) -> Iterator[tuple[float, float]]:
    yield from ((x + r * cos(radians(a)), y + r * sin(radians(a))) for a in (start, (start + end) / 2, end))


def corners(sketch: dict[str, Any]) -> Iterator[tuple[float, float]]:
    """Points that a sketch reaches; a circle by the corners of the square about it, an arc by ends and middle."""
    for part in (each for name in PARTS for each in sketch.get(name, ())):
        ((kind, numbers),) = part.items()
        if kind in ("circle", "disc"):
            x, y, r = numbers
            yield from ((x - r, y - r), (x + r, y + r))
        elif kind == "arc":
            yield from on_arc(*numbers)
        else:
            yield from zip(numbers[::2], numbers[1::2], strict=True)
    for x1, y1, x2, y2 in sketch.get("arrow", ()):
        yield from ((x1, y1), (x2, y2))
    for turn in sketch.get("turn", ()):
        yield from on_arc(*turn)
    for text, x, y, height in sketch.get("letters", ()):
        half = 0.3 * height * len(text)
        yield from ((x - half, y), (x + half, y + height))


@pytest.mark.parametrize("sketch", [*SKETCHES, *SHAPES], ids=lambda sketch: sketch.get("line") or sketch["name"])
def test_a_sketch_is_of_known_parts_within_its_box(sketch: dict[str, Any]) -> None:
    assert set(sketch) <= LAID | ({"line", "kinds", "shapes"} if "line" in sketch else {"name"})
    for name, known in PARTS.items():
        for part in sketch.get(name, ()):
            ((kind, numbers),) = part.items()
            assert kind in known
            assert len(numbers) == known[kind] if known[kind] else len(numbers) >= 4 and len(numbers) % 2 == 0
    outside = [(x, y) for x, y in corners(sketch) if not (0 <= x <= WIDTH and 0 <= y <= HEIGHT)]
    assert outside == []


def drawn_for() -> set[tuple[str, str]]:
    return {(sketch["line"], kind) for sketch in SKETCHES for kind in sketch.get("kinds", ("",))}


def test_no_sketch_is_twice_or_for_a_line_that_nothing_asks() -> None:
    drawn = [(sketch["line"], kind) for sketch in SKETCHES for kind in sketch.get("kinds", ("",))]
    assert sorted(drawn) == sorted(set(drawn))
    asked = {(line.code, each.kind.value) for each in starter_crib() for line in checklist(each)}
    assert {pair for pair in drawn if pair[1]} <= asked
    assert {line for line, _ in drawn} == {line for line, _ in asked}


def test_every_line_of_every_kind_is_drawn() -> None:
    drawn = drawn_for()
    for kind in InstrumentKind:
        for line in checklist(Instrument("i", 1, "I-1", kind, "instrument")):
            assert {(line.code, kind.value), (line.code, "")} & drawn, (line.code, kind)


def test_every_shape_is_laid_under_a_sketch_and_none_is_lacking() -> None:
    laid = [name for sketch in SKETCHES for name in sketch.get("shapes", ())]
    assert set(laid) == {shape["name"] for shape in SHAPES}


def test_no_two_sketches_are_the_same() -> None:
    drawn = sorted(
        str({name: part for name, part in sketch.items() if name not in ("line", "kinds")}) for sketch in SKETCHES
    )
    assert all(one != other for one, other in pairwise(drawn))
