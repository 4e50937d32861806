"""Numbers of a plan under way: splitting a count, joining it again, renumbering and putting in order.

Numbers are labels: whatever is done to them, each identity stays with its row.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.callout import count_of
from inspection.drawing.editing import Draft, DraftRow
from inspection.drawing.numbers import natural_key, split_count
from inspection.drawing.rows import KINDS, ONE_OF_COUNT
from inspection.reasons import Reason, Refused

_LEADING = re.compile(r"[0-9]+")
#: Fields in which the places of one count may differ.
_OWN = ("number", "place", "count")


def count_asked(row: DraftRow) -> int:
    """How many times a row occurs, by its count or its callout; 1 for one place of a count, or if that is unclear."""
    written = row.text("count").strip()
    if ONE_OF_COUNT.fullmatch(written):
        return 1
    if written.isdecimal() and len(written) <= 3:
        return max(int(written), 1) if int(written) > 1 else _count_of_callout(row)
    return _count_of_callout(row)


def _count_of_callout(row: DraftRow) -> int:
    kind = KINDS.get(" ".join(row.text("kind").casefold().split()))
    try:
        return count_of(row.text("requirement"), kind)[0]
    except Refused:
        return 1


def split(draft: Draft, at: int) -> Draft:
    """Give each place of a count a row of its own: 7 with a count of 4 becomes 7.1 … 7.4, and 7.1 keeps the identity.

    Raises Refused where the row occurs once, or names other than as many places as it occurs.
    """
    row = draft.rows[at]
    number, count = row.text("number").strip(), count_asked(row)
    if count < 2:
        raise Refused(Reason("plan.split_one", {"number": number}))
    named = tuple(place for place in (text.strip() for text in row.text("place").split(";")) if place)
    if named and len(named) != count:
        raise Refused(Reason("plan.split_places", {"number": number, "n": len(named), "count": count}))
    made = tuple(
        DraftRow({**row.cells, "number": label, "place": place, "count": f"{n} of {count}"}, row.identity * (n == 1))
        for n, (label, place) in enumerate(split_count(number, count, named), 1)
    )
    return replace(draft, rows=(*draft.rows[:at], *made, *draft.rows[at + 1 :]))


class Family(Struct, frozen=True):
    """The places of one split count: the number they share, how many they are, and the rows they stand in."""

    number: str
    count: int
    rows: tuple[int, ...]


def family(draft: Draft, at: int) -> Family | None:
    """The family of a row, None for a row that is no place of a count."""
    mine = _family_name(draft.rows[at])
    if mine is None:
        return None
    rows = tuple(place for place, row in enumerate(draft.rows) if _family_name(row) == mine)
    return Family(*mine, rows)


def _family_name(row: DraftRow) -> tuple[str, int] | None:
    found = ONE_OF_COUNT.fullmatch(row.text("count").strip())
    return (row.text("number").strip().rpartition(".")[0], int(found["count"])) if found else None


def join(draft: Draft, at: int, measured: Collection[str]) -> Draft:
    """Make one row of the places of a count again, where the first of them stands and with its identity.

    ``measured`` are the identities that any sheet holds readings of. Raises Refused where one of these is among the
    places, where a place is missing, or where they ask for different things.
    """
    found = family(draft, at)
    if found is None:
        raise Refused(Reason("plan.join_none", {"number": draft.rows[at].text("number")}))
    rows = sorted((draft.rows[place] for place in found.rows), key=lambda row: natural_key(row.text("number")))
    faults = [Reason("plan.join_measured", {"number": row.text("number")}) for row in rows if row.identity in measured]
    if len(rows) != found.count:
        faults.append(Reason("plan.join_missing", {"number": found.number, "n": len(rows), "count": found.count}))
    faults += [
        Reason("plan.join_differs", {"number": row.text("number"), "first": rows[0].text("number")})
        for row in rows[1:]
        if _shared(row) != _shared(rows[0])
    ]
    if faults:
        raise Refused(*faults)
    cells = {**rows[0].cells, "number": found.number, "count": str(found.count), "place": _places(rows)}
    joined = DraftRow({field: text for field, text in cells.items() if text}, rows[0].identity)
    first, gone = min(found.rows), set(found.rows)
    kept = (joined if place == first else row for place, row in enumerate(draft.rows) if place not in gone - {first})
    return replace(draft, rows=tuple(kept))


def _shared(row: DraftRow) -> dict[str, str]:
    return {field: text for field, text in row.cells.items() if field not in _OWN}


def _places(rows: Sequence[DraftRow]) -> str:
    named = [row.text("place").strip() for row in rows]
    return "" if named == [str(n) for n in range(1, len(rows) + 1)] else "; ".join(named)


# --- renumbering ----------------------------------------------------------------------------------------------


def renumber(draft: Draft, at: int, number: str) -> Draft:
    """Another number for one row; the places of a split count change together, each with its own end."""
    found = family(draft, at)
    if found is None:
        return _numbered(draft, {at: number})
    stem = number.rpartition(".")[0] if _ends_alike(number, draft.rows[at]) else number
    return _numbered(draft, {place: _renamed(draft.rows[place], stem) for place in found.rows})


def _ends_alike(number: str, row: DraftRow) -> bool:
    return "." in number and number.rpartition(".")[2] == row.text("number").rpartition(".")[2]


def _renamed(row: DraftRow, stem: str) -> str:
    return f"{stem}.{row.text('number').rpartition('.')[2]}"


def shift(draft: Draft, rows: Iterable[int], by: int) -> Draft:
    """Add ``by`` to the whole number that each of these rows' numbers begins with: 7.9 becomes 8.9, 12A 13A; a number
    that begins with a letter stays.

    Raises Refused where a number would fall below 1, or meet that of a row that is not shifted.
    """
    changed: dict[int, str] = {}
    for place in rows:
        number = draft.rows[place].text("number").strip()
        if found := _LEADING.match(number):
            if int(found[0]) + by < 1:
                raise Refused(Reason("plan.shift_below", {"number": number, "by": by}))
            changed[place] = f"{int(found[0]) + by}{number[found.end() :]}"
    standing = {row.text("number").strip() for place, row in enumerate(draft.rows) if place not in changed}
    met = sorted(set(changed.values()) & standing - {""}, key=natural_key)
    if met:
        raise Refused(Reason("plan.shift_meets", {"number": met[0]}))
    return _numbered(draft, changed)


def number_in_order(draft: Draft) -> Draft:
    """Give the numbers that there are out anew, in their natural order from the first row down: gaps and suffixes
    stay, 7.9 comes before 7.10. The places of a split count stay together under one of the numbers."""
    units: dict[tuple[str, int] | int, list[int]] = {}
    for place, row in enumerate(draft.rows):
        if not row.blank:
            units.setdefault(_family_name(row) or place, []).append(place)
    names = [name[0] if isinstance(name, tuple) else draft.rows[name].text("number").strip() for name in units]
    changed: dict[int, str] = {}
    for (name, places), number in zip(units.items(), sorted(names, key=natural_key), strict=True):
        for place in places:
            changed[place] = _renamed(draft.rows[place], number) if isinstance(name, tuple) else number
    return _numbered(draft, changed)


def sort_by_number(draft: Draft) -> Draft:
    """Put the rows in the natural order of their numbers, each with its number; rows without one stay at the end."""

    def key(row: DraftRow) -> tuple[bool, object]:
        number = row.text("number").strip()
        return not number, natural_key(number)

    rows = tuple(sorted(draft.rows, key=key))
    return draft if rows == draft.rows else replace(draft, rows=rows)


def _numbered(draft: Draft, numbers: dict[int, str]) -> Draft:
    rows = tuple(
        replace(row, cells={**row.cells, "number": numbers[place]})
        if place in numbers and numbers[place] != row.text("number")
        else row
        for place, row in enumerate(draft.rows)
    )
    return draft if rows == draft.rows else replace(draft, rows=rows)
