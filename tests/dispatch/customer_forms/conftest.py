"""Blank forms of invented customers, as unlike each other as real ones, and a sheet to fill them with.

``Form.right`` is what a person who looks at the form would say belongs where: head fields by their cell, columns by
their letters. Forms are made by openpyxl and by hand-built markup; those made by a spreadsheet program lie beside.
"""

from __future__ import annotations

import importlib.util
import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct
from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference
from openpyxl.drawing.image import Image
from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Border, Font, PatternFill, Protection, Side
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.table import Table as ListObject
from PIL import Image as Picture

from inspection.drawing.plan import Part, Plan
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.reporting import report

HERE = Path(__file__).parent
BOX = Border(*(Side("thin"),) * 4)


class Form(Struct):
    """A blank form and what is right on it."""

    name: str
    content: bytes
    heads: dict[str, str]  # cell -> field
    columns: dict[str, str]  # letters -> field, with the piece behind a colon
    first: int
    rows: int
    sheet: str = ""
    numbered: int = 0


# --- by openpyxl ------------------------------------------------------------------------------------------------


def book(title: str = "FAI") -> tuple[Workbook, Any]:
    made = Workbook()
    made.active.title = title
    return made, made.active


def boxes(sheet: Any, area: str, number_format: str = "") -> None:
    for row in sheet[area]:
        for cell in row:
            cell.border = BOX
            if number_format:
                cell.number_format = number_format


def heads(sheet: Any, row: int, texts: list[str], column: int = 1) -> None:
    for place, text in enumerate(texts):
        cell = sheet.cell(row, column + place, text)
        cell.font, cell.border = Font(bold=True), BOX
        cell.fill = PatternFill("solid", fgColor="FFDDDDDD")


def picture(colour: str = "navy") -> Image:
    out = io.BytesIO()
    Picture.new("RGB", (40, 16), colour).save(out, "PNG")
    out.seek(0)
    return Image(out)


def saved(made: Workbook) -> bytes:
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def plain_american() -> Form:
    """Labels beside boxes, a picture, a sum and a signature below the table, a print area with head and foot."""
    made, sheet = book("First Article")
    sheet["A1"] = "ROWAN & PIKE  First Article Inspection"
    sheet.add_image(picture(), "G1")
    for row, label in enumerate(("Part Number:", "Part Name:", "PO Number:", "Drawing Number:", "Rev:"), start=3):
        sheet.cell(row, 1, label)
        sheet.cell(row, 2).border = BOX
    heads(sheet, 9, ["Item", "Requirement", "LSL", "USL", "Actual", "Pass/Fail", "Gage ID", "Cal Due", "Comments"])
    boxes(sheet, "A10:I17")
    for row in range(10, 18):
        sheet.cell(row, 5).number_format = "0.0000"
        sheet.cell(row, 8).number_format = "yyyy-mm-dd"
    sheet["D18"], sheet["E18"] = "Largest", "=MAX(E10:E17)"
    sheet["A20"], sheet["D20"] = "Inspected by:", "Date:"
    sheet.add_image(picture("green"), "G21")
    sheet.print_area, sheet.print_title_rows = "A1:I22", "9:9"
    sheet.oddFooter.left.text = "Form RP-17"
    made.create_sheet("Instructions")["A1"] = "Fill in one line a characteristic. Part Number: see the order."
    return Form(
        "plain_american", saved(made),
        {"B3": "part", "B4": "part_name", "B5": "order", "B6": "drawing", "B7": "drawing_revision", "B20": "inspector",
         "E20": "inspected_on"},
        {"A": "number", "B": "requirement", "C": "lower", "D": "upper", "E": "result:0", "F": "verdict",
         "G": "instrument_tag", "H": "calibration_due", "I": "note"},
        10, 8,
    )  # fmt: skip


def german_boxes() -> Form:
    """Labels above merged boxes, millimetres, German words, heads over two rows."""
    made, sheet = book("Erstmuster")
    for column, label in ((2, "Teilenummer"), (4, "Zeichnungsnummer"), (6, "Bestellnummer"), (8, "Lieferant")):
        sheet.cell(2, column, label).font = Font(size=8)
        sheet.merge_cells(start_row=3, end_row=4, start_column=column, end_column=column + 1)
        for row in (3, 4):
            for each in (column, column + 1):
                sheet.cell(row, each).border = BOX
    heads(sheet, 7, ["Nr.", "Merkmal", "Sollmaß", "Toleranz", "", "Istmaß", "Prüfmittel", "Bewertung"], 2)
    heads(sheet, 8, ["", "", "(mm)", "+", "-", "(mm)", "", ""], 2)
    for letter in "BCGHI":
        if letter != "G":
            sheet.merge_cells(f"{letter}7:{letter}8")
    sheet.merge_cells("E7:F7")
    boxes(sheet, "B9:I14", "0.000")
    check = DataValidation("list", '"i.O.,n.i.O."')
    check.add("I9:I14")
    sheet.add_data_validation(check)
    sheet["B16"], sheet["E16"] = "Geprüft von:", "Datum:"
    return Form(
        "german_boxes", saved(made),
        {"B3": "part", "D3": "drawing", "F3": "order", "H3": "shop", "C16": "inspector", "F16": "inspected_on"},
        {"B": "number", "C": "requirement", "D": "nominal", "E": "plus", "F": "minus", "G": "result:0",
         "H": "instrument", "I": "verdict"},
        9, 6,
    )  # fmt: skip


def five_across() -> Form:
    """Five pieces side by side under one head, a drop-down for the verdict, a mean of each column."""
    made, sheet = book("Lot")
    sheet["A1"], sheet["C1"] = "P/N", "Lot No."
    for cell in ("B1", "D1"):
        sheet[cell].border = BOX
    heads(sheet, 3, ["Char No.", "Specification", "Min", "Max", "Measured Values", "", "", "", "", "Accept / Reject"])
    heads(sheet, 4, ["", "", "", "", "1", "2", "3", "4", "5", ""])
    for column in (1, 2, 3, 4, 10):
        sheet.merge_cells(start_row=3, end_row=4, start_column=column, end_column=column)
    sheet.merge_cells("E3:I3")
    boxes(sheet, "A5:J24")
    words = DataValidation("list", '"Accept,Reject"')
    words.add("J5:J24")
    sheet.add_data_validation(words)
    sheet["D25"] = "Mean"
    for column in range(5, 10):
        letter = get_column_letter(column)
        sheet[f"{letter}25"] = f"=IF(COUNT({letter}5:{letter}24)>0,AVERAGE({letter}5:{letter}24),0)"
    sheet.conditional_formatting.add("J5:J24", CellIsRule("equal", ['"Reject"'], font=Font(color="FFCC0000")))
    return Form(
        "five_across", saved(made), {"B1": "part", "D1": "lot"},
        {"A": "number", "B": "requirement", "C": "lower", "D": "upper", "J": "verdict",
         **{letter: f"result:{piece}" for piece, letter in enumerate("EFGHI")}},
        5, 20,
    )  # fmt: skip


def listed_table() -> Form:
    """A table that the workbook knows as one, with a computed column and totals; the head's cells have names."""
    made, sheet = book("Data")
    sheet["B2"], sheet["B3"] = "Component under test", "Contract"
    for name, cell in (("PartNumber", "$D$2"), ("PO_Number", "$D$3")):
        made.defined_names[name] = DefinedName(name, attr_text=f"Data!{cell}")
    texts = ["Balloon", "Zone", "Nominal", "Lower Limit", "Upper Limit", "Actual", "Dev", "In spec"]
    for place, text in enumerate(texts, start=2):
        sheet.cell(6, place, text)
    for row in range(7, 12):
        sheet[f"H{row}"] = f'=IF(G{row}="","",G{row}-D{row})'
        for letter in "DEFGH":
            sheet[f"{letter}{row}"].number_format = "0.0000"
    sheet["G12"] = "=SUBTOTAL(105,G7:G11)"
    listed = ListObject(displayName="Characteristics", ref="B6:I12", totalsRowCount=1)
    sheet.add_table(listed)
    return Form(
        "listed_table", saved(made), {"D2": "part", "D3": "order"},
        {"B": "number", "C": "zone", "D": "nominal", "E": "lower", "F": "upper", "G": "result:0", "I": "verdict"},
        7, 5,
    )  # fmt: skip


def protected() -> Form:
    """A protected sheet whose entry cells alone are open; limits and verdict are the customer's formulas."""
    made, sheet = book("Inspection Report")
    sheet["A1"], sheet["D1"] = "Supplier:", "Purchase Order No:"
    heads(sheet, 4, ["No", "Dimension", "Nominal", "Tol +", "Tol -", "Measured", "Equipment", "LSL", "USL", "Status"])
    boxes(sheet, "A5:J16")
    for row in range(5, 17):
        sheet[f"H{row}"], sheet[f"I{row}"] = f"=C{row}-E{row}", f"=C{row}+D{row}"
        sheet[f"J{row}"] = f'=IF(F{row}="","",IF(AND(F{row}>=H{row},F{row}<=I{row}),"OK","NOK"))'
        for letter in "ABCDEFG":
            sheet[f"{letter}{row}"].protection = Protection(locked=False)
        for letter in "CDEFHI":
            sheet[f"{letter}{row}"].number_format = "0.0000"
    for cell in ("B1", "E1"):
        sheet[cell].protection, sheet[cell].border = Protection(locked=False), BOX
    sheet.protection.sheet = True
    sheet.protection.password = "rowan"
    return Form(
        "protected", saved(made), {"B1": "shop", "E1": "order"},
        {"A": "number", "B": "requirement", "C": "nominal", "D": "plus", "E": "minus", "F": "result:0",
         "G": "instrument"},
        5, 12,
    )  # fmt: skip


def paged() -> Form:
    """One worksheet a page of six rows, "Page … of …", the head again on each, printed on its own paper."""
    made, sheet = book("Page")
    sheet["A1"], sheet["C1"], sheet["E1"], sheet["F1"] = "Part No.:", "Serial No.:", "Page", "of"
    sheet["E2"].border = sheet["F2"].border = BOX
    sheet["B1"].border = sheet["D1"].border = BOX
    heads(sheet, 4, ["Item No.", "Characteristic", "Result", "Inspector"])
    boxes(sheet, "A5:D10")
    sheet["B11"], sheet["C11"] = "entries", "=COUNTA(C5:C10)"
    sheet["A13"] = "Approved by: ______________"
    sheet.print_area, sheet.page_setup.paperSize, sheet.page_setup.orientation = "A1:F14", 9, "landscape"
    sheet.add_image(picture(), "F12")
    return Form(
        "paged", saved(made),
        {"B1": "part", "D1": "serial", "E2": "page", "F2": "pages", "A13": "approver"},
        {"A": "number", "B": "requirement", "C": "result:0", "D": "measured_by"},
        5, 6,
    )  # fmt: skip


def french_blocks() -> Form:
    """Two rows a characteristic: numbers merged over both, smallest and largest below each other; French."""
    made, sheet = book("Contrôle")
    sheet["A1"], sheet["A2"] = "Référence pièce :", "N° de commande :"
    sheet["C1"].border = sheet["C2"].border = BOX
    sheet.merge_cells("A1:B1")
    sheet.merge_cells("A2:B2")
    heads(sheet, 5, ["Repère", "Cote", "Cote nominale", "Valeur mesurée", "Conforme O/N", "Remarques"])
    boxes(sheet, "A6:F17")
    for row in range(6, 18, 2):
        for letter in "ABCDEF":
            sheet.merge_cells(f"{letter}{row}:{letter}{row + 1}")
    sheet["A19"] = "Contrôlé par :"
    sheet["B19"].border = BOX
    return Form(
        "french_blocks", saved(made), {"C1": "part", "C2": "order", "B19": "inspector"},
        {"A": "number", "B": "requirement", "C": "nominal", "D": "result:0", "E": "verdict", "F": "note"},
        6, 6,
    )  # fmt: skip


def numbered_dual() -> Form:
    """The customer's own rows with their numbers and requirements; results wanted in inch and in millimetre."""
    made, sheet = book("Sheet1")
    sheet["A1"], sheet["A2"] = "Vendor", "Order No."
    sheet["B1"].border = sheet["B2"].border = BOX
    heads(sheet, 5, ["Dim #", "Drawing Requirement", "Actual (in)", "Actual (mm)", "OK"])
    boxes(sheet, "A6:E12")
    given = (("1", ".500 ±.005"), ("2", "⌀.7500 ±.0005"), ("6", "⌀.5000"), ("7.1", ".800"), ("7.2", ".800"),
             ("7.3", ".800"), ("9", ".300 ±.005"))  # fmt: skip
    for row, (number, text) in enumerate(given, start=6):
        sheet.cell(row, 1, number)
        sheet.cell(row, 2, text)
        sheet.cell(row, 3).number_format, sheet.cell(row, 4).number_format = "0.0000", "0.00000"
    return Form(
        "numbered_dual", saved(made), {"B1": "shop", "B2": "order"},
        {"A": "number", "C": "result:0", "D": "result:0", "E": "verdict"},
        6, 7, numbered=7,
    )  # fmt: skip


def spanish_marks() -> Form:
    """Boxes to tick for accepted and rejected, values in square brackets to be replaced, a line to write on."""
    made, sheet = book("Informe")
    sheet["B2"], sheet["B3"] = "[Número de pieza]", "[Pedido]"
    sheet["E2"] = "Fecha: __________"
    heads(sheet, 6, ["Elemento", "Requisito", "Medida", "Acepta", "Rechaza", "Instrumento"], 2)
    boxes(sheet, "B7:G18")
    sheet["B20"] = "Aprobado por:"
    sheet["C20"].border = BOX
    return Form(
        "spanish_marks", saved(made), {"B2": "part", "B3": "order", "E2": "inspected_on", "C20": "approver"},
        {"B": "number", "C": "requirement", "D": "result:0", "E": "accept", "F": "reject", "G": "instrument"},
        7, 12,
    )  # fmt: skip


def charted() -> Form:
    """A chart and conditions on the results, a list on another sheet, days counted from 1904, nothing in column A."""
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    made, sheet = book("Results")
    made.epoch = CALENDAR_MAC_1904
    lists = made.create_sheet("Lists")
    for row, text in enumerate(("conforms", "does not conform", "hold"), start=1):
        lists.cell(row, 1, text)
    lists.sheet_state = "hidden"
    sheet["C3"], sheet["C4"] = "Item number", "Inspection date"
    sheet["E4"].number_format = "dd/mm/yyyy"
    for cell in ("E3", "E4"):
        sheet[cell].border = BOX
    sheet.merge_cells("C3:D3")
    sheet.merge_cells("C4:D4")
    heads(sheet, 7, ["Bubble", "Target", "Reading", "Conformity", "Gauge"], 3)
    boxes(sheet, "C8:G12")
    for row in range(8, 13):
        sheet[f"D{row}"].number_format = sheet[f"E{row}"].number_format = "0.0000"
    words = DataValidation("list", "Lists!$A$1:$A$3")
    words.add("F8:F12")
    sheet.add_data_validation(words)
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=5, min_row=7, max_row=12), titles_from_data=True)
    sheet.add_chart(chart, "C16")
    sheet["D13"], sheet["E13"] = "spread", "=MAX(E8:E12)-MIN(E8:E12)"
    return Form(
        "charted", saved(made), {"E3": "part", "E4": "inspected_on"},
        {"C": "number", "D": "nominal", "E": "result:0", "F": "verdict", "G": "instrument"},
        8, 5,
    )  # fmt: skip


# --- by hand ----------------------------------------------------------------------------------------------------


def with_macros() -> Form:
    """A workbook with a macro project, a drawn shape with text, a custom part, rich text and a button's picture."""
    made, sheet = book("Form")
    sheet["A1"], sheet["C1"] = "Part #", "Report No."
    sheet["B1"].border = sheet["D1"].border = BOX
    heads(sheet, 3, ["#", "Characteristic", "Tolerance", "Results", "Y/N"])
    boxes(sheet, "A4:E13", "@")
    sheet.add_image(picture(), "G2")
    content = saved(made)
    shape = (
        "<xdr:oneCellAnchor><xdr:from><xdr:col>6</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>15</xdr:row>"
        '<xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:ext cx="1200000" cy="400000"/><xdr:sp macro="" textlink="">'
        '<xdr:nvSpPr><xdr:cNvPr id="9" name="Seal"/><xdr:cNvSpPr txBox="1"/></xdr:nvSpPr><xdr:spPr><a:prstGeom '
        'prst="roundRect"><a:avLst/></a:prstGeom></xdr:spPr><xdr:txBody><a:bodyPr/><a:p><a:r><a:t>Seal here</a:t>'
        "</a:r></a:p></xdr:txBody></xdr:sp><xdr:clientData/></xdr:oneCellAnchor></xdr:wsDr>"
    )
    changed = {
        "xl/drawings/drawing1.xml": lambda text: _anchored(text).replace("</xdr:wsDr>", shape),
        "[Content_Types].xml": lambda text: text.replace(
            "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
            "application/vnd.ms-excel.sheet.macroEnabled.main+xml",
        ).replace(
            "</Types>",
            '<Default Extension="bin" ContentType="application/vnd.ms-office.vbaProject"/></Types>',
        ),
        "xl/_rels/workbook.xml.rels": lambda text: text.replace(
            "</Relationships>",
            '<Relationship Id="rId91" Type="http://schemas.microsoft.com/office/2006/relationships/vbaProject" '
            'Target="vbaProject.bin"/></Relationships>',
        ),
    }
    added = {
        "xl/vbaProject.bin": b"\xd0\xcf\x11\xe0 stands for a macro project " * 40,
        "customXml/item1.xml": b"<keep xmlns='urn:rowan'>  as  it  is </keep>",
    }
    return Form(
        "with_macros", rewritten(content, changed, added), {"B1": "part", "D1": "report"},
        {"A": "number", "B": "requirement", "C": "tolerance", "D": "result:0", "E": "verdict"},
        4, 10,
    )  # fmt: skip


def _anchored(text: str) -> str:
    """A drawing with the names of its spaces as a spreadsheet program writes them."""
    spaces = (
        'xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing" '
        'xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"'
    )
    text = text.replace(
        '<wsDr xmlns="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing">',
        f'<xdr:wsDr {spaces} xmlns="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing">',
    )
    return text.replace("</wsDr>", "</xdr:wsDr>")


def rewritten(content: bytes, changed: dict[str, Callable[[str], str]], added: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as held, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in held.namelist():
            text = held.read(name)
            made.writestr(name, changed[name](text.decode()).encode() if name in changed else text)
        for name, each in added.items():
            made.writestr(name, each, zipfile.ZIP_STORED)
    return out.getvalue()


def by_hand() -> Form:
    """The least markup that is a workbook: no styles, texts in their cells, cells without addresses, shared formulas,
    the order of results kept; nothing below the table."""
    rows = [
        ("", ["Drawing", "", "Client", ""]),
        ("", []),
        ("", ["Feature no.", "Callout", "Observed", "Twice", "Remarks"]),
    ]
    cells = []
    for number, (_, texts) in enumerate(rows, start=1):
        inside = "".join(f'<c t="inlineStr"><is><t>{text}</t></is></c>' if text else "<c/>" for text in texts)
        cells.append(f'<row r="{number}">{inside}</row>')
    cells.append('<row r="4"><c r="D4"><f t="shared" ref="D4:D6" si="0">C4*2</f><v>0</v></c></row>')
    cells += [f'<row r="{row}"><c r="D{row}"><f t="shared" si="0"/><v>0</v></c></row>' for row in (5, 6)]
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    head = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    parts = {
        "[Content_Types].xml": f'{head}<Types xmlns="{package}/content-types"><Default Extension="rels" '
        f'ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/book.xml" '
        f'ContentType="{kind}.sheet.main+xml"/><Override PartName="/one.xml" ContentType="{kind}.worksheet+xml"/>'
        f'<Override PartName="/calc.xml" ContentType="{kind}.calcChain+xml"/></Types>',
        "_rels/.rels": f'{head}<Relationships xmlns="{package}/relationships"><Relationship Id="a" '
        f'Type="{office}/officeDocument" Target="book.xml"/></Relationships>',
        "book.xml": f'{head}<workbook xmlns="{space}" xmlns:r="{office}"><sheets><sheet name="Only" sheetId="1" '
        'r:id="b"/></sheets></workbook>',
        "_rels/book.xml.rels": f'{head}<Relationships xmlns="{package}/relationships"><Relationship Id="b" '
        f'Type="{office}/worksheet" Target="one.xml"/><Relationship Id="c" Type="{office}/calcChain" '
        'Target="/calc.xml"/></Relationships>',
        "one.xml": f'{head}<worksheet xmlns="{space}"><sheetData>{"".join(cells)}</sheetData></worksheet>',
        "calc.xml": f'{head}<calcChain xmlns="{space}"><c r="D4" i="1"/><c r="D5"/><c r="D6"/></calcChain>',
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name, text in parts.items():
            made.writestr(name, text)
    return Form(
        "by_hand", out.getvalue(), {"B1": "drawing", "D1": "customer"},
        {"A": "number", "B": "requirement", "C": "result:0", "E": "note"},
        4, 1000,
    )  # fmt: skip


def shortened_words() -> Form:
    """Heads and labels cut short, a sum and a deviation by formula, a list of two words, landscape on one page."""
    made, sheet = book("ISIR")
    sheet.merge_cells("A1:K2")
    sheet["A1"] = "INITIAL SAMPLE INSPECTION REPORT"
    labels = (
        ("Supplier", "P.O. No."),
        ("Item / Drawing No.", "Rev. level"),
        ("Description", "Qty. / Serial"),
    )
    for row, pair in enumerate((*labels, ("Material Spec", "Date inspected")), start=4):
        for label, own, box in zip(pair, "AE", ("B{0}:D{0}", "F{0}:H{0}"), strict=True):
            sheet[f"{own}{row}"] = label
            sheet.merge_cells(box.format(row))
        boxes(sheet, f"A{row}:H{row}")
    heads(sheet, 10, ["Char. #", "Zone", "Specification", "Lower limit", "Upper limit", "Measured value", "Dev.",
                      "Accept / Reject", "Gage ID", "Cal. due", "Remarks"])  # fmt: skip
    boxes(sheet, "A11:K35")
    for row in range(11, 36):
        sheet[f"G{row}"] = f'=IF(ISNUMBER(F{row}),F{row}-(D{row}+E{row})/2,"")'
        sheet[f"F{row}"].number_format = "0.0000"
    allowed = DataValidation("list", '"Accept,Reject"')
    allowed.add("H11:H35")
    sheet.add_data_validation(allowed)
    sheet["A37"], sheet["B37"] = "Rejected:", '=COUNTIF(H11:H35,"Reject")'
    sheet["A39"], sheet["E39"] = "Inspector signature", "Date"
    sheet.print_area, sheet.page_setup.orientation = "A1:K40", "landscape"
    return Form(
        "shortened_words", saved(made),
        {"B4": "shop", "F4": "order", "B5": "drawing", "F5": "drawing_revision", "B6": "part_name", "F6": "quantity",
         "B7": "material", "F7": "inspected_on", "B39": "inspector", "F39": "inspected_on"},
        {"A": "number", "B": "zone", "C": "requirement", "D": "lower", "E": "upper", "F": "result:0", "H": "verdict",
         "I": "instrument_tag", "J": "calibration_due", "K": "note"},
        11, 25,
    )  # fmt: skip


MAKERS = (
    plain_american, german_boxes, five_across, listed_table, protected, paged, french_blocks, numbered_dual,
    spanish_marks, charted, with_macros, shortened_words, by_hand,
)  # fmt: skip


@pytest.fixture(scope="session")
def maker() -> Any:
    """What forms are made with."""
    import sys

    return sys.modules[__name__]


@pytest.fixture(scope="session")
def forms() -> dict[str, Form]:
    """Every form by its name."""
    made = {maker.__name__: maker() for maker in MAKERS}
    for path in sorted(HERE.glob("*.xlsx")):
        spec = importlib.util.spec_from_file_location("right", path.with_suffix(".py"))
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        made[path.stem] = Form(path.stem, path.read_bytes(), **module.RIGHT)
    return made


# --- a sheet to fill them with ----------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def life_kind() -> Any:
    """The class of lives that the tests of sheets use, and its rows."""
    spec = importlib.util.spec_from_file_location("life", HERE.parents[1] / "sheet" / "conftest.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


ROWS = (
    {"number": "1", "kind": "length", "requirement": ".500 ±.005", "zone": "C4"},
    {"number": "2", "kind": "outside diameter", "requirement": "⌀.7500 ±.0005", "key": "KC"},
    {"number": "3", "kind": "length", "requirement": "1.250 +.010 -.000"},
    {"number": "4", "kind": "note", "requirement": "DEBURR ALL EDGES"},
    {"number": "5", "kind": "thread", "requirement": "1/4-20 UNC-2B"},
    {"number": "6", "kind": "length", "requirement": "2.000 MAX"},
    {"number": "7", "kind": "length", "requirement": "3X .800 ±.005"},
    {"number": "8", "kind": "length", "requirement": "(2.000)"},
    {"number": "9", "kind": "length", "requirement": ".300 ±.005"},
)
#: What is read on the first, second and third piece and so on; row 9 of the second is out by .0010.
READ = {
    "1": (".500", ".501", ".503"),
    "2": (".7500", ".7504", ".7496"),
    "3": ("1.255", "1.256", "1.251"),
    "6": ("1.9995", "1.9990", "2.0000"),
    "9": (".300", ".306", ".302"),
}


def measured_life(life_kind: Any, serials: tuple[str, ...]) -> Any:
    """A sheet of these pieces with readings."""
    life = life_kind.Life().open()
    part = Part("HB-7", "B", "hinge block", drawing="D-1007", drawing_revision="C", customer="Rowan & Pike")
    plan = Plan("", "", 0, part, life_kind.TITLE, life_kind.rows_of(*ROWS))
    plan = life.do(acts.IssuePlan(plan=plan))[0].plan
    head = Head(order="PO-5521", order_line="2", lot="L-9", supplier_code="S-77")
    life.do(acts.MakeSheet(plan=plan.identity, serials=serials, head=head))
    for piece in range(len(serials)):
        for number, texts in READ.items():
            life.take(number, texts[piece % 3], piece)
        for number in ("7.1", "7.2", "7.3"):
            life.take(number, ".8010" if piece else ".799", piece)
    return life


@pytest.fixture(scope="session")
def measured(life_kind: Any) -> Callable[..., Any]:
    """A sheet of so many pieces with readings."""
    return lambda serials=("001",): measured_life(life_kind, serials)


@pytest.fixture(scope="session")
def laid_out() -> Callable[..., Any]:
    """A sheet laid out on a layout."""
    from inspection.layout.filling import filling

    def lay(life: Any, layout: Any) -> Any:
        return filling(life.sheet, life.shop, report(life.sheet, life.shop), layout)

    return lay
