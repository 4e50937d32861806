"""Boxes of customers' forms that are ticked: full or partial, first article complete or not, detail or assembly; and
who stated what when. All customers and layouts are invented; wordings are common practice, from memory."""

from __future__ import annotations

import io

import pytest
from msgspec.structs import replace
from openpyxl import load_workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Font
from openpyxl.worksheet.datavalidation import DataValidation

from inspection.attached import Attached
from inspection.layout.as_written import corrected, lines_of
from inspection.layout.cell_names import address
from inspection.layout.filling import filling
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.people import Duty
from inspection.sheet.reporting import report
from inspection.sheet.review import StatementKind
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose

HEADS = ["Item", "Requirement", "Actual", "Pass/Fail"]


def table(maker, sheet, row):
    maker.heads(sheet, row, HEADS)
    maker.boxes(sheet, f"A{row + 1}:D{row + 6}")


def boxed(maker, sheet, *cells):
    for cell in cells:
        sheet[cell].border = maker.BOX


def listed(sheet, words, cell):
    check = DataValidation("list", f'"{words}"')
    check.add(cell)
    sheet.add_data_validation(check)


def american(maker):
    """Narrow boxes in front of their labels, and a pair below each other; who released, and when."""
    made, sheet = maker.book("FAI")
    for column in "ACEG":
        sheet.column_dimensions[column].width = 4
    for cell, text in {
        "A1": "Part Number:", "B3": "Detail FAI", "D3": "Assembly FAI", "F3": "Full FAI", "H3": "Partial FAI",
        "B5": "First Article Complete", "B6": "First Article NOT Complete", "F5": "FAI accepted by", "F6": "Date",
        "F7": "Released by", "F8": "Release date", "F9": "Released for",
    }.items():  # fmt: skip
        sheet[cell] = text
    boxed(maker, sheet, "B1", "A3", "C3", "E3", "G3", "A5", "A6", "H5", "H6", "H7", "H8", "H9")
    for row in (5, 6, 7, 8, 9):
        sheet.merge_cells(f"F{row}:G{row}")
    table(maker, sheet, 11)
    return maker.saved(made)


def german(maker):
    """Boxes that are signs in the text, one word of it bold; yes and no behind their question."""
    made, sheet = maker.book("Erstmuster")
    sheet["A2"] = CellRichText(
        "Art:  ☐ ",
        TextBlock(InlineFont(b=True), "Vollbemusterung"),
        "   ☐ ",
        TextBlock(InlineFont(), "Teilbemusterung"),
    )
    sheet["A3"] = "Erstbemusterung abgeschlossen:   □ ja    □ nein"
    sheet["A4"], sheet["C4"] = "Teilenummer:", "Serienfreigabe durch:"
    boxed(maker, sheet, "B4", "D4")
    table(maker, sheet, 6)
    return maker.saved(made)


def listing(maker):
    """Lists to choose from: the extent in words, complete by yes and no, a tick beside each kind."""
    made, sheet = maker.book("FAIR")
    for row, text in enumerate(("Type of FAI", "First article complete?", "Detail", "Assembly"), start=1):
        sheet.cell(row, 1, text)
        sheet.cell(row, 2).border = maker.BOX
    listed(sheet, "Full FAI,Partial / Delta FAI", "B1")
    listed(sheet, "Yes,No", "B2")
    listed(sheet, "✓,-", "B3:B4")
    table(maker, sheet, 6)
    return maker.saved(made)


def french(maker):
    """Signs behind their words, brackets, one cell for a question and one for its boxes."""
    made, sheet = maker.book("Premier article")
    sheet["A1"] = "Complète [ ]   Partielle [ ]"
    sheet["A2"], sheet["B2"] = "FAI complète", "( ) Oui  ( ) Non"
    sheet["A3"] = "N° de commande :"
    boxed(maker, sheet, "B3")
    table(maker, sheet, 5)
    return maker.saved(made)


def symbols(maker):
    """Boxes that are letters in a font of symbols: cells of their own, and a run of one."""
    made, sheet = maker.book("Report")
    for cell, text in {"A2": "o", "B2": "Full inspection", "C2": "o", "D2": "Partial inspection"}.items():
        sheet[cell] = text
    for cell in ("A2", "C2"):
        sheet[cell].font = Font(name="Wingdings", size=12)
    box = InlineFont(rFont="Wingdings")
    sheet["A3"] = CellRichText(TextBlock(box, "¨"), " complete  ", TextBlock(box, "¨"), " not complete")
    sheet["A4"] = "Part No."
    table(maker, sheet, 6)
    return maker.saved(made)


def italian(maker):
    """Heads over their boxes, and yes and no in cells behind the question."""
    made, sheet = maker.book("Rapporto")
    maker.heads(sheet, 2, ["FAI completa", "FAI parziale"])
    boxed(maker, sheet, "A3", "B3")
    for cell, text in {"A5": "FAI completata", "B5": "Sì", "D5": "No"}.items():
        sheet[cell] = text
    boxed(maker, sheet, "C5", "E5")
    table(maker, sheet, 8)
    return maker.saved(made)


def truths(maker):
    """Cells that hold false, which newer spreadsheet programs show as boxes to tick."""
    made, sheet = maker.book("Checks")
    for cell, text in {"A2": "Full FAI", "B2": False, "C2": "Partial FAI", "D2": False}.items():
        sheet[cell] = text
    sheet["A3"], sheet["B3"] = "FAI complete", False
    table(maker, sheet, 5)
    return maker.saved(made)


PROPOSED = {
    truths: {"B2": "full_mark", "D2": "partial_mark", "B3": "complete_mark"},
    american: {
        "B1": "part", "A3": "detail_mark", "C3": "assembly_mark", "E3": "full_mark", "G3": "partial_mark",
        "A5": "complete_mark", "A6": "not_complete_mark", "H5": "article_by", "H6": "article_on", "H7": "released_by",
        "H8": "released_on", "H9": "released_within",
    },
    german: {"A2": "extent", "A3": "article", "B4": "part", "D4": "released_by"},
    listing: {"B1": "extent", "B2": "article", "B3": "detail_mark", "B4": "assembly_mark"},
    french: {"A1": "extent", "B2": "article", "B3": "order"},
    symbols: {"A2": "full_mark", "C2": "partial_mark", "A3": "article", "B4": "part"},
    italian: {"A3": "full_mark", "B3": "partial_mark", "C5": "complete_mark", "E5": "not_complete_mark"},
}  # fmt: skip


def layout_of(content):
    return propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")


@pytest.mark.parametrize("make", PROPOSED, ids=lambda make: make.__name__)
def test_where_to_tick_is_found(make, maker):
    layout = layout_of(make(maker))
    assert {address(place.row, place.column): place.field for place in layout.heads} == PROPOSED[make]
    texts = [f"{name}={value}" for name, value, field in lines_of(layout) if field]
    again = corrected(replace(layout, heads=()), [text for text in texts if "!" in text])
    assert {*again.heads} == {*layout.heads}  # what is told of it enters it by keyboard


def test_one_word_alone_is_no_box(maker):
    made, sheet = maker.book("FAI")
    for row, text in enumerate(("Total", "Complete", "Assembly"), start=1):
        sheet.cell(row, 1, text)
        sheet.cell(row, 2).border = maker.BOX
    sheet.column_dimensions["B"].width = 4
    table(maker, sheet, 6)
    assert layout_of(maker.saved(made)).heads == ()


# --- filled ---------------------------------------------------------------------------------------------------------


def stated(life_kind, complete):
    """Sheet and shop of a whole first article of a detail that is complete and released, or of a partial one of an
    assembly that is stated not to be complete."""
    life = life_kind.Life().open()
    lead = life.enter("Lea Lund", Duty.LEAD)
    life.make(("001",), *({"number": n, "kind": "length", "requirement": ".500 ±.005"} for n in ("1", "2")))
    head = Head(detail="detail") if complete else Head(detail="assembly", extent="partial", baseline="HB-6")
    life.do(acts.WriteHead(sheet=life.sheet_id, head=head))
    life.take("1", ".5000")
    life.take("2", ".5010")
    life.sign()
    for kind, words in (
        (StatementKind.APPROVED, ""),
        (StatementKind.COMPLETE, ""),
        (StatementKind.RELEASED, "lot 4711, 200 pieces"),
    ):
        act = acts.MakeStatement(sheet=life.sheet_id, kind=kind, words=words)
        life.do(act, person=lead, sign=life.signer(lead))
    if complete:
        return life.sheet, life.shop
    approved, whole, _released = life.sheet.statements
    return replace(life.sheet, statements=(approved, replace(whole, kind=StatementKind.NOT_COMPLETE))), life.shop


@pytest.fixture(scope="module")
def sheets(life_kind):
    return {complete: stated(life_kind, complete) for complete in (True, False)}


def filled(stated, content, *texts):
    layout = corrected(layout_of(content), texts)
    done = fill(content, "form.xlsx", filling(*stated, report(*stated), layout))
    return load_workbook(io.BytesIO(done.content), rich_text=True).active, done


def ticks(sheet, make):
    marks = [cell for cell, field in PROPOSED[make].items() if field.endswith("_mark")]
    return {cell for cell in marks if sheet[cell].value not in (None, "o", "-")}


def test_the_box_of_the_answer_is_ticked_and_the_other_left(maker, sheets):
    done, not_done = (filled(sheets[each], american(maker))[0] for each in (True, False))
    assert ticks(done, american) == {"A3", "E3", "A5"}
    assert ticks(not_done, american) == {"C3", "G3", "A6"}
    assert {done["A3"].value, not_done["A6"].value} == {"X"}
    assert [done[cell].value for cell in ("H5", "H7", "H9")] == ["Lea Lund", "Lea Lund", "lot 4711, 200 pieces"]
    assert (done["H8"].value, not_done["H8"].value, not_done["H5"].value) == (done["H6"].value, None, "Lea Lund")
    sheet, _ = filled(sheets[True], american(maker), "word mark=✔")
    assert sheet["A3"].value == "✔"


def test_signs_in_a_text_are_ticked_where_they_stand(maker, sheets):
    done, not_done = (filled(sheets[each], german(maker))[0] for each in (True, False))
    assert (str(done["A2"].value), str(not_done["A2"].value)) == (
        "Art:  ☒ Vollbemusterung   ☐ Teilbemusterung",
        "Art:  ☐ Vollbemusterung   ☒ Teilbemusterung",
    )
    assert [run.text for run in done["A2"].value if isinstance(run, TextBlock) and run.font.b] == ["Vollbemusterung"]
    told = [str(each["A3"].value).partition(":")[2].split() for each in (done, not_done)]
    assert told == [["☒", "ja", "□", "nein"], ["□", "ja", "☒", "nein"]]
    word, not_word = (filled(sheets[each], french(maker))[0] for each in (True, False))
    assert (word["A1"].value, word["B2"].value) == ("Complète [X]   Partielle [ ]", "(X) Oui  ( ) Non")
    assert (not_word["A1"].value, not_word["B2"].value) == ("Complète [ ]   Partielle [X]", "( ) Oui  (X) Non")


def test_a_list_is_answered_in_its_own_words(maker, sheets):
    for complete, told in ((True, ["Full FAI", "Yes", "✓", "-"]), (False, ["Partial / Delta FAI", "No", "-", "✓"])):
        sheet, done = filled(sheets[complete], listing(maker))
        assert [sheet[f"B{row}"].value for row in range(1, 5)] == told
        assert done.notices == ()


def test_letters_of_a_font_of_symbols_are_ticked_as_that_font_has_it(maker, sheets):
    sheet, _ = filled(sheets[False], symbols(maker))
    assert (sheet["A2"].value, str(sheet["C2"].value), sheet["C2"].font.name) == ("o", "ý", "Wingdings")
    runs = [(run.text, run.font.rFont) if isinstance(run, TextBlock) else run for run in sheet["A3"].value]
    assert runs == [("¨", "Wingdings"), " complete  ", ("ý", "Wingdings"), " not complete"]
    italic, _ = filled(sheets[True], italian(maker))
    assert [italic[cell].value for cell in ("A3", "B3", "C5", "E5")] == ["X", None, "X", None]


def test_what_is_true_or_false_stays_so(maker, sheets):
    done, not_done = (filled(sheets[each], truths(maker))[0] for each in (True, False))
    assert [done[cell].value for cell in ("B2", "D2", "B3")] == [True, False, True]
    assert [not_done[cell].value for cell in ("B2", "D2", "B3")] == [False, True, False]


def test_what_nobody_has_stated_is_ticked_nowhere(maker, measured):
    life = measured()
    for make, right in PROPOSED.items():
        blank = load_workbook(io.BytesIO(make(maker)), rich_text=True).active
        sheet, _ = filled((life.sheet, life.shop), make(maker))
        for cell, field in right.items():
            if field in ("article", "complete_mark", "not_complete_mark", "article_by", "released_on"):
                assert str(sheet[cell].value) == str(blank[cell].value), (make.__name__, cell)


QUESTIONS = {
    "☐ Full  ☐ Partial     ☐ Complete  ☐ Not complete": (
        ["extent", "article"],
        "☒ Full  ☐ Partial     ☒ Complete  ☐ Not complete",
        "☐ Full  ☒ Partial     ☐ Complete  ☒ Not complete",
    ),
    "☐ Complète ☐ Partielle\nFAI terminée : ☐ Oui ☐ Non": (  # what is complete is the inspection, not the first article
        ["extent", "article"],
        "☒ Complète ☐ Partielle\nFAI terminée : ☒ Oui ☐ Non",
        "☐ Complète ☒ Partielle\nFAI terminée : ☐ Oui ☒ Non",
    ),
    "[ ] Vollbemusterung / Full FAI   [ ] Teilbemusterung / Partial FAI   [ ] Einzelteil / Detail   [ ] Baugruppe": (
        ["extent", "detail"],
        "[X] Vollbemusterung / Full FAI   [ ] Teilbemusterung / Partial FAI   [X] Einzelteil / Detail   [ ] Baugruppe",
        "[ ] Vollbemusterung / Full FAI   [X] Teilbemusterung / Partial FAI   [ ] Einzelteil / Detail   [X] Baugruppe",
    ),
}


@pytest.mark.parametrize("text", QUESTIONS)
def test_several_questions_in_one_cell_are_all_answered(maker, sheets, text):
    fields, done, not_done = QUESTIONS[text]
    made, sheet = maker.book("FAI")
    sheet["A1"] = text
    table(maker, sheet, 3)
    content = maker.saved(made)
    layout = layout_of(content)
    assert [(place.field, place.row, place.column) for place in layout.heads] == [(field, 1, 1) for field in fields]
    assert {*corrected(replace(layout, heads=()), [f"{field}=A1" for field in fields]).heads} == {*layout.heads}
    for complete, right in ((True, done), (False, not_done)):
        sheet, made_of_it = filled(sheets[complete], content)
        assert (str(sheet["A1"].value), made_of_it.notices) == (right, ())


def test_two_answers_in_a_cell_without_boxes_do_not_write_over_each_other(maker, sheets):
    sheet, done = filled(sheets[True], american(maker), "extent=J2", "article=J2")
    assert sheet["J2"].value == "full"
    assert done.notices[0].code == "form.cell_taken"


def test_a_list_in_two_languages_is_answered_in_both(maker, sheets):
    made, sheet = maker.book("FAI")
    sheet["A1"] = "Type of FAI"
    sheet["B1"].border = maker.BOX
    listed(sheet, "Voll / Full,Teil / Partial", "B1")
    table(maker, sheet, 3)
    listed(sheet, "i.O. / OK,n.i.O. / NOK", "D4:D9")
    sheet, done = filled(sheets[False], maker.saved(made))
    assert (sheet["B1"].value, sheet["D4"].value, done.notices) == ("Teil / Partial", "i.O. / OK", ())


@pytest.mark.parametrize(
    "label", ["Reason for Partial:", "14. Reason for partial FAI", "Grund der Teilbemusterung", "Motif (FAI partielle)"]
)
def test_the_reason_for_a_partial_one_is_told_of_no_full_one(maker, sheets, label):
    made, sheet = maker.book("FAI")
    sheet["A1"], sheet["A2"] = label, "Reason"
    boxed(maker, sheet, "B1", "B2")
    table(maker, sheet, 4)
    content = maker.saved(made)
    (full, shop), (partial, _) = ((replace(each, head=replace(each.head, cause="moved to another mill")), shop)
                                  for each, shop in (sheets[True], sheets[False]))  # fmt: skip
    told = [[filled((each, shop), content)[0][cell].value for cell in ("B1", "B2")] for each in (full, partial)]
    assert told == [[None, "moved to another mill"], ["moved to another mill"] * 2]


def test_boxes_that_say_something_else_are_left_and_told_of(maker, sheets):
    content = german(maker)
    sheet, done = filled(sheets[True], content, "article=", "extent=A3")
    assert str(sheet["A3"].value) == "Erstbemusterung abgeschlossen:   □ ja    □ nein"
    left, unanswered = done.notices
    assert (unanswered.code, unanswered.parts["cell"]) == ("form.no_box", "Erstmuster!A3")
    assert (left.code, left.parts["n"]) == ("form.labels_left", 1)  # those of the extent, which goes elsewhere now


def test_a_word_and_a_mark_are_corrected_like_any_other(maker):
    layout = corrected(layout_of(american(maker)), ["full_mark=J2", "article=J3", "word not complete=OPEN"])
    places = {place.field: (place.row, place.column) for place in layout.heads}
    assert (places["full_mark"], places["article"], layout.words["not complete"]) == ((2, 10), (3, 10), "OPEN")
    with pytest.raises(Refused) as refused:
        corrected(layout, ["word fullish=F"])
    assert [each.code for each in refused.value.reasons] == ["layout.word_unknown"]
