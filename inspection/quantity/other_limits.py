"""Requirements of functional tests as written, to limits; and results against them.

``≥ 45 HRC`` · ``60 psi MIN`` · ``MAX 5 mbar`` · ``28 … 32 HRC`` · ``12 ±1 N·m`` · ``12 +1/-0.5 N·m``. A limit stands
in the unit that is written with it; a result in that of its limits unless it names its own.
"""

from __future__ import annotations

import re
from fractions import Fraction

from msgspec import Struct

from inspection.quantity.other import (
    SPACES,
    Number,
    OtherUnit,
    converted,
    counted,
    exact,
    fault,
    number_at,
    refuse_too_long,
    unit_at,
)
from inspection.quantity.units import LARGEST_COUNT
from inspection.reasons import Refused

_LOWER = ("≥", ">=", "min", "min.", "minimum")
_UPPER = ("≤", "<=", "max", "max.", "maximum")
_BETWEEN = ("…", "...", "..", "–", "to")
_MARKS = {
    **dict.fromkeys(_LOWER, "G"),
    **dict.fromkeys(_UPPER, "L"),
    **dict.fromkeys(_BETWEEN, "T"),
    **dict.fromkeys(("±", "+/-", "+-"), "P"),
    **dict.fromkeys(("-", "−"), "M"),
    "+": "A",
    "/": "S",
    ",": "S",
    ";": "S",
}
_TOKEN = re.compile(
    r"""(?P<number>[.,]?\d(?:[\d.,]*\d)?(?:[eE][+\-−]?\d{1,2}|\ *[x×·*]\ *10\ *\^?\ *[+\-−⁻]?[\d⁰¹²³⁴-⁹]{1,2})?)
      | (?P<mark>>=|<=|\.\.\.?|\+/-|\+-|[≥≤…±+\-−–/,;])
      | (?P<word>[^\s\d≥≤…±+\-−–,;<>](?:[^\s≥≤…±+\-−–,;<>]|-(?=[^\W\d]))*)
      | (?P<strict>[<>])
      | (?P<other>\S)""",
    re.VERBOSE,
)
_BAND = "(?P<first>M?N)(?P<unit>U?)"
_SHAPES = {
    "lower": re.compile(f"G{_BAND}|{_BAND.replace('first', 'other').replace('unit', 'its')}G"),
    "upper": re.compile(f"L{_BAND}|{_BAND.replace('first', 'other').replace('unit', 'its')}L"),
    "both": re.compile("M?NU?(T|M)M?NU?"),
    "plus_minus": re.compile("M?NU?PNU?"),
    "two_sided": re.compile("M?NU?ANU?S?MNU?"),
}


class OtherLimits(Struct, frozen=True):
    """Limits as counts of the step of ``unit``'s kind, None where a side is open; ``decimals`` as written."""

    unit: OtherUnit
    lower: int | None
    upper: int | None
    decimals: int


class OtherResult(Struct, frozen=True):
    """A result as a count of the step of its limits' kind, with the decimals it was written with and its own unit."""

    count: int
    decimals: int
    unit: OtherUnit


class _Token(Struct, frozen=True):
    sort: str
    at: int
    end: int


def read_limits(text: str) -> OtherLimits:
    """The limits that a requirement asks for.

    Raises Refused at the character at fault: no unit, an unknown one, two that do not belong together, a limit that
    excludes itself (``<``, ``>``), a band upside down, or no requirement that this can read.

    >>> limits = read_limits("12 ±1 N·m")
    >>> limits.lower, limits.upper, limits.unit.symbol
    (11000000000, 13000000000, 'N·m')
    """
    refuse_too_long(text)
    tokens = _tokens(text)
    shape = "".join(token.sort for token in tokens)
    name = next((name for name, pattern in _SHAPES.items() if pattern.fullmatch(shape)), "")
    if not name:
        raise _no_shape(text, tokens)
    numbers = _numbers(text, tokens)
    unit = _unit(text, tokens)
    low, high = _ends(name, numbers)
    ends = tuple(None if end is None else counted(text, end, unit) for end in (low, high))
    if ends[0] is not None and ends[1] is not None and ends[0] > ends[1]:
        raise fault("quantity.upside_down", text, numbers[-1].at)
    written = [0, *(end.decimals for end in (low, high) if end is not None)]
    return OtherLimits(unit, ends[0], ends[1], max(written))


def _tokens(text: str) -> list[_Token]:
    found: list[_Token] = []
    for token in _TOKEN.finditer(text):
        written = token[0].casefold()
        if token.lastgroup == "strict":
            raise fault("quantity.strict", text, token.start(), sign=token[0])
        if token.lastgroup == "other":
            raise fault("quantity.character", text, token.start(), word=token[0])
        sort = "N" if token.lastgroup == "number" else _MARKS.get(written, "U")
        if sort == "U" and found and found[-1].sort == "U":  # a unit of several words
            found[-1] = _Token("U", found[-1].at, token.end())
        else:
            found.append(_Token(sort, token.start(), token.end()))
    return _minutes(text, found)


def _minutes(text: str, tokens: list[_Token]) -> list[_Token]:
    """A small ``min`` behind a number is minutes where something else already says which side is meant."""
    if sum(token.sort in "GLTPA" for token in tokens) < 2:
        return tokens
    return [
        _Token("U", token.at, token.end)
        if token.sort == "G" and place and tokens[place - 1].sort == "N" and text[token.at : token.end] == "min"
        else token
        for place, token in enumerate(tokens)
    ]


def _no_shape(text: str, tokens: list[_Token]) -> Refused:
    if not tokens:
        return fault("quantity.nothing", text, 0)
    if not any(token.sort == "N" for token in tokens):
        return fault("quantity.no_number", text, tokens[0].at)
    if "".join(token.sort for token in tokens) in ("N", "NU", "MN", "MNU"):
        return fault("quantity.no_side", text, tokens[-1].end)
    return fault("quantity.not_limits", text, tokens[0].at)


def _numbers(text: str, tokens: list[_Token]) -> list[Number]:
    """Every number with its sign; of two numbers with a dash between them the dash is no sign."""
    found = []
    for place, token in enumerate(tokens):
        if token.sort != "N":
            continue
        number = number_at(text, token.at, token.end)
        before = tokens[place - 1].sort if place else ""
        spans = before == "M" and place >= 2 and tokens[place - 2].sort in "NU" and "A" not in _sorts(tokens)
        if before == "M" and not spans:
            number = Number(-number.digits, number.decimals, number.at, number.end)
        found.append(number)
    return found


def _sorts(tokens: list[_Token]) -> str:
    return "".join(token.sort for token in tokens)


def _unit(text: str, tokens: list[_Token]) -> OtherUnit:
    named = [token for token in tokens if token.sort == "U"]
    if not named:
        raise fault("quantity.unit_missing", text, len(text.rstrip(SPACES)))
    units = [unit_at(text, token.at, token.end) for token in named]
    for unit, token in zip(units, named, strict=True):
        if unit != units[0]:
            raise fault("quantity.two_units", text, token.at, first=units[0].symbol, second=unit.symbol)
    return units[0]


def _ends(name: str, numbers: list[Number]) -> tuple[Number | None, Number | None]:
    first = numbers[0]
    match name:
        case "lower":
            return first, None
        case "upper":
            return None, first
        case "both":
            return first, numbers[1]
        case "plus_minus":
            return _moved(first, numbers[1], -1), _moved(first, numbers[1], +1)
    return _moved(first, numbers[2], +1), _moved(first, numbers[1], +1)


def _moved(number: Number, by: Number, sign: int) -> Number:
    """A number and a deviation from it, added as decimals, before any unit."""
    places = max(number.decimals, by.decimals)
    digits = number.digits * 10 ** (places - number.decimals) + sign * by.digits * 10 ** (places - by.decimals)
    return Number(digits, places, number.at, by.end)


def read_result(text: str, limits: OtherLimits) -> OtherResult:
    """The result of a test as typed, in the unit of its limits or in one that it names.

    A result in a unit of another kind of the same quantity is converted by exact fractions. Where the step of the
    limits does not hold it, it is moved to the next step away from the middle of the band: whole limits are met by the
    one exactly where they are met by the other. Raises Refused at the character at fault.
    """
    refuse_too_long(text)
    start = len(text) - len(text.lstrip(SPACES))
    end = len(text.rstrip(SPACES))
    if start == end:
        raise fault("reader.empty", text, 0)
    number = number_at(text, start, end)
    at = number.end + len(text[number.end : end]) - len(text[number.end : end].lstrip(SPACES))
    unit = unit_at(text, at, end) if at < end else limits.unit
    if unit.quantity != limits.unit.quantity:
        raise fault("quantity.other_quantity", text, at, first=limits.unit.symbol, second=unit.symbol)
    counted_so = counted(text, number, unit) if unit.kind == limits.unit.kind else _away(text, number, unit, limits)
    return OtherResult(counted_so, max(number.decimals, 0), unit)


def _away(text: str, number: Number, unit: OtherUnit, limits: OtherLimits) -> int:
    steps = converted(exact(number, unit), unit, limits.unit)
    if abs(steps) >= LARGEST_COUNT:
        raise fault("quantity.too_large", text, number.at, unit=unit.symbol)
    if limits.lower is None or (limits.upper is not None and steps > Fraction(limits.lower + limits.upper, 2)):
        return -(-steps.numerator // steps.denominator)
    return steps.numerator // steps.denominator
