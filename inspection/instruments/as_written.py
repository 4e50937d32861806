"""An instrument's record as cells of text, and back: what a form, a row of a file and a list of changes hold.

Every cell is written so that a machinist reads it and the program takes it again as the very same value; all faults
of a record are told together, each with its field and character.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from difflib import get_close_matches
from enum import StrEnum
from typing import Any, TypeVar
from unicodedata import category

from msgspec.structs import replace

from inspection.instruments.record import Contacts, Direction, Instrument, InstrumentKind, Permissible, Standing, Use
from inspection.instruments.sets import members_text, missing_text, read_members, read_missing
from inspection.instruments.spelling import (
    Piece,
    amount_text,
    pieces,
    read_amount,
    read_span,
    span_text,
)
from inspection.quantity.reader import unit_symbol
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Part, Reason, Refused

#: The fields of a record in the order of a form and of a file.
FIELDS = (
    "tag", "kind", "name", "unit", "range", "resolution", "other", "permissible", "due", "certificate", "certified",
    "laboratory", "standing", "place", "holder", "members", "missing", "gauge_class", "class_tolerance", "direction",
    "thread", "read_over", "smallest_bore", "reach", "relief", "width", "soft", "repeatability", "zero",
    "as_calibrated", "handling_seconds", "note",
)  # fmt: skip
#: Without these nothing is an instrument.
NEEDED = ("tag", "kind", "name", "unit")

_PLAIN = ("tag", "name", "certificate", "laboratory", "place", "holder", "thread", "note")
_CONTACTS = ("smallest_bore", "reach", "relief", "width")
_SIZED = ("repeatability", "zero")
_YES = ("yes", "y", "x", "1", "true")
_NO = ("no", "n", "0", "false")
_LONGEST = 400
_NOT_SHOWN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})  # categories of Unicode: control, format, surrogate, none
_ERROR = re.compile(r"±|\+/-|\+-")
_UP_TO = re.compile(r"(?:up\s*to|to|≤|<=)\s*", re.IGNORECASE)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_CLASSES = ("XXX", "XX", "X", "Y", "Z", "ZZ")

Word = TypeVar("Word", bound=StrEnum)


class _Cells:
    """The cells of one record, read one by one while every fault is kept with its field."""

    def __init__(self, cells: Mapping[str, str]) -> None:
        self.cells = cells
        self.faults: list[Reason] = []

    def text(self, field: str) -> str:
        return (self.cells.get(field) or "").strip()

    def whole(self, field: str) -> Piece:
        """The cell without the blanks around it, which the writer of a fault still counts."""
        return Piece(self.cells.get(field) or "").cut(0)

    @contextmanager
    def faults_of(self, field: str) -> Iterator[None]:
        try:
            yield
        except Refused as refused:
            parts: dict[str, Part] = {"text": self.text(field)[:60], "at": 0}
            self.faults += [Reason(each.code, {**parts, **each.parts, "field": field}) for each in refused.reasons]

    def fault(self, field: str, code: str, **parts: Part) -> None:
        with self.faults_of(field):
            raise Refused(Reason(code, parts))

    def one_of(self, field: str, known: Iterable[Word]) -> Word | None:
        """The word of an enumeration, however it is spaced and hyphened; None for an empty or unknown one."""
        words = {_plain(word): word for word in known}
        written = _plain(self.text(field))
        if written and written not in words:
            near = get_close_matches(written, words, n=1)
            if near:
                self.fault(field, "crib.cell.unknown_near", near=words[near[0]].value)
            else:
                self.fault(field, "crib.cell.unknown", known=", ".join(words.values()))
        return words.get(written)

    def yes(self, field: str, *, default: bool) -> bool:
        written = self.text(field).casefold()
        if written and written not in _YES + _NO:
            self.fault(field, "crib.cell.yes_or_no")
        return written in _YES if written else default

    def amount(self, field: str, unit: str) -> int | None:
        """A count; None for an empty cell."""
        if not self.text(field):
            return None
        with self.faults_of(field):
            return read_amount(self.whole(field), unit).count
        return None

    def day(self, field: str) -> str:
        """A day as 2027-03-01; no other way of writing it is the same day to everybody."""
        written = self.text(field)
        if not written:
            return ""
        try:
            if _DAY.fullmatch(written):
                return date.fromisoformat(written).isoformat()
        except ValueError:
            self.fault(field, "crib.cell.no_such_day")
        else:
            self.fault(field, "crib.cell.day")
        return ""

    def number(self, field: str, default: int) -> int:
        written = self.text(field)
        if not written:
            return default
        if not re.fullmatch(r"\d{1,4}", written):
            self.fault(field, "crib.cell.whole_number", most=9999)
            return default
        return int(written)


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[-_]", " ", text.casefold()).split())


# --- read -----------------------------------------------------------------------------------------------------


def read_instrument(cells: Mapping[str, str], base: Instrument | None = None) -> Instrument:
    """The record that cells of text hold, by field (``FIELDS``; one left out is empty).

    What no cell holds, identity, issue and files, is that of ``base``. Lengths are read in the record's unit, or in
    the one written beside them. Raises Refused with all faults, each with its ``field``, and ``at``, the character.
    """
    read = _Cells(cells)
    for field in NEEDED:
        if not read.text(field):
            read.fault(field, "crib.cell.needed")
    for field in (*_PLAIN, "gauge_class"):
        _plain_text(read, field)
    kind = read.one_of("kind", InstrumentKind)
    unit = _unit(read)
    values = _measuring(read, unit) | _set(read, unit, kind) | _keeping(read)
    if read.faults or kind is None:
        raise Refused(*read.faults)
    held = {"identity": base.identity, "issue": base.issue, "files": base.files} if base else {}
    made = Instrument(identity="", issue=0, tag="", kind=kind, name="")
    return replace(made, **{field: "\n".join(read.text(field).splitlines()) for field in _PLAIN}, **values, **held)


def _plain_text(read: _Cells, field: str) -> None:
    """A text that is kept as it is written must be one that can be shown."""
    text = read.cells.get(field) or ""
    if len(text.strip()) > _LONGEST:
        read.fault(field, "crib.cell.long", most=_LONGEST)
    odd = next((at for at, sign in enumerate(text) if sign not in "\n\r\t" and category(sign) in _NOT_SHOWN), None)
    if odd is not None:
        read.fault(field, "crib.cell.odd_character", at=odd, character=f"U+{ord(text[odd]):04X}")


def _unit(read: _Cells) -> str:
    written = read.text("unit")
    unit = unit_symbol(written) or unit_symbol(written, Kind.ANGLE)
    if written and unit is None:
        read.fault("unit", "crib.cell.unit")
    return unit or "in"


def length_unit(unit: str) -> str:
    """The unit that sizes of contacts and members are written in: the record's own, inch for one of angles."""
    return unit if UNITS[unit].kind is Kind.LENGTH else "in"


def _measuring(read: _Cells, unit: str) -> dict[str, Any]:
    """What it measures and how well."""
    low = high = 0
    if read.text("range"):
        with read.faults_of("range"):
            span = read_span(read.whole("range"), unit)
            low, high = span.low, span.high
    values = {field: read.amount(field, unit) or 0 for field in ("resolution", *_SIZED)}
    other_unit, other_resolution = _other(read, unit)
    contacts = {field: read.amount(field, length_unit(unit)) for field in _CONTACTS}
    return {
        **values,
        "unit": unit,
        "quantity": UNITS[unit].kind,
        "low": low,
        "high": high,
        "other_unit": other_unit,
        "other_resolution": other_resolution,
        "permissible": _permissible(read, unit, high),
        "contacts": Contacts(**contacts, hard=not read.yes("soft", default=False)),
    }


def _other(read: _Cells, unit: str) -> tuple[str, int]:
    """The second unit an instrument can show, with the step it shows in it: ``.01 mm``."""
    written = read.text("other")
    if not written:
        return "", 0
    if (alone := unit_symbol(written, UNITS[unit].kind)) is not None:
        if alone == unit:
            read.fault("other", "crib.cell.same_unit", unit=unit)
        return alone, 0
    with read.faults_of("other"):
        found = read_amount(read.whole("other"), unit)
        if found.unit == unit:
            raise Refused(Reason("crib.cell.same_unit", {"unit": unit}))
        return found.unit, found.count
    return "", 0


def _permissible(read: _Cells, unit: str, high: int) -> tuple[Permissible, ...]:
    """Lines as ``outside up to 6 in ±.001``; without a length the line holds up to the end of the range."""
    found: list[Permissible] = []
    for piece in pieces(read.cells.get("permissible") or ""):
        with read.faults_of("permissible"):
            line = _permissible_line(piece, unit, high)
            if any((line.use, line.up_to) == (other.use, other.up_to) for other in found):
                raise piece.refused("crib.cell.use_twice", use=line.use.value)
            found.append(line)
    return tuple(found)


def _permissible_line(piece: Piece, unit: str, high: int) -> Permissible:
    use = next((use for use in Use if re.match(rf"{use}\b", piece.text, re.IGNORECASE)), None)
    if use is None:
        raise piece.refused("crib.cell.use", uses=", ".join(Use))
    error = _ERROR.search(piece.text)
    if error is None:
        raise piece.cut(len(use)).refused("crib.cell.no_error", use=use.value)
    length = piece.cut(len(use), error.start())
    if (said := _UP_TO.match(length.text)) is not None:
        length = length.cut(said.end())
    up_to, governing = high, unit
    if length.text:
        size = read_amount(length, unit)
        up_to, governing = size.count, size.unit
    amount = read_amount(piece.cut(error.end()), governing).count
    if not amount:
        raise piece.cut(error.start()).refused("crib.cell.no_error", use=use.value)
    return Permissible(use, up_to, amount)


def _set(read: _Cells, unit: str, kind: InstrumentKind | None) -> dict[str, Any]:
    """What belongs to sets and fixed gauges."""
    size_unit = length_unit(unit)
    values: dict[str, Any] = {"members": (), "missing": ()}
    with read.faults_of("members"):
        values["members"] = read_members(read.cells.get("members") or "", size_unit)
    with read.faults_of("missing"):
        if read.text("missing") and not read.text("members"):
            raise Refused(Reason("crib.cell.no_set", {"text": read.text("missing")[:60]}))
        values["missing"] = read_missing(read.cells.get("missing") or "", values["members"], size_unit)
    gauge_class = read.text("gauge_class")
    tolerance = read.amount("class_tolerance", size_unit) or 0
    if kind is InstrumentKind.GAUGE_PINS and gauge_class:
        gauge_class = gauge_class.upper()
        if gauge_class not in _CLASSES and not tolerance:
            read.fault("gauge_class", "crib.cell.gauge_class", known=", ".join(_CLASSES))
    return {
        **values,
        "gauge_class": gauge_class,
        "class_tolerance": tolerance,
        "direction": read.one_of("direction", Direction),
        "read_over": _read_over(read),
    }


def _read_over(read: _Cells) -> tuple[InstrumentKind, ...]:
    words = {_plain(kind): kind for kind in InstrumentKind}
    found = []
    for piece in pieces(read.cells.get("read_over") or ""):
        if (kind := words.get(_plain(piece.text))) is None:
            read.fault("read_over", "crib.cell.not_a_kind", at=piece.at, text=piece.text)
        else:
            found.append(kind)
    return tuple(found)


def _keeping(read: _Cells) -> dict[str, Any]:
    """What says whether it may be used, and what handling it takes."""
    return {
        "due": read.day("due"),
        "certified": read.day("certified"),
        "standing": read.one_of("standing", Standing) or Standing.IN_SERVICE,
        "as_calibrated": read.yes("as_calibrated", default=True),
        "handling_seconds": read.number("handling_seconds", 20),
    }


# --- written --------------------------------------------------------------------------------------------------


def written_cells(instrument: Instrument) -> dict[str, str]:
    """Every field of a record as text, empty where there is nothing to say; ``read_instrument`` gives it back."""
    return {field: _WRITE[field](instrument) for field in FIELDS}


def _plainly(field: str) -> Callable[[Instrument], str]:
    def write(instrument: Instrument) -> str:
        return str(getattr(instrument, field) or "")

    return write


def _amount(field: str) -> Callable[[Instrument], str]:
    def write(instrument: Instrument) -> str:
        count: int = getattr(instrument, field)
        return amount_text(count, instrument.unit) if count else ""

    return write


def _contact(field: str) -> Callable[[Instrument], str]:
    def write(instrument: Instrument) -> str:
        count: int | None = getattr(instrument.contacts, field)
        return amount_text(count, length_unit(instrument.unit)) if count is not None else ""

    return write


def range_text(instrument: Instrument) -> str:
    """The measuring range as it stands in a cell; empty without one."""
    if not instrument.low and not instrument.high:
        return ""
    return span_text(instrument.low, instrument.high, instrument.unit)


def resolution_text(instrument: Instrument) -> str:
    """The smallest step as it stands in a cell; empty without one."""
    return amount_text(instrument.resolution, instrument.unit) if instrument.resolution else ""


def _other_text(instrument: Instrument) -> str:
    unit, step = instrument.other_unit, instrument.other_resolution
    return amount_text(step, unit) if step else unit


def permissible_text(line: Permissible, unit: str) -> str:
    """One line of the permissible errors, with both units written."""
    return f"{line.use} up to {amount_text(line.up_to, unit)} ±{amount_text(line.error, unit)}"


def _permissible_lines(instrument: Instrument) -> str:
    return "; ".join(permissible_text(line, instrument.unit) for line in instrument.permissible)


def _class_tolerance_text(instrument: Instrument) -> str:
    unit = length_unit(instrument.unit)
    return amount_text(instrument.class_tolerance, unit) if instrument.class_tolerance else ""


def _members_text(instrument: Instrument) -> str:
    return members_text(instrument.members, length_unit(instrument.unit))


def _missing_text(instrument: Instrument) -> str:
    return missing_text(instrument.missing, instrument.members, length_unit(instrument.unit))


_WRITE: dict[str, Callable[[Instrument], str]] = {
    **{field: _plainly(field) for field in (*_PLAIN, "kind", "unit", "due", "certified", "standing")},
    **{field: _amount(field) for field in _SIZED},
    **{field: _contact(field) for field in _CONTACTS},
    **{field: _plainly(field) for field in ("gauge_class", "direction")},
    "range": range_text,
    "resolution": resolution_text,
    "other": _other_text,
    "permissible": _permissible_lines,
    "members": _members_text,
    "missing": _missing_text,
    "class_tolerance": _class_tolerance_text,
    "read_over": lambda one: "; ".join(one.read_over),
    "soft": lambda one: "" if one.contacts.hard else "yes",
    "as_calibrated": lambda one: "" if one.as_calibrated else "no",
    "handling_seconds": lambda one: str(one.handling_seconds),
}
