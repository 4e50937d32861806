"""The reader of numbers: what was typed becomes an exact count, or a refusal that points at the character.

Nothing is clamped, rounded, reformatted or guessed, and no locale has a say: a point and a comma both mark decimals,
and where a comma could as well group thousands, or a word could mean two units, both meanings are told and neither
is taken.
"""

from __future__ import annotations

import re

from inspection.quantity.units import INCH_UNITS, LARGEST_COUNT, UNITS, Kind, Quantity
from inspection.reasons import Part, Reason, Refused

#: Longer entries are no number that anyone meant, and are not looked into.
LONGEST_ENTRY = 64

#: Divisions of a steel rule, to 64ths. Thirds and tenths are no marks on any rule.
DENOMINATORS = (2, 4, 8, 16, 32, 64)

#: How each unit is written, in small letters. The micro sign is U+00B5 on keyboards and U+03BC from other sources.
LENGTH_WORDS = {
    **dict.fromkeys(('"', "″", "”", "in", "in.", "inch", "inches"), "in"),
    **dict.fromkeys(("thou", "thous"), "thou"),
    **dict.fromkeys(("tenth", "tenths"), "tenth"),
    **dict.fromkeys(("µin", "μin", "uin", "µinch", "μinch", "microinch", "microinches"), "µin"),
    **dict.fromkeys(("ft", "ft.", "foot", "feet"), "ft"),
    **dict.fromkeys(("µm", "μm", "um", "micron", "microns"), "µm"),
    **dict.fromkeys(("mm", "mm.", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "cm.", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
}
ANGLE_WORDS = {
    **dict.fromkeys(("°", "deg", "deg.", "degree", "degrees"), "°"),
    **dict.fromkeys(("'", "′", "’", "min", "minute", "minutes"), "'"),
    **dict.fromkeys(('"', "″", "”", "sec", "second", "seconds"), '"'),
}
WORDS = {Kind.LENGTH: LENGTH_WORDS, Kind.ANGLE: ANGLE_WORDS}

#: Words that one hand means one way and the next hand another: the code of the refusal and both meanings.
DOUBTFUL = {
    **dict.fromkeys(("mil", "mils"), ("reader.mil", "{} thou", "{} mm")),
    "t": ("reader.t", "{} thou", "{} tenths"),
    **dict.fromkeys(("µ", "μ", "u"), ("reader.micro", "{} µm", "{} µin")),
}

_SPACES = " \t\u00a0\u2009\u202f"
_AROUND = _SPACES + "\r\n"
_SIGN = re.compile(rf"[{_AROUND}]*([+\-−]?)[{_SPACES}]*")
_FRACTION = re.compile(rf"(?:([0-9]+)(?:[{_SPACES}]+|-))?([0-9]+)/([0-9]+)")
_DECIMAL = re.compile(rf"([0-9]*)([.,]?)([0-9]*)[{_SPACES}]*")
_ANGLE_MARK = re.compile(rf"([^\W\d_]+\.?|[^0-9.,{_SPACES}]?)[{_SPACES}]*")
_EXPONENT = re.compile(r"[eE][+\-−]?[0-9]")
_OVER_LINE = re.compile(r"[0-9]*/")
_WORD = re.compile(r"[^\W\d_]+\.?|.", re.DOTALL)


def read(text: str, *, unit: str, kind: Kind = Kind.LENGTH, signed: bool = False) -> Quantity:
    """Read one entry. ``unit`` (a symbol of ``UNITS``, of ``kind``) is that of the entry field and holds where none is
    written; a sign is read only where ``signed`` (a deviation, a coordinate).

    Raises Refused with one reason whose parts hold ``text``, ``at`` (index of the character at fault) and, where there
    are two meanings, ``first`` and ``second``. Raises ValueError for a ``unit`` that is not of ``kind``.

    >>> read("1-5/32", unit="in").count == read("1.15625", unit="in").count == read("29.36875 mm", unit="in").count
    True
    """
    if UNITS[unit].kind is not kind:
        raise ValueError(f"{unit} is not a unit of {kind}")
    if len(text) > LONGEST_ENTRY:
        raise _refused("reader.too_long", text[: LONGEST_ENTRY + 1], LONGEST_ENTRY, longest=LONGEST_ENTRY)
    sign = _SIGN.match(text)
    assert sign is not None  # every part of the pattern may be empty
    start, end = sign.end(), len(text.rstrip(_AROUND))
    if start >= end:
        raise _nothing(text, sign[1], sign.start(1))
    if sign[1] and not signed:
        raise _refused("reader.sign", text, sign.start(1))
    read_kind = _read_length if kind is Kind.LENGTH else _read_angle
    count, found, decimals = read_kind(text, start, end, unit)
    if count >= LARGEST_COUNT:
        raise _refused("reader.too_large", text, start)
    return Quantity(-count if sign[1] in ("-", "−") else count, kind, found, text, decimals)


def decimal_at(text: str, at: int, end: int) -> tuple[int, int, int]:
    """The plain decimal number that begins at ``at``: all its digits as one integer, how many of them are decimals,
    and where it ends. Raises Refused at the character at fault, as ``read`` does.

    >>> decimal_at("12,50 N·m", 0, 9)
    (1250, 2, 5)
    """
    if at >= end:
        raise _refused("reader.empty", text, at)
    number = _DECIMAL.match(text, at, end)
    assert number is not None  # every part of the pattern may be empty
    return *_digits(text, number, end), number.end(3)


def unit_symbol(word: str, kind: Kind = Kind.LENGTH) -> str | None:
    """The unit of ``UNITS`` that a word or sign means, as a column of a file may name it; None where it means none."""
    return WORDS[kind].get(word.strip(_AROUND).lower())


def _refused(code: str, text: str, at: int, **parts: Part) -> Refused:
    return Refused(Reason(code, {"text": text, "at": at, **parts}))


def _nothing(text: str, sign: str, at: int) -> Refused:
    return _refused("reader.only_sign", text, at) if sign else _refused("reader.empty", text, 0)


# --- lengths --------------------------------------------------------------------------------------------------


def _read_length(text: str, start: int, end: int, unit: str) -> tuple[int, str, int | None]:
    fraction = _FRACTION.match(text, start, end)
    if fraction:
        return _read_fraction(text, fraction, end, unit)
    number = _DECIMAL.match(text, start, end)
    assert number is not None  # every part of the pattern may be empty
    digits, decimals = _digits(text, number, end)
    found = _length_unit(text, number.end(), end, unit, _as_point(number)) if number.end() < end else unit
    return _counted(text, number, digits, decimals, found), found, decimals


def _length_unit(text: str, at: int, end: int, unit: str, number: str) -> str:
    """The unit written from ``at`` to ``end``; "tenths" only where the entry is in inches."""
    rest = text[at:end]
    found = LENGTH_WORDS.get(rest.lower())
    if found is None:
        raise _unit_fault(text, at, end, Kind.LENGTH, number)
    if found == "tenth" and unit not in INCH_UNITS:
        raise _refused("reader.tenths", text, at, first=f"{number} × 0.0001 in", second=f"{number} × 0.1 mm")
    return found


def _read_fraction(text: str, fraction: re.Match[str], end: int, unit: str) -> tuple[int, str, None]:
    whole, over, under = int(fraction[1] or 0), int(fraction[2]), int(fraction[3])
    if under not in DENOMINATORS:
        raise _refused("reader.denominator", text, fraction.start(3), denominator=fraction[3])
    if not 0 < over < under:
        raise _fraction_fault(text, fraction, over, under)
    rest = fraction.end()
    while rest < end and text[rest] in _SPACES:
        rest += 1
    found = _length_unit(text, rest, end, unit, fraction[0]) if rest < end else unit
    if found != "in":
        raise _refused("reader.fraction_not_inch", text, fraction.start(2), unit=found)
    return (whole * under + over) * (UNITS["in"].count // under), found, None


def _fraction_fault(text: str, fraction: re.Match[str], over: int, under: int) -> Refused:
    """``11/8`` is 1 3/8, or 1 1/8 with its space lost; both are told."""
    at = fraction.start(2)
    if fraction[1] or over % under == 0:
        return _refused("reader.numerator", text, at, numerator=fraction[2], denominator=fraction[3])
    first = f"{over // under} {over % under}/{under}"
    lost = fraction[2][1:]
    if lost and 0 < int(lost) < under:
        return _refused("reader.space_lost", text, at, first=first, second=f"{fraction[2][0]} {lost}/{under}")
    return _refused("reader.improper", text, at, first=first)


# --- angles ---------------------------------------------------------------------------------------------------


def _read_angle(text: str, start: int, end: int, unit: str) -> tuple[int, str, int | None]:
    count, above, at = 0, "", start
    while True:
        number = _DECIMAL.match(text, at, end)
        assert number is not None  # every part of the pattern may be empty
        digits, decimals = _digits(text, number, end)
        mark = _ANGLE_MARK.match(text, number.end(), end)
        assert mark is not None
        found = _angle_unit(text, mark, end, number) if mark[1] else unit
        if mark.end() < end or above:
            _check_order(text, number, mark, above, found)
        count += _counted(text, number, digits, decimals, found)
        at = mark.end()
        if at >= end:
            return (count, "°", None) if above else (count, found, decimals)
        if number[2]:
            raise _refused("reader.only_last_has_decimals", text, number.start(2))
        above = found


def _angle_unit(text: str, mark: re.Match[str], end: int, number: re.Match[str]) -> str:
    found = ANGLE_WORDS.get(mark[1].lower())
    if found is None:
        raise _unit_fault(text, mark.start(), end, Kind.ANGLE, _as_point(number))
    return found


def _check_order(text: str, number: re.Match[str], mark: re.Match[str], above: str, found: str) -> None:
    """Of several parts each is marked, smaller than the one before, and under sixty of it."""
    if not mark[1]:
        code = "reader.mark_missing" if above else "reader.two_numbers"
        raise _refused(code, text, number.start() if above else mark.end())
    if above and UNITS[found].count >= UNITS[above].count:
        raise _refused("reader.order", text, mark.start())
    if above and int(number[1] or 0) >= UNITS[above].count // UNITS[found].count:
        raise _refused("reader.sixty", text, number.start(), number=number[1])


# --- digits ---------------------------------------------------------------------------------------------------


def _digits(text: str, number: re.Match[str], end: int) -> tuple[int, int]:
    """All digits as one integer, and how many of them are decimals."""
    whole, mark, part = number.groups()
    if not whole and not part:
        raise _no_number(text, number.start(), end)
    after = number.end(3)
    if mark and after < end and text[after] in ".,":
        raise _refused("reader.two_marks", text, after)
    if mark == ",":
        _check_comma(text, number, whole, part)
    return int(whole + part), len(part)


def _check_comma(text: str, number: re.Match[str], whole: str, part: str) -> None:
    """A comma before exactly three digits may group thousands, unless no such group could stand before it."""
    if not part:
        raise _refused("reader.comma_ends", text, number.start(2))
    if len(part) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
        raise _refused("reader.comma", text, number.start(2), first=f"{whole}.{part}", second=f"{whole}{part}")


def _counted(text: str, number: re.Match[str], digits: int, decimals: int, unit: str) -> int:
    """Digits and decimals of a unit as a count of steps; refused where the step does not hold the last of them."""
    scale: int = 10**decimals
    count, rest = divmod(digits * UNITS[unit].count, scale)
    if not rest:
        return count
    held = 0
    while digits // 10 ** (decimals - held - 1) * UNITS[unit].count % 10 ** (held + 1) == 0:
        held += 1
    raise _refused("reader.too_fine", text, number.start(3) + held, decimals=held, unit=unit)


def _as_point(number: re.Match[str]) -> str:
    return f"{number[1] or 0}.{number[3]}" if number[3] else number[1]


# --- what is the matter ---------------------------------------------------------------------------------------


def _no_number(text: str, at: int, end: int) -> Refused:
    if text[at] in ".,":
        return _refused("reader.no_digits", text, at)
    word = _word(text, at, end)
    if any(word.lower() in words for words in WORDS.values()):
        return _refused("reader.no_number", text, at, word=word)
    return _refused("reader.not_a_number" if word[0].isalpha() else "reader.character", text, at, word=word)


def _unit_fault(text: str, at: int, end: int, kind: Kind, number: str) -> Refused:
    """Why what follows a number is no unit of ``kind``."""
    rest = text[at:end].lower()
    if kind is Kind.LENGTH and rest in DOUBTFUL:
        code, first, second = DOUBTFUL[rest]
        return _refused(code, text, at, first=first.format(number), second=second.format(number))
    if _EXPONENT.match(text, at, end):
        return _refused("reader.exponent", text, at)
    line = _OVER_LINE.match(text, at, end)
    if line:
        return _refused("reader.fraction_unfinished", text, line.end() - 1)
    if rest[0] in "0123456789":
        return _refused("reader.two_numbers", text, at)
    return _word_fault(text, at, end, kind)


def _word_fault(text: str, at: int, end: int, kind: Kind) -> Refused:
    word = _word(text, at, end)
    if word.lower() in WORDS[kind]:
        return _refused("reader.more_after", text, at + len(word), word=word)
    if any(word.lower() in words for words in WORDS.values()):
        return _refused(f"reader.not_{kind}", text, at, word=word)
    return _refused("reader.unknown_unit" if word[0].isalpha() else "reader.character", text, at, word=word)


def _word(text: str, at: int, end: int) -> str:
    found = _WORD.match(text, at, end)
    assert found is not None  # there is at least one character
    return found[0]
