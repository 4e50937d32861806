"""Number formats: the text that a numeric cell shows, where its format fixes the decimals, and nothing else.

Format codes are those of ECMA-376 part 1, 18.8.30 (numFmt) and 18.8.31 (numFmts); the codes of built-in numbers are
listed there.
"""

from __future__ import annotations

import re
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache

from msgspec import Struct


class Sense(StrEnum):
    """What a format makes of a number."""

    FIXED = "fixed"  # its decimals stand in the format
    GENERAL = "general"
    DATE = "date"
    TEXT = "text"
    FRACTION = "fraction"
    OTHER = "other"


class Form(Struct, frozen=True):
    """One section of a format: what it makes of a number, and for ``FIXED`` the digits and the texts about them."""

    sense: Sense
    before: str = ""
    whole: int = 0  # digits in front of the point at least
    decimals: int = 0
    after: str = ""


#: Built-in formats whose code the file does not hold.
BUILT_IN = {0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 49: "@"} | {
    **dict.fromkeys((12, 13), "# ?/?"),
    **dict.fromkeys((*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)), "yyyy-mm-dd"),
}
UNKNOWN = "?"
_TOKEN = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|_(?P<gap>.)|\*(?P<filled>.)|\[(?P<bracket>[^\]]*)\]'
    r"|(?P<general>General)|(?P<digits>[0#?][0#?.,]*|\.[0#?]+)|(?P<other>.)",
    re.IGNORECASE | re.DOTALL,
)
_DIGITS = re.compile(r"(?:#,##)?#*(?P<whole>0*)(?:\.(?P<decimals>0+))?")
_COLOUR = re.compile(r"black|blue|cyan|green|magenta|red|white|yellow|colou?r ?\d+", re.IGNORECASE)
_ELAPSED = re.compile(r"h+|m+|s+", re.IGNORECASE)
_NUMBER = re.compile(r"[+-]?([0-9]{1,400}(\.[0-9]{0,400})?|\.[0-9]{1,400})([eE][+-]?[0-9]{1,3})?")
#: A worksheet keeps no number longer than this.
_MOST_DIGITS = 40


@lru_cache(maxsize=4_096)
def sections(code: str) -> tuple[Form, ...]:
    """The sections of a format code: for positive numbers, negative ones, nothing, and text."""
    return tuple(_form(section) for section in _split(code[:1_000]))


def _split(code: str) -> list[str]:
    found = [""]
    for token in _TOKEN.finditer(code):
        if token["other"] == ";":
            found.append("")
        else:
            found[-1] += token[0]
    return found


def _form(section: str) -> Form:
    before, after, digits = "", "", ""
    for token in _TOKEN.finditer(section):
        kind, text = str(token.lastgroup), token[str(token.lastgroup)]
        if kind == "digits" and not digits:
            digits = text
            continue
        literal = _literal(kind, text, section)
        if isinstance(literal, Sense):
            return Form(literal)
        if digits:
            after += literal
        else:
            before += literal
    found = _DIGITS.fullmatch(digits)
    if not digits or found is None or not (found["whole"] or found["decimals"]):
        return Form(Sense.OTHER)
    return Form(Sense.FIXED, before, len(found["whole"]), len(found["decimals"] or ""), after)


def _literal(kind: str, text: str, section: str) -> str | Sense:
    """What a token beside the digits shows, or what it makes of the whole section."""
    if kind in ("quoted", "escaped"):
        return text
    if kind == "gap":
        return " "
    if kind == "filled":
        return ""
    if kind == "bracket":
        return _bracket(text)
    if kind == "general":
        return Sense.GENERAL
    if kind == "digits":
        return Sense.FRACTION if "/" in section else Sense.OTHER
    return _bare(text)


def _bracket(text: str) -> str | Sense:
    if text.startswith("$"):
        return text[1:].partition("-")[0]
    if _ELAPSED.fullmatch(text):
        return Sense.DATE
    return "" if _COLOUR.fullmatch(text) else Sense.OTHER


def _bare(text: str) -> str | Sense:
    """A character that stands for itself, or for more than itself."""
    if text.casefold() in "ymdhs":
        return Sense.DATE
    if text == "@":
        return Sense.TEXT
    if text == "/":
        return Sense.FRACTION
    return text if text in " $-+():!^&'~{}<>=" or (not text.isascii() and not text.isalpha()) else Sense.OTHER


def number_of(raw: str) -> Decimal | None:
    """The number that a cell's characters stand for: the shortest decimal that names its binary value; None for
    characters that are no such number."""
    if not _NUMBER.fullmatch(raw):
        return None
    value = float(raw)
    return Decimal(repr(value)) if abs(value) < 1e15 else None


def shown(code: str, raw: str) -> str | Sense | None:
    """What a numeric cell shows under a format whose decimals are fixed, with a point and without thousands' marks.

    What the format is otherwise comes back as its ``Sense``; None if the number has more decimals than are shown, so
    that taking it would round it. ``raw`` must be a number by ``number_of``.
    """
    number = number_of(raw)
    assert number is not None
    forms = sections(code)
    place = 1 if number < 0 else 2 if number == 0 else 0
    form = forms[place] if len(forms) > place and len(forms) > 1 else forms[0]
    if form.sense is not Sense.FIXED:
        return form.sense if form.sense is not Sense.OTHER or len(forms) == 1 else _whole(forms)
    negative = number < 0
    if form is not forms[0] and (form.decimals != forms[0].decimals or (negative and "-" not in form.before)):
        return Sense.OTHER
    return _digits(form, number, signed=negative and form is forms[0])


def _whole(forms: tuple[Form, ...]) -> Sense:
    return forms[0].sense if forms[0].sense is not Sense.FIXED else Sense.OTHER


def _digits(form: Form, number: Decimal, *, signed: bool) -> str | None:
    step = Decimal(1).scaleb(-form.decimals)
    if form.decimals > _MOST_DIGITS or number % step != 0:
        return None
    whole, _, decimals = f"{abs(number):.{form.decimals}f}".partition(".")
    whole = whole.lstrip("0").rjust(form.whole, "0")
    text = f"{whole}.{decimals}" if decimals else whole
    return f"{'-' if signed else ''}{form.before}{text}{form.after}".strip()


def masks_text(code: str) -> bool:
    """Whether a format shows something else than the text that a cell holds (a fourth section without the text)."""
    forms = _split(code[:1_000])
    return len(forms) > 3 and "@" not in forms[3]
