"""Outlines of drawn symbols: strokes and solids of resources/symbols as closed contours of a glyph.

A contour is a list of points (x, y, on), on curve or off curve (quadratic), in thousandths of an em. Solids run
clockwise and holes anticlockwise, as TrueType asks ("Instructing TrueType Glyphs", filling outlines by the non-zero
rule), so that overlapping strokes of one symbol stay filled.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, cos, hypot, pi, radians, sin

Point = tuple[float, float, bool]
Contour = list[Point]
Corner = tuple[float, float]

#: An arc is drawn in quadratic pieces of at most this; the radius is then true within 0.03 %.
LARGEST_PIECE = radians(45)
#: Joins sharper than this (1 + the cosine between the sides' normals) are bevelled, not mitred.
SHARPEST_MITRE = 0.22


def contours(kind: str, numbers: Sequence[float], pen: float) -> list[Contour]:
    """Return the contours of one part; ``pen`` is the thickness of strokes in thousandths of an em.

    >>> len(contours("circle", (0, 0, 100), 20))
    2
    """
    return PARTS[kind](numbers, pen)


def _circle(numbers: Sequence[float], pen: float) -> list[Contour]:
    x, y, radius = numbers
    outer = _arc_points(x, y, radius + pen / 2, 0, 2 * pi)[:-1]
    inner = _arc_points(x, y, radius - pen / 2, 0, 2 * pi)[:-1]
    return [_clockwise(outer), _clockwise(inner)[::-1]]


def _arc(numbers: Sequence[float], pen: float) -> list[Contour]:
    x, y, radius, start, end = numbers
    outer = _arc_points(x, y, radius + pen / 2, radians(start), radians(end))
    inner = _arc_points(x, y, radius - pen / 2, radians(start), radians(end))
    return [_clockwise(outer + inner[::-1])]


def _disc(numbers: Sequence[float], _pen: float) -> list[Contour]:
    x, y, radius = numbers
    return [_clockwise(_arc_points(x, y, radius, 0, 2 * pi)[:-1])]


def _sector(numbers: Sequence[float], _pen: float) -> list[Contour]:
    x, y, radius, start, end = numbers
    return [_clockwise([*_arc_points(x, y, radius, radians(start), radians(end)), (x, y, True)])]


def _polygon(numbers: Sequence[float], _pen: float) -> list[Contour]:
    return [_clockwise([(x, y, True) for x, y in _corners(numbers)])]


def _line(numbers: Sequence[float], pen: float) -> list[Contour]:
    corners = _corners(numbers)
    left = _beside(corners, pen / 2, closed=False)
    right = _beside(corners, -pen / 2, closed=False)
    return [_clockwise([(x, y, True) for x, y in left + right[::-1]])]


def _closed(numbers: Sequence[float], pen: float) -> list[Contour]:
    corners = _corners(numbers)
    sides = [[(x, y, True) for x, y in _beside(corners, half, closed=True)] for half in (pen / 2, -pen / 2)]
    sides.sort(key=lambda side: abs(_area(side)))
    inner, outer = sides
    return [_clockwise(outer), _clockwise(inner)[::-1]]


PARTS: dict[str, Callable[[Sequence[float], float], list[Contour]]] = {
    "circle": _circle,
    "arc": _arc,
    "line": _line,
    "closed": _closed,
    "disc": _disc,
    "sector": _sector,
    "polygon": _polygon,
}


def _corners(numbers: Sequence[float]) -> list[Corner]:
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def _arc_points(x: float, y: float, radius: float, start: float, end: float) -> Contour:
    """Points of an arc, on the curve at every piece's ends and off it between."""
    pieces = max(1, ceil(abs(end - start) / LARGEST_PIECE - 1e-9))
    step = (end - start) / pieces
    reach = radius / cos(step / 2)
    points: Contour = [(x + radius * cos(start), y + radius * sin(start), True)]
    for piece in range(pieces):
        middle, stop = start + (piece + 0.5) * step, start + (piece + 1) * step
        points.append((x + reach * cos(middle), y + reach * sin(middle), False))
        points.append((x + radius * cos(stop), y + radius * sin(stop), True))
    return points


def _beside(corners: list[Corner], distance: float, *, closed: bool) -> list[Corner]:
    """The line beside ``corners`` at ``distance`` (positive: to the left), its joins mitred or bevelled."""
    normals = [_normal(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]
    if not closed:
        normals.pop()
    last = len(corners) - 1
    found: list[Corner] = []
    for place, (x, y) in enumerate(corners):
        before = normals[place - 1] if closed or place > 0 else normals[0]
        after = normals[place] if closed or place < last else normals[-1]
        bend = 1 + before[0] * after[0] + before[1] * after[1]
        if bend < SHARPEST_MITRE:
            found += [(x + distance * before[0], y + distance * before[1])]
            found += [(x + distance * after[0], y + distance * after[1])]
        else:
            found.append((x + distance * (before[0] + after[0]) / bend, y + distance * (before[1] + after[1]) / bend))
    return found


def _normal(a: Corner, b: Corner) -> Corner:
    """The unit vector to the left of the way from ``a`` to ``b``."""
    x, y = b[0] - a[0], b[1] - a[1]
    length = hypot(x, y)
    return -y / length, x / length


def _area(contour: Contour) -> float:
    """Twice the signed area of the polygon through all points; positive when anticlockwise."""
    following = contour[1:] + contour[:1]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(contour, following, strict=True))


def _clockwise(contour: Contour) -> Contour:
    return contour if _area(contour) < 0 else contour[::-1]
