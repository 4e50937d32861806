"""Why a first article is due: codes of ``resources/tables/causes.csv``, or what somebody wrote."""

from __future__ import annotations

from functools import cache

from inspection.standards.tables import rows
from inspection.words.say import word

BETWEEN = "; "


@cache
def causes() -> tuple[str, ...]:
    """Every code, in the order of the form."""
    return tuple(row["code"] for row in rows("causes"))


def joined(codes: set[str], free: str = "") -> str:
    """The head's cause from the codes that hold and what was written beside them."""
    return BETWEEN.join((*(code for code in causes() if code in codes), *filter(None, (free.strip(),))))


def parted(cause: str) -> tuple[set[str], str]:
    """The codes that a head's cause holds, and what was written beside them.

    >>> parted("new_part; tooling; first of the year") == ({"new_part", "tooling"}, "first of the year")
    True
    """
    pieces = [piece.strip() for piece in cause.split(";") if piece.strip()]
    known = [piece for piece in pieces if piece in causes()]
    return set(known), BETWEEN.join(piece for piece in pieces if piece not in causes())


def read_cause(text: str, language: str = "en") -> str:
    """The head's cause from reasons by code or by their words, parted by semicolons; what is neither stays as written.

    >>> read_cause("New part; change of tooling; mould moved")
    'new_part; tooling; mould moved'
    """
    named = {word(f"cause.{code}", language).casefold(): code for code in causes()} | {code: code for code in causes()}
    pieces = [piece.strip() for piece in text.split(";") if piece.strip()]
    codes = {named[piece.casefold()] for piece in pieces if piece.casefold() in named}
    return joined(codes, BETWEEN.join(piece for piece in pieces if piece.casefold() not in named))


def cause_text(cause: str, language: str = "en") -> str:
    """The cause in words."""
    codes, free = parted(cause)
    named = [word(f"cause.{code}", language) for code in causes() if code in codes]
    return BETWEEN.join((*named, *filter(None, (free,))))
