"""What a row reads as, in words: its limits, where they come from, or what is wrong with it."""

from __future__ import annotations

from typing import NamedTuple

from inspection.drawing.editing import DraftRow
from inspection.drawing.editing_issue import Read, Reader
from inspection.drawing.requirement import Form, Requirement
from inspection.quantity.speaker import shown
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Reason
from inspection.sheet import figures
from inspection.words.say import say, word

_PLAINLY = {Form.NOTE: "plan.reads.note", Form.THREAD: "plan.reads.thread", Form.BASIC: "plan.reads.basic"}


class Line(NamedTuple):
    """A row as shown: its texts by field, what it reads as, and the sentence about each field at fault."""

    row: DraftRow
    reads: str
    faults: dict[str, str]
    head: str | None = None  # the set-up whose rows begin here


def limits(requirement: Requirement) -> str:
    """Both limits with their unit, or what stands in their place."""
    if requirement.form in _PLAINLY:
        return word(_PLAINLY[requirement.form])
    said = figures.between(*figures.limits(requirement))
    if not said:
        return word("plan.reads.reference" if requirement.form is Form.REFERENCE else "plan.reads.none")
    unit = requirement.unit
    if said.endswith(("'", '"')):
        return said
    return f"{said}{unit}" if UNITS[unit].kind is Kind.ANGLE else f"{said} {unit}"


def reads(found: Read) -> str:
    """What a row reads as in short: limits, how often, or nothing where it cannot be read."""
    requirement = found.requirement
    if requirement is None:
        return ""
    times = f"{len(found.found)} × " if len(found.found) > 1 else ""
    return times + limits(requirement)


def line_of(row: DraftRow, reader: Reader, head: str | None = None) -> Line:
    """A row as shown."""
    found = reader.read(row)
    faults: dict[str, str] = {}
    for fault in found.faults:
        faults.setdefault(str(fault.parts.get("field", "requirement")), say(fault))
    return Line(row, reads(found), faults, head)


def explained(requirement: Requirement) -> str:
    """Where limits and band come from, in sentences; the band itself where it chooses the instrument."""
    said = [say(reason) for reason in requirement.explained]
    if requirement.judged and requirement.band is not None and len(said) < 2:
        band = shown(requirement.band, requirement.kind, requirement.unit, requirement.decimals)
        said.append(word("plan.band", band=band))
    return "  ".join(said)


class Marked(NamedTuple):
    """A text with the character at fault (-1: none) and the sentence about it."""

    text: str
    at: int
    said: str


def marked(text: str, fault: Reason) -> Marked:
    """A cell's text with what is wrong with it."""
    at = fault.parts.get("at")
    return Marked(text, min(at, len(text)) if isinstance(at, int) else -1, say(fault))
