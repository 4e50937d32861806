"""Workbooks that are broken, locked, misnamed, full of traps or made to burst: each its sentence, in seconds and within
a gigabyte, and nothing of them taken."""

from __future__ import annotations

import io
import json
import selectors
import subprocess
import sys
import warnings
import zipfile
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path

import pytest

from inspection.layout.cell_names import letters

resource = pytest.importorskip("resource")

# --- workbooks made part by part ----------------------------------------------------------------------------------

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATED = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_MAIN = "http://purl.oclc.org/ooxml/spreadsheetml/main"
STRICT_RELATED = "http://purl.oclc.org/ooxml/officeDocument/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
OFFICE = "application/vnd.openxmlformats-officedocument.spreadsheetml"


def text(cell: str, words: str) -> str:
    """A cell that holds a text of its own."""
    return f'<c r="{cell}" t="inlineStr"><is><t>{words}</t></is></c>'


def number(cell: str, value: str, style: int = 0) -> str:
    """A cell that holds a number."""
    return f'<c r="{cell}" s="{style}"><v>{value}</v></c>'


def row(at: int, *cells: str, more: str = "") -> str:
    """A row of a worksheet."""
    return f'<row r="{at}"{more}>{"".join(cells)}</row>'


def feature(at: int, requirement: str, *others: str, more: str = "") -> str:
    """A row of a feature table whose requirement is a cell as given."""
    return row(at, text(f"A{at}", str(at)), text(f"B{at}", "length"), requirement, *others, more=more)


def heads(at: int) -> str:
    """The row of heads."""
    return row(at, text(f"A{at}", "number"), text(f"B{at}", "kind"), text(f"C{at}", "requirement"))


FRONT_AND_HEADS = (
    row(1, text("A1", "# part"), text("B1", "QF-1")) + row(2, text("A2", "# rev"), text("B2", "A")) + heads(3)
)


def worksheet(rows: str, before: str = "", after: str = "") -> str:
    """A worksheet's markup."""
    return f'<?xml version="1.0"?><worksheet xmlns="{MAIN}">{before}<sheetData>{rows}</sheetData>{after}</worksheet>'


def book_parts(sheets: Mapping[str, str], states: Mapping[str, str] | None = None) -> dict[str, str | bytes]:
    """The parts of a workbook of sheets by name, to be changed before they are packed. Style 1 is 0.000, 2 a date,
    3 text, 4 a fraction, 5 one that shows one decimal less where there is none."""
    listed = related = types = ""
    parts: dict[str, str | bytes] = {}
    for place, (name, markup) in enumerate(sheets.items(), 1):
        state = f' state="{states[name]}"' if states and name in states else ""
        listed += f'<sheet name="{name}" sheetId="{place}" r:id="s{place}"{state}/>'
        related += f'<Relationship Id="s{place}" Type="{RELATED}/worksheet" Target="worksheets/sheet{place}.xml"/>'
        types += f'<Override PartName="/xl/worksheets/sheet{place}.xml" ContentType="{OFFICE}.worksheet+xml"/>'
        parts[f"xl/worksheets/sheet{place}.xml"] = markup
    return parts | {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{OFFICE}.sheet.main+xml"/>{types}</Types>',
        "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
        f'<Relationship Id="b" Type="{RELATED}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{RELATED}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">{related}'
        f'<Relationship Id="y" Type="{RELATED}/styles" Target="styles.xml"/>'
        f'<Relationship Id="t" Type="{RELATED}/sharedStrings" Target="/xl/sharedStrings.xml"/></Relationships>',
        "xl/styles.xml": f'<styleSheet xmlns="{MAIN}"><numFmts><numFmt numFmtId="164" formatCode="0.000"/>'
        '<numFmt numFmtId="165" formatCode="0.0##"/></numFmts>'
        '<fonts><font><name val="Plain"/></font><font><name val="Symbol"/><charset val="2"/></font>'
        '<font><strike/></font></fonts>'
        '<cellXfs><xf numFmtId="0" fontId="0"/><xf numFmtId="164"/><xf numFmtId="14"/><xf numFmtId="49"/>'
        '<xf numFmtId="12"/><xf numFmtId="165"/><xf numFmtId="49" fontId="1"/><xf numFmtId="49" fontId="2"/></cellXfs>'
        "</styleSheet>",
        "xl/sharedStrings.xml": f'<sst xmlns="{MAIN}"><si><t>1.250 ±.005</t></si></sst>',
    }  # fmt: skip


def packed(parts: Mapping[str, str | bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """Parts as one zip."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as whole:
        for name, data in parts.items():
            whole.writestr(name, data)
    return stream.getvalue()


def book(rows: str, before: str = "", after: str = "", **changed: str | bytes) -> bytes:
    """A workbook of one sheet, Features, with heads in row 3 and ``rows`` below."""
    return packed(book_parts({"Features": worksheet(FRONT_AND_HEADS + rows, before, after)}) | changed)


def in_sheet(markup: str) -> bytes:
    """A workbook of one sheet with the markup as given."""
    return packed(book_parts({"Features": markup}))


MOST_MEMORY = 1 << 30  # bytes
MOST_SECONDS = 5
READER = """
import json, resource, sys, time
most = int(sys.argv[1])
resource.setrlimit(resource.RLIMIT_AS, (most, most))
from pathlib import Path
from inspection.words.say import known, say
from storage.intake.faults import FileRefused
from storage.intake.features import read_features
for line in sys.stdin:
    path = Path(line.rstrip("\\n"))
    data = path.read_bytes()
    start = time.process_time()
    found = {"taken": False, "faults": [], "said": []}
    try:
        read_features(data, path.name)
        found["taken"] = True
    except FileRefused as refused:
        found["faults"] = [(fault.address, fault.reason.code) for fault in refused.faults[:20]]
        found["said"] = [say(reason) for reason in refused.reasons]
        found["wordless"] = [reason.code for reason in refused.reasons if not known(reason.code)]
    print(json.dumps(found | {"seconds": time.process_time() - start}), flush=True)
"""

GOOD = feature(4, text("C4", "1.250 ±.005"))


class Reader:
    """The reader of feature files as a process of its own, held to a gigabyte."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.process = subprocess.Popen(
            [sys.executable, "-c", READER, str(MOST_MEMORY)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def read(self, data: bytes, name: str = "shop.xlsx") -> dict:
        """What the reader says of a file; fails if it takes longer than it may, waits or dies."""
        path = self.folder / name
        path.write_bytes(data)
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(f"{path}\n")
        self.process.stdin.flush()
        with selectors.DefaultSelector() as selector:
            selector.register(self.process.stdout, selectors.EVENT_READ)
            assert selector.select(timeout=MOST_SECONDS * 6), "the reader is still at it"
        line = self.process.stdout.readline()
        assert line, f"the reader died: {self.process.wait()}"
        found = json.loads(line)
        assert found["seconds"] < MOST_SECONDS
        return found

    def refused(self, data: bytes, name: str = "shop.xlsx") -> list[tuple[str, str]]:
        """The faults, as address and code, of a file that must be refused in whole sentences."""
        found = self.read(data, name)
        assert not found["taken"]
        assert found["wordless"] == []
        assert found["said"][0].startswith(f"{name} was not taken in")
        assert not any("{" in one or "[" in one for one in found["said"])
        return [(address, code) for address, code in found["faults"]]


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Reader]:
    """One reader for all files, so that none may leave it weakened."""
    reader = Reader(tmp_path_factory.mktemp("hostile"))
    yield reader
    reader.process.communicate(timeout=10)


def test_the_workbook_that_all_others_spoil_is_taken(reader: Reader) -> None:
    assert reader.read(book(GOOD))["taken"]


def test_the_strict_form_of_the_standard_is_taken(reader: Reader) -> None:
    parts = book_parts({"Features": worksheet(FRONT_AND_HEADS + GOOD)})
    strict = {
        name: str(part).replace(MAIN, STRICT_MAIN).replace(RELATED, STRICT_RELATED) for name, part in parts.items()
    }
    assert reader.read(packed(strict))["taken"]


# --- the file as a whole ------------------------------------------------------------------------------------------


def compound(stream: str) -> bytes:
    """The beginning of a compound file, with a directory entry of that name (MS-CFB 2.6: UTF-16)."""
    return (
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504) + "Root Entry".encode("utf-16-le") + stream.encode("utf-16-le")
    )


def added(name: str, data: str = "<x/>") -> bytes:
    """A good workbook with one more part, which may be there already."""
    stream = io.BytesIO(book(GOOD))
    with warnings.catch_warnings(action="ignore"), zipfile.ZipFile(stream, "a") as whole:
        whole.writestr(name, data)
    return stream.getvalue()


def locked() -> bytes:
    """A zip whose parts are marked as encrypted."""
    data = bytearray(book(GOOD))
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        place = data.find(mark)
        while place >= 0:
            data[place + at] |= 1
            place = data.find(mark, place + 1)
    return bytes(data)


def flipped() -> bytes:
    """A workbook with one byte of its worksheet altered, as a bad stick does."""
    data = bytearray(packed(book_parts({"Features": worksheet(FRONT_AND_HEADS + GOOD)}), zipfile.ZIP_STORED))
    data[data.find(b"1.250")] ^= 1
    return bytes(data)


def without(part: str) -> bytes:
    parts = book_parts({"Features": worksheet(FRONT_AND_HEADS + GOOD)})
    del parts[part]
    return packed(parts)


def retyped(old: str, new: str) -> bytes:
    parts = book_parts({"Features": worksheet(FRONT_AND_HEADS + GOOD)})
    types = str(parts["[Content_Types].xml"])
    assert old in types
    return packed(parts | {"[Content_Types].xml": types.replace(old, new)})


def open_document() -> bytes:
    return packed({"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<office/>"})


def xml_2003() -> bytes:
    return b'<?xml version="1.0"?><Workbook xmlns="urn:schemas-microsoft-com:office:spreadsheet"></Workbook>'


WHOLE: dict[str, tuple[str, Callable[[], bytes], str]] = {
    "password": ("shop.xlsx", partial(compound, "EncryptedPackage"), "xlsx.password"),
    "password of a zip": ("shop.xlsx", locked, "xlsx.password"),
    "old format": ("shop.xls", partial(compound, "Workbook"), "xlsx.is_xls"),
    "old format, named anew": ("shop.xlsx", partial(compound, "Workbook"), "xlsx.is_xls"),
    "old format of another program": ("shop.xlsx", partial(compound, "WordDocument"), "xlsx.is_compound"),
    "open document": ("shop.ods", open_document, "xlsx.is_ods"),
    "open document, named anew": ("shop.xlsx", open_document, "xlsx.is_ods"),
    "csv named workbook": ("shop.xlsx", lambda: b"number,kind,requirement\n1,length,1.250\n", "xlsx.is_text"),
    "web page named workbook": ("shop.xlsx", lambda: b"\n<html><table><tr><td>1</td></table>", "xlsx.is_html"),
    "web page with a type": ("shop.xls", lambda: b"\xef\xbb\xbf<!DOCTYPE html><html></html>", "xlsx.is_html"),
    "markup of 2003": ("shop.xls", xml_2003, "xlsx.is_flat_xml"),
    "pdf named workbook": ("shop.xlsx", lambda: b"%PDF-1.7\n", "intake.is_pdf"),
    "nothing known": ("shop.xlsx", lambda: b"\x89PNG\r\n\x1a\n\0\0\0", "xlsx.is_nothing"),
    "empty": ("shop.xlsx", lambda: b"", "intake.empty"),
    "workbook named csv": ("shop.csv", lambda: book(GOOD), "intake.is_workbook"),
    "cut short": ("shop.xlsx", lambda: book(GOOD)[:-300], "xlsx.cut_short"),
    "cut to its beginning": ("shop.xlsx", lambda: book(GOOD)[:8], "xlsx.cut_short"),
    "a byte altered": ("shop.xlsx", flipped, "xlsx.part_broken"),
    "a zip of other files": ("shop.xlsx", lambda: packed({"a.txt": "x"}), "xlsx.is_archive"),
    "a workbook in a zip": ("shop.zip", lambda: packed({"shop.xlsx": book(GOOD)}), "xlsx.is_archive"),
    "a part twice": (
        "shop.xlsx",
        lambda: added("xl/worksheets/sheet1.xml", worksheet(FRONT_AND_HEADS)),
        "xlsx.part_twice",
    ),
    "a part twice in other case": ("shop.xlsx", lambda: added("XL/Styles.xml"), "xlsx.part_twice"),
    "a part that leads out": ("shop.xlsx", lambda: added("../../etc/cron.d/x"), "xlsx.part_leads_out"),
    "a part of a drive": ("shop.xlsx", lambda: added("C:\\x"), "xlsx.part_leads_out"),
    "a part from the root": ("shop.xlsx", lambda: added("/xl/x.xml"), "xlsx.part_leads_out"),
    "macros": (
        "shop.xlsm",
        lambda: retyped(f"{OFFICE}.sheet.main+xml", "application/vnd.ms-excel.sheet.macroEnabled.main+xml"),
        "xlsx.macros",
    ),
    "a template": ("shop.xltx", lambda: retyped("sheet.main+xml", "template.main+xml"), "xlsx.is_template"),
    "a binary workbook": ("shop.xlsb", lambda: retyped("sheet.main+xml", "sheet.binary.main"), "xlsx.is_xlsb"),
    "packed in another way": ("shop.xlsx", lambda: packed({"xl/x.xml": "x"}, zipfile.ZIP_BZIP2), "xlsx.part_broken"),
    "macros, typed as a workbook": ("shop.xlsx", lambda: added("xl/vbaProject.bin"), "xlsx.macros"),
    "external links": ("shop.xlsx", lambda: added("xl/externalLinks/externalLink1.xml"), "xlsx.external_links"),
    "connections": ("shop.xlsx", lambda: added("xl/connections.xml"), "xlsx.external_links"),
    "no types": ("shop.xlsx", lambda: without("[Content_Types].xml"), "xlsx.is_archive"),
    "no workbook": ("shop.xlsx", lambda: without("xl/workbook.xml"), "xlsx.part_missing"),
    "no worksheet": ("shop.xlsx", lambda: without("xl/worksheets/sheet1.xml"), "xlsx.sheet_missing"),
    "no styles": ("shop.xlsx", lambda: without("xl/styles.xml"), "xlsx.part_missing"),
    "a worksheet of wrong type": ("shop.xlsx", lambda: retyped("worksheet+xml", "chartsheet+xml"), "xlsx.wrong_type"),
    "a text document": (
        "shop.xlsx",
        lambda: retyped("spreadsheetml.sheet.main", "wordprocessingml.document.main"),
        "xlsx.is_document",
    ),
    "markup that breaks off": ("shop.xlsx", lambda: in_sheet(worksheet(FRONT_AND_HEADS)[:-20]), "xlsx.part_broken"),
    "no table": ("shop.xlsx", lambda: in_sheet(worksheet(row(1, text("A1", "Minutes")))), "xlsx.no_heads"),
    "no cell": ("shop.xlsx", lambda: in_sheet(worksheet("")), "xlsx.no_heads"),
}


@pytest.mark.parametrize("what", WHOLE)
def test_files_that_are_no_workbook_of_ours(reader: Reader, what: str) -> None:
    name, make, code = WHOLE[what]
    assert reader.refused(make(), name) == [("", code)]


def test_cut_anywhere_a_workbook_is_refused(reader: Reader) -> None:
    whole = book(GOOD)
    for length in range(2, len(whole), 97):
        assert [code for _, code in reader.refused(whole[:length])] == ["xlsx.cut_short"]


# --- entities -----------------------------------------------------------------------------------------------------

LAUGHS = "".join(f'<!ENTITY l{n} "' + f"&l{n - 1};" * 10 + '">' for n in range(1, 10))
DOCTYPES = {
    "entities that multiply": f'<!DOCTYPE x [<!ENTITY l0 "ha">{LAUGHS}]>',
    "an entity of another file": '<!DOCTYPE x [<!ENTITY l9 SYSTEM "file:///etc/passwd">]>',
    "an entity of the net": '<!DOCTYPE x [<!ENTITY % p SYSTEM "http://localhost:9/x.dtd"> %p;]>',
    "a type without entities": "<!DOCTYPE x>",
}
PARTS = ("xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml", "[Content_Types].xml")


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("what", DOCTYPES)
def test_document_types_are_refused_before_anything_in_them_is_read(reader: Reader, what: str, part: str) -> None:
    parts = book_parts({"Features": worksheet(FRONT_AND_HEADS + feature(4, text("C4", "&l9;")))})
    markup = str(parts[part]).replace('<?xml version="1.0"?>', "")
    for encoding in ("utf-8", "utf-16"):
        data = f'<?xml version="1.0" encoding="{encoding}"?>{DOCTYPES[what]}{markup}'.encode(encoding)
        assert reader.refused(packed(parts | {part: data})) == [("", "xlsx.doctype")]


# --- made to burst ------------------------------------------------------------------------------------------------


def strings(markup: str) -> bytes:
    return book(GOOD, **{"xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">{markup}</sst>'})


def lying() -> bytes:
    """A part that says it unpacks to nothing much."""
    data = bytearray(book(GOOD, **{"xl/sharedStrings.xml": f'<sst xmlns="{MAIN}">' + " " * 70_000_000 + "</sst>"}))
    end = data.rfind(b"xl/sharedStrings.xml")
    data[end - 46 + 24 : end - 46 + 28] = (1_000).to_bytes(4, "little")
    return bytes(data)


def wide_rows() -> str:
    return "".join(row(n, *(number(f"{letters(c + 1)}{n}", "0.5", 1) for c in range(60))) for n in range(5, 9_000))


def styled_rows() -> str:
    return "".join(f'<row r="{n}"><c r="A{n}" s="1"/><c r="B{n}" s="1"/></row>' for n in range(5, 1_048_577))


ARRAYS = [
    f'<c r="{letters(n + 1)}4"><f t="array" ref="{letters(n + 1)}4:{letters(n + 1)}9000">1</f><v>0.5</v></c>'
    for n in range(3, 190)
]
MANY_HEADS = row(1, text("A1", "number"), *(text(f"{letters(n + 1)}1", f"numbex{n}") for n in range(1, 16_384)))
HIDDEN = '<col min="1" max="16384" hidden="1"/>'
#: What such a file lacks besides.
BESIDE = {"intake.head_line_missing", "intake.head_missing", "intake.head_unknown_near", "intake.no_rows"}
BESIDE |= {"xlsx.column_hidden"}

BURSTS: dict[str, tuple[Callable[[], bytes], str]] = {
    "a zip bomb": (lambda: book(GOOD, **{"xl/other.xml": bytes(400_000_000)}), "xlsx.bomb"),
    "a zip bomb that lies": (lying, "xlsx.part_broken"),
    "thousands of parts": (lambda: packed({f"xl/{n}.xml": "" for n in range(3_000)}), "xlsx.too_many_parts"),
    "hundreds of sheets": (
        lambda: packed(book_parts({f"S{n}": worksheet("") for n in range(300)})),
        "xlsx.too_many_sheets",
    ),
    "texts by the million": (lambda: strings("<si><t>x</t></si>" * 4_000_000), "xlsx.bomb_of_elements"),
    "texts of many runs": (lambda: strings("<si><r><t>x</t></r></si>" * 2_000_000), "xlsx.bomb_of_elements"),
    "one text of many runs": (
        lambda: book(feature(4, '<c r="C4" t="inlineStr"><is>' + "<r><t>x</t></r>" * 1_200_000 + "</is></c>")),
        "xlsx.bomb_of_elements",
    ),
    "a long cell": (lambda: book(feature(4, text("C4", "1" * 70_000_000))), "intake.cell_too_long"),
    "a long cell of references": (lambda: book(feature(4, text("C4", "&#49;" * 15_000_000))), "intake.cell_too_long"),
    "a long number": (lambda: book(feature(4, number("C4", "1" * 70_000_000, 1))), "xlsx.no_number"),
    "a long attribute": (lambda: book(GOOD, before='<x a="' + "y" * 70_000_000 + '"/>'), "xlsx.bomb_of_elements"),
    "a long remark": (lambda: book(GOOD, before="<!--" + "y" * 70_000_000 + "-->"), "xlsx.bomb_of_elements"),
    "many attributes": (
        lambda: book(GOOD, before="<x " + " ".join(f'a{n}="1"' for n in range(3_000_000)) + "/>"),
        "xlsx.bomb_of_elements",
    ),
    "deep elements": (lambda: book(GOOD, before="<x>" * 12_000_000), "xlsx.bomb_of_elements"),
    "elements of many names": (
        lambda: book(GOOD, before="".join(f"<x{n}/>" for n in range(2_000_000))),
        "xlsx.part_broken",
    ),
    "every row formatted": (lambda: book(GOOD + styled_rows()), "xlsx.bomb_of_elements"),
    "columns by the million": (
        lambda: book(GOOD, before="<cols>" + '<col min="1" max="9"/>' * 2_500_000 + "</cols>"),
        "xlsx.bomb_of_elements",
    ),
    "arrays by the hundred": (lambda: book(row(4, *ARRAYS) + wide_rows()), "xlsx.formula"),
    "heads and hidden columns by the thousand": (
        lambda: in_sheet(
            worksheet(MANY_HEADS, "<cols>" + '<col min="1" max="16384" hidden="1"/>' * 300_000 + "</cols>")
        ),
        "intake.too_many_heads",
    ),
    "unknown lines in front": (
        lambda: in_sheet(worksheet("".join(row(n, text(f"A{n}", f"# x{n}")) for n in range(1, 9_000)) + heads(9_000))),
        "intake.too_many_in_front",
    ),
    "lines in front by the ten thousand": (
        lambda: in_sheet(worksheet("".join(row(n, text(f"A{n}", "# x")) for n in range(1, 300_000)))),
        "xlsx.no_heads",
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("what", BURSTS)
def test_files_made_to_burst(reader: Reader, what: str) -> None:
    make, code = BURSTS[what]
    assert {found for _, found in reader.refused(make())} - BESIDE == {code}


# --- as large as a sheet can be -----------------------------------------------------------------------------------


def test_a_sheet_that_says_it_is_as_large_as_can_be_is_taken_for_what_it_holds(reader: Reader) -> None:
    assert reader.read(book(GOOD, before='<dimension ref="A1:XFD1048576"/>'))["taken"]


@pytest.mark.slow
def test_a_million_empty_rows_are_passed_over(reader: Reader) -> None:
    rows = "".join(f'<row r="{n}"/>' for n in range(5, 1_048_576))
    assert reader.read(book(GOOD + rows))["taken"]
    last = feature(1_048_576, text("C1048576", ".5"))
    assert reader.refused(book(GOOD + rows + last)) == [("Features!1048576:1048576", "xlsx.far_below")]


def test_a_cell_in_the_last_row_alone(reader: Reader) -> None:
    last = feature(1_048_576, text("C1048576", ".5"))
    assert reader.refused(book(GOOD + last)) == [("Features!1048576:1048576", "xlsx.far_below")]
    assert reader.refused(in_sheet(worksheet(heads(1_048_576)))) == [("", "xlsx.no_heads")]


def test_more_rows_than_a_table_may_have(reader: Reader) -> None:
    rows = "".join(feature(n, text(f"C{n}", ".5 ±.1")) for n in range(4, 10_005))
    assert reader.refused(book(rows)) == [("Features!10004:10004", "intake.too_many_rows")]


def test_all_columns_of_a_sheet(reader: Reader) -> None:
    found = reader.refused(book(GOOD + row(5, *(text(f"{letters(n + 1)}5", "x") for n in range(16_384)))))
    assert ("Features!D5", "intake.cell_without_head") in found
    assert ("Features!1:1", "intake.too_many_heads") in reader.refused(in_sheet(worksheet(MANY_HEADS)))


# --- traps in cells -----------------------------------------------------------------------------------------------

FORMULA = '<c r="C4" s="1"><f>A4/2</f><v>0.5</v></c>'
TRAPS = {
    "a formula with its value": (FORMULA, "xlsx.formula"),
    "a formula without a value": ('<c r="C4"><f>A4</f></c>', "xlsx.formula"),
    "a formula that gives a text": ('<c r="C4" t="str"><f>A4</f><v>0.5</v></c>', "xlsx.formula"),
    "a shared formula": ('<c r="C4" s="1"><f t="shared" si="0"/><v>0.5</v></c>', "xlsx.formula"),
    "a logical value": ('<c r="C4" t="b"><v>1</v></c>', "xlsx.boolean"),
    "an error": ('<c r="C4" t="e"><v>#REF!</v></c>', "xlsx.error"),
    "a date": (number("C4", "46024", 2), "xlsx.date"),
    "a date of the strict form": ('<c r="C4" t="d"><v>2026-01-02T00:00:00</v></c>', "xlsx.date"),
    "a fraction": (number("C4", "0.5", 4), "xlsx.fraction"),
    "a plain number": (number("C4", "0.5"), "xlsx.number_general"),
    "a number under a text format": (number("C4", "0.5", 3), "xlsx.number_as_text"),
    "a number of loose decimals": (number("C4", "0.5", 5), "xlsx.number_format"),
    "a number with more than is shown": (number("C4", "0.50049", 1), "xlsx.rounded"),
    "a number of no known style": (number("C4", "0.5", 99), "xlsx.number_general"),
    "a number that is none": (number("C4", "1_0", 1), "xlsx.no_number"),
    "an endless number": (number("C4", "1e400", 1), "xlsx.no_number"),
    "no number at all": (number("C4", "NaN", 1), "xlsx.no_number"),
    "a text that is missing": ('<c r="C4" t="s"><v>7</v></c>', "xlsx.text_missing"),
    "a text of negative place": ('<c r="C4" t="s"><v>-1</v></c>', "xlsx.text_missing"),
    "an unknown type of cell": ('<c r="C4" t="zz"><v>0.5</v></c>', "xlsx.text_missing"),
    "signs of a symbol font": ('<c r="C4" t="inlineStr" s="6"><is><t>n.500</t></is></c>', "xlsx.symbol_font"),
    "a cell struck through": ('<c r="C4" t="inlineStr" s="7"><is><t>.500</t></is></c>', "xlsx.struck"),
    "a fraction set by height": (
        '<c r="C4" t="inlineStr"><is><r><t>1</t></r><r><rPr><vertAlign val="superscript"/></rPr><t>1</t></r>'
        "<r><t>/2</t></r></is></c>",
        "xlsx.heights",
    ),
    "an unseen character": (text("C4", "0.5\u200b00"), "intake.odd_character"),
    "a character that turns the text": (text("C4", "\u202e005."), "intake.odd_character"),
    "a character spelled out": (text("C4", "0.5_x0007_"), "intake.odd_character"),
}


@pytest.mark.parametrize("what", TRAPS)
def test_traps_in_a_cell_are_told_by_the_cell(reader: Reader, what: str) -> None:
    cell, code = TRAPS[what]
    assert reader.refused(book(feature(4, cell) + feature(5, text("C5", ".5 ±.1")))) == [("Features!C4", code)]


def test_a_number_whose_format_fixes_it_is_taken(reader: Reader) -> None:
    noted = row(5, number("A5", "7.1", 1), text("B5", "note"), text("C5", "DEBURR"))
    assert reader.read(book(GOOD + noted))["taken"]


def test_hints_of_pronunciation_are_no_part_of_a_text(reader: Reader) -> None:
    runs = '<r><t>1.250 </t></r><rPh sb="0" eb="1"><t>x</t></rPh><r><t>±.005</t></r><phoneticPr fontId="0"/>'
    shared = {"xl/sharedStrings.xml": f'<sst xmlns="{MAIN}"><si>{runs}</si></sst>'}
    assert reader.read(book(feature(4, '<c r="C4" t="s"><v>0</v></c>'), **shared))["taken"]
    assert reader.read(book(feature(4, f'<c r="C4" t="inlineStr"><is>{runs}</is></c>')))["taken"]


def test_what_an_array_fills_is_a_formula_in_every_cell(reader: Reader) -> None:
    first = '<c r="C4" s="1"><f t="array" ref="C4:C5">A4:A5/2</f><v>0.5</v></c>'
    assert reader.refused(book(feature(4, first) + feature(5, number("C5", "0.5", 1)))) == [
        ("Features!C4", "xlsx.formula"),
        ("Features!C5", "xlsx.formula"),
    ]


def test_cells_twice_or_out_of_order(reader: Reader) -> None:
    for rows in (
        row(4, text("A4", "1"), text("A4", "2")),
        row(4, text("B4", "1"), text("A4", "2")),
        row(4, text("A9", "1"), text("B4", "length")),
        row(9, text("A9", "1")) + row(4, text("A4", "1")),
    ):
        found = reader.refused(book(rows + feature(10, text("C10", ".5 ±.1"))))
        assert "xlsx.row_broken" in [code for _, code in found]


# --- hidden and merged --------------------------------------------------------------------------------------------


def test_merged_cells_are_told_by_their_range(reader: Reader) -> None:
    def merged(*ranges: str) -> bytes:
        cells = "".join(f'<mergeCell ref="{one}"/>' for one in ranges)
        return book(GOOD + feature(5, text("C5", ".5 ±.1")), after=f"<mergeCells>{cells}</mergeCells>")

    assert reader.refused(merged("A3:B3", "C4:C5", "A1:C1", "F20:G30")) == [
        ("Features!A3:B3", "xlsx.merged_head"),
        ("Features!C4:C5", "xlsx.merged"),
    ]
    assert reader.read(merged("A1:C1", "F20:G30"))["taken"]


def test_hidden_rows_and_columns_of_the_table(reader: Reader) -> None:
    hidden = feature(5, text("C5", ".5 ±.1"), more=' hidden="1"')
    assert reader.refused(book(GOOD + hidden)) == [("Features!5:5", "xlsx.row_hidden")]
    no_height = feature(5, text("C5", ".5 ±.1"), more=' ht="0"')
    assert reader.refused(book(GOOD + no_height)) == [("Features!5:5", "xlsx.row_hidden")]
    columns = '<cols><col min="3" max="9" hidden="1"/></cols>'
    assert reader.refused(book(GOOD, before=columns)) == [("Features!C3", "xlsx.column_hidden")]
    assert reader.read(book(GOOD, before='<cols><col min="4" max="16384" hidden="1"/></cols>'))["taken"]
    zero = '<sheetFormatPr defaultRowHeight="15" zeroHeight="1"/>'
    assert ("Features!4:4", "xlsx.row_hidden") in reader.refused(book(GOOD, before=zero))


def test_a_table_on_a_hidden_sheet_alone_is_not_taken(reader: Reader) -> None:
    table = worksheet(FRONT_AND_HEADS + GOOD)
    for state in ("hidden", "veryHidden"):
        parts = book_parts({"Old": table, "Notes": worksheet("")}, {"Old": state})
        assert reader.refused(packed(parts)) == [("", "xlsx.table_hidden")]
        assert reader.read(packed(book_parts({"Old": table, "New": table}, {"Old": state})))["taken"]


def test_relations_that_leave_the_workbook_are_not_followed(reader: Reader) -> None:
    parts = book_parts({"Features": worksheet(FRONT_AND_HEADS + GOOD)})
    related = str(parts["xl/_rels/workbook.xml.rels"])
    for there in ("../../../../etc/passwd", "file:///etc/passwd", "http://localhost:9/sheet.xml"):
        away = related.replace('Target="worksheets/sheet1.xml"', f'Target="{there}" TargetMode="External"')
        assert away != related
        assert reader.refused(packed(parts | {"xl/_rels/workbook.xml.rels": away})) == [("", "xlsx.sheet_missing")]
        away = away.replace(' TargetMode="External"', "")
        assert reader.refused(packed(parts | {"xl/_rels/workbook.xml.rels": away})) == [("", "xlsx.sheet_missing")]


def test_any_one_byte_altered_is_read_or_refused(reader: Reader) -> None:
    whole = packed(book_parts({"Features": worksheet(FRONT_AND_HEADS + GOOD)}), zipfile.ZIP_STORED)
    for place in range(0, len(whole), 41):
        data = bytearray(whole)
        data[place] ^= 0x15
        reader.read(bytes(data))
