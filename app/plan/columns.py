"""The columns of the plan's table, and which stand side by side: a wide table is turned, never pushed sideways."""

from __future__ import annotations

from inspection.drawing.characteristic import Condition, FeatureKind
from inspection.drawing.editing import Draft
from inspection.drawing.rows import FIELDS

#: What a row reads as; nothing is typed there.
READS = "reads"
#: Columns that stand on every page, then the others in the order they are typed in.
ALWAYS = ("number", "kind", "requirement", READS)
TURNED = (
    "name", "set_up", "sheet", "zone", "count", "place", "key", "condition", "note",
    "unit", "places", "repeats", "sampling", "attribute_allowed", "blind", "tooling",
    "reach", "corner_radius", "wall", "bore_length", "soft", "band", "shorter_side",
)  # fmt: skip
COLUMNS = (*ALWAYS, *TURNED)
NUMBER, REQUIREMENT, READ_BACK = (COLUMNS.index(name) for name in ("number", "requirement", READS))
assert set(COLUMNS) == {*FIELDS, READS}

#: Least widths in logical pixels at 100 %, and what share each takes of the room beyond.
LEAST = {
    "number": 64, "kind": 138, "requirement": 190, READS: 170, "name": 140, "set_up": 84, "sheet": 50, "zone": 50,
    "count": 64, "place": 90, "key": 44, "condition": 130, "note": 130, "unit": 50, "places": 120, "repeats": 66,
    "sampling": 82, "attribute_allowed": 80, "blind": 58, "tooling": 90, "reach": 70, "corner_radius": 72, "wall": 74,
    "bore_length": 74, "soft": 60, "band": 74, "shorter_side": 82,
}  # fmt: skip
SHARE = {"kind": 2, "requirement": 10, READS: 6, "name": 8, "place": 4, "note": 6, "places": 4, "tooling": 4}

_YES = ("yes", "no")
_WORDS: dict[str, tuple[str, ...]] = {
    "kind": tuple(map(str, FeatureKind)),
    "condition": tuple(str(condition) for condition in Condition if condition),
    "unit": ("in", "mm"),
    "sampling": ("all", "first-last"),
    "attribute_allowed": _YES,
    "blind": _YES,
    "soft": _YES,
}


def pages(room: float) -> tuple[tuple[str, ...], ...]:
    """The pages of columns for ``room`` logical pixels: on each, those that always stand and as many others as fit."""
    beside = room - sum(LEAST[name] for name in ALWAYS)
    made: list[list[str]] = [[]]
    used = 0
    for name in TURNED:
        if made[-1] and used + LEAST[name] > beside:
            made.append([])
            used = 0
        made[-1].append(name)
        used += LEAST[name]
    return tuple((*ALWAYS, *page) for page in made)


def widths(page: tuple[str, ...], room: float) -> dict[str, float]:
    """The width of every column of a page that fills ``room``; shrunk alike where the room is too small."""
    least = sum(LEAST[name] for name in page)
    beyond = room - least
    if beyond < 0:
        return {name: LEAST[name] * room / least for name in page}
    shares = sum(SHARE.get(name, 0) for name in page)
    return {name: LEAST[name] + beyond * SHARE.get(name, 0) / shares for name in page}


def known_words(field: str, draft: Draft) -> tuple[str, ...]:
    """The words that a cell may be completed to: those it knows, or what other rows say there."""
    if field in _WORDS:
        return _WORDS[field]
    if field in ("set_up", "name", "sheet", "tooling"):
        return tuple(dict.fromkeys(text for row in draft.rows if (text := row.text(field))))
    return ()


def completions(typed: str, words: tuple[str, ...]) -> tuple[str, ...]:
    """The words that begin with what was typed, in their order; none for nothing."""
    begun = typed.casefold()
    return tuple(word for word in words if word.casefold().startswith(begun)) if begun else ()
