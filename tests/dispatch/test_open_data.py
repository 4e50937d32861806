"""Open data: QIF by the public schema, JSON by the published one; both read back to what they were written from."""

from __future__ import annotations

import importlib.util
import json
import time
import uuid
from importlib.resources import files
from pathlib import Path

import jsonschema
import msgspec
import pytest
from lxml import etree
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.open_sheet import Device, Measurement, OpenRow, OpenSheet, open_sheet
from inspection.sheet.reporting import report
from storage.dispatch.qif import SPACE, qif_bytes
from storage.dispatch.sheet_json import SheetJson, json_bytes, schema
from storage.intake.qif import read_qif

HERE = Path(__file__).parent
#: The public schema of QIF 3.0 (ISO 23952) and two public samples, where they lie beside the project; they are read
#: there and no part of it.
QIF = HERE.parents[2] / "shared" / "reference" / "qif"
beside = pytest.mark.skipif(not QIF.is_dir(), reason="QIF's public schema does not lie beside the project")
S = f"{{{SPACE}}}"


@pytest.fixture(scope="module")
def valid():
    """The public schema."""
    return etree.XMLSchema(etree.parse(QIF / "schema" / "QIFApplications" / "QIFDocument.xsd"))


@pytest.fixture(scope="module")
def life():
    def module(path):
        spec = importlib.util.spec_from_file_location(path.stem, path)
        found = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(found)
        return found

    lives = module(HERE.parent / "sheet" / "conftest.py")
    forms = module(HERE / "customer_forms" / "conftest.py")
    made = (
        forms.measured.__wrapped__ if hasattr(forms.measured, "__wrapped__") else forms.measured.__pytest_wrapped__.obj
    )
    return made(lives)(("001", "002"))


@pytest.fixture(scope="module")
def told(life):
    return open_sheet(life.sheet, life.shop, report(life.sheet, life.shop))


def counted(content):
    """The document, the counts of which the schema does not check."""
    document = etree.fromstring(content)
    for held in document.iter():
        if held.get("n") is not None:
            assert int(held.get("n")) == len(held), held.tag
    return document


def test_a_sheet_comes_back_whole(told):
    content = qif_bytes(told)
    document = counted(content)
    assert read_qif(content, "a.qif") == told
    assert qif_bytes(told) == content
    statuses = [each.text for each in document.iter(f"{S}CharacteristicStatusEnum")]
    assert {*statuses} == {"PASS", "FAIL", "NOT_ANALYZED", "BASIC_OR_TED"}
    (value,) = [
        each.find(f"{S}Value")
        for each in document.iter(f"{S}DiameterCharacteristicMeasurement")
        if each.find(f"{S}Value").text == "0.7504"
    ]
    assert float(value.get("combinedUncertainty")) > 0
    assert value.get("decimalPlaces") == "4"


def odd_of(told):
    rows = (
        OpenRow("1", "10 ±0.1", "plus and minus", "length", unit="mm", nominal="10", lower="9.9", upper="10.1",
                measured=(Measurement("001", "9.98 … 10.02", "conforming", smallest="9.98", largest="10.02"),)),
        OpenRow("2", "45° ±1", "plus and minus", "angle", unit="°", lower="44", upper="46",
                measured=(Measurement("001", "45.5", "in doubt, measured inside", "45.5", nonconformance="NC-1"),)),
        OpenRow("3", "Ra 32 µin", "maximum", "roughness", unit="µin", upper="32", key="KC <&> \"x\""),
        OpenRow("4", "=1+1 & <b>", "note", "note", measured=(Measurement("002", "as required", "conforming"),)),
    )  # fmt: skip
    return replace(told, rows=rows, devices=(Device("T-1", "tool", ""),), partial=True, inspector="Ann Ames")


def test_other_units_places_and_texts_come_back(told):
    odd = odd_of(told)
    content = qif_bytes(odd)
    counted(content)
    assert read_qif(content, "a.qif") == odd


@beside
def test_what_is_written_is_valid_by_the_public_schema(valid, told):
    for each in (told, odd_of(told), large()):
        valid.assertValid(etree.fromstring(qif_bytes(each)))


@beside
@pytest.mark.parametrize(("name", "items"), [("sheet-metal-results", 21), ("widget-plan", 26)])
def test_public_samples_say_what_their_markup_says(name, items):
    """Read apart from our reader, by paths into the document."""
    content = (QIF / "samples" / f"{name}.qif").read_bytes()
    document, found = etree.fromstring(content), read_qif(content, name)
    held = document.find(f"{S}Characteristics/{S}CharacteristicItems")
    wanted = [each.findtext(f"{S}CharacteristicDesignator/{S}Designator") or each.findtext(f"{S}Name") for each in held]
    assert [row.number for row in found.rows] == wanted
    assert len(wanted) == items
    zones = [each.text for each in document.iter(f"{S}ToleranceValue")]
    assert [row.upper for row in found.rows if not row.lower and row.upper in zones][: len(zones)]
    limits = [
        (each.findtext(f"{S}Tolerance/{S}MinValue") or "", each.findtext(f"{S}Tolerance/{S}MaxValue") or "")
        for each in document.find(f"{S}Characteristics/{S}CharacteristicDefinitions")
    ]
    assert {(row.lower, row.upper) for row in found.rows if row.lower} == {pair for pair in limits if pair[0]}
    values = [each.text for each in document.iter(f"{S}Value") if each.getparent().tag.endswith("Measurement")]
    assert sorted(one.value for row in found.rows for one in row.measured if one.value) == sorted(values)
    assert {row.unit for row in found.rows} <= {"mm", "degree", ""}


@pytest.mark.parametrize(
    ("content", "code"),
    [(b"<a/>", "qif.none"), (b"<a", "qif.broken"), (b"<!DOCTYPE a []><a/>", "qif.doctype"), (b"", "qif.broken")],
)
def test_what_is_no_document_is_refused(content, code):
    with pytest.raises(Refused) as caught:
        read_qif(content, "a.qif")
    assert [reason.code for reason in caught.value.reasons] == [code]


# --- json ---------------------------------------------------------------------------------------------------------


def test_the_published_schema_is_that_of_the_file():
    published = json.loads((files("resources") / "schemas" / "sheet.json").read_text("utf-8"))
    assert published == json.loads(json.dumps(schema()))
    jsonschema.Draft202012Validator.check_schema(published)


def test_a_sheet_as_json_is_valid_and_loses_nothing(life):
    content = json_bytes(life.sheet, life.shop)
    jsonschema.validate(json.loads(content), schema(), cls=jsonschema.Draft202012Validator)
    found = msgspec.json.decode(content, type=SheetJson)
    assert {each.identity: each for each in found.sheet.readings} == dict(life.sheet.readings)
    assert (found.sheet.plan, found.sheet.head, found.sheet.pieces) == (
        life.sheet.plan,
        life.sheet.head,
        life.sheet.pieces,
    )
    assert {
        (cell.characteristic, cell.piece): cell.judgement for cell in found.sheet.cells if cell.judgement.results
    } == {cell: judged for cell, judged in life.sheet.judgements.items() if judged.results}
    assert json_bytes(life.sheet, life.shop) == content


# --- a large one --------------------------------------------------------------------------------------------------


def large(rows=500, pieces=5):
    serials = tuple(f"{n:03d}" for n in range(1, pieces + 1))
    made = []
    for number in range(1, rows + 1):
        measured = tuple(
            Measurement(serial, f"0.{number:04d}", "conforming", f"0.{number:04d}", uncertainty="0.00012",
                        expanded="0.00024", devices=("C-05",), at="2026-03-02T12:00:00Z")
            for serial in serials
        )  # fmt: skip
        made.append(
            OpenRow(str(number), f".{number:04d} ±.005", "plus and minus", "length", unit="in", lower="0.0000",
                    nominal=f"0.{number:04d}", upper="0.1000", measured=measured)
        )  # fmt: skip
    return OpenSheet(
        str(uuid.UUID(int=1)), "e", "shop", "QF-12", "A", "part", "D-1", "B", "", "Rowan & Pike", "", "PO-1", False,
        "in", "2026-03-02T12:00:00Z", "Ann Ames", serials, (Device("C-05", "caliper", "2027-01-01"),), tuple(made),
    )  # fmt: skip


def test_a_large_sheet_comes_back_whole():
    content = qif_bytes(large())
    counted(content)
    assert read_qif(content, "a.qif") == large()


def copied(element, parent=None):
    """The same document built by the bare library."""
    made = (
        etree.Element(element.tag, element.attrib, nsmap=element.nsmap)
        if parent is None
        else etree.SubElement(parent, element.tag, element.attrib)
    )
    made.text = element.text
    for child in element:
        copied(child, made)
    return made


@pytest.mark.measured
def test_writing_takes_less_than_twice_the_bare_library():
    sheet = large()
    document = etree.fromstring(qif_bytes(sheet))

    def timed(work):
        best = float("inf")
        for _ in range(3):
            begun = time.perf_counter()
            work()
            best = min(best, time.perf_counter() - begun)
        return best

    least = timed(lambda: etree.tostring(copied(document), xml_declaration=True, encoding="UTF-8"))
    taken = timed(lambda: qif_bytes(sheet))
    print(f"written in {taken:.3f} s, bare {least:.3f} s, ratio {taken / least:.2f}")
    assert taken < 2 * least
