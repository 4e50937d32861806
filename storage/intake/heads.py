"""The heads that columns are known by, and the marks of lines in front of a table."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from itertools import islice

from inspection.reasons import Reason

HEAD_MARK = "#"
#: Lines in front of a table.
MOST_IN_FRONT = 500
#: More columns than this are not looked at as heads.
MOST_HEADS = 200

Names = Mapping[str, tuple[str, ...]]
"""Fields, each with the heads it is known by; the first is the one that templates write."""


@cache
def names(kind: str) -> Names:
    """The heads that fields of ``kind`` ("features", "readings", "head") are known by, in template order."""
    table = tomllib.loads((files("resources") / "intake" / "heads.toml").read_text("utf-8"))
    return {field: tuple(known) for field, known in table[kind].items()}


def plain(head: str) -> str:
    """A head without case, punctuation and double spaces, to be looked up."""
    return " ".join(re.sub(r"[^\w×]|_", " ", unicodedata.normalize("NFKC", head).casefold()).split())


def field_of(head: str, known: Names) -> str | None:
    """The field that a head names, or None."""
    wanted = plain(head)
    return next((field for field, heads in known.items() if wanted in map(plain, heads)), None)


def known_among(cells: Iterable[str], known: Names) -> set[str]:
    """The fields that some of a row's texts are heads of."""
    return {field for field in (field_of(cell, known) for cell in islice(cells, MOST_HEADS)) if field is not None}


def unknown_head(written: str, known: Names) -> Reason:
    """What is said of a head that names no field."""
    heads = {plain(head): field for field, heads in known.items() for head in heads}
    near = get_close_matches(plain(written), heads, n=1)
    shown = written[:60]
    if near:
        return Reason("intake.head_unknown_near", {"head": shown, "near": known[heads[near[0]]][0]})
    return Reason("intake.head_unknown", {"head": shown, "heads": ", ".join(heads[0] for heads in known.values())})


def is_unmarked(cells: Mapping[int, str], known: Names) -> bool:
    """Whether a row of a csv file is a name with its value in front of the table that has lost its mark."""
    return 0 < len(cells) <= 2 and min(cells) == 0 and not known_among(cells.values(), known)


def in_front(cells: Mapping[int, str]) -> bool:
    """Whether a row's filled cells stand in front of the table: none, or the first marked as a head line."""
    return not cells or cells[min(cells)].startswith(HEAD_MARK)
