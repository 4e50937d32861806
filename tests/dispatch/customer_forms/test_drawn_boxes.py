"""Boxes to tick that are drawn above the cells as controls: those linked to a cell are ticked by it, as a spreadsheet
program does, and every part but the worksheet keeps its bytes. The markup is made by hand after what spreadsheet
programs write."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile

import pytest
from openpyxl import load_workbook
from openpyxl.styles import Protection

from inspection.attached import Attached
from inspection.layout.as_written import corrected
from inspection.layout.cell_names import address
from inspection.layout.filling import filling
from inspection.sheet import acts
from inspection.sheet.head import Head
from inspection.sheet.reporting import report
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.lying import boxes_lying
from storage.dispatch.customer_form.propose import propose

OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
X14 = "http://schemas.microsoft.com/office/spreadsheetml/2009/9/main"
DRAWING = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
SPACES = (
    'xmlns:v="urn:schemas-microsoft-com:vml" xmlns:o="urn:schemas-microsoft-com:office:office" '
    'xmlns:x="urn:schemas-microsoft-com:office:excel"'
)
#: The kind of shape that a control is.
KIND = '<v:shapetype id="_x0000_t201" coordsize="21600,21600" o:spt="201" path="m,l,21600r21600,l21600,xe"/>'
#: Words at the box, kind, linked cell, and the row and column (from 0) it is drawn at.
BOXES = (
    ("Full FAI", "Checkbox", "$H$1", 0, 3),
    ("", "Checkbox", "$H$2", 1, 3),  # its words stand in a cell beside it
    ("Complete", "Checkbox", "Data!$A$1", 2, 3),
    ("Not complete", "Checkbox", "Data!$A$2", 2, 5),
    ("Detail", "Checkbox", "", 0, 5),
    ("Sea", "Radio", "$H$9", 1, 5),
)


def shape(place, box):
    said, kind, link, row, column = box
    anchor = f"{column}, 4, {row}, 2, {column + wide(kind)}, 60, {row + 1}, 1"
    linked = f"<x:FmlaLink>{link}</x:FmlaLink>" if link else ""
    if kind == "Radio" and link:
        linked += "<x:FirstButton/>"
    return (
        f'<v:shape id="_x0000_s{1025 + place}" type="#_x0000_t201" style="position:absolute">'
        f"<v:textbox><div><font>{said}</font></div></v:textbox>"
        f'<x:ClientData ObjectType="{kind}"><x:Anchor> {anchor}</x:Anchor>'
        f"{linked}</x:ClientData></v:shape>"
    )


def wide(kind):
    """Over how many columns a control goes: a frame over the buttons that it holds."""
    return 4 if kind == "GBox" else 1


def control(place, box):
    _said, kind, _link, row, column = box
    corners = "".join(
        f"<{name}><xdr:col>{column + more * wide(kind)}</xdr:col><xdr:colOff>0</xdr:colOff>"
        f"<xdr:row>{row + more}</xdr:row><xdr:rowOff>0</xdr:rowOff></{name}>"
        for name, more in (("from", 0), ("to", 1))
    )
    name = f"Check Box {place + 1}"
    return either(
        f'<control shapeId="{1025 + place}" r:id="rIdC{place}" name="{name}"><controlPr defaultSize="0"><anchor '
        f'moveWithCells="1">{corners}</anchor></controlPr></control>'
    )


def either(markup):
    """Markup for programs that know it."""
    space = "http://schemas.openxmlformats.org/markup-compatibility/2006"
    return (
        f'<mc:AlternateContent xmlns:mc="{space}" xmlns:x14="{X14}"><mc:Choice Requires="x14">{markup}</mc:Choice>'
        "</mc:AlternateContent>"
    )


def with_controls(maker, content, boxes, *, newer=True, broken=False):
    """A workbook with controls on its first worksheet, as a program of today writes them or one of before 2010."""
    related = [("legacy", "vmlDrawing", "../drawings/vmlDrawing1.vml")]
    markup = '<legacyDrawing r:id="legacy"/>'
    shapes = "".join(map(shape, range(len(boxes)), boxes))
    drawing = f"<xml {SPACES}>{KIND}{shapes}{'<br>' * broken}</xml>"
    added = {"xl/drawings/vmlDrawing1.vml": drawing.encode()}
    if newer:
        controls = "".join(map(control, range(len(boxes)), boxes))
        markup += either(f'<controls xmlns:xdr="{DRAWING}">{controls}</controls>')
        for place, (_said, kind, link, _row, _column) in enumerate(boxes):
            related.append((f"rIdC{place}", "ctrlProp", f"../ctrlProps/ctrlProp{place + 1}.xml"))
            name, linked = kind.replace("box", "Box"), f' fmlaLink="{link}"' if link else ""
            linked += ' firstButton="1"' if kind == "Radio" and link else ""
            added[f"xl/ctrlProps/ctrlProp{place + 1}.xml"] = (
                f'<formControlPr xmlns="{X14}" objectType="{name}"{linked} noThreeD="1"/>'.encode()
            )
    package = "http://schemas.openxmlformats.org/package/2006/relationships"
    added["xl/worksheets/_rels/sheet1.xml.rels"] = (
        f'<Relationships xmlns="{package}">'
        + "".join(f'<Relationship Id="{i}" Type="{OFFICE}/{kind}" Target="{to}"/>' for i, kind, to in related)
        + "</Relationships>"
    ).encode()
    changed = {
        "xl/worksheets/sheet1.xml": lambda text: text.replace("</worksheet>", markup + "</worksheet>").replace(
            "<worksheet ", f'<worksheet xmlns:r="{OFFICE}" ', 1
        ),
        "[Content_Types].xml": lambda text: text.replace(
            "</Types>",
            '<Default Extension="vml" ContentType="application/vnd.openxmlformats-officedocument.vmlDrawing"/></Types>',
        ),
    }
    return maker.rewritten(content, changed, added)


def blank(maker, change=lambda book: None, rows=6):
    made, sheet = maker.book("Form")
    sheet["A1"], sheet["F2"] = "Part No", "Partial FAI"
    sheet["B1"].border = maker.BOX
    sheet["H2"] = False
    sheet.column_dimensions["B"].width = 30
    maker.heads(sheet, 5, ["Item", "Requirement", "Actual", "Pass/Fail"])
    maker.boxes(sheet, f"A6:D{5 + rows}")
    made.create_sheet("Data").sheet_state = "hidden"
    change(made)
    return maker.saved(made)


def layout_of(content):
    return propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "form")


def places(layout):
    return {f"{each.sheet}!{address(each.row, each.column)}": each.field for each in layout.heads}


RIGHT = {
    "Form!B1": "part", "Form!H1": "full_mark", "Form!H2": "partial_mark", "Data!A1": "complete_mark",
    "Data!A2": "not_complete_mark",
}  # fmt: skip


@pytest.mark.parametrize("newer", [True, False])
def test_the_linked_cells_are_found_by_the_words_at_the_boxes(maker, newer):
    assert places(layout_of(with_controls(maker, blank(maker), BOXES, newer=newer))) == RIGHT


def test_where_the_drawing_cannot_be_read_the_words_in_the_cells_are_gone_by(maker):
    found = places(layout_of(with_controls(maker, blank(maker), BOXES, broken=True)))
    assert found == {"Form!B1": "part", "Form!H2": "partial_mark"}


def test_a_linked_cell_that_is_locked_is_left(maker):
    def lock(book):
        book["Form"].protection.sheet = True
        book["Form"]["H1"].protection = Protection(locked=False)

    found = places(layout_of(with_controls(maker, blank(maker, lock), BOXES)))
    assert found.keys() & {"Form!H1", "Form!H2"} == {"Form!H1"}


@pytest.mark.parametrize("extent", ["full", "partial"])
def test_the_linked_cell_ticks_the_box_and_every_other_part_keeps_its_bytes(maker, measured, extent):
    content, life = with_controls(maker, blank(maker, rows=12), BOXES), measured()
    life.do(acts.WriteHead(sheet=life.sheet_id, head=Head(extent=extent, baseline="HB-6")))
    done = fill(content, "form.xlsx", filling(life.sheet, life.shop, report(life.sheet, life.shop), layout_of(content)))
    sheet = load_workbook(io.BytesIO(done.content))["Form"]
    assert (sheet["H1"].value, sheet["H2"].value) == ((True, False) if extent == "full" else (None, True))
    assert {each.code: each.parts for each in done.notices} == {
        "form.drawn_boxes": {"n": 1},
        "form.buttons_left": {"buttons": "Sea"},
    }
    seen = [each.text.split()[0] for each in boxes_lying(done.content, "form.xlsx")["Form"]]
    assert seen == (["☒", "☐", "☐", "☐", "☐", "○"] if extent == "full" else ["☐", "☒", "☐", "☐", "☐", "○"])
    assert done.changed == ("xl/worksheets/sheet1.xml",)  # nobody has stated anything of the first article
    with zipfile.ZipFile(io.BytesIO(content)) as before, zipfile.ZipFile(io.BytesIO(done.content)) as after:
        kept = {*before.namelist()} - {*done.changed}
        assert {name: after.read(name) for name in kept} == {name: before.read(name) for name in kept}


def test_boxes_linked_to_cells_below_the_table_move_along(maker, measured, laid_out):
    content = with_controls(maker, blank(maker), (("Full FAI", "Checkbox", "$H$20", 19, 3), *BOXES[1:]))
    layout = layout_of(content)
    done = fill(content, "form.xlsx", laid_out(measured(), layout))
    with zipfile.ZipFile(io.BytesIO(done.content)) as held:
        parts = {name: held.read(name).decode() for name in held.namelist() if "Prop" in name or name.endswith("vml")}
        sheet = held.read("xl/worksheets/sheet1.xml").decode()
    assert load_workbook(io.BytesIO(done.content))["Form"]["H25"].value is True  # eleven lines in room for six
    assert 'fmlaLink="$H$25"' in parts["xl/ctrlProps/ctrlProp1.xml"]
    assert "$H$25" in parts["xl/drawings/vmlDrawing1.vml"]
    assert "<xdr:row>24</xdr:row>" in sheet
    assert 'fmlaLink="$H$2"' in parts["xl/ctrlProps/ctrlProp2.xml"]


def test_somebody_who_gives_the_cell_by_hand_ticks_the_box_too(maker, measured, laid_out):
    boxes = (("new series", "Checkbox", "$H$1", 0, 3),)
    content = with_controls(maker, blank(maker), boxes)
    done = fill(content, "form.xlsx", laid_out(measured(), corrected(layout_of(content), ["full_mark=H1"])))
    assert load_workbook(io.BytesIO(done.content))["Form"]["H1"].value is True
    assert "form.drawn_boxes" not in {each.code for each in done.notices}


#: Two groups that only their first buttons name a cell for, one in a frame of its own, and one that nobody can answer.
BUTTONS = (
    ("Full", "Radio", "$H$1", 0, 3),
    ("Delta", "Radio", "", 0, 4),
    ("Partial", "Radio", "", 0, 5),
    ("Overall result", "GBox", "", 1, 3),
    ("Accept", "Radio", "Data!$A$1", 1, 3),
    ("Reject", "Radio", "", 1, 4),
    ("Sea", "Radio", "$H$3", 2, 3),
    ("Air", "Radio", "", 2, 4),
)


@pytest.mark.parametrize("newer", [True, False])
@pytest.mark.parametrize(("extent", "number"), [("full", 1), ("partial", 3)])
def test_the_radio_button_that_says_it_is_chosen_by_its_number(maker, measured, newer, extent, number):
    content, life = with_controls(maker, blank(maker, rows=12), BUTTONS, newer=newer), measured(("001", "002"))
    layout = layout_of(content)
    assert places(layout) == {"Form!B1": "part", "Form!H1": "extent", "Data!A1": "verdict"}
    life.do(acts.WriteHead(sheet=life.sheet_id, head=Head(extent=extent, baseline="HB-6")))
    done = fill(content, "form.xlsx", filling(life.sheet, life.shop, report(life.sheet, life.shop), layout))
    book = load_workbook(io.BytesIO(done.content))
    assert (book["Form"]["H1"].value, book["Data"]["A1"].value) == (number, 2)  # row 9 of the second piece is out
    assert [each.parts for each in done.notices if each.code == "form.buttons_left"] == [{"buttons": "Sea, Air"}]
    seen = [each.text for each in boxes_lying(done.content, "form.xlsx")["Form"]]
    assert [each for each in seen if each.startswith("●")] == [f"● {extent.capitalize()}", "● Reject"]
    with zipfile.ZipFile(io.BytesIO(done.content)) as held:
        drawing = held.read("xl/drawings/vmlDrawing1.vml").decode()
        own = [held.read(f"xl/ctrlProps/ctrlProp{place}.xml").decode() for place in range(1, 9) if newer]
    for states in (
        [">1</x:Checked>" in each for each in drawing.split("<v:shape ")[1:]],
        *([['checked="Checked"' in each for each in own]] if newer else []),
    ):  # each says itself whether it is chosen, for programs that go by that
        assert [BUTTONS[place][0] for place, on in enumerate(states) if on] == [extent.capitalize(), "Reject"]


def test_a_button_of_the_customers_own_people_is_left(maker, measured, laid_out):
    """Accepted or rejected by whom? What stands over the buttons says it."""
    buttons = (("Customer approval", "GBox", "", 1, 3), *BUTTONS[4:6])
    content = with_controls(maker, blank(maker, rows=12), buttons)
    layout = layout_of(content)
    assert "verdict" not in places(layout).values()
    done = fill(content, "form.xlsx", laid_out(measured(), corrected(layout, ["verdict=Data!A1"])))
    told = {each.code: each.parts for each in done.notices}
    assert told["form.no_button"] == {"cell": "Data!A1", "text": "open", "buttons": "Accept, Reject"}


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("soffice") is None, reason="no spreadsheet program here")
def test_a_spreadsheet_program_shows_the_box_ticked(maker, measured, laid_out, tmp_path):
    """LibreOffice opens the filled form and writes the state of its boxes; nothing but the linked cell told it."""
    content = with_controls(maker, blank(maker, rows=12), BOXES)
    (tmp_path / "form.xlsx").write_bytes(fill(content, "form.xlsx", laid_out(measured(), layout_of(content))).content)
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    subprocess.run(
        ["soffice", profile, "--headless", "--convert-to", "fods", "form.xlsx"],
        cwd=tmp_path, check=True, capture_output=True, timeout=170,
    )  # fmt: skip
    boxes = re.findall(r"<form:checkbox [^>]*>", (tmp_path / "form.fods").read_text("utf-8"))
    by_cell = {re.search(r'linked-cell="([^"]*)"', each)[1]: each for each in boxes if "linked-cell" in each}
    states = {cell: 'current-state="checked"' in each for cell, each in by_cell.items()}
    assert states == {"Form.H1": True, "Form.H2": False, "Data.A1": False, "Data.A2": False}
