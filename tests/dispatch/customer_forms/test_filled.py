"""Customers' forms filled: the values where they belong, every other part byte for byte as it was."""

from __future__ import annotations

import csv
import importlib.util
import io
import re
import shutil
import subprocess
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace
from openpyxl import load_workbook

from inspection.attached import Attached
from inspection.layout.layout import Grow
from inspection.reasons import Refused
from storage.dispatch.customer_form.allowed import may_change
from storage.dispatch.customer_form.fill import fill
from storage.dispatch.customer_form.propose import propose


def proposed(form):
    return propose(form.content, Attached(f"{form.name}.xlsx", "0" * 64, len(form.content)), "Rowan & Pike", form.name)


def entries(content):
    """Every entry of a zip as it lies there: its packed bytes."""
    found = {}
    with zipfile.ZipFile(io.BytesIO(content)) as held:
        for entry in held.infolist():
            at = entry.header_offset
            name, extra = (
                int.from_bytes(content[at + 26 : at + 28], "little"),
                int.from_bytes(content[at + 28 : at + 30], "little"),
            )
            begin = at + 30 + name + extra
            found[entry.filename] = content[begin : begin + entry.compress_size]
    return found


@pytest.fixture(scope="module")
def filled(forms, measured, laid_out):
    """Every form filled as proposed, with one piece (five where they stand side by side), beside the blank one."""
    found = {}
    lives = {1: measured(), 5: measured(tuple(f"S{n}" for n in range(1, 6)))}
    for name, form in forms.items():
        layout = proposed(form)
        pieces = layout.tables[0].pieces
        told = laid_out(lives[5 if pieces == 5 else 1], layout)
        found[name] = form, told, fill(form.content, f"{name}.xlsx", told)
    return found


def test_every_part_that_was_not_said_to_change_keeps_its_bytes(filled):
    for name, (form, told, done) in filled.items():
        said = may_change(form.content, f"{name}.xlsx", told)
        before, after = entries(form.content), entries(done.content)
        for part, packed in before.items():
            if part not in said:
                assert after[part] == packed, (name, part)
        new = set(after) - set(before)
        assert all("xl/" in said for _ in new), (name, new)
        assert not {part for part in said if "styles" in part or "media" in part or "vba" in part}, name


def cells_of(done):
    return load_workbook(io.BytesIO(done.content))


def test_values_stand_where_the_form_wants_them(filled):
    sheet = cells_of(filled["plain_american"][2]).active
    assert [sheet[cell].value for cell in ("B3", "B5", "B6", "B7")] == ["HB-7", "PO-5521", "D-1007", "C"]
    assert [sheet.cell(10, column).value for column in range(1, 8)] == [
        "1", ".500 ±.005", "0.495", "0.505", 0.500, "Pass", sheet["G10"].value,
    ]  # fmt: skip
    assert sheet["E10"].number_format == "0.0000"
    assert sheet["G10"].value.startswith("C-")
    assert sheet["H10"].value.isoformat() == "2027-01-01T00:00:00"


def test_rows_are_put_in_and_what_stands_below_moves(filled):
    """Eleven characteristics on eight rows: the mean, the signature and the picture move down three."""
    sheet = cells_of(filled["plain_american"][2]).active
    assert sheet["A20"].value == "9"
    assert sheet["E21"].value == "=MAX(E10:E20)"
    assert sheet["A23"].value == "Inspected by:"
    assert sheet.print_area == "'First Article'!$A$1:$I$25"
    assert sorted(image.anchor._from.row for image in sheet._images) == [0, 23]
    assert sheet["C20"].border.left.style == "thin"


def test_pages_are_repeated_with_what_belongs_to_them(filled):
    made = cells_of(filled["paged"][2])
    assert made.sheetnames == ["Page", "Page (2)"]
    first, second = made.worksheets
    assert [second[cell].value for cell in ("B1", "E2", "F2", "A5", "A9", "A10")] == ["HB-7", 2, 2, "7.1", "9", None]
    assert (second.print_area, second.page_setup.paperSize) == ("'Page (2)'!$A$1:$F$14", 9)
    assert len(first._images) == len(second._images) == 1
    assert second["C11"].value == "=COUNTA(C5:C10)"


def test_each_piece_has_its_column_and_its_serial(filled):
    sheet = cells_of(filled["five_across"][2]).active
    assert [sheet.cell(5, column).value for column in range(5, 10)] == [0.5, 0.501, 0.503, 0.5, 0.501]
    assert sheet["J15"].value == "Reject"  # one of five is .0010 over
    assert sheet["J5"].value == "Accept"
    with zipfile.ZipFile(io.BytesIO(filled["five_across"][2].content)) as held:
        markup, main = held.read("xl/worksheets/sheet1.xml").decode(), held.read("xl/workbook.xml").decode()
    assert re.search(r'<c r="E25"[^>]*><f>[^<]*</f>(<v ?/>)?</c>', markup)  # the mean that stood there is gone
    assert 'fullCalcOnLoad="1"' in main


def test_two_rows_a_characteristic_stay_together(filled):
    sheet = cells_of(filled["french_blocks"][2]).active
    merged = {str(area) for area in sheet.merged_cells.ranges}
    assert {f"{letter}{row}:{letter}{row + 1}" for letter in "ABCDEF" for row in range(6, 28, 2)} <= merged
    assert [sheet[f"A{row}"].value for row in (6, 8, 26)] == ["1", "2", "9"]
    assert sheet["A29"].value == "Contrôlé par :"


def test_a_listed_table_grows_with_its_computed_column(filled):
    sheet = cells_of(filled["listed_table"][2]).active
    (listed,) = sheet.tables.values()
    assert (listed.ref, sheet["H17"].value, sheet["G18"].value) == (
        "B6:I18",
        '=IF(G17="","",G17-D17)',
        "=SUBTOTAL(105,G7:G17)",
    )
    assert (sheet["D2"].value, sheet["D3"].value) == ("HB-7", "PO-5521")


def test_the_customers_formulas_are_never_written_over(filled):
    sheet = cells_of(filled["protected"][2]).active
    assert sheet["J5"].value.startswith("=IF(F5")
    assert sheet.protection.sheet
    assert [sheet[f"{letter}7"].value for letter in "CDEF"] == [1.25, 0.01, 0, 1.255]


def test_numbers_go_out_in_both_systems(filled):
    sheet = cells_of(filled["numbered_dual"][2]).active
    assert (sheet["C7"].value, sheet["D7"].value) == (0.75, 19.05)
    assert (sheet["A7"].value, sheet["B7"].value) == ("2", "⌀.7500 ±.0005")  # as the customer wrote them
    german = cells_of(filled["german_boxes"][2]).active
    assert [german[f"{letter}9"].value for letter in "DEFG"] == ["12.700", "0.127", "0.127", "12.700"]
    assert german["I9"].value == "i.O."


def test_marks_stand_in_their_boxes(filled):
    sheet = cells_of(filled["spanish_marks"][2]).active
    assert [sheet[cell].value for cell in ("B2", "E7", "F7", "E10")] == ["HB-7", "X", None, None]


def test_a_chart_follows_its_rows(filled):
    _, _, done = filled["charted"]
    with zipfile.ZipFile(io.BytesIO(done.content)) as held:
        chart = held.read("xl/charts/chart1.xml").decode()
    assert "'Results'!$E$8:$E$18" in chart
    assert {reason.code for reason in done.notices} == {"form.not_allowed"}


def test_more_pieces_than_columns_take_further_pages(forms, measured, laid_out):
    layout = proposed(forms["plain_american"])
    done = fill(forms["plain_american"].content, "a.xlsx", laid_out(measured(("001", "002")), layout))
    made = cells_of(done)
    assert made.sheetnames == ["First Article", "First Article (2)", "Instructions"]
    assert made.active.title == "First Article"
    second = made["First Article (2)"]
    assert (second["E10"].value, second["F20"].value, second["E21"].value) == (0.501, "Fail", "=MAX(E10:E20)")
    kept = replace(layout, tables=(replace(layout.tables[0], grow=Grow.NO),))
    with pytest.raises(Refused) as caught:
        laid_out(measured(("001",)), kept)
    assert [reason.code for reason in caught.value.reasons] == ["layout.too_many_rows"]


def test_protected_cells_are_asked_for(forms, measured, laid_out):
    form = forms["protected"]
    layout = proposed(form)
    table = layout.tables[0]
    onto = replace(
        layout, tables=(replace(table, columns=(*table.columns, replace(table.columns[0], field="note", column=12))),)
    )
    told = laid_out(measured(), onto)
    with pytest.raises(Refused) as caught:
        fill(form.content, "p.xlsx", told)
    assert [(reason.code, reason.parts["cells"]) for reason in caught.value.reasons] == [("form.protected", "L5")]
    assert fill(form.content, "p.xlsx", replace(told, layout=replace(onto, into_protected=True))).content


def test_the_strict_form_of_the_format_is_filled_as_well(forms, measured, laid_out, maker):
    """ISO/IEC 29500 strict has namespaces of its own."""
    spaces = {
        "http://schemas.openxmlformats.org/spreadsheetml/2006/main": "http://purl.oclc.org/ooxml/spreadsheetml/main",
        "http://schemas.openxmlformats.org/officeDocument/2006/relationships": (
            "http://purl.oclc.org/ooxml/officeDocument/relationships"
        ),
    }

    def strict(text):
        for old, new in spaces.items():
            text = text.replace(old, new)
        return text

    form = forms["plain_american"]
    parts = [name for name in entries(form.content) if name.endswith((".xml", ".rels"))]
    content = maker.rewritten(form.content, dict.fromkeys(parts, strict), {})
    layout = proposed(replace(form, content=content))
    done = fill(content, "s.xlsx", laid_out(measured(("001", "002")), layout))
    with zipfile.ZipFile(io.BytesIO(done.content)) as held:
        main = held.read("xl/workbook.xml").decode()
        assert held.read("xl/worksheets/sheet1.xml").count(b"inlineStr") > 20
    assert re.search(r'name="First Article \(2\)" sheetId="3" r:id="rId\d+"', main)


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"\xd0\xcf\x11\xe0" + "Workbook".encode("utf-16-le"), "xlsx.is_xls"),
        (b"\xd0\xcf\x11\xe0" + "EncryptedPackage".encode("utf-16-le"), "xlsx.password"),
        (b"PK\x03\x04 and no more", "xlsx.cut_short"),
        (b"PK\x05\x06" + bytes(18), "xlsx.is_archive"),
        (b"a,b\n", "xlsx.is_text"),
    ],
)
def test_what_cannot_be_filled_is_refused_with_what_to_do(content, code):
    with pytest.raises(Refused) as caught:
        propose(content, Attached("form.xlsx", "0" * 64, len(content)), "Rowan & Pike", "x")
    assert code in [reason.code for reason in caught.value.reasons]


@pytest.fixture(scope="module")
def further(maker, measured, laid_out):
    """The forms that are made in the file beside, filled with a sheet of two pieces."""
    spec = importlib.util.spec_from_file_location("further", Path(__file__).with_name("test_further_forms.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    life, found = measured(("001", "002")), {}
    for make in (*module.RIGHT, module.two_up):
        content = make(maker)
        found[make.__name__] = fill(content, "form.xlsx", laid_out(life, module.layout_of(content)))
    return found


def read_alike(done, shown):
    """How many of the cells that were written on the first worksheet a spreadsheet program shows as they are; a number
    to the decimals shown."""
    sheet, alike = load_workbook(io.BytesIO(done.content)).worksheets[0], 0
    for each in done.written:
        if each.sheet != sheet.title:
            continue
        value, text = sheet.cell(each.row, each.column).value, shown[each.row - 1][each.column - 1]
        if isinstance(value, int | float):
            digits = max(0, -Decimal(text).as_tuple().exponent)
            assert abs(Decimal(repr(value)) - Decimal(text)) <= Decimal(5).scaleb(-digits - 1), each
        elif isinstance(value, str):
            assert text == value, each
        alike += 1
    return alike


#: As plain text in UTF-8, every cell as it is shown.
AS_SHOWN = "Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true"


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("soffice") is None, reason="no spreadsheet program here")
def test_a_spreadsheet_program_reads_what_was_written(filled, further, tmp_path):
    """Values as shown, formulas worked out anew: LibreOffice reads each form and writes it as plain texts."""
    written = {name: done for name, (_, _, done) in filled.items()} | further
    for name, done in written.items():
        (tmp_path / f"{name}.xlsx").write_bytes(done.content)
    given = [str(path) for path in sorted(tmp_path.glob("*.xlsx"))]
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    subprocess.run(
        ["soffice", profile, "--headless", "--convert-to", f"csv:{AS_SHOWN}", *given],
        cwd=tmp_path, check=True, capture_output=True, timeout=170,
    )  # fmt: skip
    for name, done in written.items():
        with (tmp_path / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            assert read_alike(done, list(csv.reader(file))) > 10, name
    shown = {name: (tmp_path / f"{name}.csv").read_text("utf-8").splitlines() for name in filled}
    assert shown["plain_american"][9].startswith("1,.500 ±.005,0.495,0.505,0.5000,Pass,C-05")
    assert shown["plain_american"][20].split(",")[3:5] == ["Largest", "1.9995"]
    assert shown["protected"][4].split(",")[2:] == [
        "0.5000",
        "0.0050",
        "0.0050",
        "0.5000",
        *shown["protected"][4].split(",")[6:7],
        "0.4950",
        "0.5050",
        "OK",
    ]
    assert shown["charted"][18].split(",")[3:5] == ["spread", "1.6995"]
    assert shown["listed_table"][8].split(",")[3:8] == ["1.2500", "1.2500", "1.2600", "1.2550", "0.0050"]
    assert shown["with_macros"][3].split(",")[:5] == ["1", ".500 ±.005", "±0.005", "0.500", "Y"]
