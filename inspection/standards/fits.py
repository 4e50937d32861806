"""Limits of size of the ISO 286 classes, from the basic tables: grades, fundamental deviations and deltas.

A class is a letter and a grade: a capital letter is a hole (internal feature), a small one a shaft (external
feature). Sizes to 500 mm. Nothing here holds a finished class.
"""

from __future__ import annotations

import re
from functools import cache

from msgspec import Struct

from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused
from inspection.standards.tables import Row, rows, steps

LARGEST_SIZE = steps("500", "mm")

_CLASS = re.compile(r"([A-Za-z]{1,2})(01|0|1[0-8]|[1-9])")
_HIGHEST_WITH_DELTA = {"K": 8, "M": 8, "N": 8}
_HIGHEST_WITH_DELTA_FROM_P = 7


class Deviations(Struct, frozen=True):
    """Lower and upper limit deviation from the nominal size, in picometres with sign (EI and ES, or ei and es)."""

    lower: int
    upper: int


class _Line(Struct, frozen=True):
    """One value of a basic table: for grades from … to and sizes over … up to (pm); None where not defined."""

    grades: range
    over: int
    up_to: int
    value: int | None


def _grade(text: str) -> int:
    """A grade as a number to order by; IT01 lies below IT0."""
    return -1 if text == "01" else int(text)


def _line(row: Row) -> _Line:
    grades = range(_grade(row["grade_from"]), _grade(row["grade_to"]) + 1)
    value = steps(row["value_um"], "µm") if row["value_um"] else None
    return _Line(grades, steps(row["over_mm"], "mm"), steps(row["up_to_mm"], "mm"), value)


@cache
def _lines() -> dict[tuple[str, str], tuple[_Line, ...]]:
    """All lines by table and designation, the narrowest size band first: special cases win over the rule."""
    found: dict[tuple[str, str], list[_Line]] = {}
    for row in rows("iso286_1"):
        found.setdefault((row["table"], row["designation"]), []).append(_line(row))
    return {key: tuple(sorted(lines, key=lambda line: line.up_to - line.over)) for key, lines in found.items()}


def _find(table: str, designation: str, grade: int, nominal: int) -> _Line | None:
    for line in _lines().get((table, designation), ()):
        if line.over < nominal <= line.up_to and grade in line.grades:
            return line
    return None


def _value(table: str, designation: str, grade: int, nominal: int) -> int | None:
    line = _find(table, designation, grade, nominal)
    return line.value if line else None


def is_class(text: str) -> bool:
    """Whether ``text`` has the shape of a class (H7, js6), whatever the tables say of it."""
    return _CLASS.fullmatch(text) is not None


def is_hole(designation: str) -> bool:
    """Whether a class is one of holes: its letter is a capital."""
    return designation[0].isupper()


def grade_width(grade: str, nominal: int) -> int | None:
    """Return the standard tolerance IT (total width, pm) of ``grade`` ("01", "0", "1" … "18") at ``nominal`` pm.

    None where the standard gives none. Source: ISO 286-1:2010, Table 1.
    """
    return _value("grade", "IT", _grade(grade), nominal)


def _shaft(letter: str, grade: int, nominal: int, width: int) -> Deviations | None:
    """A shaft's deviations: es is tabled for a … h, ei for j … zc."""
    value = _value("shaft", letter, grade, nominal)
    if value is None:
        return None
    return Deviations(value - width, value) if letter[0] <= "h" else Deviations(value, value + width)


def _hole_upper(letter: str, grade: int, nominal: int) -> int | None:
    """ES of a hole J … ZC: the shaft's ei mirrored, plus delta in the fine grades, unless a special case is tabled."""
    special = _find("hole", letter, grade, nominal)
    if special is not None:
        return special.value
    # k has its value in grades 4 to 7 only, but K mirrors it to grade 8: grade 7 stands for all.
    mirrored = _value("shaft", letter.lower(), 7, nominal)
    if mirrored is None or letter == "J":
        return None
    if grade > _HIGHEST_WITH_DELTA.get(letter, _HIGHEST_WITH_DELTA_FROM_P):
        return -mirrored
    delta = _value("delta", "", grade, nominal)
    return None if delta is None else delta - mirrored


def _hole(letter: str, grade: int, nominal: int, width: int) -> Deviations | None:
    """A hole's deviations: EI mirrors the shaft's es for A … H, ES follows the rule of delta beyond."""
    if letter[0] <= "H":
        mirrored = _value("shaft", letter.lower(), grade, nominal)
        return None if mirrored is None else Deviations(-mirrored, -mirrored + width)
    upper = _hole_upper(letter, grade, nominal)
    return None if upper is None else Deviations(upper - width, upper)


def _deviations(letter: str, grade: int, nominal: int, width: int) -> Deviations | None:
    if letter.lower() == "js":
        # Exact halves: an odd width is not rounded to a whole micrometre, as some printed tables do.
        return Deviations(-(width // 2), width // 2)
    return (_hole if letter[0].isupper() else _shaft)(letter, grade, nominal, width)


def class_deviations(nominal: int, designation: str) -> Deviations:
    """Return the limit deviations (pm) of class ``designation`` ("H7", "js6") at ``nominal`` pm.

    Raises Refused: ``fit.class`` if it is no class, ``fit.size`` outside 0 … 500 mm, ``fit.undefined`` where the
    standard defines none. Source: ISO 286-1:2010, clauses 4.1 to 4.3 with Tables 1 to 5.

    >>> class_deviations(25_000_000_000, "H7")
    Deviations(lower=0, upper=21000000)
    """
    match = _CLASS.fullmatch(designation)
    if match is None or (match[1][0].isupper() != match[1].isupper()):
        raise Refused(Reason("fit.class", {"class": designation}))
    size = Amount(nominal, Kind.LENGTH, "mm")
    if not 0 < nominal <= LARGEST_SIZE:
        raise Refused(Reason("fit.size", {"class": designation, "size": size}))
    width = grade_width(match[2], nominal)
    found = None if width is None else _deviations(match[1], _grade(match[2]), nominal, width)
    if found is None:
        raise Refused(Reason("fit.undefined", {"class": designation, "size": size}))
    return found
