"""What a person who opens the filled form would be misled by: digits that do not show, and formulas of the customer's
that reckon with a limit that there is none of."""

from __future__ import annotations

import io

import pytest
from msgspec.structs import replace
from openpyxl import load_workbook
from openpyxl.chart import BarChart, Reference
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Alignment
from openpyxl.worksheet.datavalidation import DataValidation

from inspection.attached import Attached
from inspection.reasons import Reason
from inspection.words.say import say
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose

HEADS = ["No", "Requirement", "Nominal", "Tol +", "Tol -", "Actual", "Status"]


def form(maker, change=lambda sheet: None):
    """Room for twelve rows, wide enough for all that is written, in cells of the general format."""
    made, sheet = maker.book("Form")
    maker.heads(sheet, 4, HEADS)
    maker.boxes(sheet, "A5:G16")
    sheet.column_dimensions["B"].width = 30
    change(sheet)
    return maker.saved(made)


@pytest.fixture(scope="module")
def filled(maker, measured, laid_out):
    life = measured()

    def make(change=lambda sheet: None, **layout_says):
        content = form(maker, change)
        layout = propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")
        layout = replace(layout, **layout_says)
        done = fill(content, "form.xlsx", laid_out(life, layout))
        told = {each.code: each.parts for each in done.notices}
        return load_workbook(io.BytesIO(done.content)).active, told

    return make


def test_a_form_with_room_for_everything_has_nothing_to_be_told(filled):
    sheet, told = filled()
    assert (sheet["F5"].value, told) == ("0.500", {})


def test_cells_too_narrow_are_told_of(filled):
    def narrow(sheet):
        sheet.column_dimensions["F"].width = 5.4  # .7500 and 1.9995 are wider, .500 is not
        sheet.column_dimensions["B"].width = 12
        for row in range(5, 17):
            sheet.cell(row, 2).alignment = Alignment(wrap_text=True)

    reason = Reason("form.narrow", filled(narrow)[1].pop("form.narrow"))
    assert reason.parts == {"sheet": "Form", "column": "F", "cell": "F6", "n": 2}
    assert "On Form, column F, 2 cells from F6 on: they show less than they hold" in say(reason)
    one = replace(reason, parts={**reason.parts, "n": 1})
    assert "On Form cell F6 shows less than it holds" in say(one)


def test_columns_of_two_pieces_look_alike(maker, measured, laid_out):
    """Where the cells of one piece hide decimals, so that its numbers go in as text, those of the other do too: numbers
    to the right and texts to the left, side by side, read as two kinds of result."""

    def second(sheet):
        sheet["F4"], sheet["G4"] = "Actual 1", "Actual 2"
        for row in range(5, 17):
            sheet.cell(row, 7).number_format = "0.0000"

    content = form(maker, second)
    layout = propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")
    done = fill(content, "form.xlsx", laid_out(measured(("001", "002")), layout))
    sheet = load_workbook(io.BytesIO(done.content)).active
    assert (sheet["F5"].value, sheet["G5"].value) == ("0.500", "0.501")


def test_narrow_cells_are_counted_no_further_than_anybody_asks(filled, monkeypatch):
    monkeypatch.setattr("storage.dispatch.customer_form.seen_whole._COUNTED", 1)
    told = filled(lambda sheet: sheet.column_dimensions["F"].__setattr__("width", 5.4))[1]
    assert "more than 1 cells from F6 on" in say(Reason("form.narrow_many", told["form.narrow_many"]))


def broken(sheet):
    """Requirements are broken into lines of a dozen letters."""
    sheet.column_dimensions["B"].width = 13
    for row in range(5, 17):
        sheet.cell(row, 2).alignment = Alignment(wrap_text=True)


def test_rows_are_made_as_high_as_broken_texts_need_unless_the_customer_has_set_them(filled):
    def some_set(sheet):
        broken(sheet)
        sheet.row_dimensions[9].height = 15

    sheet, told = filled(broken)
    heights = {str(sheet[f"B{row}"].value): sheet.row_dimensions[row].height for row in range(5, 16)}
    assert told == {}
    assert [heights[text] for text in (".500 ±.005", "2.000 MAX")] == [None, None]
    assert [round(heights[text]) for text in ("DEBURR ALL EDGES", "1.250 +.010 -.000")] == [30, 30]  # two lines of 15
    sheet, told = filled(some_set)
    assert (sheet.row_dimensions[8].height > 15, sheet.row_dimensions[9].height) == (True, 15)
    assert told == {"form.low": {"sheet": "Form", "column": "B", "cell": "B9", "n": 1}}


def test_a_day_too_wide_for_its_column_is_told_of(filled, maker):
    """A number that does not fit is shown as a row of hash signs, a day too."""

    def dated(sheet):
        sheet["H4"] = "Cal due"
        for row in range(5, 17):
            sheet.cell(row, 8).border = maker.BOX
            sheet.cell(row, 8).number_format = "yyyy-mm-dd"

    sheet, told = filled(dated)
    assert sheet["H5"].is_date
    assert told["form.narrow"] == {"sheet": "Form", "column": "H", "cell": "H5", "n": 8}


def charted(sheet):
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=6, min_row=4, max_row=16), titles_from_data=True)
    sheet.add_chart(chart, "J4")


def coloured(sheet):
    sheet.conditional_formatting.add("F5:F16", CellIsRule("greaterThan", ["1.5"]))


def averaged(sheet):
    sheet["F18"] = "=AVERAGE(F5:F16)"


@pytest.mark.parametrize("reads", [charted, coloured, averaged], ids=lambda reads: reads.__name__)
def test_numbers_that_something_reads_stay_numbers(filled, reads):
    sheet, told = filled(reads)
    assert (sheet["F5"].value, {*told}) == (0.5, {"form.format_hides"})


def test_what_only_counts_entries_leaves_them_their_digits(filled):
    def counted(sheet):
        sheet["F18"] = '=COUNTA(F5:F16)&" of "&(12-COUNTBLANK(F5:F16))'

    sheet, told = filled(counted)
    assert (sheet["F5"].value, told) == ("0.500", {})


def test_formulas_that_reckon_with_a_limit_that_there_is_none_of_are_told_of(filled):
    """2.000 MAX has neither nominal nor lower limit: the customer's formula takes both for nothing and would say no."""

    def judged(sheet):
        for row in range(5, 17):
            sheet[f"G{row}"] = f'=IF(F{row}="","",IF(AND(F{row}>=C{row}-E{row},F{row}<=C{row}+D{row}),"OK","NOK"))'

    _, told = filled(judged)
    assert told["form.one_sided"] == {"sheet": "Form", "numbers": "6"}


@pytest.mark.parametrize(
    ("formula", "told_of"),
    [
        ('=IF(F{row}="","",F{row}-C{row})', True),
        ('=IF(ISNUMBER(F{row}),F{row}-C{row},"")', False),
        ("=MAX(E{row}:F{row})", False),
        ("=C{row}*2", False),
    ],
)
def test_formulas_that_reckon_with_words_are_told_of(filled, formula, told_of):
    """Three places told in one line are "0.799 … 0.799 (n = 3)", which no formula takes anything off."""

    def deviation(sheet):
        sheet["H4"] = "Off"
        for row in range(5, 17):
            sheet[f"H{row}"] = formula.format(row=row)

    _, told = filled(deviation, pattern=True)
    assert told.get("form.in_words") == ({"sheet": "Form", "numbers": "7"} if told_of else None)


def test_what_a_list_does_not_take_is_told_once_and_not_as_too_narrow(maker, measured, laid_out):
    def listed(sheet):
        check = DataValidation("list", '"one,two"')
        check.add("G5:G16")
        sheet.add_data_validation(check)
        sheet.column_dimensions["G"].width = 5.5

    content = form(maker, listed)
    layout = propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")
    notices = fill(content, "form.xlsx", laid_out(measured(), layout)).notices
    assert [(each.code, each.parts["text"], each.parts["n"]) for each in notices] == [
        ("form.not_allowed", "conforming", 8), ("form.not_allowed", "open", 2), ("form.not_allowed", "not judged", 1),
    ]  # fmt: skip


def test_a_signature_that_filling_ends_is_told_of(maker, measured, laid_out):
    content = maker.rewritten(form(maker), {}, {"_xmlsignatures/sig1.xml": b"<Signature/>"})
    layout = propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")
    assert [each.code for each in fill(content, "form.xlsx", laid_out(measured(), layout)).notices] == ["form.signed"]
