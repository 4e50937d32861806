"""The reader of callouts: what a drawing asks, as typed, becomes a requirement with exact limits, or a refusal under
the exact character."""

from __future__ import annotations

import re

from inspection.drawing.amounts import governing_unit, is_length_unit
from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.frames import read_frame, read_roughness
from inspection.drawing.plan import TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.drawing.sizes import Asked, read_size
from inspection.drawing.spelling import LONGEST_CALLOUT, Line
from inspection.drawing.threads import read_thread
from inspection.quantity.units import Kind
from inspection.reasons import Reason, Refused

#: Many holes of one kind can share a callout; more than these are a slip.
LARGEST_COUNT_OF_PLACES = 999

_COUNT_BEFORE = re.compile(r" *\(?(?P<count>\d{1,4}) *[Xx×](?:\)| *(?=[^\d\s.,]) *| +) *")
_COUNT_AFTER = re.compile(r" +\(?(?P<count>\d{1,4}) *(?:PL|PLS|PLC|PLCS|PLACES?|POS)\b\.?\)? *$", re.IGNORECASE)
_ONLY_AN_ANGLE = re.compile(r"\d[\d.]* *(?:°|º|%%[dD]|deg\w*) *$")


def count_of(text: str, kind: FeatureKind | None = None) -> tuple[int, str]:
    """Split how many times a requirement occurs from the requirement: ``4X ⌀.250`` or ``.250 DIA 4 PLACES``.

    What is left is a part of ``text`` unchanged. On a chamfer ``2x45°`` is a size, not a count. Raises Refused
    ``callout.count`` for a count of nothing or beyond 999.

    >>> count_of("4X ⌀.250 ±.005")
    (4, '⌀.250 ±.005')
    """
    before = _COUNT_BEFORE.match(text)
    if before and kind is FeatureKind.CHAMFER and _ONLY_AN_ANGLE.match(text, before.end()):
        before = None
    found = before or (None if kind is FeatureKind.NOTE else _COUNT_AFTER.search(text))
    if found is None:
        return 1, text
    count = int(found["count"])
    if not 1 <= count <= LARGEST_COUNT_OF_PLACES:
        at = found.start("count")
        raise Refused(Reason("callout.count", {"at": at, "text": text, "most": LARGEST_COUNT_OF_PLACES}))
    return count, text[found.end() :] if before else text[: found.start()]


def read_callout(
    text: str,
    *,
    kind: FeatureKind,
    title_block: TitleBlock,
    unit: str = "",
    band: int | None = None,
    shorter_side: int | None = None,
) -> Requirement:
    """Read one callout of a feature of ``kind``, its count already split off (``count_of``).

    ``unit`` is the row's governing unit, empty for the title block's or one written in the callout. ``band`` is T as
    a person states it for a single limit, and ``shorter_side`` that of an angle (pm) for ISO 2768-1.

    Raises Refused: one reason whose parts hold ``at`` (index in ``text`` of the character at fault) and ``text``.

    >>> found = read_callout("⌀.7500 +.0000/-.0005", kind=FeatureKind.BORE, title_block=TitleBlock())
    >>> (found.lower, found.upper, found.decimals)
    (19037300000, 19050000000, 4)
    """
    line = Line(text)
    if line.ended:
        raise line.refused("callout.empty", 0)
    if unit and kind is not FeatureKind.ANGLE and not is_length_unit(unit):
        raise line.refused("callout.unit_unknown", 0, unit=unit)
    if kind is FeatureKind.NOTE:
        return Requirement(text, Form.NOTE, unit=unit or title_block.unit)
    if len(text) > LONGEST_CALLOUT:
        raise line.refused("callout.too_long", LONGEST_CALLOUT, longest=LONGEST_CALLOUT)
    if kind is FeatureKind.THREAD:
        return read_thread(line)
    governing = "°" if kind is FeatureKind.ANGLE else governing_unit(line, unit, title_block.unit)
    if kind is FeatureKind.GEOMETRIC:
        return read_frame(line, governing)
    if kind is FeatureKind.ROUGHNESS:
        return read_roughness(line, governing)
    quantity = Kind.ANGLE if kind is FeatureKind.ANGLE else Kind.LENGTH
    return read_size(line, Asked(kind, quantity, governing, title_block, unit, band, shorter_side))
