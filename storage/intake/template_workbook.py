"""Feature, reading and record files to fill in as workbooks: cells of text, drop-downs, and what each column means."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from copy import copy

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.styles.fonts import DEFAULT_FONT
from openpyxl.utils import get_column_letter, quote_sheetname
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from inspection.drawing.characteristic import Condition, FeatureKind
from inspection.words.say import word
from storage.dispatch.repeatable import repeatable
from storage.intake.evidence import REQUIRED as EVIDENCE_REQUIRED
from storage.intake.features import REQUIRED as FEATURES_REQUIRED
from storage.intake.front import REQUIRED as HEAD_REQUIRED
from storage.intake.grid import names
from storage.intake.readings import PREFILLED
from storage.intake.readings import REQUIRED as READINGS_REQUIRED

Lists = Mapping[str, tuple[str, ...]]

#: The sheet that the reader takes head lines from, whatever the language.
HEAD = "Head"
TEXT = "@"
#: Rows that the drop-downs reach to.
LAST_ROW = 2_000
_REQUIRED = {
    "features": FEATURES_REQUIRED,
    "readings": READINGS_REQUIRED,
    "evidence": EVIDENCE_REQUIRED,
    "head": HEAD_REQUIRED,
}
_WIDE = {
    "requirement": 30,
    "kind": 21,
    "name": 20,
    "note": 34,
    "places": 20,
    "place": 18,
    "condition": 22,
    "reason": 26,
}
_WIDE |= {"reading": 18, "limits": 46, "taken": 24, "role": 26, "instrument": 14, "serial": 14, "number": 10}
_HOW = {
    "features": ("text", "numbers", "formulas", "whole", "columns", "head"),
    "readings": ("text", "numbers", "formulas", "whole", "columns", "rows", "requirement"),
    "evidence": ("text", "numbers", "formulas", "whole", "columns", "evidence", "files"),
}
#: Fields with a drop-down, and the list that it offers.
_LISTED = {
    "features": {
        "kind": "kind",
        "condition": "condition",
        "unit": "unit",
        "sampling": "sampling",
        **dict.fromkeys(("soft", "attribute_allowed", "blind"), "yes_or_no"),
    },
    "readings": {"role": "role", "reading": "observed", "withdraw": "yes_or_no", "answer": "answer"},
    "evidence": {"kind": "evidence_kind", "approved": "approved", "passed": "yes_or_no"},
    "head": {"unit": "unit", "general": "general", "extent": "extent", "detail": "detail"},
}
#: Lists beside which anything else may be typed without a question.
_OPEN_LISTS = ("sampling", "observed")
_DEFAULTS = ("default .x", "default .xx", "default .xxx", "default .xxxx", "metric default .x", "metric default .xx")

_HEAD_FILL = PatternFill("solid", start_color="FFE3E8EE")
_GIVEN_FILL = PatternFill("solid", start_color="FFF4F6F8")
_LINE = Border(bottom=Side("medium", color="FF5A6B7B"))
_LIGHT_LINE = Border(bottom=Side("thin", color="FFB8C2CC"))
_TOP = Alignment(vertical="top", wrap_text=True)


def workbook_template(kind: str, filled: Sequence[Mapping[str, str]] = ()) -> bytes:
    """A workbook of ``kind`` ("features", "readings" or "evidence") to fill in; ``filled`` are rows by field that
    it has already.

    Every cell to be filled is formatted as text. The same arguments give the same bytes.
    """
    book = Workbook()
    table = book.active
    assert isinstance(table, Worksheet)
    table.title = word(f"template.sheet.{kind}")
    lists = _lists(kind)
    _table(table, kind, filled)
    if kind == "features":
        _head(book.create_sheet(HEAD), lists)
    _how(book.create_sheet(word("template.sheet.how")), kind)
    _words(book.create_sheet(word("template.sheet.words")), lists)
    _drop_downs(table, kind, lists, [(get_column_letter(at), field) for at, field in enumerate(names(kind), 1)])
    stream = io.BytesIO()
    book.save(stream)
    return repeatable(stream.getvalue())


# --- the table --------------------------------------------------------------------------------------------------


def _table(page: Worksheet, kind: str, filled: Sequence[Mapping[str, str]]) -> None:
    fields = names(kind)
    for at, (field, known) in enumerate(fields.items(), 1):
        column = page.column_dimensions[get_column_letter(at)]
        column.number_format = TEXT
        column.alignment = Alignment(vertical="top")
        column.width = _WIDE.get(field, max(11, len(known[0]) + 3))
        _head_cell(page, 1, at, known[0], needed=field in _REQUIRED[kind])
    for number, row in enumerate(filled, 2):
        for at, field in enumerate(fields, 1):
            cell = page.cell(number, at)
            _text(page, number, at, row.get(field, ""))
            if field in PREFILLED:
                cell.fill = _GIVEN_FILL
    page.freeze_panes = f"{get_column_letter(_frozen(kind, tuple(fields)))}2"
    page.print_title_rows = "1:1"
    if filled and kind == "readings":  # on paper without what is seldom filled in
        last = get_column_letter(list(fields).index("note") + 1)
        page.print_area = f"A1:{last}{len(filled) + 1}"
    _on_paper(page)


def _frozen(kind: str, fields: tuple[str, ...]) -> int:
    """The first column that scrolls: behind the number."""
    return fields.index("number") + 2 if kind in ("features", "readings") else 1


def _head_cell(page: Worksheet, row: int, column: int, text: str, *, needed: bool = False) -> None:
    cell = page.cell(row, column, text)
    cell.number_format = TEXT
    cell.font = _bold(underline="single" if needed else None)
    cell.fill, cell.border = _HEAD_FILL, _LINE
    cell.alignment = Alignment(vertical="center", wrap_text=True)
    page.row_dimensions[row].height = 24


def _bold(**more: object) -> Font:
    """The workbook's own font, bold."""
    font: Font = copy(DEFAULT_FONT)
    font.b = True
    for name, value in more.items():
        setattr(font, name, value)
    return font


def _height(text: str, columns: int) -> float:
    """Points that a wrapped text needs in so many columns, letters taken wide."""
    return 15.0 * (1 + int(1.15 * len(text)) // columns)


def _text(page: Worksheet, row: int, column: int, text: str) -> None:
    """A cell to be filled; a text is a text, whatever it begins with."""
    cell = page.cell(row, column)
    if text:
        cell.value = text
        cell.data_type = "s"
    cell.number_format = TEXT
    cell.alignment = Alignment(vertical="top")


def _on_paper(page: Worksheet) -> None:
    page.page_setup.orientation = "landscape"
    page.page_setup.fitToWidth, page.page_setup.fitToHeight = 1, 0
    page.sheet_properties.pageSetUpPr.fitToPage = True  # type: ignore[union-attr]


# --- the lines about part and drawing ---------------------------------------------------------------------------


def _head(page: Worksheet, lists: Lists) -> None:
    """A name in each row, its value beside it; what it means is told where the cell is entered."""
    lines = [(field, known[0], word(f"template.head.{field}")) for field, known in names("head").items()]
    lines += [("", name, word("template.head.default")) for name in _DEFAULTS]
    for number, (field, name, meaning) in enumerate(lines, 1):
        _head_cell(page, number, 1, name, needed=field in HEAD_REQUIRED)
        page.row_dimensions[number].height = 18
        _text(page, number, 2, "")
        page.cell(number, 2).border = _LIGHT_LINE
        told = DataValidation(showInputMessage=True, promptTitle=name, prompt=meaning, allow_blank=True)
        offered = _LISTED["head"].get(field)
        if offered:
            told.type, told.formula1 = "list", _range(lists, offered)
            _warn(told, offered)
        told.add(f"B{number}")
        page.add_data_validation(told)
    page.column_dimensions["A"].width = 26
    page.column_dimensions["B"].width = 60
    page.column_dimensions["B"].number_format = TEXT
    page.freeze_panes = "B1"
    _on_paper(page)
    page.page_setup.fitToHeight = 1


# --- drop-downs -------------------------------------------------------------------------------------------------


def _lists(kind: str) -> Lists:
    """The words that drop-downs offer, by the name of the list, in the order of their columns."""
    listed = {
        "readings": ("role", "observed", "answer", "yes_or_no"),
        "evidence": ("evidence_kind", "approved", "yes_or_no"),
    }
    if kind in listed:
        return {name: tuple(words[0] for words in names(name).values()) for name in listed[kind]}
    return {
        "kind": tuple(FeatureKind),
        "condition": tuple(filter(None, Condition)),
        "unit": ("in", "mm"),
        "sampling": ("all", "first-last", "1", "2", "5"),
        "yes_or_no": ("yes", "no"),
        "extent": ("full", "partial"),
        "detail": ("detail", "assembly"),
        "general": ("f", "m", "c", "v", "fH", "mH", "mK", "cL", "vL"),
    }


def _range(lists: Lists, name: str) -> str:
    column = get_column_letter(list(lists).index(name) + 1)
    sheet = quote_sheetname(word("template.sheet.words"))
    return f"{sheet}!${column}$2:${column}${len(lists[name]) + 1}"


def _drop_downs(page: Worksheet, kind: str, lists: Lists, columns: Iterable[tuple[str, str]]) -> None:
    """Each column's meaning where a cell of it is entered, and its list where it has one."""
    for letters, field in columns:
        heading = names(kind)[field][0]
        told = DataValidation(
            showInputMessage=True, promptTitle=heading, prompt=word(f"template.{kind}.{field}"), allow_blank=True
        )
        if offered := _LISTED[kind].get(field):
            told.type, told.formula1 = "list", _range(lists, offered)
            _warn(told, offered)
        told.add(f"{letters}2:{letters}{LAST_ROW}")
        page.add_data_validation(told)


def _warn(validation: DataValidation, offered: str) -> None:
    """Ask before another word is kept, for some are known that no list shows; open lists take anything."""
    validation.showErrorMessage = offered not in _OPEN_LISTS
    validation.errorStyle = "warning"
    validation.error = word("template.not_listed")


# --- explanations -----------------------------------------------------------------------------------------------


def _how(page: Worksheet, kind: str) -> None:
    page["A1"] = word(f"template.title.{kind}")
    page["A1"].font = _bold(size=14)
    number = 3
    for code in _HOW[kind]:
        page.merge_cells(start_row=number, end_row=number, start_column=1, end_column=2)
        told = page.cell(number, 1, word(f"template.how.{code}"))
        told.alignment = _TOP
        page.row_dimensions[number].height = _height(str(told.value), 126) + 4
        number += 1
    number += 1
    for group in (kind, *(("head",) if kind == "features" else ())):
        for field, known in names(group).items():
            needed = field in _REQUIRED[group]
            named = page.cell(number, 1, word("template.needed", column=known[0]) if needed else known[0])
            meaning = page.cell(number, 2, word(f"template.{group}.{field}"))
            named.font, named.alignment, meaning.alignment = _bold(), _TOP, _TOP
            page.row_dimensions[number].height = _height(str(meaning.value), 106)
            number += 1
        number += 1
    page.column_dimensions["A"].width = 30
    page.column_dimensions["B"].width = 96
    _on_paper(page)


def _words(page: Worksheet, lists: Lists) -> None:
    for at, (name, offered) in enumerate(lists.items(), 1):
        _head_cell(page, 1, at, word(f"template.list.{name}"))
        for number, text in enumerate(offered, 2):
            _text(page, number, at, text)
        page.column_dimensions[get_column_letter(at)].width = max(16, *(len(text) + 3 for text in offered), 20)
    page.freeze_panes = "A2"
    _on_paper(page)
