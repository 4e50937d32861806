"""A sheet as QIF 3 results (ISO 23952): plan and results in one document, valid against the public schema.

Every field of ``OpenSheet`` goes out: where QIF has an element, in it; else as a named attribute, so that it comes back
(``storage.intake.qif``).
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from functools import cache
from typing import Any

from lxml import etree

from inspection.measuring.verdict import Verdict
from inspection.sheet.open_sheet import Measurement, OpenRow, OpenSheet
from inspection.standards.tables import rows

SPACE = "http://qifstandards.org/xsd/qif3"
EDITION = "3.0.0"
#: Metres of one unit; the angle of one degree in radians to fifteen places.
FACTORS = {"in": "0.0254", "mm": "0.001", "µm": "0.000001", "µin": "0.0000000254", "cm": "0.01", "thou": "0.0000254"}
DEGREE = "0.017453292519943"
STATUS = {
    Verdict.CONFORMING: "PASS",
    Verdict.MARGINAL: "PASS",
    Verdict.NOT_CONFORMING: "FAIL",
    Verdict.DOUBT_INSIDE: "INDETERMINATE",
    Verdict.DOUBT_OUTSIDE: "INDETERMINATE",
    Verdict.OPEN: "NOT_ANALYZED",
    Verdict.NOT_JUDGED: "BASIC_OR_TED",
}
#: What QIF has no element for is kept under these names.
OF_SHEET = ("identity", "entry", "part_name", "unit", "made", "chain")
OF_ROW = ("form", "kind", "name", "unit")
OF_RESULT = ("text", "state", "expanded")


def qif_bytes(told: OpenSheet) -> bytes:
    """The document as bytes, the same for the same sheet."""
    written: bytes = etree.tostring(_Writer(told).document(), xml_declaration=True, encoding="UTF-8")
    return written


@cache
def kinds() -> dict[str, str]:
    """The QIF characteristic of each kind of feature."""
    return {row["kind"]: row["characteristic"] for row in rows("qif_kinds")}


def kind_of(row: OpenRow) -> str:
    """The QIF characteristic that a row is told as: one without a unit is an attribute, an angle an angle."""
    found = kinds().get(row.kind, "UserDefinedLinear")
    if not row.unit:
        return "UserDefinedAttribute"
    if row.unit not in FACTORS:
        return "Angle"
    return found if found not in ("UserDefinedAttribute", "Angle") else "UserDefinedLinear"


def _add(parent: Any, tag: str, text: str | None = None, /, **attributes: str) -> Any:
    made = etree.SubElement(parent, f"{{{SPACE}}}{tag}", attributes)
    if text is not None:
        made.text = text
    return made


def _attributes(parent: Any, values: Sequence[tuple[str, str]]) -> None:
    kept = [(name, value) for name, value in values if value]
    if kept:
        held = _add(parent, "Attributes", n=str(len(kept)))
        for name, value in kept:
            _add(held, "AttributeStr", name=name, value=value)


def _ids(parent: Any, name: str, ids: Sequence[str]) -> None:
    if ids:
        held = _add(parent, name, n=str(len(ids)))
        for each in ids:
            _add(held, "Id", each)


class _Writer:
    """Writes one document; every element that others name gets the next number."""

    def __init__(self, told: OpenSheet) -> None:
        self.told, self.last = told, 0
        self.kinds = [kind_of(row) for row in told.rows]
        self.device_ids = {device.tag: self.id() for device in told.devices}
        self.standard, self.drawing, self.outside, self.part, self.component = (self.id() for _ in range(5))
        self.definitions = [self.id() for _ in told.rows]
        self.nominals = [self.id() for _ in told.rows]
        self.items = [self.id() for _ in told.rows]
        self.pieces = {serial: self.id() for serial in told.serials}
        self.primary = told.unit if told.unit in FACTORS else "mm"

    def id(self) -> str:
        """The next number."""
        self.last += 1
        return str(self.last)

    def document(self) -> Any:
        """The whole document."""
        told = self.told
        root = etree.Element(f"{{{SPACE}}}QIFDocument", nsmap={None: SPACE}, versionQIF=EDITION, idMax="0")
        _add(root, "QPId", str(uuid.uuid5(uuid.NAMESPACE_URL, f"{told.identity}/{told.entry}")))
        _attributes(root, [(name, getattr(told, name)) for name in OF_SHEET])
        _add(_add(root, "Version"), "TimeCreated", told.made)
        standard = _add(_add(root, "StandardsDefinitions", n="1"), "Standard", id=self.standard)
        _add(_add(standard, "Organization"), "StandardsOrganizationEnum", "ISO")
        _add(standard, "Designator", "1101")
        self._before(_add(root, "PreInspectionTraceability"))
        self._units(_add(root, "FileUnits"))
        if told.devices:
            self._devices(_add(root, "MeasurementResources"))
        self._product(_add(root, "Product"))
        self._characteristics(_add(root, "Characteristics"))
        self._results(_add(root, "Results"))
        root.set("idMax", str(self.last))
        return root

    def _before(self, held: Any) -> None:
        told = self.told
        _add(_add(held, "InspectingOrganization"), "Name", told.shop)
        if told.customer:
            customer = _add(held, "CustomerOrganization")
            _add(customer, "Name", told.customer)
            _add(customer, "CustomerNumber", told.customer)
        for name, text in (("SupplierCode", told.supplier_code), ("PurchaseOrderNumber", told.order)):
            if text:
                _add(held, name, text)
        _add(held, "ReportNumber", told.identity)
        _add(held, "InspectionMode", "FAI_Partial" if told.partial else "FAI_Full")
        _add(held, "FormalStandardId", self.standard)

    def _units(self, held: Any) -> None:
        primary = _add(held, "PrimaryUnits")
        angle = _add(primary, "AngularUnit")
        _add(angle, "SIUnitName", "radian")
        _add(angle, "UnitName", "degree")
        _add(_add(angle, "UnitConversion"), "Factor", DEGREE)
        self._unit(primary, self.primary)
        others = sorted({row.unit for row in self.told.rows if row.unit in FACTORS} - {self.primary})
        if others:
            held = _add(held, "OtherUnits", n=str(len(others)))
            for unit in others:
                self._unit(held, unit)

    def _unit(self, held: Any, unit: str) -> None:
        made = _add(held, "LinearUnit")
        _add(made, "SIUnitName", "meter")
        _add(made, "UnitName", unit)
        _add(_add(made, "UnitConversion"), "Factor", FACTORS[unit])

    def _devices(self, held: Any) -> None:
        devices = _add(held, "MeasurementDevices", n=str(len(self.told.devices)))
        for device in self.told.devices:
            made = _add(devices, "MeasurementDevice", id=self.device_ids[device.tag])
            _add(made, "Name", device.name or device.tag)
            _add(made, "SerialNumber", device.tag)
            if device.due:
                calibration = _add(_add(made, "Calibrations", n="1"), "Calibration")
                _add(calibration, "ExpirationDate", f"{device.due}T23:59:59")

    def _product(self, held: Any) -> None:
        told = self.told
        part = _add(_add(held, "PartSet", n="1"), "Part", id=self.part)
        _add(part, "ModelNumber", told.part)
        _add(part, "Version", told.part_revision)
        drawing = _add(_add(part, "DefinitionExternal", n="1", id=self.outside), "PrintedDrawing", id=self.drawing)
        _add(drawing, "Name", told.part_name or told.part)
        _add(drawing, "Version", told.drawing_revision)
        _add(drawing, "DrawingNumber", told.drawing)
        if told.changes:
            _add(drawing, "AdditionalChanges", told.changes)
        component = _add(_add(held, "ComponentSet", n="1"), "Component", id=self.component)
        _add(_add(component, "Part"), "Id", self.part)
        _add(_add(held, "RootPart"), "Id", self.part)

    # --- what is asked --------------------------------------------------------------------------------------------

    def _characteristics(self, held: Any) -> None:
        _add(held, "FormalStandardId", self.standard)
        n = str(len(self.told.rows))
        for name, write in (
            ("CharacteristicDefinitions", self._definition),
            ("CharacteristicNominals", self._nominal),
            ("CharacteristicItems", self._item),
        ):
            group = _add(held, name, n=n)
            for place, row in enumerate(self.told.rows):
                write(group, place, row)

    def _definition(self, held: Any, place: int, row: OpenRow) -> None:
        kind = self.kinds[place]
        made = _add(held, f"{kind}CharacteristicDefinition", id=self.definitions[place])
        _attributes(made, [(name, getattr(row, name)) for name in OF_ROW])
        _add(made, "Description", row.requirement)
        if kind != "UserDefinedAttribute":
            self._tolerance(made, row)
        if kind.startswith("UserDefined"):
            _add(made, "WhatToMeasure", row.requirement or row.name or row.kind)

    def _tolerance(self, held: Any, row: OpenRow) -> None:
        if not row.lower and not row.upper:
            _add(held, "NonTolerance", "MEASURED")
            return
        made = _add(held, "Tolerance")
        for name, text in (("MaxValue", row.upper), ("MinValue", row.lower)):
            if text:
                self._value(made, name, text, row)
        _add(made, "DefinedAsLimit", "true" if row.form == "limits" else "false")

    def _nominal(self, held: Any, place: int, row: OpenRow) -> None:
        made = _add(held, f"{self.kinds[place]}CharacteristicNominal", id=self.nominals[place])
        _add(made, "CharacteristicDefinitionId", self.definitions[place])
        if row.nominal and self.kinds[place] != "UserDefinedAttribute":
            self._value(made, "TargetValue", row.nominal, row)

    def _item(self, held: Any, place: int, row: OpenRow) -> None:
        made = _add(held, f"{self.kinds[place]}CharacteristicItem", id=self.items[place])
        designator = _add(made, "CharacteristicDesignator")
        _add(designator, "Designator", row.number)
        if row.key:
            _add(_add(designator, "Criticality"), "OtherLevel", row.key)
        _add(made, "CharacteristicNominalId", self.nominals[place])
        if row.sheet or row.zone:
            where = _add(made, "LocationOnDrawing")
            _add(where, "DrawingId", self.drawing)
            for name, text in (("SheetNumber", row.sheet), ("DrawingZone", row.zone)):
                if text:
                    _add(where, name, text)

    def _value(self, held: Any, name: str, text: str, row: OpenRow, uncertainty: str = "") -> None:
        given = {"decimalPlaces": str(len(text.partition(".")[2]))}
        if row.unit in FACTORS and row.unit != self.primary:
            given["linearUnit"] = row.unit
        if uncertainty:
            given["combinedUncertainty"] = uncertainty
        _add(held, name, text, **given)

    # --- what was measured ----------------------------------------------------------------------------------------

    def _results(self, held: Any) -> None:
        told = self.told
        group = _add(held, "MeasurementResultsSet", n=str(len(told.serials)))
        by_piece: dict[str, list[tuple[int, OpenRow, Measurement]]] = {serial: [] for serial in told.serials}
        for place, row in enumerate(told.rows):
            for measured in row.measured:
                by_piece[measured.serial].append((place, row, measured))
        statuses = {}
        for serial, found in by_piece.items():
            made = _add(group, "MeasurementResults", id=self.id())
            if found:
                measured_of = _add(made, "MeasuredCharacteristics")
                measurements = _add(measured_of, "CharacteristicMeasurements", n=str(len(found)))
                for place, row, measured in found:
                    self._measurement(measurements, place, row, measured)
            statuses[serial] = _status_of([measured for _, _, measured in found])
            _add(_add(made, "InspectionStatus"), "InspectionStatusEnum", statuses[serial])
            _ids(made, "ActualComponentIds", [self.pieces[serial]])
        self._pieces(held, statuses)
        traced = _add(held, "InspectionTraceability")
        if told.inspector:
            _add(_add(traced, "InspectionOperator"), "Name", told.inspector)
        _add(traced, "ReportPreparationDate", told.made)

    def _measurement(self, held: Any, place: int, row: OpenRow, measured: Measurement) -> None:
        made = _add(held, f"{self.kinds[place]}CharacteristicMeasurement", id=self.id())
        _attributes(made, [(name, getattr(measured, name)) for name in OF_RESULT])
        _add(_add(made, "Status"), "CharacteristicStatusEnum", STATUS[Verdict(measured.state)])
        _add(made, "CharacteristicItemId", self.items[place])
        if measured.at:
            _add(made, "TimeStamp", measured.at)
        _add(made, "ActualComponentId", self.pieces[measured.serial])
        _ids(made, "MeasurementDeviceIds", [self.device_ids[tag] for tag in measured.devices])
        if measured.nonconformance:
            _add(made, "NonConformanceDesignator", measured.nonconformance)
        if self.kinds[place] == "UserDefinedAttribute":
            if measured.text:
                _add(made, "Value", measured.text)
            return
        values = (("Value", measured.value), ("MaxValue", measured.largest), ("MinValue", measured.smallest))
        for name, text in values:
            if text:
                self._value(made, name, text, row, measured.uncertainty)

    def _pieces(self, held: Any, statuses: dict[str, str]) -> None:
        sets = _add(held, "ActualComponentSets", n="1")
        group = _add(sets, "ActualComponentSet", n=str(len(self.pieces)))
        for serial, identity in self.pieces.items():
            made = _add(group, "ActualComponent", id=identity)
            _add(made, "SerialNumber", serial)
            _add(_add(made, "Status"), "InspectionStatusEnum", statuses[serial])


def _status_of(measured: Sequence[Measurement]) -> str:
    """The status of a piece: the worst of its characteristics."""
    states = {STATUS[Verdict(each.state)] for each in measured}
    if "FAIL" in states:
        return "FAIL"
    if states & {"INDETERMINATE", "NOT_ANALYZED"} or not states:
        return "UNKNOWN"
    return "PASS"
