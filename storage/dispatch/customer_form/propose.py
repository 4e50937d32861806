"""Where each value would go on a customer's blank form, proposed from what stands on it; a person corrects it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence, Set

from msgspec import Struct
from msgspec.structs import replace

from inspection.attached import Attached
from inspection.layout.layout import Grow, HeadPlace, Layout, Table
from inspection.reasons import Reason, Refused
from storage.dispatch.customer_form import words
from storage.dispatch.customer_form.blank import LIST, Blank
from storage.dispatch.customer_form.choices import Choice, choices
from storage.dispatch.customer_form.columns import Found, find_tables, laid_across, with_growth
from storage.dispatch.customer_form.controls import ticked_by_cells
from storage.dispatch.customer_form.form import Workbook
from storage.dispatch.customer_form.marks import find_marks
from storage.dispatch.customer_form.radios import answered_by_buttons
from storage.dispatch.customer_form.sheet import Cells
from storage.intake.heads import plain

_RULED = re.compile(r"^(.*?)[:\s]*[_.…]{3,}\s*$", re.DOTALL)
_PLACEHOLDER = re.compile(r"^\s*[\[{<«]+\s*([^\[\]{}<>«»]+?)\s*[\]}>»]+\s*$")
#: A label is no sentence.
_LONGEST_LABEL = 60


class _Label(Struct):
    row: int
    column: int
    field: str
    text: str
    right: tuple[int, int] | None = None
    below: tuple[int, int] | None = None
    piece: int = 0


def propose(data: bytes, file: Attached, customer: str, name: str) -> Layout:
    """A layout for a customer's blank workbook, as far as it can be told from it.

    Raises ``FileRefused`` for what cannot be filled, Refused where no table of characteristics is found on it.
    """
    book = Workbook(data, file.name)
    sheets = {each.name.casefold(): Cells(book, each.name, each.part) for each in book.worksheets}
    heads: list[HeadPlace] = []
    tables: list[Table] = []
    said: dict[str, str] = {}
    unit = ""
    for worksheet in book.worksheets:
        if worksheet.hidden:
            continue
        blank = Blank(book, worksheet)
        found = _tables(blank, choices(book, blank.cells, sheets))
        own = [*_named(book, blank), *(place for each in found for place in each.serials)]
        own += _papers(blank, found)
        own += [*ticked_by_cells(book, worksheet), *answered_by_buttons(book, worksheet)]
        marks = find_marks(blank, found)
        own += [place for place in marks.places if place.field not in {each.field for each in own}]
        taken = {(place.row, place.column) for place in own if place.sheet == blank.name}
        own += _labels(blank, found, marks.labels, taken, {place.field for place in own})
        paged = any(place.field in ("page", "pages") for place in own)
        tables += [with_growth(each, Grow.SHEETS).table if paged else each.table for each in found]
        heads += sorted(own, key=lambda place: (place.row, place.column))
        for each in found:
            said |= {key: text for key, text in each.words.items() if key not in said}
        unit = unit or next(filter(None, map(words.unit_said, blank.texts.values())), "")
    if not tables and any(laid_across(Blank(book, each)) for each in book.worksheets if not each.hidden):
        raise Refused(Reason("form.across", {"file": file.name}))
    if not tables:
        raise Refused(Reason("form.no_table", {"file": file.name}))
    tables, unit = _in_one_unit(tables, unit)
    return Layout(
        customer=customer, name=name, workbook=file, heads=tuple(heads), tables=tuple(tables), words=said, unit=unit
    )


def _in_one_unit(tables: list[Table], unit: str) -> tuple[list[Table], str]:
    """The system that every head names is the form's; where heads name both, each column has its own."""
    named = {column.unit for table in tables for column in table.columns if column.unit}
    if len(named) != 1:
        return tables, "" if named else unit
    bare = [replace(table, columns=tuple(replace(column, unit="") for column in table.columns)) for table in tables]
    return bare, named.pop()


def _tables(blank: Blank, lists: Sequence[Choice]) -> list[Found]:
    """The tables of a worksheet, one below the other; a further one only if it says the same."""
    found: list[Found] = []
    while more := find_tables(blank, lists, found[-1].last if found else 0):
        if found and _said(more[0]) != _said(found[0]):
            break
        found += more
    return found


def _said(found: Found) -> set[tuple[str, int]]:
    return {(column.field, column.piece) for column in found.table.columns}


# --- the head ---------------------------------------------------------------------------------------------------


def _named(book: Workbook, blank: Blank) -> Iterator[HeadPlace]:
    """Cells that have a name of their own. A revision is the part's where nothing asks for a drawing."""
    asked = {words.field_of("head", text) for text in blank.texts.values()}
    asked |= {words.name_of(named.name) for named in book.names}
    for named in book.names:
        area = book.area_named(named)
        field = words.name_of(named.name)
        if area is None or not field or area.sheet.casefold() != blank.name.casefold():
            continue
        whole = blank.area(area.top, area.left)
        if field == "drawing_revision" and "drawing" not in asked and plain(named.name) in _SHORT_REVISIONS:
            field = "part_revision"
        if (area.bottom, area.right) in ((area.top, area.left), (whole.bottom, whole.right)):
            yield HeadPlace(field, blank.name, area.top, area.left)


def _labels(
    blank: Blank, tables: Sequence[Found], ticked: Set[tuple[int, int]], taken: set[tuple[int, int]], fields: set[str]
) -> Iterator[HeadPlace]:
    """Values beside or below their labels, or in the same cell behind them; labels of boxes that are ``ticked`` stand
    for nothing else."""
    held = set(taken)
    labels = [
        label
        for label in _found_labels(blank, tables)
        if (label.field not in fields or label.field == "serial") and (label.row, label.column) not in ticked
    ]
    labels = [label for label in labels if not _said_again(blank, label, labels)]
    _in_context(labels)
    labels = [label for label in labels if not _day_of_somebody_unknown(blank, label, labels)]
    downward = _downward(labels)
    for label in labels:
        place = _placed(blank, label, downward, held)
        if place is not None and (place.row, place.column) not in held:
            held.add((place.row, place.column))
            yield _scaled(blank, place) if place.field == "temperature" else place


def _scaled(blank: Blank, place: HeadPlace) -> HeadPlace:
    """The temperature on the scale that stands behind its box, if one does."""
    behind = blank.text(place.row, blank.area(place.row, place.column).right + 1)
    return replace(place, field=words.scale_of(behind) or place.field)


def _said_again(blank: Blank, label: _Label, labels: Sequence[_Label]) -> bool:
    """Whether the cell behind a label says the same once more, in another language: the box is that one's."""
    behind = label.row, blank.area(label.row, label.column).right + 1
    same = (each for each in labels if (each.field, each.piece) == (label.field, label.piece))
    return any((each.row, each.column) == behind for each in same)


def _found_labels(blank: Blank, tables: Sequence[Found]) -> Iterator[_Label]:
    for (row, column), text in sorted(blank.texts.items()):
        if any(each.top <= row <= each.last for each in tables) or len(text) > _LONGEST_LABEL:
            continue
        ruled, held = _RULED.match(text), _PLACEHOLDER.match(text)
        told = ruled[1] if ruled else held[1] if held else text
        field, piece = words.temperature_of(told) or words.field_of("head", told), 0
        if not field and (counted := words.serial_of(told)) >= 0:
            field, piece = "serial", counted
        if not field or (row, column) in blank.formulas or blank.heads_a_list(row, column):
            continue
        label = _Label(row, column, field, text, piece=piece)
        if not ruled and not held:
            label.right, label.below = _beside(blank, row, column, tables)
        yield label


def _papers(blank: Blank, tables: Sequence[Found]) -> Iterator[HeadPlace]:
    """The lines of a list of materials, processes and tests: under its heads, as far down as boxes go."""
    for row in sorted({row for row, _column in blank.texts}):
        if any(each.top <= row <= each.last for each in tables):
            continue
        heads = {
            field: column
            for (at, column), text in sorted(blank.texts.items(), reverse=True)
            if at == row and (field := words.field_of("papers", text)) and blank.heads_a_list(row, column)
        }
        if "paper" not in heads or len(heads) < LIST:
            continue
        down, line = blank.area(row, heads["paper"]).bottom + 1, 0
        while all(blank.boxed(down, column) and blank.empty(down, column) for column in heads.values()):
            yield from (HeadPlace(field, blank.name, down, column, piece=line) for field, column in heads.items())
            down, line = blank.area(down, heads["paper"]).bottom + 1, line + 1
        return


def _beside(
    blank: Blank, row: int, column: int, tables: Sequence[Found]
) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
    area = blank.area(row, column)
    right, below = blank.beside(row, column), (area.bottom + 1, area.left)
    kept = [
        cell
        if blank.empty(*cell)
        and blank.area(*cell).left == cell[1]
        and blank.area(*cell).top == cell[0]
        and not any(each.top <= cell[0] <= each.last for each in tables)
        else None
        for cell in (right, below)
    ]
    return kept[0], kept[1]


def _in_context(labels: list[_Label]) -> None:
    """What a short label means by the one in front of it: the revision of the part or of the drawing, the date of the
    inspection or of the approval."""
    fields = {label.field for label in labels}
    for before, label in zip([None, *labels], labels, strict=False):
        near = before is not None and before.row == label.row
        if label.field == "drawing_revision" and plain(label.text) in _SHORT_REVISIONS:
            beside_part = near and before is not None and before.field in ("part", "part_name")
            if beside_part or "drawing" not in fields:
                label.field = "part_revision"
        short = label.field == "inspected_on" and plain(label.text) in _SHORT_DAYS
        if short and (signer := _signer(label, labels)):
            label.field = _DAY_OF.get(signer, label.field)
        elif label.field == "inspected_on" and before is not None:
            recent = [each for each in labels if (each.row, each.column) < (label.row, label.column)][-2:]
            signers = [each.field for each in recent if each.field in _DAY_OF]
            if signers and recent[-1].field != "inspector":
                label.field = _DAY_OF[signers[-1]]


def _signer(label: _Label, labels: Sequence[_Label]) -> str:
    """Whose name stands before a day in its row, or above it in its column; empty for nobody's."""
    before = [each for each in labels if each.row == label.row and each.column < label.column][-1:]
    above = [each for each in labels if each.column == label.column and 0 < label.row - each.row <= _NEAR][-1:]
    return next((each.field for each in (*before, *above) if each.field in ("inspector", *_DAY_OF)), "")


def _day_of_somebody_unknown(blank: Blank, label: _Label, labels: Sequence[_Label]) -> bool:
    """Whether a day stands beside a box for something that nothing is known of: it is hardly the inspection's."""
    if label.field != "inspected_on" or plain(label.text) not in _SHORT_DAYS:
        return False
    column = max((at for row, at in blank.texts if row == label.row and at < label.column), default=0)
    if not column or any((each.row, each.column) == (label.row, column) for each in labels):
        return False
    box = blank.beside(label.row, column)
    return blank.waits(*box) and blank.empty(*box)


#: A day stands so many rows below a name at most.
_NEAR = 2
_SHORT_DAYS = frozenset({"date", "datum", "fecha", "data"})
#: The day that stands beside each name.
_DAY_OF = {"approver": "approved_on", "article_by": "article_on", "released_by": "released_on"}
_SHORT_REVISIONS = frozenset(
    {"rev", "revision", "rev level", "index", "indice", "issue", "revisión", "revisione", "révision"}
)


def _downward(labels: Sequence[_Label]) -> set[int]:
    """The rows whose labels stand above their values: most of them have no room at the right."""
    rows = Counter(label.row for label in labels)
    shut = Counter(label.row for label in labels if label.right is None and label.below is not None)
    return {row for row, n in rows.items() if n > 1 and 2 * shut[row] >= n}


def _placed(blank: Blank, label: _Label, downward: set[int], held: set[tuple[int, int]]) -> HeadPlace | None:
    ruled = _RULED.match(label.text)
    if ruled:
        prefix = ruled[1].strip() + ":"
        return HeadPlace(label.field, blank.name, label.row, label.column, prefix=prefix, piece=label.piece)
    if _PLACEHOLDER.match(label.text):
        return HeadPlace(label.field, blank.name, label.row, label.column, piece=label.piece)
    for cell in _preferred(blank, label, downward):
        if cell is not None and cell not in held:
            return HeadPlace(label.field, blank.name, *cell, piece=label.piece)
    if label.text.endswith(":"):
        return HeadPlace(label.field, blank.name, label.row, label.column, prefix=label.text, piece=label.piece)
    return None


def _preferred(blank: Blank, label: _Label, downward: set[int]) -> list[tuple[int, int] | None]:
    """Beside it or below it, the likelier first: below where the row's labels do, or where only that is a box."""
    right, below = label.right, label.below
    if label.row in downward and below is not None:
        return [below, right]
    if right is None or below is None or label.text.endswith(":"):
        return [right, below if below is not None and blank.boxed(*below) else None]
    if blank.boxed(*below) and not blank.boxed(*right):
        return [below, right]
    return [right, below if below is not None and blank.boxed(*below) else None]
