"""A workbook's parts put together: which worksheets it has, which of them are hidden, and what none may hold."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from msgspec import Struct

from inspection.reasons import Reason
from storage.intake.lines import Line
from storage.intake.workbook.cells import Cells
from storage.intake.workbook.markup import Attributes, Handler, Meter, items, related
from storage.intake.workbook.package import Package, relations_of, target
from storage.intake.workbook.styles import StyleReader
from storage.intake.workbook.texts import StringReader
from storage.intake.workbook.worksheet import SheetReader

_Item = TypeVar("_Item")

MOST_SHEETS = 250
_TYPES = "[Content_Types].xml"
_MAIN_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
#: Main parts of other formats, by what stands in their content type.
_OTHER_TYPES = (
    ("macroenabled.main+xml", "xlsx.macros"),
    ("sheet.binary", "xlsx.is_xlsb"),
    ("template.main+xml", "xlsx.is_template"),
    ("wordprocessingml", "xlsx.is_document"),
    ("presentationml", "xlsx.is_document"),
)
#: Parts through which a workbook holds programs or values from elsewhere.
_FOREIGN_PARTS = (
    ("xl/vbaproject", "xlsx.macros"),
    ("xl/macrosheets/", "xlsx.macros"),
    ("xl/externallinks/", "xlsx.external_links"),
    ("xl/connections.xml", "xlsx.external_links"),
)


class Sheet(Struct, frozen=True):
    """A worksheet: its name, its part, and whether it is hidden."""

    name: str
    part: str
    hidden: bool


class Relation(Struct, frozen=True):
    """What a part names under an identity: another part of which kind."""

    identity: str
    kind: str
    part: str


class _Types(Handler[tuple[str, str]]):
    """Content types: part (in lower case, without the leading stroke) or ``.ending``, and type."""

    def start(self, name: str, attributes: Attributes) -> None:
        part = attributes.get("PartName", "").lstrip("/") if name == "Override" else f".{attributes.get('Extension')}"
        self.ready.append((part.casefold(), attributes.get("ContentType", "").casefold()))


class _Relations(Handler[Relation]):
    def __init__(self, source: str) -> None:
        super().__init__()
        self._source = source

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "Relationship" and attributes.get("TargetMode") != "External":
            kind = attributes.get("Type", "").rpartition("/")[2]
            part = target(self._source, attributes.get("Target", ""))
            self.ready.append(Relation(attributes.get("Id", ""), kind, part))


class _Sheets(Handler[tuple[str, str, bool]]):
    """The sheets of workbook.xml: name, relation, hidden."""

    def start(self, name: str, attributes: Attributes) -> None:
        if name == "sheet":
            hidden = attributes.get("state", "visible") != "visible"
            self.ready.append((attributes.get("name", "")[:80], related(attributes), hidden))


class Book:
    """A workbook opened for reading; raises ``FileRefused`` for whatever keeps it from being one of ours."""

    def __init__(self, data: bytes, name: str) -> None:
        self.package = Package(data, name)
        self._meter = Meter()
        self._types = self._read_types()
        main = self._main()
        self._foreign()
        relations = self._relations(main)
        self.sheets = self._sheets(main, relations)
        styles = self._all(relations, "styles", StyleReader())
        texts = self._all(relations, "sharedStrings", StringReader())
        self.cells = Cells(texts, styles)

    def lines(self, sheet: Sheet, reader: SheetReader, other: str = "") -> Iterator[Line]:
        """The filled rows of a sheet, while they are read; ``other`` names it where it is not the table's."""
        for row in items(self.package, sheet.part, reader, self._meter):
            yield self.cells.line(row, other)

    def _read_types(self) -> dict[str, str]:
        package = self.package
        if package.has("mimetype"):
            raise package.refused(Reason("xlsx.is_ods" if package.has("content.xml") else "xlsx.is_archive"))
        if not package.has(_TYPES):
            raise package.refused(Reason("xlsx.is_archive"))
        return dict(items(package, _TYPES, _Types(), self._meter))

    def _type(self, part: str) -> str:
        ending = part.rpartition(".")[2]
        return self._types.get(part.casefold(), self._types.get(f".{ending}".casefold(), ""))

    def _main(self) -> str:
        main = next((one.part for one in self._relations("") if one.kind == "officeDocument"), "")
        kind = self._type(main)
        for mark, code in _OTHER_TYPES:
            if mark in kind:
                raise self.package.refused(Reason(code))
        if not main or kind != _MAIN_TYPE:
            raise self.package.refused(Reason("xlsx.wrong_type", {"part": (main or "workbook")[:80]}))
        return main

    def _foreign(self) -> None:
        for mark, code in _FOREIGN_PARTS:
            if self.package.under(mark):
                raise self.package.refused(Reason(code))

    def _relations(self, part: str) -> tuple[Relation, ...]:
        return tuple(items(self.package, relations_of(part), _Relations(part), self._meter))

    def _sheets(self, main: str, relations: tuple[Relation, ...]) -> tuple[Sheet, ...]:
        """The worksheets in their order; charts and dialogs hold no table."""
        by_identity = {one.identity: one for one in relations}
        sheets = []
        for name, identity, hidden in items(self.package, main, _Sheets(), self._meter):
            relation = by_identity.get(identity)
            if relation is None or not self.package.has(relation.part):
                raise self.package.refused(Reason("xlsx.sheet_missing", {"sheet": name}))
            if relation.kind != "worksheet":
                continue
            if self._type(relation.part) != _SHEET_TYPE:
                raise self.package.refused(Reason("xlsx.wrong_type", {"part": relation.part[:80]}))
            sheets.append(Sheet(name, relation.part, hidden))
            if len(sheets) > MOST_SHEETS:
                raise self.package.refused(Reason("xlsx.too_many_sheets", {"most": MOST_SHEETS}))
        return tuple(sheets)

    def _all(self, relations: tuple[Relation, ...], kind: str, reader: Handler[_Item]) -> list[_Item]:
        """Everything that a part of the workbook holds; nothing if it has none of that kind."""
        part = next((one.part for one in relations if one.kind == kind), None)
        return list(items(self.package, part, reader, self._meter)) if part else []
