"""Quantities of functional tests in their own units: force, torque, pressure, hardness and the like.

Each is an exact count of its kind's step, from ``resources/tables/quantities.csv``. A unit of another system has a
kind of its own where no practical step holds both whole (1 lbf is 4.448 221 615 260 5 N: a common step would leave
room for 4500 N at most). Kinds of one quantity are converted by exact fractions; scales that nothing converts (a
hardness, a standard flow) are quantities of their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any

from msgspec import Struct

from inspection.quantity.reader import LONGEST_ENTRY, decimal_at
from inspection.quantity.speaker import ABOUT, placed, places_needed
from inspection.quantity.units import LARGEST_COUNT
from inspection.reasons import Part, Reason, Refused
from inspection.standards.tables import rows

SPACES = " \t\u00a0\u2009\u202f"
#: Decimals at which a value is cut for the eye where its unit cannot hold it.
_MOST_SHOWN = 6
#: Units offered in place of one that the table does not hold.
_MOST_OFFERED = 5
_JOINTS = re.compile(r"[\s·⋅.*-]+")
_EXPONENT = re.compile(r"[eE]([+\-−]?\d{1,2})|\s*[x×·*]\s*10\s*\^?\s*([+\-−⁻]?(?:\d{1,2}|[⁰¹²³⁴-⁹]{1,2}))")
_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻−", "0123456789--")


class OtherUnit(Struct, frozen=True):
    """A unit: its symbol, the kind whose step it is counted in, how many steps it holds (``count``), the steps at its
    zero (``zero``, of a temperature), and its size in the first unit of its ``quantity`` (``size``, exact)."""

    symbol: str
    kind: str
    quantity: str
    count: int
    zero: int
    size: Fraction
    signed: bool


class Number(Struct, frozen=True):
    """A number as written: its digits as one integer, scaled by ten to the minus ``decimals``, from ``at`` to ``end``
    of its text. Not yet in any unit."""

    digits: int
    decimals: int
    at: int
    end: int


@cache
def other_units() -> Mapping[str, OtherUnit]:
    """Every unit of the table by its symbol."""
    return {
        row["unit"]: OtherUnit(
            row["unit"], row["kind"], row["quantity"], int(row["count"]), int(row["zero"]), Fraction(row["si"]),
            row["signed"] == "yes",
        )
        for row in rows("quantities")
    }  # fmt: skip


@cache
def _spellings() -> Mapping[str, str]:
    """Symbols by how they are written, without spaces and joints; capitals count, for mV and MV are two units."""
    told = {}
    for row in rows("quantities"):
        for written in (row["unit"], *filter(None, row["spellings"].split(";"))):
            told[_squeezed(written)] = row["unit"]
    return told


@cache
def _any_case() -> Mapping[str, str]:
    """Symbols by how they are written in small letters, as far as that names one unit only."""
    found: dict[str, set[str]] = {}
    for written, symbol in _spellings().items():
        found.setdefault(written.casefold(), set()).add(symbol)
    return {written: next(iter(symbols)) for written, symbols in found.items() if len(symbols) == 1}


def _squeezed(text: str) -> str:
    return _JOINTS.sub("", text.strip()).replace("μ", "µ").replace("\u2126", "Ω")


def find_unit(written: str) -> OtherUnit | None:
    """The unit that is written so, joints and spaces apart; capitals matter only where they make two units."""
    squeezed = _squeezed(written)
    symbol = _spellings().get(squeezed) or _any_case().get(squeezed.casefold())
    return other_units()[symbol] if symbol else None


def unit_at(text: str, at: int, end: int) -> OtherUnit:
    """The unit written from ``at`` to ``end``. Raises Refused at the place, with the nearest where there is one."""
    written = text[at:end]
    found = find_unit(written)
    if found is not None:
        return found
    meant = _other_words_for(written)
    if meant:
        raise fault("quantity.unit_not_here", text, at, word=written[:30], units=", ".join(meant))
    from difflib import get_close_matches  # only where somebody mistyped

    symbols = {symbol.casefold(): symbol for symbol in other_units()}
    near = get_close_matches(_squeezed(written).casefold(), symbols, n=1)
    if near:
        raise fault("quantity.unknown_unit_near", text, at, word=written[:30], near=symbols[near[0]])
    raise fault("quantity.unknown_unit", text, at, word=written[:30])


def _other_words_for(written: str) -> tuple[str, ...]:
    """Units of the table that measure what a unit known elsewhere measures; none for what is no unit at all."""
    import pint  # only where somebody wrote what the table does not hold

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    try:
        asked = registry.parse_units(written.strip())
    except Exception:  # whatever its parser makes of a word that is no unit
        return ()
    if asked.dimensionless:
        return ()
    known = ((row["unit"], registry.parse_units(row["pint"])) for row in rows("quantities") if row["pint"])
    return tuple(symbol for symbol, unit in known if unit.is_compatible_with(asked))[:_MOST_OFFERED]


def number_at(text: str, at: int, end: int) -> Number:
    """The number that begins at ``at``: decimals, and a power of ten behind it. Raises Refused as the reader does."""
    start = at
    negative = text[at : at + 1] in ("-", "−")
    if negative or text[at : at + 1] == "+":
        at += 1
    digits, decimals, stop = decimal_at(text, at, end)
    power = _EXPONENT.match(text, stop, end)
    if power:
        decimals -= int((power[1] or power[2]).translate(_RAISED))
        stop = power.end()
    return Number(-digits if negative else digits, decimals, start, stop)


def counted(text: str, number: Number, unit: OtherUnit) -> int:
    """A number in a unit as a count of its kind's step. Raises Refused where the step does not hold its last digit,
    where it is too large, or where it lies below nothing."""
    value = exact(number, unit)
    if abs(value) >= LARGEST_COUNT:
        raise fault("quantity.too_large", text, number.at, unit=unit.symbol)
    if value.denominator != 1:
        raise fault("quantity.too_fine", text, number.at, unit=unit.symbol, decimals=_held(unit))
    if value < 0 and not (unit.signed and unit.zero == 0):
        raise fault("quantity.below_nothing", text, number.at, unit=unit.symbol)
    return value.numerator


def _held(unit: OtherUnit) -> int:
    """How many decimals of a unit are always whole steps."""
    return len(str(unit.count)) - len(str(unit.count).rstrip("0"))


def exact(number: Number, unit: OtherUnit) -> Fraction:
    """A number in a unit as steps of its kind, be they whole or not."""
    return Fraction(number.digits) * Fraction(10) ** -number.decimals * unit.count + unit.zero


def converted(steps: Fraction, unit: OtherUnit, to: OtherUnit) -> Fraction:
    """Steps of a unit's kind as steps of another unit's kind, exactly. Raises ValueError for two quantities."""
    if unit.quantity != to.quantity:
        raise ValueError(f"{unit.symbol} and {to.symbol} measure two things")
    return steps if unit.kind == to.kind else steps * (unit.size / unit.count) / (to.size / to.count)


def written_in(count: int, symbol: str, decimals: int = 0) -> str:
    """A count in its unit, with at least ``decimals`` decimals: ``12.50 N·m``; marked ``≈`` where the unit cannot
    hold it.

    >>> written_in(12_500_000_000, "N·m", 2)
    '12.50 N·m'
    """
    unit = other_units()[symbol]
    steps = count - unit.zero
    places = places_needed(steps, unit.count)
    if places is not None:
        decimals = max(decimals, places)
        return f"{placed(steps * 10**decimals // unit.count, decimals)} {symbol}"
    decimals = max(decimals, _MOST_SHOWN)
    return f"{ABOUT} {placed(round(Fraction(steps * 10**decimals, unit.count)), decimals)} {symbol}"


def fault(code: str, text: str, at: int, **parts: Part) -> Refused:
    """A fault at a character of a text."""
    return Refused(Reason(code, {"text": text, "at": at, **parts}))


def refuse_too_long(text: str) -> None:
    """Raise Refused for a text longer than any requirement or result is."""
    if len(text) > LONGEST_ENTRY:
        raise fault("reader.too_long", text[: LONGEST_ENTRY + 1], LONGEST_ENTRY, longest=LONGEST_ENTRY)
