"""An instrument's record as cells of text, and back: what a form, a row of a file and a list of changes hold.

Every cell is written so that a machinist reads it and the program takes it again as the very same value; all faults
of a record are told together, each with its field and character.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any
from unicodedata import category

from msgspec.structs import replace

from inspection.instruments.cells import Cells, plainly
from inspection.instruments.certificate_table import points_text, read_points
from inspection.instruments.intervals import interval_text, read_interval
from inspection.instruments.keeping import months_later
from inspection.instruments.known_within import (
    LARGEST_SIGHT,
    angle_at_text,
    angle_text,
    expansion_text,
    jaws_text,
    kelvin_text,
    read_angle,
    read_angle_at,
    read_expansion,
    read_jaws,
    read_kelvin,
)
from inspection.instruments.record import (
    CertifiedPoint,
    Contacts,
    Direction,
    Holding,
    Instrument,
    InstrumentKind,
    Permissible,
    Standing,
)
from inspection.instruments.sets import members_text, missing_text, read_members, read_missing
from inspection.instruments.spelling import (
    PLUS_MINUS,
    Piece,
    amount_text,
    pieces,
    read_amount,
    read_span,
    read_use,
    span_text,
)
from inspection.quantity.reader import unit_symbol
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Reason, Refused
from inspection.standards.usual_figures import usual_jaws

#: The fields of a record in the order of a form and of a file.
FIELDS = (
    "tag", "kind", "name", "unit", "range", "resolution", "other", "permissible", "kelvin", "due", "interval",
    "certificate", "certified", "laboratory", "points", "standing", "place", "holder", "members", "missing",
    "gauge_class", "class_tolerance", "direction", "thread", "read_over", "smallest_bore", "reach", "relief", "width",
    "jaws", "soft", "repeatability", "zero", "tilt", "askew", "rock", "parallax", "expansion", "as_calibrated",
    "handling_seconds", "note",
)  # fmt: skip
#: Without these nothing is an instrument, and without those of it nothing a thermometer.
NEEDED = ("tag", "kind", "name", "unit")
NEEDED_THERMOMETER = ("tag", "kind", "name", "kelvin")
#: What a thermometer, which measures no feature, has nothing to say of.
OF_FEATURES = (
    "unit", "range", "resolution", "other", "permissible", "points", "members", "missing", "gauge_class",
    "class_tolerance", "direction", "thread", "read_over", "smallest_bore", "reach", "relief", "width", "jaws", "soft",
    "repeatability", "zero", "tilt", "askew", "rock", "parallax", "expansion",
)  # fmt: skip

_PLAIN = ("tag", "name", "certificate", "laboratory", "place", "holder", "thread", "note")
_CONTACTS = ("smallest_bore", "reach", "relief", "width")
_SIZED = ("repeatability", "zero")
_LONGEST = 400
_NOT_SHOWN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})  # categories of Unicode: control, format, surrogate, none
_UP_TO = re.compile(r"(?:up\s*to|to|≤|<=)\s*", re.IGNORECASE)
_CLASSES = ("XXX", "XX", "X", "Y", "Z", "ZZ")


def unsaid(kind: InstrumentKind | None) -> frozenset[str]:
    """The fields that a record of a kind has nothing to say in; of an unknown kind the fewest."""
    if kind is InstrumentKind.THERMOMETER:
        return frozenset(OF_FEATURES)
    jawless = kind is not None and usual_jaws(kind.value) is None
    return frozenset({"kelvin", "jaws"} if jawless else {"kelvin"})


# --- read -----------------------------------------------------------------------------------------------------


def read_instrument(cells: Mapping[str, str], base: Instrument | None = None) -> Instrument:
    """The record that cells of text hold, by field (``FIELDS``; one left out is empty).

    What no cell holds, identity, issue and files, is that of ``base``. Lengths are read in the record's unit, or in
    the one written beside them. A due date that still is that of ``base`` is none of another certificate's day or of
    another interval: it follows from them. Raises Refused with all faults, each with its ``field``, and ``at``, the
    character.
    """
    read = Cells(cells)
    thermometer = plainly(read.text("kind")) == InstrumentKind.THERMOMETER
    for field in NEEDED_THERMOMETER if thermometer else NEEDED:
        if not read.text(field):
            read.fault(field, "crib.cell.needed")
    for field in (*_PLAIN, "gauge_class"):
        _plain_text(read, field)
    kind = read.one_of("kind", InstrumentKind)
    unit = "in" if thermometer else _unit(read)
    values = _measuring(read, unit, kind) | _set(read, unit, kind) | _keeping(read, base)
    if thermometer:
        _measures_nothing(read)
    if read.faults or kind is None:
        raise Refused(*read.faults)
    held = {"identity": base.identity, "issue": base.issue, "files": base.files} if base else {}
    made = Instrument(identity="", issue=0, tag="", kind=kind, name="")
    return replace(made, **{field: "\n".join(read.text(field).splitlines()) for field in _PLAIN}, **values, **held)


def _plain_text(read: Cells, field: str) -> None:
    """A text that is kept as it is written must be one that can be shown."""
    text = read.cells.get(field) or ""
    if len(text.strip()) > _LONGEST:
        read.fault(field, "crib.cell.long", most=_LONGEST)
    odd = next((at for at, sign in enumerate(text) if sign not in "\n\r\t" and category(sign) in _NOT_SHOWN), None)
    if odd is not None:
        read.fault(field, "crib.cell.odd_character", at=odd, character=f"U+{ord(text[odd]):04X}")


def _unit(read: Cells) -> str:
    written = read.text("unit")
    unit = unit_symbol(written) or unit_symbol(written, Kind.ANGLE)
    if written and unit is None:
        read.fault("unit", "crib.cell.unit")
    return unit or "in"


def length_unit(unit: str) -> str:
    """The unit that sizes of contacts and members are written in: the record's own, inch for one of angles."""
    return unit if UNITS[unit].kind is Kind.LENGTH else "in"


def _measuring(read: Cells, unit: str, kind: InstrumentKind | None) -> dict[str, Any]:
    """What it measures and how well."""
    low = high = 0
    if read.text("range"):
        with read.faults_of("range"):
            span = read_span(read.whole("range"), unit)
            low, high = span.low, span.high
    values = {field: read.amount(field, unit) or 0 for field in ("resolution", *_SIZED)}
    other_unit, other_resolution = _other(read, unit)
    permissible = _permissible(read, unit, high)
    return {
        **values,
        "unit": unit,
        "quantity": UNITS[unit].kind,
        "low": low,
        "high": high,
        "other_unit": other_unit,
        "other_resolution": other_resolution,
        "permissible": permissible,
        "points": _points(read, unit, (low, high), permissible),
        "kelvin": _kelvin(read, kind),
        "contacts": _contacts(read, length_unit(unit), kind),
        "holding": _holding(read, length_unit(unit)),
        "expansion": read.stated("expansion", read_expansion) or 0,
    }


def _points(
    read: Cells, unit: str, within: tuple[int, int], permissible: Sequence[Permissible]
) -> tuple[CertifiedPoint, ...]:
    """The table of a certificate, which must be named."""
    with read.faults_of("points"):
        found = read_points(read.cells.get("points") or "", unit, within, permissible)
        if found and not (read.text("certificate") and read.text("certified")):
            raise Refused(Reason("crib.cell.no_certificate"))
        return found
    return ()


def _kelvin(read: Cells, kind: InstrumentKind | None) -> int:
    """The ± of a thermometer; nothing else has one."""
    if read.text("kelvin") and kind not in (None, InstrumentKind.THERMOMETER):
        read.fault("kelvin", "crib.cell.kelvin_kind")
        return 0
    return read.stated("kelvin", read_kelvin) or 0


def _contacts(read: Cells, unit: str, kind: InstrumentKind | None) -> Contacts:
    lengths = {field: read.amount(field, unit) for field in _CONTACTS}
    jaws = read.stated("jaws", lambda cell: read_jaws(cell, unit, kind, lengths["smallest_bore"]))
    across, within = jaws or (None, 0)
    return Contacts(**lengths, hard=not read.yes("soft", default=False), jaws=across, jaws_within=within)


def _holding(read: Cells, unit: str) -> Holding:
    askew, width = read.stated("askew", lambda cell: read_angle_at(cell, unit)) or (0, 0)
    rock, distance = read.stated("rock", lambda cell: read_angle_at(cell, unit)) or (0, 0)
    eye, height = read.stated("parallax", lambda cell: read_angle_at(cell, unit, LARGEST_SIGHT)) or (0, 0)
    return Holding(read.stated("tilt", read_angle) or 0, width, askew, distance, rock, height, eye)


def _measures_nothing(read: Cells) -> None:
    for field in OF_FEATURES:
        if read.text(field):
            read.fault(field, "crib.cell.thermometer")


def _other(read: Cells, unit: str) -> tuple[str, int]:
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


def _permissible(read: Cells, unit: str, high: int) -> tuple[Permissible, ...]:
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
    use = read_use(piece)
    error = PLUS_MINUS.search(piece.text)
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


def _set(read: Cells, unit: str, kind: InstrumentKind | None) -> dict[str, Any]:
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


def _read_over(read: Cells) -> tuple[InstrumentKind, ...]:
    words = {plainly(kind): kind for kind in InstrumentKind}
    found = []
    for piece in pieces(read.cells.get("read_over") or ""):
        if (kind := words.get(plainly(piece.text))) is None:
            read.fault("read_over", "crib.cell.not_a_kind", at=piece.at, text=piece.text)
        else:
            found.append(kind)
    return tuple(found)


def _keeping(read: Cells, base: Instrument | None) -> dict[str, Any]:
    """What says whether it may be used, and what handling it takes. A due date that is not written, or left over from
    before another certificate or interval, follows from the day of the certificate and the interval."""
    due, certified = read.day("due"), read.day("certified")
    months, readings = read.stated("interval", read_interval) or (0, 0)
    left_over = base is not None and due == base.due and (certified, months) != (base.certified, base.every_months)
    if months and certified and (left_over or not read.text("due")):
        due = months_later(certified, months)
    return {
        "due": due,
        "certified": certified,
        "every_months": months,
        "every_readings": readings,
        "standing": read.one_of("standing", Standing) or Standing.IN_SERVICE,
        "as_calibrated": read.yes("as_calibrated", default=True),
        "handling_seconds": read.number("handling_seconds", 20),
    }


# --- written --------------------------------------------------------------------------------------------------


def written_cells(instrument: Instrument) -> dict[str, str]:
    """Every field of a record as text, empty where there is nothing to say; ``read_instrument`` gives it back."""
    return {field: _WRITE[field](instrument) for field in FIELDS}


def carried_cells(base: Instrument, given: Mapping[str, str]) -> dict[str, str]:
    """The cells of a record with those ``given`` in their place. The table of a certificate goes with its number: where
    another one is given and no table, none is left."""
    carried = {**written_cells(base), **given}
    if "points" not in given and carried["certificate"].strip() != base.certificate:
        carried["points"] = ""
    return carried


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


def _points_text(instrument: Instrument) -> str:
    return points_text(instrument.points, instrument.unit)


def _jaws_text(instrument: Instrument) -> str:
    contacts = instrument.contacts
    return jaws_text(contacts.jaws, contacts.jaws_within, length_unit(instrument.unit))


def _held_at(angle: str, length: str) -> Callable[[Instrument], str]:
    def write(instrument: Instrument) -> str:
        held = instrument.holding
        return angle_at_text(getattr(held, angle), getattr(held, length), length_unit(instrument.unit))

    return write


def _unit_text(instrument: Instrument) -> str:
    """The unit of what it measures: a thermometer has none, whatever its record is set to."""
    return "" if instrument.kind is InstrumentKind.THERMOMETER else instrument.unit


def _members_text(instrument: Instrument) -> str:
    return members_text(instrument.members, length_unit(instrument.unit))


def _missing_text(instrument: Instrument) -> str:
    return missing_text(instrument.missing, instrument.members, length_unit(instrument.unit))


_WRITE: dict[str, Callable[[Instrument], str]] = {
    **{field: _plainly(field) for field in (*_PLAIN, "kind", "due", "certified", "standing")},
    **{field: _amount(field) for field in _SIZED},
    **{field: _contact(field) for field in _CONTACTS},
    **{field: _plainly(field) for field in ("gauge_class", "direction")},
    "unit": _unit_text,
    "range": range_text,
    "resolution": resolution_text,
    "other": _other_text,
    "permissible": _permissible_lines,
    "points": _points_text,
    "kelvin": lambda one: kelvin_text(one.kelvin),
    "interval": interval_text,
    "members": _members_text,
    "missing": _missing_text,
    "class_tolerance": _class_tolerance_text,
    "read_over": lambda one: "; ".join(one.read_over),
    "jaws": _jaws_text,
    "tilt": lambda one: angle_text(one.holding.tilt),
    "askew": _held_at("contact_askew", "contact_width"),
    "rock": _held_at("jaw_rock", "jaw_distance"),
    "parallax": _held_at("eye_off", "scale_height"),
    "expansion": lambda one: expansion_text(one.expansion),
    "soft": lambda one: "" if one.contacts.hard else "yes",
    "as_calibrated": lambda one: "" if one.as_calibrated else "no",
    "handling_seconds": lambda one: str(one.handling_seconds),
}
