"""The lines in front of a feature file's table: part, drawing, title-block defaults, the sheet's head, serials.

One line each: ``# name,value``. Title-block defaults by decimals are named by as many x as there are decimals:
``# default .xxx,±.005``, for metric dimensions ``# metric default .xx,0.1``, without decimals ``# default x``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import Any

from msgspec import Struct

from inspection.drawing.plan import Part, TitleBlock
from inspection.quantity.reader import read, unit_symbol
from inspection.quantity.units import Kind
from inspection.reasons import Reason, Refused
from inspection.sheet.head import Head
from storage.intake.faults import Faults
from storage.intake.grid import field_of, names

PART_FIELDS = (
    "number",
    "revision",
    "name",
    "drawing",
    "drawing_revision",
    "standard",
    "material",
    "changes",
    "customer",
)
REQUIRED = ("number", "revision")
_DEFAULT = re.compile(r"(?P<metric>metric )?default (?P<places>x|\.x{1,6})", re.IGNORECASE)
_ONE_OF = {
    "extent": (("full", "partial"), "intake.not_an_extent"),
    "detail": (("detail", "assembly"), "intake.not_a_detail"),
}


class Front(Struct, frozen=True):
    """What stands in front of the table."""

    part: Part
    title_block: TitleBlock
    head: Head
    serials: tuple[str, ...]


def read_front(lines: Iterable[tuple[int, str, str]], faults: Faults) -> Front:
    """Read the head lines (row, name, value); every fault is noted, and what is whole comes back."""
    texts: dict[str, tuple[int, str, str]] = {}
    defaults: dict[str, tuple[int, str, str]] = {}
    for row, name, value in lines:
        field, where = _field(name), texts
        if found := _DEFAULT.fullmatch(" ".join(name.split())):
            field, where = found[0].lower(), defaults
        if field is None:
            faults.note(row, name, _unknown(name))
        elif field in where:
            faults.note(row, name, Reason("intake.head_line_twice", {"name": name}))
        elif value:
            where[field] = (row, name, value)
    return _front(_Lines(texts, faults), defaults)


def _field(name: str) -> str | None:
    return field_of(name, names("head"))


def _unknown(name: str) -> Reason:
    known = [known[0] for known in names("head").values()]
    near = get_close_matches(name.casefold(), known, n=1)
    if near:
        return Reason("intake.head_unknown_near", {"head": name[:60], "near": near[0]})
    return Reason("intake.head_line_unknown", {"name": name[:60], "lines": ", ".join(known)})


class _Lines:
    """The head lines by field, read with their faults noted where they stand."""

    def __init__(self, lines: dict[str, tuple[int, str, str]], faults: Faults) -> None:
        self.lines = lines
        self.faults = faults

    def text(self, field: str) -> str:
        return self.lines[field][2] if field in self.lines else ""

    def unit(self) -> str:
        if "unit" not in self.lines:
            return "in"
        row, name, value = self.lines["unit"]
        unit = unit_symbol(value)
        if unit not in ("in", "mm"):
            self.faults.note(row, name, Reason("intake.not_a_unit", {"written": value[:60]}))
            return "in"
        return unit

    def general(self) -> str:
        if "general" not in self.lines:
            return ""
        row, name, value = self.lines["general"]
        short = re.sub(r"^ISO 2768-(1-)?", "", value, flags=re.IGNORECASE).strip()
        if not re.fullmatch("[fmcv][HKL]?", short):
            self.faults.note(row, name, Reason("intake.not_general", {"written": value[:60]}))
        return short

    def one_of(self, field: str, default: str) -> str:
        if field not in self.lines:
            return default
        row, name, value = self.lines[field]
        allowed, code = _ONE_OF[field]
        if value.casefold() not in allowed:
            self.faults.note(row, name, Reason(code, {"written": value[:60]}))
        return value.casefold()

    def tolerance(self, line: tuple[int, str, str] | None, unit: str, kind: Kind = Kind.LENGTH) -> int | None:
        """The half-width ± of a default as a count of its kind's step; None where there is none or it is at fault."""
        if line is None:
            return None
        row, name, value = line
        bare = re.sub(r"^(±|\+/-|\+-)\s*", "", value)
        try:
            count = read(bare, unit=unit, kind=kind).count
        except Refused as refused:
            self.faults.note(row, name, *refused.reasons)
            return None
        if count <= 0:
            self.faults.note(row, name, Reason("intake.not_a_tolerance", {"written": value[:60]}))
        return count


def _front(lines: _Lines, defaults: dict[str, tuple[int, str, str]]) -> Front:
    for field in REQUIRED:
        if not lines.text(field):
            lines.faults.note(0, "", Reason("intake.head_line_missing", {"line": names("head")[field][0]}))
    part = Part(**{field: lines.text(field) for field in PART_FIELDS})
    texts: dict[str, Any] = {
        field: lines.text(field)
        for field in Head.__struct_fields__
        if field in names("head") and field not in ("extent", "detail")
    }
    head = Head(
        **texts,
        extent=lines.one_of("extent", "full"),
        detail=lines.one_of("detail", ""),
    )
    serials = tuple(filter(None, (serial.strip() for serial in re.split("[,;]", lines.text("serials")))))
    return Front(part, _title_block(lines, defaults), head, serials)


def _title_block(lines: _Lines, defaults: dict[str, tuple[int, str, str]]) -> TitleBlock:
    by_decimals: dict[bool, dict[int, int]] = {False: {}, True: {}}
    for name, line in defaults.items():
        metric = name.startswith("metric")
        count = lines.tolerance(line, "mm" if metric else "in")
        if count is not None:
            by_decimals[metric][name.count("x") - name.count("default x")] = count
    return TitleBlock(
        unit=lines.unit(),
        inch=by_decimals[False],
        metric=by_decimals[True],
        fraction=lines.tolerance(lines.lines.get("fraction"), "in"),
        angle=lines.tolerance(lines.lines.get("angle"), "°", Kind.ANGLE),
        general=lines.general(),
    )
