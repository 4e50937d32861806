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
from inspection.drawing.title_block import default_name, read_title_block
from inspection.reasons import Reason
from inspection.sheet.causes import read_cause
from inspection.sheet.head import Head
from storage.intake.faults import Faults
from storage.intake.grid import FrontLine, field_of, names

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
#: Head lines that belong to the title block, besides its defaults by decimals.
_BLOCK = ("unit", "general", "fraction", "angle")
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


def read_front(lines: Iterable[FrontLine], faults: Faults) -> Front:
    """Read the head lines; every fault is noted, and what is whole comes back."""
    texts: dict[str, FrontLine] = {}
    defaults: dict[str, FrontLine] = {}
    for line in lines:
        field, where = _field(line.name), texts
        if default := default_name(line.name):
            field, where = default, defaults
        if field is None:
            _note(faults, line, _unknown(line.name))
        elif field in where:
            _note(faults, line, Reason("intake.head_line_twice", {"name": line.name}))
        elif line.value:
            where[field] = line
    return _front(_Lines(texts, faults), defaults)


def _note(faults: Faults, line: FrontLine, *reasons: Reason) -> None:
    faults.note(line.row, line.name, *reasons, sheet=line.sheet, cell=line.cell)


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

    def __init__(self, lines: dict[str, FrontLine], faults: Faults) -> None:
        self.lines = lines
        self.faults = faults

    def text(self, field: str) -> str:
        return self.lines[field].value if field in self.lines else ""

    def one_of(self, field: str, default: str) -> str:
        if field not in self.lines:
            return default
        line = self.lines[field]
        allowed, code = _ONE_OF[field]
        if line.value.casefold() not in allowed:
            _note(self.faults, line, Reason(code, {"written": line.value[:60]}))
        return line.value.casefold()


def _front(lines: _Lines, defaults: dict[str, FrontLine]) -> Front:
    for field in REQUIRED:
        if not lines.text(field):
            lines.faults.note(0, "", Reason("intake.head_line_missing", {"line": names("head")[field][0]}))
    part = Part(**{field: lines.text(field) for field in PART_FIELDS})
    texts: dict[str, Any] = {
        field: lines.text(field)
        for field in Head.__struct_fields__
        if field in names("head") and field not in ("extent", "detail")
    }
    texts["cause"] = read_cause(texts["cause"])
    head = Head(
        **texts,
        extent=lines.one_of("extent", "full"),
        detail=lines.one_of("detail", ""),
    )
    serials = tuple(filter(None, (serial.strip() for serial in re.split("[,;]", lines.text("serials")))))
    return Front(part, _title_block(lines, defaults), head, serials)


def _title_block(lines: _Lines, defaults: dict[str, FrontLine]) -> TitleBlock:
    named = {field: line for field, line in lines.lines.items() if field in _BLOCK} | defaults
    block, faults = read_title_block({field: line.value for field, line in named.items()})
    for reason in faults:
        _note(lines.faults, named[str(reason.parts["field"])], reason)
    return block
