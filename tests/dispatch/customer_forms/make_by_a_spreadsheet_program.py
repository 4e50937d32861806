"""Makes the blank forms that a spreadsheet program (LibreOffice 7.4) writes in its own manner; kept beside this file.

    python tests/dispatch/customer_forms/make_by_a_spreadsheet_program.py

One is drawn as a flat document: a shape with text, a picture, print set-up, and validity. The other begins with a
chart, a picture and conditions, is read by the program and written again.
"""

from __future__ import annotations

import base64
import importlib.util
import io
import subprocess
import tempfile
from pathlib import Path

from openpyxl.chart import LineChart, Reference
from PIL import Image as Picture

HERE = Path(__file__).parent


def conftest():
    spec = importlib.util.spec_from_file_location("forms", HERE / "conftest.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def drawn() -> bytes:
    out = io.BytesIO()
    Picture.new("RGB", (30, 12), "maroon").save(out, "PNG")
    image = base64.b64encode(out.getvalue()).decode()

    def cell(text: str = "", style: str = "", more: str = "") -> str:
        inside = f"<text:p>{text}</text:p>" if text else ""
        kind = ' office:value-type="string"' if text else ""
        return f'<table:table-cell{kind} table:style-name="{style or "plain"}"{more}>{inside}</table:table-cell>'

    def row(*cells: str) -> str:
        return f"<table:table-row>{''.join(cells)}</table:table-row>"

    heads = ("Char #", "Design Requirement", "Units", "Upper Limit", "Lower Limit", "Result", "Gauge No.", "Date")
    listed = ' table:content-validation-name="units"'
    body = [
        row(cell("Vendor Name"), cell("", "box"), cell("Drawing No."), cell("", "box"), cell("Rev"), cell("", "box")),
        row(cell("Contract No."), cell("", "box"), cell("Material"), cell("", "box"), cell("Qty"), cell("", "box")),
        row(cell()),
        row(*(cell(head, "head") for head in heads)),
        *(row(*(cell("", "box", listed if place == 2 else "") for place in range(len(heads)))) for _ in range(9)),
        row(cell()),
        row(cell("Quality Approval:"), cell("", "box"), cell("Date:"), cell("", "box")),
    ]
    shape = (
        '<table:shapes><draw:custom-shape draw:name="stamp" svg:x="16cm" svg:y="1cm" svg:width="3cm" '
        'svg:height="1cm"><text:p>Copy 1</text:p><draw:enhanced-geometry draw:type="round-rectangle"/>'
        '</draw:custom-shape><draw:frame svg:x="16cm" svg:y="3cm" svg:width="2cm" svg:height="1cm"><draw:image>'
        f"<office:binary-data>{image}</office:binary-data></draw:image></draw:frame></table:shapes>"
    )
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{uri}:1.0"'
        for name, uri in (
            ("office", "office"),
            ("table", "table"),
            ("text", "text"),
            ("style", "style"),
            ("draw", "drawing"),
            ("svg", "svg-compatible"),
            ("fo", "xsl-fo-compatible"),
            ("of", "of"),
        )
    )
    border = '<style:table-cell-properties fo:border="0.5pt solid #000000"/>'
    styles = (
        '<style:style style:name="plain" style:family="table-cell"/>'
        f'<style:style style:name="box" style:family="table-cell">{border}</style:style>'
        f'<style:style style:name="head" style:family="table-cell">{border}<style:text-properties '
        'fo:font-weight="bold"/></style:style>'
    )
    validity = (
        '<table:content-validations><table:content-validation table:name="units" table:condition="of:'
        'cell-content-is-in-list(&quot;in&quot;;&quot;mm&quot;;&quot;°&quot;)"/></table:content-validations>'
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document {spaces} office:version="1.3" '
        'office:mimetype="application/vnd.oasis.opendocument.spreadsheet">'
        f"<office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>{validity}"
        f"<table:table table:name=\"Form 12\" table:print-ranges=\"'Form 12'.A1:'Form 12'.H16\">{shape}"
        f"{''.join(body)}</table:table></office:spreadsheet></office:body></office:document>"
    ).encode()


def charted() -> bytes:
    forms = conftest()
    made, sheet = forms.book("Prüfbericht")
    sheet["A1"], sheet["E1"] = "Artikelnummer", "Prüfmenge"
    sheet["A2"], sheet["E2"] = "Lieferant", "Datum"
    for cell in ("B1", "B2", "F1", "F2"):
        sheet[cell].border = forms.BOX
    forms.heads(
        sheet, 5, ["Pos.", "Benennung", "Nennmaß", "Untere Grenze", "Obere Grenze", "Teil 1", "Teil 2", "Teil 3"]
    )
    forms.boxes(sheet, "A6:H15", "0.0000")
    sheet["E16"] = "Spannweite"
    for letter in "FGH":
        sheet[f"{letter}16"] = f"=MAX({letter}6:{letter}15)-MIN({letter}6:{letter}15)"
    chart = LineChart()
    chart.add_data(Reference(sheet, min_col=6, max_col=8, min_row=5, max_row=15), titles_from_data=True)
    sheet.add_chart(chart, "A19")
    sheet.add_image(forms.picture("teal"), "H1")
    return forms.saved(made)


def main() -> None:
    for name, ending, content in (("libre_drawn", ".fods", drawn()), ("libre_charted", ".xlsx", charted())):
        with tempfile.TemporaryDirectory() as folder:
            given = Path(folder) / f"{name}{ending}"
            given.write_bytes(content)
            subprocess.run(
                ["soffice", "--headless", "--convert-to", "xlsx", "--outdir", f"{folder}/out", given],
                check=True, capture_output=True,
            )  # fmt: skip
            (HERE / f"{name}.xlsx").write_bytes((Path(folder) / "out" / f"{name}.xlsx").read_bytes())


if __name__ == "__main__":
    main()
