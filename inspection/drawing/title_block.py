"""The defaults of a title block as typed, read to exact tolerances, and written again as they would be typed.

A default by decimals is named by as many x as there are decimals: ``default .xxx``; ``metric default .xx`` for metric
dimensions; ``default x`` without decimals.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any

from msgspec.structs import replace

from inspection.drawing.plan import TitleBlock
from inspection.quantity.reader import read, unit_symbol
from inspection.quantity.speaker import degrees_minutes, fewest_decimals, plain
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Part, Reason, Refused

_DEFAULT = re.compile(r"(?P<metric>metric )?default (?:x|\.(?P<places>x{1,6}))", re.IGNORECASE)
_SIGN = re.compile(r"^(±|\+ ?/ ?-|\+-)\s*")
_CLASS = re.compile("[fmcv][HKL]?")


def default_name(written: str) -> str | None:
    """The name of a default by decimals, however it is spaced and cased; None for any other text.

    >>> default_name("Default  .XXX")
    'default .xxx'
    """
    plainly = " ".join(written.split()).lower()
    return plainly if _DEFAULT.fullmatch(plainly) else None


def read_title_block(texts: Mapping[str, str]) -> tuple[TitleBlock, tuple[Reason, ...]]:
    """A title block from texts by name, and what is wrong with them: each reason holds its ``field``.

    Names are "unit", "general", "fraction", "angle" and those of ``default_name``; an empty text is no default. What
    is whole is read even where another text is at fault.
    """
    block = _Block(texts)
    by_decimals: dict[bool, dict[int, int]] = {False: {}, True: {}}
    for name in texts:
        found = _DEFAULT.fullmatch(name)
        half = block.half(name, "mm" if found["metric"] else "in") if found else None
        if found and half is not None:
            by_decimals[bool(found["metric"])][len(found["places"] or "")] = half
    read_block = TitleBlock(
        unit=block.unit(),
        inch=by_decimals[False],
        metric=by_decimals[True],
        fraction=block.half("fraction", "in"),
        angle=block.half("angle", "°", Kind.ANGLE),
        general=block.general(),
    )
    return read_block, tuple(block.faults)


#: Stands for any text of a title block, where one cannot be told by its name.
ANY = ""
#: Decimals that a default is written for.
_DECIMALS = range(7)


def as_meant(block: TitleBlock, unread: Collection[str]) -> tuple[TitleBlock, ...]:
    """The title blocks that this one may be, were its texts of these names (or ``ANY``) not at fault: one a unit, with
    some default for each. What is wrong with a row under all of them is wrong with the row."""
    inch, metric = dict(block.inch), dict(block.metric)
    for decimals in _DECIMALS:
        name = f"default {'.' if decimals else ''}{'x' * max(decimals, 1)}"
        for prefix, held, whole in (("", inch, UNITS["in"].count), ("metric ", metric, UNITS["mm"].count)):
            if {ANY, prefix + name} & {*unread}:
                held.setdefault(decimals, whole // 10**decimals)
    given: dict[str, Any] = {"inch": inch, "metric": metric}
    for field, some in (("fraction", UNITS["in"].count // 64), ("angle", UNITS["°"].count), ("general", "mK")):
        if {ANY, field} & {*unread} and not getattr(block, field):
            given[field] = some
    units = ("in", "mm") if {ANY, "unit"} & {*unread} else (block.unit,)
    return tuple(replace(block, unit=unit, **given) for unit in units)


class _Block:
    """The texts of one title block, read while every fault is kept."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self.texts = texts
        self.faults: list[Reason] = []

    def text(self, name: str) -> str:
        return self.texts.get(name, "").strip()

    def fault(self, name: str, code: str) -> None:
        self.faults.append(Reason(code, {"field": name, "written": self.text(name)[:60]}))

    def unit(self) -> str:
        unit = unit_symbol(self.text("unit")) if self.text("unit") else "in"
        if unit not in ("in", "mm"):
            self.fault("unit", "intake.not_a_unit")
            return "in"
        return unit

    def general(self) -> str:
        short = re.sub(r"^ISO 2768-(1-)?", "", self.text("general"), flags=re.IGNORECASE).strip()
        if short and not _CLASS.fullmatch(short):
            self.fault("general", "intake.not_general")
            return ""
        return short

    def half(self, name: str, unit: str, kind: Kind = Kind.LENGTH) -> int | None:
        """The half-width ± of a default as a count of its kind's step; None where there is none or it is at fault."""
        written = self.text(name)
        if not written:
            return None
        try:
            count = read(_SIGN.sub("", written), unit=unit, kind=kind).count
        except Refused as refused:
            self.faults += [_of_field(reason, name, written) for reason in refused.reasons]
            return None
        if count <= 0:
            self.fault(name, "intake.not_a_tolerance")
            return None
        return count


def _of_field(reason: Reason, name: str, written: str) -> Reason:
    """A reason of the reader, told in the whole text of the field."""
    sign = _SIGN.match(written)
    at = reason.parts.get("at")
    parts: dict[str, Part] = {**reason.parts, "field": name, "text": written}
    if isinstance(at, int):
        parts["at"] = at + (sign.end() if sign else 0)
    return Reason(reason.code, parts)


def texts_of(block: TitleBlock) -> dict[str, str]:
    """The title block as it would be typed; only what it holds, and its unit."""
    texts = {"unit": block.unit}
    for metric, unit, defaults in (("", "in", block.inch), ("metric ", "mm", block.metric)):
        for decimals, half in sorted(defaults.items()):
            texts[f"{metric}default {'.' if decimals else ''}{'x' * max(decimals, 1)}"] = _half(half, unit, decimals)
    if block.fraction is not None:
        texts["fraction"] = _half(block.fraction, "in", 0)
    if block.angle is not None:
        whole = fewest_decimals(block.angle, "°") is not None
        texts["angle"] = f"±{plain(block.angle, '°')}°" if whole else f"±{degrees_minutes(block.angle)}"
    if block.general:
        texts["general"] = block.general
    return texts


def _half(count: int, unit: str, decimals: int) -> str:
    """A tolerance as a drawing has it: no nought before the point of an inch; in millimetres where inches cannot."""
    if fewest_decimals(count, unit) is None:
        return f"±{plain(count, 'mm')} mm"
    number = plain(count, unit, decimals)
    return f"±{number.removeprefix('0') if unit == 'in' and number.startswith('0.') else number}"
