"""A plan under way: rows of cells as typed, each with its permanent identity, and all that may be done to them.

Every operation gives a new draft and leaves the old one as it was, so that undo is keeping the old one. An identity
never changes and never moves to another requirement: it goes with its row when rows are moved or renumbered, it is gone
with a row that is deleted, and what is pasted is new unless it says the same number or the same requirement as the row
that it is pasted over.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.editing_text import Block
from inspection.drawing.plan import Part
from inspection.drawing.rows import FIELDS
from inspection.reasons import Reason, Refused

#: More rows than any plan has.
MOST_ROWS = 10_000
#: Fields of the head that name part and drawing.
PART_FIELDS = Part.__struct_fields__
#: Fields of the head by which the plan is counted against the drawing.
COUNTED_FIELDS = ("last_balloon", "unused", "drawing_notes")


class DraftRow(Struct, frozen=True, omit_defaults=True):
    """One row: its filled ``cells`` by field (``FIELDS``) and its permanent ``identity``, "" for a new one."""

    cells: dict[str, str] = {}
    identity: str = ""

    def text(self, field: str) -> str:
        """A cell as typed, "" if it is empty."""
        return self.cells.get(field, "")

    @property
    def blank(self) -> bool:
        """Whether nothing stands in the row."""
        return not any(text.strip() for text in self.cells.values())


class Draft(Struct, frozen=True, omit_defaults=True):
    """A plan as typed so far.

    ``plan`` is the issue that it began from and ``part_identity`` the part's, both "" for a new part. ``head`` holds
    the fields of the part (``PART_FIELDS``), of the title block (``inspection.drawing.title_block``) and those that
    the plan is counted by (``COUNTED_FIELDS``), all as typed.
    """

    head: dict[str, str] = {}
    rows: tuple[DraftRow, ...] = ()
    part_identity: str = ""
    plan: str = ""


# --- cells and rows -------------------------------------------------------------------------------------------


def type_head(draft: Draft, field: str, text: str) -> Draft:
    """Another text in a field of the head."""
    return replace(draft, head=_filled(draft.head, {field: text}))


def type_cells(draft: Draft, row: int, cells: Mapping[str, str]) -> Draft:
    """Other texts in cells of one row; below the last row a new one begins there."""
    if row >= len(draft.rows):
        return _with_rows(draft, (*draft.rows, DraftRow(_filled({}, cells))))
    return _change(draft, {row: _typed(draft.rows[row], cells)})


def fill(draft: Draft, rows: Iterable[int], field: str, text: str) -> Draft:
    """The same text in one cell of several rows; places below the last row are passed over, as in what follows."""
    return _change(draft, {row: _typed(draft.rows[row], {field: text}) for row in _there(draft, rows)})


def clear(draft: Draft, rows: Iterable[int], fields: Iterable[str]) -> Draft:
    """Empty cells; the rows stay."""
    nothing = dict.fromkeys(fields, "")
    return _change(draft, {row: _typed(draft.rows[row], nothing) for row in _there(draft, rows)})


def insert(draft: Draft, at: int, cells: Mapping[str, str] | None = None) -> Draft:
    """A new row before the one at ``at``."""
    return _with_rows(draft, (*draft.rows[:at], DraftRow(_filled({}, cells or {})), *draft.rows[at:]))


def delete(draft: Draft, rows: Iterable[int]) -> Draft:
    """Take rows out; their identities are not used again."""
    gone = set(rows)
    return _with_rows(draft, tuple(row for place, row in enumerate(draft.rows) if place not in gone))


def move(draft: Draft, rows: Iterable[int], to: int) -> Draft:
    """Put rows, in their order, in front of the row that now stands at ``to`` (after the last one at the end)."""
    chosen = sorted(_there(draft, rows))
    taken = set(chosen)
    before = [row for place, row in enumerate(draft.rows[:to]) if place not in taken]
    after = [row for place, row in enumerate(draft.rows[to:], to) if place not in taken]
    return _with_rows(draft, (*before, *(draft.rows[place] for place in chosen), *after))


def _there(draft: Draft, rows: Iterable[int]) -> set[int]:
    return {row for row in rows if row < len(draft.rows)}


def _with_rows(draft: Draft, rows: tuple[DraftRow, ...]) -> Draft:
    if len(rows) > MOST_ROWS:
        raise Refused(Reason("plan.too_many_rows", {"most": MOST_ROWS}))
    return replace(draft, rows=rows)


def _change(draft: Draft, changed: Mapping[int, DraftRow]) -> Draft:
    if all(draft.rows[place] is row for place, row in changed.items()):
        return draft
    return replace(draft, rows=tuple(changed.get(place, row) for place, row in enumerate(draft.rows)))


def _typed(row: DraftRow, cells: Mapping[str, str]) -> DraftRow:
    if all(row.text(field) == text for field, text in cells.items()):
        return row
    return replace(row, cells=_filled(row.cells, cells))


def _filled(cells: Mapping[str, str], more: Mapping[str, str]) -> dict[str, str]:
    """Cells with other texts in some; empty ones are left out, and the order is that of the fields."""
    both = {**cells, **more}
    known = [field for field in FIELDS if field in both]
    return {field: both[field] for field in (*known, *(both.keys() - set(known))) if both[field]}


# --- blocks ---------------------------------------------------------------------------------------------------


class Pasted(Struct, frozen=True):
    """What a paste came to: the draft, the rows that it filled, the fields it filled in order, and the heads of columns
    that were left out because no field is known by them."""

    draft: Draft
    rows: tuple[int, ...]
    fields: tuple[str, ...]
    left_out: tuple[str, ...] = ()


def copied(draft: Draft, rows: Iterable[int], fields: Sequence[str]) -> Block:
    """The cells of some rows and fields as a block."""
    return tuple(tuple(draft.rows[row].text(field) for field in fields) for row in rows if row < len(draft.rows))


def paste(
    draft: Draft,
    block: Block,
    rows: Sequence[int],
    fields: Sequence[str],
    field_of: Callable[[str], str | None] = lambda _head: None,
) -> Pasted:
    """Put a block into ``rows`` (existing ones from the cell pasted at, downwards) and ``fields`` (from that cell to
    the right); what is longer makes new rows at the end, what is wider is refused.

    A block whose first row consists of heads (``field_of`` knows them) is laid under these, wherever it is pasted.
    A single cell goes into every one of ``rows`` that the caller chose to fill: see ``fill``.

    Raises Refused ``plan.paste_wide`` or ``plan.too_many_rows``.
    """
    columns, left_out = _headed(block, field_of)
    lines = block[1:] if columns else block
    if not columns:
        width = max(map(len, lines), default=0)
        if width > len(fields):
            raise Refused(Reason("plan.paste_wide", {"n": width, "room": len(fields)}))
        columns = dict(enumerate(fields[:width]))
    texts = [{field: line[i] if i < len(line) else "" for i, field in columns.items()} for line in lines]
    over = list(rows[: len(texts)])
    laid = _laid([draft.rows[row] for row in over], texts)
    changed = _change(draft, dict(zip(over, laid, strict=True)))
    new = tuple(DraftRow(_filled({}, cells)) for cells in texts[len(over) :])
    made = _with_rows(changed, (*changed.rows, *new))
    places = (*over, *range(len(draft.rows), len(made.rows)))
    return Pasted(made, places, tuple(columns.values()), left_out)


def _headed(block: Block, field_of: Callable[[str], str | None]) -> tuple[dict[int, str], tuple[str, ...]]:
    """The fields of a block's columns if its first row consists of heads, and the heads that are not known."""
    heads = [head.strip() for head in block[0]] if block else []
    found = {i: field for i, head in enumerate(heads) if head and (field := field_of(head))}
    unknown = tuple(head for i, head in enumerate(heads) if head and i not in found)
    several = len(found) >= 2 and len(set(found.values())) == len(found)
    if several and (not unknown or {"number", "requirement"} <= set(found.values())):
        return found, unknown
    return {}, ()


def _laid(before: list[DraftRow], texts: list[dict[str, str]]) -> list[DraftRow]:
    """Rows with other cells laid over them. Where number and requirement are both laid over, each identity goes to
    the row that now says its requirement, else its number; else it is gone, and the row is a new one."""
    after = [replace(row, cells=_filled(row.cells, cells)) for row, cells in zip(before, texts, strict=False)]
    after = [now if now != row else row for row, now in zip(before, after, strict=True)]
    if not texts or not {"number", "requirement"} <= texts[0].keys():
        return after
    giver = _givers(before, after)
    return [
        now if giver[place] == place else replace(now, identity=_identity(before, giver[place]))
        for place, now in enumerate(after)
    ]


def _identity(before: list[DraftRow], giver: int | None) -> str:
    return before[giver].identity if giver is not None else ""


def _givers(before: list[DraftRow], after: list[DraftRow]) -> dict[int, int | None]:
    """For each row laid over, the place whose identity it takes: where both texts are the same, the requirement (if
    only one row has it), or the number."""
    giver: dict[int, int | None] = dict.fromkeys(range(len(after)))
    free = {place for place, row in enumerate(before) if row.identity}
    for fields in (("number", "requirement"), ("requirement",), ("number",)):
        known = _alone({place: _said(before[place], fields) for place in free})
        wanted = _alone({place: _said(after[place], fields) for place, found in giver.items() if found is None})
        for said, place in wanted.items():
            if said in known and any(said):
                giver[place] = known[said]
                free.discard(known[said])
    return giver


def _said(row: DraftRow, fields: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(" ".join(row.text(field).split()) for field in fields)


def _alone(said: Mapping[int, tuple[str, ...]]) -> dict[tuple[str, ...], int]:
    """What only one place says, with that place."""
    times = Counter(said.values())
    return {text: place for place, text in said.items() if times[text] == 1}
