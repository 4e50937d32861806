"""What a form asks for and gets no value is told, so that nobody sends it with an empty column unknowingly."""

from __future__ import annotations

import pytest

from inspection.attached import Attached
from inspection.layout.as_written import corrected
from inspection.words.say import say
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose
from storage.dispatch.customer_form.unfilled import unfilled_in


def form(maker):
    """Two columns that nothing is known of, one of them under a head of its own over two rows, beside a column that the
    customer's formulas fill and one with the customer's own words; a box that nothing is known of, and much text."""
    made, sheet = maker.book("Form")
    sheet["A1"], sheet["A2"], sheet["F1"] = "Part No", "Dock code", "All dimensions in inches unless noted."
    sheet["F2"], sheet["H2"], sheet["H3"] = "Buyer:", "Please note:", "send it with the parts"
    sheet.merge_cells("A2:B2")
    sheet["B1"].border = sheet["C2"].border = maker.BOX
    maker.heads(sheet, 4, ["No", "Requirement", "Requirement class", "Actual", "Twice", "Plan", "Temper", "", "Shift"])
    maker.heads(sheet, 5, ["", "", "", "", "", "", "°C", "hours", ""])
    sheet.merge_cells("G4:H4")
    maker.boxes(sheet, "A6:I17")
    for row in range(6, 18):
        sheet[f"E{row}"], sheet[f"F{row}"] = f"=D{row}*2", "S-2"
    sheet["K4"] = "see the supplier manual"
    sheet["D1"] = "☐ sea  ☐ air"
    for name, state in (("Instructions", "visible"), ("Lists", "hidden")):
        further = made.create_sheet(name)
        further["A1"], further.sheet_state = "Write in capitals:", state
    return maker.saved(made)


@pytest.fixture(scope="module")
def asked(maker):
    content = form(maker)
    return content, propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")


def test_heads_and_boxes_that_get_nothing_are_told_with_their_cells(asked, measured, laid_out):
    content, layout = asked
    told = list(unfilled_in(content, layout))
    names = {each.code: each.parts["names"] for each in told}
    assert names == {
        "form.heads_left": "“Requirement class” (C4), “Temper °C” (G5), “hours” (H5), “Shift” (I4)",
        "form.labels_left": "“☐ sea ☐ air” (D1), “Dock code” (A2), “Buyer:” (F2)",
    }
    assert say(told[0]).startswith("On Form nothing goes to the columns under “Requirement class” (C4)")
    assert fill(content, "form.xlsx", laid_out(measured(), layout)).notices[:2] == (*told,)


def test_what_somebody_gave_a_value_is_told_no_longer(asked):
    content, layout = asked
    layout = corrected(layout, ["kind=C", "note=G", "certificate=H", "order_line=C2", "customer=G2", "extent=D1"])
    (told,) = unfilled_in(content, layout)
    assert told.parts == {"sheet": "Form", "names": "“Shift” (I4)", "n": 1}


def test_a_value_over_an_empty_cell_serves_the_label_before_it_and_no_other(maker):
    made, sheet = maker.book("Form")
    sheet["A1"], sheet["E1"] = "Buyer:", "Seen by:"
    maker.heads(sheet, 3, ["No", "Dimension", "Result"])
    content = maker.saved(made)
    layout = propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")
    for given, names in (("customer=C1", ["“Seen by:” (E1)"]), ("customer=G1", ["“Buyer:” (A1)"])):
        assert [each.parts["names"] for each in unfilled_in(content, corrected(layout, [given]))] == names


def test_of_two_heads_that_say_the_same_the_second_is_told(maker):
    made, sheet = maker.book("Form")
    maker.heads(sheet, 3, ["No", "Dimension", "Specification", "Result", "Remarks", "Comments"])
    content = maker.saved(made)
    layout = propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")
    assert [each.parts["names"] for each in unfilled_in(content, layout)] == ["“Specification” (C3), “Comments” (F3)"]


def test_the_forms_that_everything_is_known_of_have_nothing_to_be_told(forms):
    for name, each in forms.items():
        layout = propose(each.content, Attached(f"{name}.xlsx", "0" * 64, 1), "Rowan & Pike", name)
        assert [say(reason) for reason in unfilled_in(each.content, layout)] == [], name
