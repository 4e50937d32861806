"""Forms that lead a proposal astray, made after those beside without looking at them: what is proposed, and what stands
on them once they are filled. All customers and layouts are invented."""

from __future__ import annotations

import io

import pytest
from openpyxl import load_workbook
from openpyxl.styles import Alignment, PatternFill, Protection
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation

from inspection.attached import Attached
from inspection.layout.as_written import corrected, lines_of
from inspection.layout.cell_names import address
from inspection.layout.layout import Grow
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.head import Head
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose
from storage.dispatch.customer_form.unfilled import unfilled_in
from storage.dispatch.customer_form.words import field_of


def layout_of(content):
    return propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")


def heads_of(layout):
    found = {}
    for place in layout.heads:
        found.setdefault(f"{place.sheet}!{address(place.row, place.column)}", []).append(place.field)
    return {cell: ", ".join(fields) for cell, fields in found.items()}


def columns_of(table):
    return {
        (address(table.first + column.offset, column.column)): " ".join(
            filter(None, (column.field + (f":{column.piece}" if column.piece >= 0 else ""), column.unit))
        )
        for column in table.columns
    }


def listed(sheet, words, cells):
    check = DataValidation("list", f'"{words}"')
    check.add(cells)
    sheet.add_data_validation(check)


def filled(laid_out, life, content):
    layout = layout_of(content)
    return load_workbook(io.BytesIO(fill(content, "form.xlsx", laid_out(life, layout)).content))


def german(maker):
    """Labels that run over the next column, the table from column D, stacked heads, i.O. / n.i.O."""
    made, sheet = maker.book("Erstmuster")
    for row, (label, further) in enumerate((("Teile-Nr.:", "Änderungsstand:"), ("Benennung:", "Prüfdatum:")), start=4):
        sheet.cell(row, 4, label)
        sheet.cell(row, 10, further)
        sheet.cell(row, 6).border = sheet.cell(row, 12).border = maker.BOX
    maker.heads(
        sheet, 10, ["Lfd. Nr.", "Merkmal", "Nennmaß", "Toleranz", "", "Istmaße", "", "Beurteilung i.O. / n.i.O."], 4
    )
    maker.heads(sheet, 11, ["", "", "", "oberes Abmaß", "unteres Abmaß", "Teil 1", "Teil 2", ""], 4)
    for area in ("D10:D11", "E10:E11", "F10:F11", "G10:H10", "I10:J10", "K10:K11"):
        sheet.merge_cells(area)
    maker.boxes(sheet, "D12:K31", "0.0000")
    listed(sheet, "i.O.,n.i.O.", "K12:K31")
    return maker.saved(made)


def french(maker):
    """Protected: the cells beside the labels are locked, coloured ones further right are open; a list of O and N."""
    made, sheet = maker.book("Relevé")
    for row, label in enumerate(("Client", "Référence pièce", "Indice"), start=4):
        sheet.cell(row, 1, label)
        sheet.cell(row, 3).protection = Protection(locked=False)
        sheet.cell(row, 3).fill = PatternFill("solid", fgColor="FFFFFFCC")
    maker.heads(sheet, 9, ["Repère", "Cote / Spécification", "Mini", "Maxi", "Mesure\npièce 1", "Conforme (O/N)"])
    maker.boxes(sheet, "A10:F29")
    for row in sheet["A10:F29"]:
        for cell in row:
            cell.protection = Protection(locked=False)
    listed(sheet, "O,N", "F10:F29")
    sheet.protection.sheet = True
    return maker.saved(made)


def spanish(maker):
    """No column is called a number: "Cota" stands in front of "Especificación"."""
    made, sheet = maker.book("Informe")
    sheet["B4"], sheet["D4"] = "Nº de pieza", "Pedido"
    sheet["B5"].border = sheet["D5"].border = maker.BOX
    maker.heads(sheet, 9, ["Cota", "Especificación", "Resultado", "Equipo de medida", "Aceptado OK / NOK"], 2)
    maker.boxes(sheet, "B10:F34")
    return maker.saved(made)


def italian(maker):
    """Nothing is bordered; the verdict's two words stand in brackets; a total begins in the column of numbers."""
    made, sheet = maker.book("Rapporto")
    sheet["A2"] = "Codice particolare"
    maker.heads(
        sheet,
        6,
        ["Quota n.", "Descrizione", "Valore nominale", "Toll. inf.", "Toll. sup.", "Misura 1", "Esito (C / NC)"],
    )
    sheet["A37"], sheet["G37"] = "Scarti", '=COUNTIF(G7:G36,"NC")'
    return maker.saved(made)


def abbreviated(maker):
    """Words cut short in ways of its own, a formula that reads the dimension, a verdict under an unusual head."""
    made, sheet = maker.book("FAI")
    sheet["B2"], sheet["D2"], sheet["F2"] = "P/N", "Cust. P.O.", "Insp. date"
    maker.heads(
        sheet,
        4,
        ["Item", "Desc.", "Dim", "Tol +", "Tol -", "Meas. 1", "Meas. 2", "Dev", "Decided", "Tools", "NC number"],
        2,
    )
    maker.boxes(sheet, "B5:L24")
    for row in range(5, 25):
        sheet[f"I{row}"] = f'=IF(G{row}="","",G{row}-D{row})'
    listed(sheet, "Use,Scrap", "J5:J24")
    listed(sheet, "Accepted,Rework", "J5:J24")
    return maker.saved(made)


def box_numbers(maker):
    """Three parts whose boxes are numbered; on the second a list of materials, whose heads are nobody's labels."""
    made, sheet = maker.book("Accountability")
    for column, label in ((1, "1. Part Number"), (3, "4. Report Identifier"), (5, "7. Drawing Revision Level")):
        sheet.cell(3, column, label)
        sheet.merge_cells(start_row=3, end_row=3, start_column=column, end_column=column + 1)
        sheet.merge_cells(start_row=4, end_row=4, start_column=column, end_column=column + 1)
        sheet.cell(4, column).border = maker.BOX
    product = made.create_sheet("Product")
    maker.heads(
        product, 4, ["5. Material", "6. Specification Number", "8. Supplier", "10. Certificate of Conformance No."]
    )
    maker.boxes(product, "A5:D12")
    third = made.create_sheet("Characteristics")
    third["A4"], third["D4"] = "Characteristic Accountability", "Inspection / Test Results"
    third.merge_cells("A4:C4")
    third.merge_cells("D4:F4")
    maker.heads(
        third,
        5,
        [
            "5. Char. No.",
            "6. Ref. Location",
            "8. Requirement",
            "9. Results",
            "10. Designed / Qualified Tooling",
            "11. Nonconformance Number",
        ],
    )
    maker.boxes(third, "A6:F45")
    return maker.saved(made)


def two_up(maker):
    """The table goes on at its own right."""
    made, sheet = maker.book("Two up")
    sheet["A2"] = "Part No"
    for start in (1, 7):
        maker.heads(sheet, 4, ["No.", "Dimension", "Actual", "OK"], start)
    maker.boxes(sheet, "A5:D7")
    maker.boxes(sheet, "G5:J7")
    return maker.saved(made)


def pieces_down(maker):
    """A block a characteristic, a line a piece."""
    made, sheet = maker.book("Blocks")
    sheet["A2"] = "Part"
    maker.heads(sheet, 4, ["Char", "Requirement", "Piece", "Result", "OK?"])
    maker.boxes(sheet, "A5:E16")
    for row in range(5, 17, 3):
        for letter in "AB":
            sheet.merge_cells(f"{letter}{row}:{letter}{row + 2}")
        for piece in range(3):
            sheet.cell(row + piece, 3, piece + 1)
    return maker.saved(made)


def dual(maker):
    """Both systems below each of the heads, read from right to left."""
    made, sheet = maker.book("Dual")
    sheet.sheet_view.rightToLeft = True
    sheet["A3"] = "Part Number"
    maker.heads(
        sheet, 5, ["Item No.", "Specification", "Lower Limit", "", "Upper Limit", "", "Measured", "", "Verdict"]
    )
    maker.heads(sheet, 6, ["", "", "in", "mm", "in", "mm", "in", "mm", ""])
    for area in ("C5:D5", "E5:F5", "G5:H5"):
        sheet.merge_cells(area)
    maker.boxes(sheet, "A7:I30")
    return maker.saved(made)


def bilingual(maker):
    """German and English labels in cells beside each other, and heads below each other; boxes for two questions."""
    made, sheet = maker.book("Erstmuster FAI")
    labels = (
        ("Lieferant", "Supplier", "Teile-Nr.", "Part no."),
        ("Bestellung / Pos.", "Order / line", "Änd.-Index", "Revision"),
        ("Anlass", "Reason", "Grund der Teilbemusterung", "Reason for partial"),
    )
    for row, (label, english, further, further_english) in enumerate(labels, start=3):
        for column, text in ((1, label), (2, english), (6, further), (8, further_english)):
            sheet.cell(row, column, text)
        maker.boxes(sheet, f"A{row}:L{row}")
        for area in ("C{0}:E{0}", "F{0}:G{0}", "I{0}:L{0}"):
            sheet.merge_cells(area.format(row))
    sheet["A7"] = "☐ Voll / Full FAI   ☐ Teil / Partial FAI     ☐ abgeschlossen / complete   ☐ offen / not complete"
    maker.heads(
        sheet, 9, ["Nr.", "Merkmal", "Anforderung", "Untere Grenze", "Obere Grenze", "Istwert / Actual", "", ""]
    )
    maker.heads(sheet, 10, ["No.", "Characteristic", "Requirement", "Lower limit", "Upper limit", "Part 1", "Part 2"])
    maker.heads(sheet, 9, ["Prüfmittel", "Entscheid"], 8)
    maker.heads(sheet, 10, ["Gauge ID", "Decision"], 8)
    sheet.merge_cells("F9:G9")
    maker.boxes(sheet, "A11:I50", "0.0000")
    listed(sheet, "i.O. / OK,n.i.O. / NOK", "I11:I50")
    sheet["A52"], sheet["F52"] = "Freigabe / Approved by", "Datum / Date"
    sheet["C52"].border = sheet["G52"].border = maker.BOX
    return maker.saved(made)


def vertical(maker):
    """Heads that run upwards with units in brackets, and so does the title beside the labels; Italian."""
    made, sheet = maker.book("Foglio 1")
    sheet.merge_cells("A1:A3")
    sheet["A1"] = "INTESTAZIONE"
    labels = (("Fornitore", "Ordine n."), ("Codice articolo", "Disegno n."), ("Tipo FAI", "Motivo (se parziale)"))
    for row, pair in enumerate(labels, start=1):
        for column, text in zip((2, 6), pair, strict=True):
            sheet.cell(row, column, text)
            sheet.merge_cells(start_row=row, end_row=row, start_column=column, end_column=column + 1)
            sheet.cell(row, column + 2).border = maker.BOX
    listed(sheet, "Completa,Parziale", "D3")
    texts = ["N. quota", "Zona", "Caratteristica", "Quota", "Tolleranza + [mm]", "Tolleranza - [mm]", "Pezzo 1 [mm]",
             "Pezzo 2 [mm]", "Scostamento [mm]", "Strumento", "Esito", "Note"]  # fmt: skip
    maker.heads(sheet, 6, texts)
    for cell in (sheet["A1"], *sheet[6]):
        cell.alignment = Alignment(textRotation=90, wrap_text=True)
    sheet.row_dimensions[6].height = 110
    maker.boxes(sheet, "A7:L30", "0.000")
    sheet["A32"], sheet["D32"] = "FAI completa?", "☐ Sì  ☐ No"
    return maker.saved(made)


RIGHT = {
    bilingual: (
        {"C3": "shop", "I3": "part", "C4": "order", "I4": "part_revision", "C5": "cause", "I5": "partial_cause",
         "A7": "extent, article", "C52": "approver", "G52": "approved_on"},
        {"A": "number", "B": "name", "C": "requirement", "D": "lower", "E": "upper", "F": "result:0", "G": "result:1",
         "H": "instrument_tag", "I": "verdict"},
        (11, 40), {"conforming": "i.O. / OK", "not conforming": "n.i.O. / NOK"},
    ),
    vertical: (
        {"D1": "shop", "H1": "order", "D2": "part", "H2": "drawing", "D3": "extent", "H3": "partial_cause",
         "D32": "article"},
        {"A": "number", "B": "zone", "C": "name", "D": "nominal", "E": "plus", "F": "minus", "G": "result:0",
         "H": "result:1", "I": "deviation", "J": "instrument", "K": "verdict", "L": "note"},
        (7, 24), {},
    ),
    german: (
        {"F4": "part", "L4": "drawing_revision", "F5": "part_name", "L5": "inspected_on"},
        {"D": "number", "E": "requirement", "F": "nominal", "G": "plus", "H": "lower_deviation", "I": "result:0",
         "J": "result:1", "K": "verdict"},
        (12, 20), {"conforming": "i.O.", "not conforming": "n.i.O."},
    ),
    french: (
        {"C4": "customer", "C5": "part", "C6": "part_revision"},
        {"A": "number", "B": "requirement", "C": "lower", "D": "upper", "E": "result:0", "F": "verdict"},
        (10, 20), {"conforming": "O", "not conforming": "N"},
    ),
    spanish: (
        {"B5": "part", "D5": "order"},
        {"B": "number", "C": "requirement", "D": "result:0", "E": "instrument", "F": "verdict"},
        (10, 25), {"conforming": "OK", "not conforming": "NOK"},
    ),
    italian: (
        {"B2": "part"},
        {"A": "number", "B": "name", "C": "nominal", "D": "minus", "E": "plus", "F": "result:0", "G": "verdict"},
        (7, 30), {"conforming": "C", "not conforming": "NC"},
    ),
    abbreviated: (
        {"C2": "part", "E2": "order", "G2": "inspected_on"},
        {"B": "number", "C": "name", "D": "nominal", "E": "plus", "F": "minus", "G": "result:0", "H": "result:1",
         "K": "instrument", "L": "nonconformance"},
        (5, 20), {},
    ),
    pieces_down: (
        {"B2": "part"},
        {"A": "number", "B": "requirement", "D": "result:0", "E": "verdict:0", "D+1": "result:1", "E+1": "verdict:1",
         "D+2": "result:2", "E+2": "verdict:2"},
        (5, 4), {},
    ),
    dual: (
        {"B3": "part"},
        {"A": "number", "B": "requirement", "C": "lower in", "D": "lower mm", "E": "upper in", "F": "upper mm",
         "G": "result:0 in", "H": "result:0 mm", "I": "verdict"},
        (7, 24), {},
    ),
}  # fmt: skip


@pytest.mark.parametrize("make", RIGHT, ids=lambda make: make.__name__)
def test_proposals_need_no_correction(make, maker):
    heads, columns, (first, rows), words = RIGHT[make]
    layout = layout_of(make(maker))
    (table,) = layout.tables
    assert {cell.split("!")[1]: field for cell, field in heads_of(layout).items()} == heads
    expected = {
        f"{letter.split('+')[0]}{first + int((letter + '+0').split('+')[1])}": field
        for letter, field in columns.items()
    }
    assert columns_of(table) == expected
    assert (table.first, table.rows) == (first, rows)
    assert layout.words == words


def test_rows_that_the_customer_wrote_keep_what_stands_in_them(maker, measured, laid_out):
    """Numbers, names and how to measure are given, the last not in every row; one row is none of the sheet's."""
    made, sheet = maker.book("Checklist")
    maker.heads(sheet, 3, ["Item", "Characteristic", "Requirement", "Method", "Ist-Wert Lieferant", "Accept / Reject"])
    given = (("1", "Length", ".500", ""), ("2", "Pilot", "⌀.7500", "MIC"), ("99", "Packaging", "per PO", "VIS"))
    for row, texts in enumerate(given, start=4):
        for column, text in enumerate(texts, start=1):
            sheet.cell(row, column, text or None)
    maker.boxes(sheet, "A4:F6")
    content = maker.saved(made)
    layout = layout_of(content)
    assert {column.field for column in layout.tables[0].columns} == {"number", "result", "verdict"}
    laid = laid_out(measured(), layout)
    told = {each.code: each.parts["numbers"] for each in laid.notices}
    assert told["layout.not_on_sheet"] == "99"
    sheet = load_workbook(io.BytesIO(fill(content, "form.xlsx", laid).content)).active
    rows = [[cell.value for cell in row] for row in sheet["A4:F6"]]
    assert [[str(cell or "") for cell in row[3:]] for row in rows] == [
        ["", "0.500", "Accept"], ["MIC", "0.7500", "Accept"], ["VIS", "", ""],
    ]  # fmt: skip


def test_labels_that_mislead(maker):
    """Serials counted one by one; a cell for order and line together; a day beside somebody nobody knows."""
    made, sheet = maker.book("Form")
    for cell, text in {
        "A1": "Serial no. 1", "C1": "S/N 2", "A2": "PO / line", "A3": "Witness", "C3": "Date", "A4": "Prüfer",
        "C4": "Datum", "A5": "Seriennummer", "A6": "Bestellnummer / Position",
    }.items():  # fmt: skip
        sheet[cell] = text
        sheet.cell(sheet[cell].row, sheet[cell].column + 1).border = maker.BOX
    maker.heads(sheet, 8, ["Item", "Requirement", "Actual", "OK"])
    maker.boxes(sheet, "A9:D20")
    layout = layout_of(maker.saved(made))
    told = {f"{address(place.row, place.column)}": (place.field, place.piece) for place in layout.heads}
    assert told == {
        "B1": ("serial", 0), "D1": ("serial", 1), "B2": ("order", 0), "B4": ("inspector", 0), "D4": ("inspected_on", 0),
        "B5": ("serial", 0), "B6": ("order", 0),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("label", "field"),
    [
        ("Ordine n.", "order"), ("N. ordine", "order"), ("Disegno n.", "drawing"), ("Nº de plano", "drawing"),
        ("Lotto n.", "lot"), ("Zeichnung Nr.", "drawing"), ("No. of parts", ""), ("Qty. insp.", "quantity"),
        ("Berichts-Nr.", "report"), ("Informe nº", "report"), ("Qty Submitted", "quantity"),
        ("Insp. date", "inspected_on"), ("Overall judgement", "verdict"), ("Raumtemperatur:", "temperature"),
    ],
)  # fmt: skip
def test_labels_are_known_by_their_words_cut_short_and_in_any_order(label, field):
    assert field_of("head", label) == field


@pytest.mark.parametrize(
    ("label", "behind", "written", "said"),
    [
        ("Temperature (°C):", "", "70 °F", 21.1),
        ("Temp. °F", "", "20 °C", 68),
        ("Raumtemperatur", "°C", "68 - 72 °F", "20.0 … 22.2"),
        ("Ambient temperature", "", "70 °F", "70 °F"),
        ("Temperatura [°C]", "", "20", "20"),  # no scale was written: told, and not guessed
    ],
)  # fmt: skip
def test_a_temperature_goes_out_on_the_scale_of_the_form(maker, measured, laid_out, label, behind, written, said):
    made, sheet = maker.book("Form")
    sheet["A1"], sheet["C1"] = label, behind or None
    sheet["B1"].border = maker.BOX
    maker.heads(sheet, 5, ["Item", "Requirement", "Actual", "Pass/Fail"])
    maker.boxes(sheet, "A6:D20")
    life, content = measured(), maker.saved(made)
    life.do(acts.WriteHead(sheet=life.sheet_id, head=Head(temperature=written)))
    done = fill(content, "form.xlsx", laid_out(life, layout_of(content)))
    assert load_workbook(io.BytesIO(done.content))["Form"]["B1"].value == said
    told = [each.code for each in done.notices if each.code.startswith("layout.")]
    assert told == (["layout.scale_unknown"] if written == "20" else [])


@pytest.mark.parametrize(
    ("field", "heads"),
    [
        ("number", ("Bal.", "Bal. #", "Balloon No")),
        ("requirement", ("Reqmt.", "Dwg Reqmt")),
        ("instrument", ("Meas. Equip.", "Measuring equip.")),
        ("calibrated_on", ("Cal Date", "Calibrated", "Last cal.", "Date of calibration", "Kalibriert am",
                           "Kalibrierdatum", "Letzte Kalibrierung",
                           "Étalonné le", "Date d'étalonnage", "Fecha de calibración",
                           "Última calibración", "Tarato il", "Data taratura")),
        ("calibration_due", ("Cal Due", "Due", "Next cal date", "Next calibration", "Cal. exp. date", "Recal due",
                             "Kalibriert bis", "Nächste Kalibrierung", "Fällig am", "Prochain étalonnage",
                             "Étalonnage valable jusqu'au", "Próxima calibración", "Calibrado hasta",
                             "Prossima taratura", "Scadenza taratura")),
    ],
)  # fmt: skip
def test_the_day_of_a_calibration_and_the_day_it_is_due_are_two_things(field, heads):
    """Common practice: "cal date" is the day it was calibrated; what may still be measured with it is told by "due"."""
    assert {head: field_of("column", head) for head in heads} == dict.fromkeys(heads, field)


PAPERS = {"A": "paper", "B": "paper_specification", "C": "paper_supplier", "D": "paper_certificate"}


def test_materials_and_processes_go_to_a_list_of_their_own(maker, measured, laid_out):
    life, content = measured(), box_numbers(maker)
    for number in range(1, 10):
        evidence = Evidence(
            "", EvidenceKind.MATERIAL, f"plate {number}", specification="QS-12", supplier="Ostrava", certificate="55"
        )
        life.do(acts.EnterEvidence(sheet=life.sheet.identity, evidence=evidence))
    life.do(acts.EnterEvidence(sheet=life.sheet.identity, evidence=Evidence("", EvidenceKind.DRAWING, "D-1")))
    layout = layout_of(content)
    laid = laid_out(life, layout)
    assert [reason.parts["names"] for reason in laid.notices if reason.code == "layout.papers_over"] == ["plate 9"]
    sheet = load_workbook(io.BytesIO(fill(content, "form.xlsx", laid).content))["Product"]
    told = [[cell.value for cell in row] for row in sheet["A5:D12"]]
    assert told == [[f"plate {number}", "QS-12", "Ostrava", "55"] for number in range(1, 9)]
    assert [line for line in lines_of(layout) if line[0] == "paper:8"] == [("paper:8", "Product!A12", "paper")]
    again = corrected(layout, ["paper:8=", "paper:8=Product!A12"])
    assert {*again.heads} == {*layout.heads}


def test_numbers_of_boxes_stand_for_nothing(maker):
    layout = layout_of(box_numbers(maker))
    assert heads_of(layout) == {
        "Accountability!A4": "part", "Accountability!C4": "report", "Accountability!E4": "drawing_revision",
        **{f"Product!{letter}{row}": field for row in range(5, 13) for letter, field in PAPERS.items()},
    }  # fmt: skip
    (table,) = layout.tables
    assert table.sheet == "Characteristics"
    assert list(columns_of(table).values()) == [
        "number", "zone", "requirement", "result:0", "tooling", "nonconformance",
    ]  # fmt: skip


def test_a_table_that_goes_on_beside_itself_is_filled_a_page_at_a_time(maker, measured, laid_out):
    layout = layout_of(two_up(maker))
    assert [(table.columns[0].column, table.grow) for table in layout.tables] == [(1, Grow.SHEETS), (7, Grow.SHEETS)]
    life = measured(("001", "002"))
    book = filled(laid_out, life, two_up(maker))
    numbers = [
        [str(sheet.cell(row, column).value) for column in (1, 7) for row in (5, 6, 7) if sheet.cell(row, column).value]
        for sheet in book.worksheets
    ]
    rows = ["1", "2", "3", "4", "5", "6", "7.1", "7.2", "7.3", "8", "9"]
    assert numbers == [rows[:6], rows[6:], rows[:6], rows[6:]]  # each piece on pages of its own
    assert {sheet["B2"].value for sheet in book.worksheets} == {"HB-7"}


def test_a_number_that_stands_again_begins_a_further_block_of_the_same_lines(maker, measured, laid_out):
    made, sheet = maker.book("Form")
    maker.heads(sheet, 4, ["Char. no.", "Dimension", "Nominal", "", "Char. no.", "S/N 1 [in]", "S/N 2 [in]", "Gauge"])
    maker.boxes(sheet, "A5:C20")
    maker.boxes(sheet, "E5:H20")
    content = maker.saved(made)
    (table,) = layout_of(content).tables
    assert [(column.column, column.field, column.piece) for column in table.columns] == [
        (1, "number", -1), (2, "requirement", -1), (3, "nominal", -1), (5, "number", -1), (6, "result", 0),
        (7, "result", 1), (8, "instrument", -1),
    ]  # fmt: skip
    sheet = filled(laid_out, measured(("001", "002")), content).active
    assert [str(sheet[f"{letter}13"].value) for letter in "AEFG"] == ["7.3", "7.3", "0.799", "0.801"]


def test_pieces_below_each_other_stand_on_their_own_lines(maker, measured, laid_out):
    sheet = filled(laid_out, measured(("001", "002", "003")), pieces_down(maker)).active
    assert [sheet[f"D{row}"].value for row in (5, 6, 7)] == ["0.500", "0.501", "0.503"]  # alike in one column
    assert [sheet[f"C{row}"].value for row in range(5, 38)] == [1, 2, 3] * 11  # those put in say it too


def test_what_no_number_says_is_not_lost_without_a_column_for_it(maker, measured, laid_out):
    sheet = filled(laid_out, measured(), italian(maker)).active
    names = {str(sheet[f"A{row}"].value): sheet[f"B{row}"].value for row in range(7, 20)}
    assert "DEBURR ALL EDGES" in names["4"] and "1/4-20 UNC-2B" in names["5"]


@pytest.mark.parametrize(
    ("heads", "right"),
    [
        ("Characteristic|Requirement|Result", "number requirement result"),
        ("No.|Characteristic|Requirement|Result", "number name requirement result"),
        ("Nr.|Anforderung|Prüfmerkmal / Characteristic|Ist", "number requirement name result"),
        ("N°|Caractéristique|Cote|Mesure", "number name requirement result"),
        ("No.|Description|Characteristic|Requirement|Result", "number name  requirement result"),
        ("No.|Characteristic|Dimension|Tol +|Tol -|Result", "number name nominal plus minus result"),
        ("No.|Characteristic|Nominal|Result", "number requirement nominal result"),
        ("No.|Dimension|Specification|Result", "number requirement  result"),
    ],
)
def test_a_characteristic_beside_its_requirement_is_its_name(maker, heads, right):
    made, sheet = maker.book("FAI")
    maker.heads(sheet, 4, heads.split("|"))
    maker.boxes(sheet, f"A5:{'ABCDEF'[heads.count('|')]}12")
    held = {column.column: column.field for column in layout_of(maker.saved(made)).tables[0].columns}
    assert [held.get(at, "") for at in range(1, heads.count("|") + 2)] == right.split(" ")


def test_a_characteristic_without_a_name_is_told_by_its_kind(maker, measured, laid_out):
    made, sheet = maker.book("FAI")
    maker.heads(sheet, 4, ["No.", "Characteristic", "Requirement", "Result"])
    sheet = filled(laid_out, measured(), maker.saved(made)).active
    told = [(sheet[f"B{row}"].value, sheet[f"C{row}"].value) for row in (6, 8)]
    assert told == [("outside diameter", "⌀.7500 ±.0005"), ("note", "DEBURR ALL EDGES")]


def test_open_cells_of_a_protected_form_are_filled_and_locked_ones_left(maker, measured, laid_out):
    sheet = filled(laid_out, measured(), french(maker)).active
    assert (sheet["C4"].value, sheet["C5"].value, sheet["B4"].value) == ("Rowan & Pike", "HB-7", None)
    assert [sheet[f"F{row}"].value for row in (10, 11)] == ["O", "O"]


def test_characteristics_side_by_side_are_refused_for_what_they_are(maker):
    made, sheet = maker.book("Matrix")
    for row, text in enumerate(
        ("Characteristic no.", "Nominal", "Upper limit", "Lower limit", "Piece 1", "Piece 2"), 5
    ):
        sheet.cell(row, 1, text)
    with pytest.raises(Refused) as refused:
        layout_of(maker.saved(made))
    assert [reason.code for reason in refused.value.reasons] == ["form.across"]


def test_each_day_is_that_of_the_name_before_it_or_above_it(maker):
    """Names side by side, each with its day in the row below: the first day is not the approver's."""
    made, sheet = maker.book("Relevé")
    maker.heads(sheet, 3, ["Repère", "Cote", "Relevé", "Conforme"])
    maker.boxes(sheet, "A4:D20")
    for column, name in (("A", "Contrôlé par :"), ("F", "Approuvé par :")):
        sheet[f"{column}22"], sheet[f"{column}23"] = name, "Date :"
    sheet["A25"], sheet["C25"] = "Non conformes :", '=COUNTIF(D4:D20,"N")'
    content = maker.saved(made)
    layout = layout_of(content)
    assert heads_of(layout) == {
        "Relevé!B22": "inspector", "Relevé!G22": "approver", "Relevé!B23": "inspected_on", "Relevé!G23": "approved_on",
    }  # fmt: skip
    assert not list(unfilled_in(content, layout))  # the customer's formula answers the label before it


def test_a_named_revision_is_the_parts_where_nothing_asks_for_a_drawing(maker):
    made, sheet = maker.book("Informe")
    maker.heads(sheet, 5, ["Nº", "Característica", "Medida", "Conforme"])
    for name, cell in (("NumeroPieza", "$B$2"), ("Revision", "$B$3")):
        made.defined_names[name] = DefinedName(name, attr_text=f"Informe!{cell}")
    assert heads_of(layout_of(maker.saved(made))) == {"Informe!B2": "part", "Informe!B3": "part_revision"}


def test_a_table_goes_on_beside_itself_whatever_its_first_head_is_called(maker):
    made, sheet = maker.book("Hoja 1")
    sheet["A1"] = "Firma inspector:"
    for column in (1, 7):
        maker.heads(sheet, 4, ["Cota", "Especificación", "Medido", "OK / NG"], column)
    maker.boxes(sheet, "A5:D24")
    maker.boxes(sheet, "G5:J24")
    tables = layout_of(maker.saved(made)).tables
    assert [columns_of(table) for table in tables] == [
        {f"{first}5": "number", f"{second}5": "requirement", f"{third}5": "result:0", f"{fourth}5": "verdict"}
        for first, second, third, fourth in ("ABCD", "GHIJ")
    ]


def test_a_box_for_yes_beside_one_for_no(maker):
    made, sheet = maker.book("Contrôle")
    maker.heads(sheet, 4, ["N°", "Spécification", "Mesure", "Conforme", "Non conforme"])
    maker.boxes(sheet, "A5:E24")
    (table,) = layout_of(maker.saved(made)).tables
    assert columns_of(table) == {"A5": "number", "B5": "requirement", "C5": "result:0", "D5": "accept", "E5": "reject"}


def test_the_only_column_for_requirements_tells_notes_too(maker, measured, laid_out):
    """Beside deviations it takes the nominal; a note, a thread and a limit have none, and would be asked by nobody."""
    made, sheet = maker.book("Contrôle")
    maker.heads(sheet, 4, ["N°", "Spécification", "T. sup.", "T. inf.", "Mesure"])
    maker.boxes(sheet, "A5:E24")
    sheet.column_dimensions["B"].width = 30
    content = maker.saved(made)
    done = fill(content, "form.xlsx", laid_out(measured(), layout_of(content)))
    filled = load_workbook(io.BytesIO(done.content)).active
    assert [filled[f"B{row}"].value for row in (5, 8, 9, 10)] == [
        "0.500",
        "DEBURR ALL EDGES",
        "1/4-20 UNC-2B",
        "2.000 MAX",
    ]
