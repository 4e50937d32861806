"""Rows of feature data to characteristics: one row as a mapping of texts, every fault of it told together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from enum import StrEnum
from typing import Any, TypeVar

from msgspec.structs import replace

from inspection.drawing.amounts import is_length_unit
from inspection.drawing.callout import LARGEST_COUNT_OF_PLACES, count_of, read_callout
from inspection.drawing.characteristic import Access, Characteristic, Condition, FeatureKind
from inspection.drawing.general import general_note
from inspection.drawing.numbers import split_count
from inspection.drawing.plan import TitleBlock
from inspection.drawing.requirement import Requirement
from inspection.quantity.reader import read, unit_symbol
from inspection.quantity.units import Kind
from inspection.reasons import Part, Reason, Refused

#: Other words that rows name a kind by.
KINDS = {
    **{str(kind): kind for kind in FeatureKind},
    **dict.fromkeys(("od", "outside dia", "outer diameter", "shaft"), FeatureKind.OUTSIDE_DIAMETER),
    **dict.fromkeys(("id", "hole", "inside diameter", "inside dia", "inner diameter", "counterbore"), FeatureKind.BORE),
    **dict.fromkeys(("height", "thickness"), FeatureKind.LENGTH),
    **dict.fromkeys(("slot width", "groove", "keyway"), FeatureKind.SLOT),
    **dict.fromkeys(("center distance", "hole distance", "pitch"), FeatureKind.CENTRE_DISTANCE),
    **dict.fromkeys(("fillet", "corner radius"), FeatureKind.RADIUS),
    **dict.fromkeys(("edge", "edge break", "break edge"), FeatureKind.CHAMFER),
    **dict.fromkeys(("surface roughness", "surface finish", "surface texture"), FeatureKind.ROUGHNESS),
    **dict.fromkeys(("coating", "plating thickness"), FeatureKind.COATING),
    **dict.fromkeys(("gd&t", "geometric", "position", "flatness", "runout", "profile"), FeatureKind.GEOMETRIC),
    **dict.fromkeys(
        ("attribute", "note or attribute", "material", "finish", "marking", "specification"), FeatureKind.NOTE
    ),
}
CONDITIONS = {
    **{str(condition): condition for condition in Condition},
    **dict.fromkeys(("as finished", "finished"), Condition.AS_FINISHED),
    **dict.fromkeys(("before plating",), Condition.BEFORE_COATING),
    **dict.fromkeys(("after plating",), Condition.AFTER_COATING),
}
#: A count as one place of it has it: "2 of 4".
ONE_OF_COUNT = re.compile(r"(?P<which>[0-9]{1,3}) *(?:of|/) *(?P<count>[0-9]{1,3})", re.IGNORECASE)
_YES = ("yes", "y", "x", "1", "true")
_NO = ("", "no", "n", "0", "false")
_ACCESS = ("reach", "corner_radius", "wall", "bore_length")
_PLAIN = ("name", "sheet", "zone", "key", "set_up", "note", "tooling")
LONGEST_NUMBER = 24
MOST_REPEATS = 99

#: The fields a row may have. ``place`` names the places of a count (4X), ``places`` those where one row is read.
FIELDS = (
    "number", "requirement", "kind", "name", "sheet", "zone", "count", "place", "key", "condition", "set_up", "unit",
    "reach", "corner_radius", "wall", "bore_length", "soft", "attribute_allowed", "blind", "places", "repeats",
    "sampling", "note", "tooling", "band", "shorter_side",
)  # fmt: skip


Word = TypeVar("Word", bound=StrEnum)


def faults_of_its_own(
    row: Mapping[str, str], faults: Iterable[Reason], title_blocks: Iterable[TitleBlock]
) -> tuple[Reason, ...]:
    """Those of a row's faults in fields that are at fault under each of these title blocks; the others follow from a
    fault of the title block itself."""
    own = tuple(faults)
    for block in title_blocks:
        try:
            characteristic(row, block)
        except Refused as refused:
            there = {reason.parts.get("field") for reason in refused.reasons}
            own = tuple(reason for reason in own if reason.parts.get("field") in there)
        else:
            return ()
    return own


class _Fields:
    """One row's texts, read one by one while every fault is kept with its field."""

    def __init__(self, row: Mapping[str, str]) -> None:
        self.row = row
        self.faults: list[Reason] = []

    def text(self, field: str) -> str:
        return (self.row.get(field) or "").strip()

    @contextmanager
    def faults_of(self, field: str) -> Iterator[None]:
        try:
            yield
        except Refused as refused:
            parts: dict[str, Part] = {"field": field, "text": self.text(field), "at": 0}
            self.faults += [Reason(reason.code, {**parts, **reason.parts}) for reason in refused.reasons]

    def fault(self, field: str, code: str, **parts: Part) -> None:
        with self.faults_of(field):
            raise Refused(Reason(code, parts))

    def one_of(self, field: str, known: Mapping[str, Word], default: Word) -> Word:
        written = " ".join(self.text(field).casefold().replace("_", " ").split())
        if written not in known:
            self.fault(field, "row.unknown", known=", ".join(filter(None, dict.fromkeys(map(str, known.values())))))
        return known.get(written, default)

    def yes(self, field: str) -> bool:
        written = self.text(field).casefold()
        if written not in _YES + _NO:
            self.fault(field, "row.yes_or_no")
        return written in _YES

    def count(self, field: str, largest: int) -> int:
        """A whole number from 1; an empty field is 1."""
        written = self.text(field) or "1"
        if not re.fullmatch(r"[0-9]{1,6}", written) or not 1 <= int(written) <= largest:
            self.fault(field, "row.whole_number", most=largest)
            return 1
        return int(written)

    def one_of_count(self) -> int:
        """The whole count of a row that is one place of it ("2 of 4"); 0 for any other row."""
        found = ONE_OF_COUNT.fullmatch(self.text("count"))
        return int(found["count"]) if found and 1 <= int(found["which"]) <= int(found["count"]) else 0

    def length(self, field: str, unit: str) -> int | None:
        if not self.text(field):
            return None
        with self.faults_of(field):
            return read(self.text(field), unit=unit).count
        return None

    def listed(self, field: str) -> tuple[str, ...]:
        return tuple(piece for piece in (text.strip() for text in self.text(field).split(";")) if piece)


def characteristic(row: Mapping[str, str], title_block: TitleBlock) -> tuple[Characteristic, ...]:
    """The characteristics of one row of feature data, new ones (``identity`` empty): one, or one a place of a count.

    ``row`` maps field names (``FIELDS``; any may be missing but number and requirement) to texts: ``requirement`` is
    the callout as drawn with its count; ``place`` and ``places`` are lists with semicolons; lengths are read in the
    row's unit; ``kind`` is needed. A ``count`` of "2 of 4" says that the row is one place of a count that was split
    before, number 7.2 of 7.1 … 7.4: it stays one. Raises Refused with all faults of the row, each with its ``field``
    and, in that field's text, ``at``.
    """
    fields = _Fields(row)
    kind = fields.one_of("kind", KINDS, FeatureKind.NOTE)
    kind_known = not fields.faults
    unit = _unit(fields)
    number = _number(fields)
    count, requirement = _requirement(fields, title_block, kind, unit) if kind_known else (1, None)
    common = _common(fields, unit if unit in ("in", "mm") else title_block.unit)
    split = ((number, fields.text("place")),) if fields.one_of_count() else _split(fields, number, count)
    if fields.faults or requirement is None:
        raise Refused(*fields.faults)
    return tuple(
        Characteristic("", label, kind, requirement, count=count, place=place, **common) for label, place in split
    )


def _unit(fields: _Fields) -> str:
    written = fields.text("unit")
    if not written:
        return ""
    unit = unit_symbol(written) or unit_symbol(written, Kind.ANGLE)
    if unit is None:
        fields.fault("unit", "row.unit")
    return unit or ""


def _number(fields: _Fields) -> str:
    number = fields.text("number")
    if not number:
        fields.fault("number", "row.number_missing")
    elif len(number) > LONGEST_NUMBER:
        fields.fault("number", "row.number_long", at=LONGEST_NUMBER, most=LONGEST_NUMBER)
    return number


def _requirement(
    fields: _Fields, title_block: TitleBlock, kind: FeatureKind, unit: str
) -> tuple[int, Requirement | None]:
    """Count and requirement; the callout's faults are told at their place in the whole text of the field."""
    written = fields.row.get("requirement") or ""
    length_unit = unit if is_length_unit(unit) else ""
    count = 1
    with fields.faults_of("requirement"):
        count, callout = count_of(written, kind)
        count = _agreed_count(fields, count)
        offset = len(written) - len(callout) if written.endswith(callout) else 0
        try:
            found = read_callout(
                callout,
                kind=kind,
                title_block=title_block,
                unit="" if kind is FeatureKind.ANGLE else length_unit,
                band=_band(fields, kind, length_unit or title_block.unit),
                shorter_side=fields.length("shorter_side", length_unit or title_block.unit),
            )
        except Refused as refused:
            raise Refused(*(_shifted(reason, offset, written) for reason in refused.reasons)) from None
        return count, replace(found, written=written.strip())
    return count, None


def _band(fields: _Fields, kind: FeatureKind, unit: str) -> int | None:
    """T as a person states it, of a single limit."""
    if not fields.text("band"):
        return None
    band = 0
    with fields.faults_of("band"):
        of_angle = kind is FeatureKind.ANGLE
        quantity = Kind.ANGLE if of_angle else Kind.LENGTH
        band = read(fields.text("band"), unit="°" if of_angle else unit, kind=quantity).count
        if band == 0:
            raise Refused(Reason("row.band"))
    return band or None


def _shifted(reason: Reason, offset: int, written: str) -> Reason:
    at = reason.parts.get("at")
    return Reason(reason.code, {**reason.parts, "text": written, "at": offset + (at if isinstance(at, int) else 0)})


def _agreed_count(fields: _Fields, count: int) -> int:
    """The count of callout and field; where both state one they must agree."""
    stated = fields.one_of_count() or fields.count("count", LARGEST_COUNT_OF_PLACES)
    if count > 1 and stated > 1 and count != stated:
        fields.fault("count", "row.count_differs", callout=count, stated=stated)
    return max(count, stated)


def _split(fields: _Fields, number: str, count: int) -> tuple[tuple[str, str], ...]:
    named = fields.listed("place")
    if named and len(named) != count:
        fields.fault("place", "row.places_differ", n=len(named), count=count)
        return ()
    return split_count(number, count, named)


def _common(fields: _Fields, unit: str) -> dict[str, Any]:
    """What all places of a row share."""
    lengths = {field: fields.length(field, unit) for field in _ACCESS}
    return {
        **{field: fields.text(field) for field in _PLAIN},
        "condition": fields.one_of("condition", CONDITIONS, Condition.AS_FINISHED),
        "access": Access(**lengths, soft=fields.yes("soft")),
        "attribute_allowed": fields.yes("attribute_allowed"),
        "blind": fields.yes("blind"),
        "places": fields.listed("places"),
        "repeats": fields.count("repeats", MOST_REPEATS),
        "sampling": _sampling(fields),
    }


def _sampling(fields: _Fields) -> str:
    written = " ".join(fields.text("sampling").casefold().replace("-", " ").split())
    known = {"": "all", "all": "all", "first last": "first-last", "first and last": "first-last", "first": "1"}
    if written in known:
        return known[written]
    if not re.fullmatch("[1-9][0-9]{0,3}", written):
        fields.fault("sampling", "row.sampling")
    return written


#: The number of the row for general geometrical tolerances, which no balloon has.
GENERAL_NUMBER = "GT"


def general_row(title_block: TitleBlock, found: Iterable[Characteristic]) -> tuple[Characteristic, ...]:
    """The note row that a second letter of the general tolerances opens, unless ``found`` holds it already."""
    written = general_note(title_block)
    if written is None or any(one.requirement.written == written for one in found):
        return ()
    return characteristic({"number": GENERAL_NUMBER, "kind": "note", "requirement": written}, title_block)
