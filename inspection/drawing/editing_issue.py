"""From an issued plan to a draft and back: rows read one by one as every file's rows are, and kept as read."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.complete import Counted
from inspection.drawing.editing import PART_FIELDS, Draft, DraftRow
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Requirement
from inspection.drawing.rows import GENERAL_NUMBER, KINDS, characteristic, faults_of_its_own, general_row
from inspection.drawing.title_block import as_meant, read_title_block, texts_of
from inspection.quantity.speaker import fewest_decimals, plain
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused

_ACCESS = ("reach", "corner_radius", "wall", "bore_length")
_TEXTS = ("name", "sheet", "zone", "key", "set_up", "note", "tooling", "place")
#: Numbers below the highest balloon may be told as a run: "11-13".
_RUN = re.compile(r"([0-9]{1,4}) *[-–…] *([0-9]{1,4})")
_NEEDED = {"number": "plan.part_number_missing", "revision": "plan.revision_missing"}


#: Longer texts are no cells of a plan.
LONGEST_CELL = 2_000
#: Kinds of characters that cannot be shown (Unicode general categories).
_ODD = ("Cc", "Cf", "Cs", "Co", "Cn")


class Read(Struct, frozen=True):
    """A row as read: its characteristics, or what is wrong with it; neither for a blank one."""

    found: tuple[Characteristic, ...] = ()
    faults: tuple[Reason, ...] = ()

    @property
    def requirement(self) -> Requirement | None:
        """What the row asks, if it could be read."""
        return self.found[0].requirement if self.found else None

    def fault_of(self, field: str) -> Reason | None:
        """The first fault of one cell."""
        return next((fault for fault in self.faults if fault.parts.get("field") == field), None)


class Reader:
    """Reads rows under one title block, each combination of cells once."""

    def __init__(self, title_block: TitleBlock) -> None:
        self.title_block = title_block
        self._read: dict[tuple[tuple[str, str], ...], Read] = {}

    def read(self, row: DraftRow) -> Read:
        """A row as read, with its identity on the first of its characteristics."""
        key = tuple(row.cells.items())
        found = self._read.get(key)
        if found is None:
            found = self._read[key] = self._anew(row)
        if not row.identity or not found.found:
            return found
        return Read((replace(found.found[0], identity=row.identity), *found.found[1:]))

    def _anew(self, row: DraftRow) -> Read:
        if row.blank:
            return Read()
        if unfit := tuple(_unfit(row)):
            return Read(faults=unfit)
        try:
            return Read(characteristic(row.cells, self.title_block))
        except Refused as refused:
            return Read(faults=refused.reasons)


def _is_odd(sign: str) -> bool:
    return unicodedata.category(sign) in _ODD and sign not in "\n\t"


def _unfit(row: DraftRow) -> Iterable[Reason]:
    """Cells whose text may not be taken whatever it means: too long, or holding what cannot be shown."""
    for field, text in row.cells.items():
        odd = next((at for at, sign in enumerate(text) if _is_odd(sign)), -1)
        told = {"field": field, "text": text[:60]}
        if len(text) > LONGEST_CELL:
            yield Reason("plan.cell_long", {**told, "at": LONGEST_CELL, "most": LONGEST_CELL})
        elif odd >= 0:
            yield Reason("plan.odd_character", {**told, "at": odd, "character": f"U+{ord(text[odd]):04X}"})


def reader_of(draft: Draft) -> Reader:
    """A reader under the title block as typed so far."""
    return Reader(read_title_block(draft.head)[0])


# --- to a plan ------------------------------------------------------------------------------------------------


class RowFault(Struct, frozen=True):
    """A fault of a draft: the row it stands in (-1: the head), its field, and why."""

    row: int
    field: str
    reason: Reason


def faults_of(draft: Draft, reader: Reader) -> tuple[RowFault, ...]:
    """Everything that keeps a draft from being issued, the head's faults first; what of a row only follows from a fault
    of the title block is not told."""
    head = [
        RowFault(-1, field, Reason(code)) for field, code in _NEEDED.items() if not draft.head.get(field, "").strip()
    ]
    block, wrong = read_title_block(draft.head)
    of_block = [RowFault(-1, str(reason.parts["field"]), reason) for reason in wrong]
    meant = as_meant(block, {fault.field for fault in of_block}) if of_block else ()
    head += of_block
    head += [RowFault(-1, field, reason) for field, reason in _miscounted(draft.head)]
    rows = [
        RowFault(place, str(reason.parts.get("field", "requirement")), reason)
        for place, row in enumerate(draft.rows)
        for reason in faults_of_its_own(row.cells, reader.read(row).faults, meant)
    ]
    return (*head, *rows, *_doubled(draft, reader))


def _doubled(draft: Draft, reader: Reader) -> Iterable[RowFault]:
    first: dict[str, int] = {}
    for place, row in enumerate(draft.rows):
        for one in reader.read(row).found:
            if first.setdefault(one.number, place) != place:
                yield RowFault(place, "number", Reason("plan.number_twice", {"number": one.number}))


def _miscounted(head: Mapping[str, str]) -> Iterable[tuple[str, Reason]]:
    notes = head.get("drawing_notes", "").strip()
    if notes and not (notes.isdecimal() and len(notes) < 4):
        yield "drawing_notes", Reason("plan.notes_not_counted", {"text": notes[:60]})


def plan_of(draft: Draft, reader: Reader) -> Plan:
    """The plan that a draft stands for, ready to be issued.

    Raises Refused with every fault that ``faults_of`` tells, or ``plan.empty``.
    """
    faults = faults_of(draft, reader)
    if faults:
        raise Refused(*(fault.reason for fault in faults))
    rows = tuple(one for row in draft.rows for one in reader.read(row).found)
    if not rows:
        raise Refused(Reason("plan.empty"))
    head = {field: text.strip() for field, text in draft.head.items()}
    notes = head.get("drawing_notes", "")
    return Plan(
        "",
        draft.part_identity,
        0,
        Part(**{field: head.get(field, "") for field in PART_FIELDS}),
        reader.title_block,
        (*rows, *general_row(reader.title_block, rows)),
        last_balloon=head.get("last_balloon", ""),
        unused=unused_of(head.get("unused", "")),
        drawing_notes=int(notes) if notes else None,
    )


def unused_of(text: str) -> tuple[str, ...]:
    """Numbers that a drawing leaves out, from a list with commas in which runs may stand: "8, 11-13"."""
    told: list[str] = []
    for piece in filter(None, (piece.strip() for piece in re.split("[,;]", text))):
        run = _RUN.fullmatch(piece)
        told += map(str, range(int(run[1]), int(run[2]) + 1)) if run else [piece]
    return tuple(dict.fromkeys(told))


# --- from a plan ----------------------------------------------------------------------------------------------


def draft_of(plan: Plan) -> Draft:
    """The draft that a further issue of a plan begins from: it reads as the plan itself."""
    head: dict[str, str] = {field: getattr(plan.part, field) for field in PART_FIELDS}
    head |= texts_of(plan.title_block)
    head |= {"last_balloon": plan.last_balloon, "unused": ", ".join(plan.unused)}
    if plan.drawing_notes is not None:
        head["drawing_notes"] = str(plan.drawing_notes)
    rows = tuple(DraftRow(_cells(row, plan.title_block), row.identity) for row in plan.characteristics)
    return Draft({field: text for field, text in head.items() if text}, rows, plan.part_identity, plan.identity)


def _cells(row: Characteristic, block: TitleBlock) -> dict[str, str]:
    """The cells of a row, as few as read to the same characteristic."""
    plainly = _plainly(row)
    for more in _variants(row):
        cells = plainly | more | {field: _length(row, field, plainly | more, block) for field in _ACCESS}
        cells = {field: text for field, text in cells.items() if text}
        if _reads_as(cells, row, block):
            break
    return cells


def _plainly(row: Characteristic) -> dict[str, str]:
    return {
        "number": row.number,
        "kind": str(row.kind),
        "requirement": row.requirement.written,
        **{field: getattr(row, field) for field in _TEXTS},
        "count": _count(row),
        "condition": str(row.condition),
        "soft": "yes" if row.access.soft else "",
        "attribute_allowed": "yes" if row.attribute_allowed else "",
        "blind": "yes" if row.blind else "",
        "places": "; ".join(row.places),
        "repeats": str(row.repeats) if row.repeats > 1 else "",
        "sampling": "" if row.sampling == "all" else row.sampling,
    }


def _count(row: Characteristic) -> str:
    """One place of a count says which, by the end of its number."""
    if row.count < 2:
        return ""
    end = row.number.rpartition(".")[2]
    which = int(end) if end.isdecimal() and 1 <= int(end) <= row.count else 1
    return f"{which} of {row.count}"


def _variants(row: Characteristic) -> Iterable[dict[str, str]]:
    """Cells that a row may need besides, the fewest first: the last is taken where none reads to the same."""
    unit = row.requirement.unit
    band = _stated_band(row.requirement)
    yield {}
    yield {"unit": unit}
    yield {"band": band}
    yield {"unit": unit, "band": band}


def _stated_band(requirement: Requirement) -> str:
    stated = [reason.parts["band"] for reason in requirement.explained if reason.code == "band.stated"]
    amount = stated[0] if stated else None
    if not isinstance(amount, Amount):
        return ""
    unit = amount.unit if fewest_decimals(amount.count, amount.unit) is not None else "mm"
    return f"{plain(amount.count, unit)} {unit}" if amount.kind is Kind.LENGTH else f"{plain(amount.count, unit)}°"


def _length(row: Characteristic, field: str, cells: Mapping[str, str], block: TitleBlock) -> str:
    """A length of access in the unit that the row's other cells are read in."""
    count = getattr(row.access, field)
    if count is None:
        return ""
    unit = cells.get("unit", "")
    unit = unit if unit in ("in", "mm") else block.unit
    return plain(count, unit) if fewest_decimals(count, unit) is not None else f"{plain(count, 'mm')} mm"


def _reads_as(cells: Mapping[str, str], row: Characteristic, block: TitleBlock) -> bool:
    try:
        found = characteristic(cells, block)
    except Refused:
        return False
    return len(found) == 1 and replace(found[0], identity=row.identity) == row


def counted_of(draft: Draft) -> Counted:
    """What is counted of a draft, by what is typed in its rows whether or not these can be read yet."""
    rows = [row for row in draft.rows if not row.blank and row.text("number").strip() != GENERAL_NUMBER]
    kinds = (KINDS.get(" ".join(row.text("kind").casefold().split())) for row in rows)
    notes = draft.head.get("drawing_notes", "").strip()
    return Counted(
        tuple(number for row in rows if (number := row.text("number").strip())),
        sum(kind is FeatureKind.NOTE for kind in kinds),
        draft.head.get("last_balloon", ""),
        unused_of(draft.head.get("unused", "")),
        int(notes) if notes.isdecimal() and len(notes) < 4 else None,
    )
