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
from inspection.drawing.title_block import ANY, as_meant, default_name, read_title_block
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
#: Defaults by decimals as they are usually named.
_DEFAULTS = tuple(f"{metric}default {x}" for metric in ("", "metric ") for x in ("x", ".x", ".xx", ".xxx", ".xxxx"))
_LIKE_A_TOLERANCE = re.compile(r"(±|\+ ?/ ?-|\+-)\s*[\d.]|\.?\d[\d.]*\s*(°|in|mm|\")?$")
_ONE_OF = {
    "extent": (("full", "partial"), "intake.not_an_extent"),
    "detail": (("detail", "assembly"), "intake.not_a_detail"),
}


class Front(Struct, frozen=True):
    """What stands in front of the table; where a line of the title block is at fault, ``meant`` are the title blocks
    that it may be."""

    part: Part
    title_block: TitleBlock
    head: Head
    serials: tuple[str, ...]
    meant: tuple[TitleBlock, ...] = ()


def read_front(lines: Iterable[FrontLine], faults: Faults) -> Front:
    """Read the head lines; every fault is noted, and what is whole comes back."""
    texts: dict[str, FrontLine] = {}
    defaults: dict[str, FrontLine] = {}
    unread: set[str] = set()
    for line in lines:
        field, where = _field(line.name), texts
        if default := default_name(line.name):
            field, where = default, defaults
        if line.fault:
            unread |= {field} if field else _may_be(line)
        elif field is None:
            unread |= _may_be(line)
            _note(faults, line, _unknown(line))
        elif field in where:
            _note(faults, line, Reason("intake.head_line_twice", {"name": line.name}))
        elif line.value:
            where[field] = line
    return _front(_Lines(texts, faults, unread), defaults)


def _note(faults: Faults, line: FrontLine, *reasons: Reason) -> None:
    faults.note(line.row, line.name, *reasons, sheet=line.sheet, cell=line.cell)


def _field(name: str) -> str | None:
    return field_of(name, names("head"))


def _unknown(line: FrontLine) -> Reason:
    name, value = _apart(line)
    if value:
        return Reason("intake.head_line_unparted", {"name": name, "value": value[:60]})
    known = [known[0] for known in names("head").values()]
    near = _near(line.name)
    if near:
        return Reason("intake.head_unknown_near", {"head": line.name[:60], "near": near})
    return Reason("intake.head_line_unknown", {"name": line.name[:60], "lines": ", ".join(known)})


def _near(name: str) -> str:
    """The name of a line that is meant by one that is nearly it."""
    known = [*(known[0] for known in names("head").values()), *_DEFAULTS]
    return next(iter(get_close_matches(" ".join(name.casefold().split()), known, n=1)), "")


def _apart(line: FrontLine) -> tuple[str, str]:
    """The name and the value of a line that has both in one cell; the value is empty where they are not."""
    told = line.name.split()
    for length in range(len(told) - 1, 0, -1):
        name, value = " ".join(told[:length]), " ".join(told[length:])
        if not line.value and (_field(name) or default_name(name)):
            return name, value
    return line.name, ""


def _may_be(line: FrontLine) -> set[str]:
    """The field that a line is meant for which cannot be taken; any of the title block's where only its value tells."""
    name, value = _apart(line)
    name = name if value else _near(line.name)
    if name:
        return {default_name(name) or _field(name) or name}
    return {ANY} if _LIKE_A_TOLERANCE.match(line.value) else set()


class _Lines:
    """The head lines by field, read with their faults noted where they stand."""

    def __init__(self, lines: dict[str, FrontLine], faults: Faults, unread: set[str]) -> None:
        self.lines = lines
        self.faults = faults
        self.unread = unread  # fields of lines that are there and cannot be taken

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
        if not lines.text(field) and field not in lines.unread:
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
    block = _title_block(lines, defaults)
    of_block = {name for name in lines.unread if name in (ANY, *_BLOCK) or default_name(name)}
    return Front(part, block, head, serials, as_meant(block, of_block) if of_block else ())


def _title_block(lines: _Lines, defaults: dict[str, FrontLine]) -> TitleBlock:
    named = {field: line for field, line in lines.lines.items() if field in _BLOCK} | defaults
    block, faults = read_title_block({field: line.value for field, line in named.items()})
    for reason in faults:
        field = str(reason.parts["field"])
        lines.unread.add(field)
        _note(lines.faults, named[field], reason)
    return block
