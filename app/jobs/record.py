"""The rest of a sheet's record from files and words: its head, and materials, processes and tests with their files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from app.jobs.hand import Hand
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import acts
from inspection.sheet.causes import read_cause
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head, SubItem
from inspection.sheet.state import Sheet
from storage.book.attached import read_attached
from storage.intake.evidence import EvidenceRow
from storage.intake.heads import field_of, names, unknown_head

if TYPE_CHECKING:
    from storage.book.door import Book

#: So many earlier sheets of the part are looked through for its drawing.
MOST_BEFORE = 12


class Entered(Struct, frozen=True):
    """What a file came to: how many entries are new, how many were written anew, and the sheet after it."""

    new: int
    anew: int
    sheet: Sheet


def enter_record(hand: Hand, sheet: str, rows: Sequence[EvidenceRow], folder: Path) -> Entered:
    """Enter every row of a file, all or none. One whose kind and name the sheet has is written anew and keeps the
    files it had; names of files are looked for in ``folder``. Raises Refused or BookFailure; nothing was entered."""
    at_hand = hand.book.sheet(sheet)
    known = {_called(each): each for each in at_hand.evidence.values()}
    contents: dict[str, bytes] = {}
    doing = []
    for row in rows:
        before = known.get(_called(row.evidence))
        files = {file.digest: file for file in (before.files if before else ())}
        for name in row.files:
            named, content = read_attached(folder / name)
            files[named.digest], contents[named.digest] = named, content
        identity = before.identity if before else ""
        evidence = replace(row.evidence, identity=identity, files=tuple(files.values()))
        doing.append(acts.EnterEvidence(sheet=sheet, evidence=evidence))
    outcomes = hand.book.do_all(doing, person=hand.person, files=contents)
    anew = sum(bool(act.evidence.identity) for act in doing)
    after = outcomes[-1].sheet
    assert after is not None
    return Entered(len(doing) - anew, anew, after)


def keep_drawing(hand: Hand, sheet: str, path: Path | None) -> Evidence:
    """Keep a file as the drawing that goes with a sheet, in place of those it has; without one that of an earlier sheet
    of the same part and drawing revision. The entry as it stands then. Raises Refused or BookFailure."""
    at_hand = hand.book.sheet(sheet)
    entry, contents = drawing_of(hand.book, at_hand), {}
    if path is not None:
        named, content = read_attached(path)
        entry, contents = replace(entry, files=(named,)), {named.digest: content}
    if not entry.files:
        part = at_hand.plan.part
        told: dict[str, Part] = {"part": part.number, "drawing": entry.name, "revision": entry.specification_revision}
        raise Refused(Reason("record.drawing_none", told))
    hand.book.do(acts.EnterEvidence(sheet=sheet, evidence=entry), person=hand.person, files=contents)
    return entry


def drawing_of(book: Book, sheet: Sheet) -> Evidence:
    """The drawing of a sheet; where it has none a new entry, with the files that the newest other sheet of the same
    part, drawing and revision keeps."""
    from storage.book.queries.sheets import list_sheets

    part = sheet.plan.part
    entry = Evidence(
        "", EvidenceKind.DRAWING, part.drawing or part.number, specification_revision=part.drawing_revision
    )
    own = [each for each in sheet.evidence.values() if each.kind is EvidenceKind.DRAWING]
    if own:
        return own[0]
    for listed in book.ask(list_sheets, part=sheet.plan.part_identity, limit=MOST_BEFORE):
        other = book.sheet(listed.sheet) if listed.sheet != sheet.identity else sheet
        for each in other.evidence.values():
            same = (each.name.casefold(), each.specification_revision) == (
                entry.name.casefold(),
                entry.specification_revision,
            )
            if each.kind is EvidenceKind.DRAWING and same and each.files:
                return replace(entry, files=each.files)
    return entry


def _called(evidence: Evidence) -> tuple[str, str]:
    return evidence.kind, evidence.name.strip().casefold()


def head_with(head: Head, told: Mapping[str, str], sub_items: Sequence[str] | None = None) -> Head:
    """A head with some of its fields written anew, each by a name that a feature file knows it by.

    Reasons are named by their words or codes, several parted by semicolons; a sub-item is part number, revision, name,
    serial and proof, parted by semicolons. Raises Refused for a name that no field has.
    """
    known = {field: heads for field, heads in names("head").items() if field in Head.__struct_fields__}
    fields: dict[str, str] = {}
    for name, text in told.items():
        field = field_of(name, known)
        if field is None:
            raise Refused(unknown_head(name, known))
        fields[field] = read_cause(text) if field == "cause" else text.strip()
    items = head.sub_items if sub_items is None else tuple(map(_sub_item, sub_items))
    return replace(head, **fields, sub_items=items)


def _sub_item(text: str) -> SubItem:
    pieces = [piece.strip() for piece in text.split(";")]
    if len(pieces) > len(SubItem.__struct_fields__):
        raise Refused(Reason("record.sub_item_long", {"text": text[:60]}))
    return SubItem(*pieces)
