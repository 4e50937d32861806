"""A certificate's table in one cell, a line a point: ``outside at 1 in +.0001 U .00005; inside at 2 in 0 U .0001``.

Use and size; the error, indication − true, with its sign (0 has none); the expanded uncertainty behind a capital U;
the coverage factor behind k where it is not 2. What has no unit of its own is in the one before it. A table of cells
is read as such lines, so that there is one way to read a point.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from msgspec import Struct

from inspection.instruments.record import CertifiedPoint, Permissible, Use
from inspection.instruments.spelling import Piece, amount_text, pieces, read_amount, read_use, span_text
from inspection.reasons import Reason, Refused

#: The usual coverage factor in thousandths; it is not written.
USUAL_FACTOR = 2_000
#: Student's t for one degree of freedom at 95.45 % is 13.97: no certificate states a larger factor.
LARGEST_FACTOR = 14
#: An error, or its U, beyond so many times the permissible error is a reading, or in another unit (common practice).
MOST_ERRORS = 10

_SIGNS = "+-−±"
_AT = re.compile(r"(?:at\b|@)\s*", re.IGNORECASE)
_EXPANDED = re.compile(r"(?<!\w)U(?![^\W\d])\s*[=±]?\s*")
_STANDARD = re.compile(r"(?<!\w)u(?!\w)")
_FACTOR = re.compile(r"(?:\(\s*|(?<=\s))k\s*=?\s*(?P<number>[^\s()]*)\s*\)?\s*$", re.IGNORECASE)
_NUMBER = re.compile(r"(?P<whole>\d{1,2})(?:[.,](?P<thousandths>\d{1,3}))?")
_SIGN = re.compile(r"(?!^)(?:[+−±]|(?<![0-9])-|-(?![0-9]+/))")  # the hyphen of 1-5/32 is none
_NOTHING = re.compile(r"(?<=\s)(?:0+(?:[.,]0*)?|[.,]0+)\s*[^\d\s]{0,4}$")
_UNSIGNED = re.compile(r"(?<=\s)[.,]?[0-9][0-9.,/]*\s*[^\d\s]{0,4}$")


def read_points(
    text: str, unit: str, within: tuple[int, int], permissible: Sequence[Permissible]
) -> tuple[CertifiedPoint, ...]:
    """The points of a certificate, in the order written; ``unit`` is the record's, ``within`` its measuring range (both
    0: none), ``permissible`` its permissible errors.

    Raises Refused with every fault, each at its character: a line that lacks a part, a size outside the range, an error
    or U far beyond the permissible error, U not over 0, a size twice in one use.
    """
    found: list[CertifiedPoint] = []
    faults: list[Reason] = []
    for piece in pieces(text):
        try:
            point = _point(piece, unit, within, permissible)
            if any((point.use, point.size) == (other.use, other.size) for other in found):
                raise piece.refused("crib.cell.point_twice", use=point.use.value)
            found.append(point)
        except Refused as refused:
            faults += refused.reasons
    if faults:
        raise Refused(*faults)
    return tuple(found)


def _point(piece: Piece, unit: str, within: tuple[int, int], permissible: Sequence[Permissible]) -> CertifiedPoint:
    use = read_use(piece)
    rest = piece.cut(len(use))
    before, after = _at_expanded(rest)
    size_piece, error_piece = _at_error(before)
    size = read_amount(size_piece, unit)
    if any(within) and not within[0] <= size.count <= within[1]:
        raise size_piece.refused("crib.cell.outside_range", range=span_text(*within, unit))
    most = _largest(permissible, use, size.count)
    error, governing = _error(error_piece, size.unit, most)
    after, factor = _factor(after)
    expanded = read_amount(after, governing).count
    if not expanded:
        raise after.refused("crib.cell.expanded_nothing")
    _not_beyond(after, expanded, most, size.unit)
    return CertifiedPoint(use, size.count, error, expanded, factor)


def _at_expanded(rest: Piece) -> tuple[Piece, Piece]:
    """What stands before U and what behind it."""
    expanded = _EXPANDED.search(rest.text)
    if expanded is not None:
        return rest.cut(0, expanded.start()), rest.cut(expanded.end())
    standard = _STANDARD.search(rest.text)
    if standard is not None:
        raise rest.cut(standard.start()).refused("crib.cell.small_u")
    raise rest.cut(len(rest.text)).refused("crib.cell.no_expanded")


def _at_error(before: Piece) -> tuple[Piece, Piece]:
    """Size and error, parted where the error begins."""
    said = _AT.match(before.text)
    before = before.cut(said.end()) if said is not None else before
    error = _SIGN.search(before.text) or _NOTHING.search(before.text)
    if not before.text or (error is None and before.text[0] in _SIGNS):
        raise before.cut(0, 0).refused("crib.cell.no_point_size")
    if error is None:
        unsigned = _UNSIGNED.search(before.text)
        raise before.cut(unsigned.start() if unsigned else len(before.text)).refused("crib.cell.no_point_error")
    return before.cut(0, error.start()), before.cut(error.start())


def _error(piece: Piece, unit: str, most: int) -> tuple[int, str]:
    """The error with its sign, and the unit that governs its U."""
    sign = piece.text[0]
    if sign == "±":
        raise piece.refused("crib.cell.error_sign")
    number = piece.cut(1) if sign in "+-−" else piece
    found = read_amount(number, unit)
    _not_beyond(number, found.count, most, unit)
    return -found.count if sign in "-−" else found.count, found.unit


def _largest(permissible: Sequence[Permissible], use: str, size: int) -> int:
    """The largest error that is one, 0 where nothing says how large one may be."""
    errors = [line.error for line in permissible if line.use == use and size <= line.up_to]
    return MOST_ERRORS * min(errors, default=0)


def _not_beyond(piece: Piece, count: int, most: int, unit: str) -> None:
    if most and count > most:
        raise piece.refused("crib.cell.point_large", n=MOST_ERRORS, E=amount_text(most // MOST_ERRORS, unit))


def _factor(after: Piece) -> tuple[Piece, int]:
    """U's own text and its coverage factor in thousandths."""
    found = _FACTOR.search(after.text)
    if found is None:
        return after, USUAL_FACTOR
    number = _NUMBER.fullmatch(found["number"])
    factor = int(number["whole"]) * 1_000 + int((number["thousandths"] or "").ljust(3, "0")) if number else 0
    if not 1_000 <= factor <= LARGEST_FACTOR * 1_000:
        raise after.cut(found.start("number")).refused("crib.cell.factor", most=LARGEST_FACTOR)
    return after.cut(0, found.start()), factor


# --- as a table of cells --------------------------------------------------------------------------------------


class Cells(Struct, frozen=True):
    """One line of a certificate's table cell by cell, each as written."""

    use: str = ""
    size: str = ""
    error: str = ""
    expanded: str = ""
    factor: str = ""

    def __bool__(self) -> bool:
        return any(self.all)

    @property
    def all(self) -> tuple[str, ...]:
        """The cells in their order."""
        return self.use, self.size, self.error, self.expanded, self.factor


#: The cells of a line in their order, and what stands before each in it.
CELLS = {"use": "", "size": " at ", "error": " ", "expanded": " U ", "factor": " k "}
#: The cell that a refusal speaks of where its character stands in another, or in none.
_SPOKEN_OF = {
    "crib.cell.no_point_size": "size",
    "crib.cell.point_twice": "size",
    "crib.cell.no_point_error": "error",
    "crib.cell.no_expanded": "expanded",
    "crib.cell.small_u": "expanded",
    "crib.cell.expanded_nothing": "expanded",
    "crib.cell.factor": "factor",
}


def joined(rows: Sequence[Cells]) -> str:
    """The lines of a table as ``read_points`` takes them; an empty row is a line of its own, so that the n-th line is
    the n-th row.

    >>> joined([Cells("outside", "1", "+.0001", ".00005"), Cells()])
    'outside at 1 +.0001 U .00005\\n'
    """
    return "\n".join(_joined(row)[0] for row in rows)


def _joined(row: Cells) -> tuple[str, dict[str, int]]:
    """A row as a line, and at which character of it each of its cells begins."""
    line, begins = "", {}
    for (name, before), text in zip(CELLS.items(), row.all, strict=True):
        line += before if text else ""
        begins[name] = len(line)
        line += text
    return line, begins


def cell_of(reason: Reason, rows: Sequence[Cells]) -> tuple[int, str, int]:
    """The row, the cell and its character that a refusal of ``joined(rows)`` speaks of."""
    found = reason.parts.get("at")
    at = found if isinstance(found, int) else 0
    for place, row in enumerate(rows):
        line, begins = _joined(row)
        if at <= len(line):
            held = [name for name in CELLS if begins[name] <= at and getattr(row, name)]
            name = _SPOKEN_OF.get(reason.code, held[-1] if held else "use")
            return place, name, min(max(at - begins[name], 0), len(getattr(row, name)))
        at -= len(line) + 1
    return max(len(rows) - 1, 0), "use", 0


def parted(text: str) -> tuple[Cells, ...]:
    """The lines of a table cell by cell, nothing refused and nothing lost: what can't be told apart stays together.

    >>> parted("outside at 1 in +.0001 U .00005 k 2.1; depth 2 in 0")[1]
    Cells(use='depth', size='2 in', error='0', expanded='', factor='')
    """
    return tuple(_parted(piece) for piece in pieces(text))


def _parted(piece: Piece) -> Cells:
    use = next((use for use in Use if re.match(rf"{use}\b", piece.text, re.IGNORECASE)), "")
    rest = piece.cut(len(use))
    mark = _EXPANDED.search(rest.text)
    before, after = (rest.cut(0, mark.start()), rest.cut(mark.end())) if mark is not None else (rest, rest.cut(0, 0))
    k = _FACTOR.search(after.text)
    expanded, factor = (after.cut(0, k.start()).text, k["number"]) if k is not None else (after.text, "")
    said = _AT.match(before.text)
    before = before.cut(said.end()) if said is not None else before
    error = _SIGN.search(before.text) or _NOTHING.search(before.text)
    at = error.start() if error is not None else len(before.text)
    return Cells(piece.text[: len(use)], before.cut(0, at).text, before.cut(at).text, expanded, factor)


# --- written back ---------------------------------------------------------------------------------------------


def error_text(count: int, unit: str) -> str:
    """An error with its sign and unit; 0 alone for none."""
    if not count:
        return "0"
    return f"{'−' if count < 0 else '+'}{amount_text(abs(count), unit)}"


def expanded_text(point: CertifiedPoint, unit: str) -> str:
    """U with its unit, and k where it is not the usual one."""
    whole, rest = divmod(point.factor, 1_000)
    factor = f"{whole}.{rest:03d}".rstrip("0") if rest else str(whole)
    return f"U {amount_text(point.expanded, unit)}" + (f" k {factor}" if point.factor != USUAL_FACTOR else "")


def point_text(point: CertifiedPoint, unit: str) -> str:
    """One point as ``read_points`` takes it.

    >>> from inspection.instruments.record import Use
    >>> point_text(CertifiedPoint(Use.OUTSIDE, 25_400_000_000, -2_540_000, 1_270_000, 2_130), "in")
    'outside at 1 in −.0001 in U .00005 in k 2.13'
    """
    size = amount_text(point.size, unit)
    return f"{point.use} at {size} {error_text(point.error, unit)} {expanded_text(point, unit)}"


def points_text(points: Sequence[CertifiedPoint], unit: str) -> str:
    """A certificate's table as ``read_points`` takes it."""
    return "; ".join(point_text(point, unit) for point in points)
