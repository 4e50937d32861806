"""QIF 3 documents read (ISO 23952): characteristics with their limits, what was measured, pieces and devices.

Of other programs' documents the characteristics are read whatever their kind; of our own every field of ``OpenSheet``.
"""

from __future__ import annotations

from typing import Any

from lxml import etree

from inspection.reasons import Reason, Refused
from inspection.sheet.open_sheet import Device, Measurement, OpenRow, OpenSheet
from storage.dispatch.qif import OF_RESULT, OF_SHEET, SPACE

_VERDICTS = {"PASS": "conforming", "FAIL": "not conforming", "BASIC_OR_TED": "not judged"}


def read_qif(content: bytes, name: str) -> OpenSheet:
    """The sheet that a QIF document tells. Raises Refused for what is none, or declares a document type."""
    try:
        root = etree.fromstring(content, etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=False))
    except etree.XMLSyntaxError as error:
        raise Refused(Reason("qif.broken", {"file": name, "line": error.lineno or 0})) from None
    if root.getroottree().docinfo.doctype:
        raise Refused(Reason("qif.doctype", {"file": name}))
    if root.tag != f"{{{SPACE}}}QIFDocument":
        raise Refused(Reason("qif.none", {"file": name}))
    return _Reader(root).sheet()


def _tag(name: str) -> str:
    return f"{{{SPACE}}}{name}"


def _path(*names: str) -> str:
    return "/".join(map(_tag, names))


def _text(element: Any, *names: str) -> str:
    found = element.find(_path(*names)) if element is not None else None
    return (found.text or "").strip() if found is not None else ""


def _group(characteristics: Any, name: str) -> list[Any]:
    found = characteristics.find(_tag(name)) if characteristics is not None else None
    return [each for each in (found if found is not None else ()) if isinstance(each.tag, str)]


def _attributes(element: Any) -> dict[str, str]:
    held = element.find(_tag("Attributes"))
    return {each.get("name", ""): each.get("value", "") for each in (held if held is not None else ())}


class _Reader:
    def __init__(self, root: Any) -> None:
        self.root = root
        self.own = _attributes(root)
        characteristics = root.find(_tag("Characteristics"))
        self.items = _group(characteristics, "CharacteristicItems")
        self.definitions = {each.get("id"): each for each in _group(characteristics, "CharacteristicDefinitions")}
        self.nominals = {each.get("id"): each for each in _group(characteristics, "CharacteristicNominals")}
        self.units = _text(root, "FileUnits", "PrimaryUnits", "LinearUnit", "UnitName")
        self.angles = _text(root, "FileUnits", "PrimaryUnits", "AngularUnit", "UnitName")
        self.devices = {
            each.get("id"): each for each in root.iterfind(_path("MeasurementResources", "MeasurementDevices") + "/*")
        }
        self.pieces = {each.get("id"): _text(each, "SerialNumber") for each in root.iter(_tag("ActualComponent"))}

    def sheet(self) -> OpenSheet:
        """The whole sheet."""
        root, own = self.root, self.own
        before = root.find(_tag("PreInspectionTraceability"))
        part = root.find(_path("Product", "PartSet", "Part"))
        drawing = part.find(_path("DefinitionExternal", "PrintedDrawing")) if part is not None else None
        measured = self._measured()
        told = {name: own.get(name, "") for name in OF_SHEET}
        return OpenSheet(
            **{**told, "identity": told["identity"] or _text(root, "QPId"), "unit": told["unit"] or self.units},
            shop=_text(before, "InspectingOrganization", "Name"),
            part=_text(part, "ModelNumber"),
            part_revision=_text(part, "Version"),
            drawing=_text(drawing, "DrawingNumber"),
            drawing_revision=_text(drawing, "Version"),
            changes=_text(drawing, "AdditionalChanges"),
            customer=_text(before, "CustomerOrganization", "Name"),
            supplier_code=_text(before, "SupplierCode"),
            order=_text(before, "PurchaseOrderNumber"),
            partial=_text(before, "InspectionMode") == "FAI_Partial",
            inspector=_text(root, "Results", "InspectionTraceability", "InspectionOperator", "Name"),
            serials=tuple(self.pieces.values()),
            devices=tuple(map(self._device, self.devices.values())),
            rows=tuple(self._row(item, measured.get(item.get("id"), [])) for item in self.items),
        )

    def _device(self, device: Any) -> Device:
        due = _text(device, "Calibrations", "Calibration", "ExpirationDate").partition("T")[0]
        return Device(_text(device, "SerialNumber") or _text(device, "Name"), _text(device, "Name"), due)

    def _row(self, item: Any, measured: list[Any]) -> OpenRow:
        nominal = self.nominals.get(_text(item, "CharacteristicNominalId"))
        definition = self.definitions.get(_text(nominal, "CharacteristicDefinitionId"))
        own = _attributes(definition) if definition is not None else {}
        kind = etree.QName(item).localname.removesuffix("CharacteristicItem")
        lower, upper = _limits(definition)
        return OpenRow(
            number=_text(item, "CharacteristicDesignator", "Designator") or _text(item, "Name"),
            requirement=_text(definition, "Description") or _text(definition, "WhatToMeasure"),
            form=own.get("form", ""),
            kind=own.get("kind", kind),
            name=own.get("name", ""),
            sheet=_text(item, "LocationOnDrawing", "SheetNumber"),
            zone=_text(item, "LocationOnDrawing", "DrawingZone"),
            key=_text(item, "CharacteristicDesignator", "Criticality", "OtherLevel"),
            unit=own.get("unit", "" if own or kind.endswith("Attribute") else self._unit(kind)),
            nominal=_text(nominal, "TargetValue"),
            lower=lower,
            upper=upper,
            measured=tuple(map(self._measurement, measured)),
        )

    def _unit(self, kind: str) -> str:
        return self.angles if kind.startswith("Angle") or kind == "UserDefinedAngular" else self.units

    def _measured(self) -> dict[str, list[Any]]:
        found: dict[str, list[Any]] = {}
        for group in self.root.iter(_tag("CharacteristicMeasurements")):
            for each in group:
                if isinstance(each.tag, str):
                    found.setdefault(_text(each, "CharacteristicItemId"), []).append(each)
        return found

    def _measurement(self, element: Any) -> Measurement:
        own = _attributes(element)
        status = _text(element, "Status", "CharacteristicStatusEnum")
        values = {name: element.find(_tag(name)) for name in ("Value", "MinValue", "MaxValue")}
        attribute = etree.QName(element).localname.startswith("UserDefinedAttribute")
        numbers = {
            name: (value.text or "").strip() if value is not None and not attribute else ""
            for name, value in values.items()
        }
        held = next((value for value in values.values() if value is not None), None)
        ids = (each.text for each in element.iterfind(_path("MeasurementDeviceIds", "Id")))
        told = {name: own.get(name, "") for name in OF_RESULT}
        return Measurement(
            serial=self.pieces.get(_text(element, "ActualComponentId"), ""),
            value=numbers["Value"],
            smallest=numbers["MinValue"],
            largest=numbers["MaxValue"],
            uncertainty=held.get("combinedUncertainty", "") if held is not None else "",
            devices=tuple(self._device(self.devices[each]).tag for each in ids if each in self.devices),
            nonconformance=_text(element, "NonConformanceDesignator"),
            at=_text(element, "TimeStamp"),
            **{
                **told,
                "text": told["text"] or (_text(element, "Value") if attribute else numbers["Value"]),
                "state": told["state"] or _VERDICTS.get(status, "open"),
            },
        )


def _limits(definition: Any) -> tuple[str, str]:
    """Lower and upper limit: of sizes both, of what has a zone its width."""
    if definition is None:
        return "", ""
    zone = _text(definition, "ToleranceValue")
    return _text(definition, "Tolerance", "MinValue"), zone or _text(definition, "Tolerance", "MaxValue")
