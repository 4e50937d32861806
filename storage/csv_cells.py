"""Rows of texts as a csv file in which no text becomes a formula, and the texts again.

RFC 4180 with commas, CRLF and UTF-8 behind a byte order mark, because spreadsheet programs otherwise take the file for
a national code page and spoil ⌀, ± and µ.

Where a spreadsheet program works out what it takes for a formula, a cell does so that begins with = + - @ (also their
full-width forms), whatever spaces or quotes it drops in front. Quoting keeps a field together only for a program that
splits at commas. In much of the world csv is split at semicolons, and an import can be told tabs or bars; quotes inside
a line then protect nothing, not even against line ends. So an apostrophe goes in front of a text that begins like a
formula, and behind every semicolon, tab, bar and line end in it after which a cell would begin like one. ``unguarded``
takes away exactly those. Not covered is a file split at spaces or another sign that no program proposes for csv.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from io import StringIO

NUMBER = re.compile(r"-?\d+(\.\d+)?")
#: What a program may drop in front of a formula: spaces of all kinds but those that end a cell, signs that show as
#: nothing, and quotes.
_DROPPED = r'(?:(?![\t\n\v\f\r\x1c-\x1e\x85\u2028\u2029])\s|["\u00ad\u180e\u200b-\u200f\u2060\ufeff])*'
_ENDS = r"[;|\t\n\v\f\r\x1c-\x1e\x85\u2028\u2029]"
_STARTS = "=+\\-@＝＋－＠"
#: Before what an apostrophe is put: a formula's start, or an apostrophe, so that one that was typed stays.
_INSIDE = re.compile(rf"({_ENDS})(?='|{_DROPPED}[{_STARTS}])")
_IN_FRONT = re.compile(rf"'|{_DROPPED}[{_STARTS}\t\r\n]")
_GUARD_INSIDE = re.compile(rf"({_ENDS})'(?='|{_DROPPED}[{_STARTS}])")


def csv_of(rows: Iterable[Sequence[str]]) -> bytes:
    """The csv file of rows of texts, each guarded.

    Numbers stay numbers but in the first column: a program that splits at semicolons has the whole row in that cell,
    and a row that begins with a minus is no number.
    """
    out = StringIO(newline="")
    writer = csv.writer(out)
    writer.writerows([_text(text) if not place else guarded(text) for place, text in enumerate(row)] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def number_text(text: str) -> str:
    """A number as a machine reads it, of one that people read with its sign; any other text as it is.

    >>> number_text("−0.0015"), number_text("+0.0015"), number_text("−")
    ('-0.0015', '0.0015', '−')
    """
    plainly = text.replace("−", "-").removeprefix("+")
    return plainly if NUMBER.fullmatch(plainly) else text


def guarded(text: str) -> str:
    """A text that no spreadsheet program takes for a formula, nor a part of it; a plain number as it is.

    >>> guarded("=2+2"), guarded("-0.0200"), guarded("+.0005/-0"), guarded("a; =1")
    ("'=2+2", '-0.0200', "'+.0005/-0", "a;' =1")
    """
    return text if NUMBER.fullmatch(text) else _text(text)


def unguarded(text: str) -> str:
    """What ``guarded`` was given; a text that it cannot have given, as it is.

    >>> unguarded("'=2+2"), unguarded("a;' =1"), unguarded("'A' SIDE")
    ('=2+2', 'a; =1', "'A' SIDE")
    """
    front = text.startswith("'") and _IN_FRONT.match(text, 1)
    return _GUARD_INSIDE.sub(r"\1", text[1:] if front else text)


def _text(text: str) -> str:
    inside = _INSIDE.sub(r"\1'", text)
    return f"'{inside}" if _IN_FRONT.match(text) else inside
