"""Thread callouts: designation and class, which a thread row needs; the limits of thread geometry stay with gauges."""

from __future__ import annotations

import re

from inspection.drawing.requirement import Form, Requirement
from inspection.drawing.spelling import Line
from inspection.instruments.designations import read_designation
from inspection.quantity.reader import read
from inspection.quantity.units import UNITS
from inspection.reasons import Reason

_LEFT = r"(?:[ -]*LH\b)?"
_METRIC = re.compile(
    r"M *(?P<size>\d{1,3}(?:\.\d+)?)(?: *x *(?P<pitch>\d+(?:\.\d+)?))?(?P<lh>" + _LEFT + r")", re.IGNORECASE
)
_METRIC_CLASS = re.compile(r"[ -]*(?P<grade>[3-9][A-Za-z](?:[3-9][A-Za-z])?)(?![A-Za-z0-9])" + _LEFT)
_UNIFIED = re.compile(
    r"(?:(?P<mark>#)?(?P<number>1[02]|[0-8])|(?P<fraction>\d+/\d+)|(?P<mixed>\d+[ -]\d+/\d+)|(?P<decimal>\d*\.\d+)"
    r") *- *(?P<pitch>\d{1,3}(?:\.\d+)?)(?= *-? *UN)",
    re.IGNORECASE,
)
_SERIES = re.compile(r" *-? *(?:UNC|UNF|UNEF|UNS|UNRC|UNRF|UNJC|UNJF|UNR|UNJ|UN)\b", re.IGNORECASE)
_UNIFIED_CLASS = re.compile(r"[ -]*(?P<grade>[123][AB])\b" + _LEFT, re.IGNORECASE)
_IDLE = re.compile(r"(?:THRU(?: ALL)?|INT|EXT|THD|THREAD|TAP)\b\.?", re.IGNORECASE)
_PIPE = re.compile(r"\d+(?:[ -]\d+/\d+|/\d+)? *- *\d+(?:\.\d+)? *(?:NPTF?|NPSM?)\b|[RG] *\d+(?:/\d+)?\b", re.IGNORECASE)

#: Threads to an inch of the coarsest numbered sizes (10-24 and 12-24; ASME B1.1, from memory).
COARSEST_NUMBERED = 24

_INTERNAL_METRIC = "GH"
_EXTERNAL_METRIC = "efgh"


def read_thread(line: Line) -> Requirement:
    """A thread row from its callout: ``M6x1-6H``, ``1/4-20 UNC-2B``, ``#10-32 UNF-2A``, each with or without LH.

    The nominal is the major diameter (pm). Raises Refused where designation or class is missing, unknown, or something
    else stands behind them: a depth is a row of its own.
    """
    line.take(_IDLE)
    metric = line.take(_METRIC)
    unified = None if metric else line.take(_UNIFIED)
    if metric is None and unified is None:
        raise line.refused("thread.pipe" if line.sees(_PIPE) else "thread.designation")
    nominal = _metric(line, metric) if metric else _unified(line, unified)
    while line.take(_IDLE):
        pass
    if not line.ended:
        raise line.refused("thread.rest")
    designation = read_designation(line.text)
    if designation is None:
        raise line.refused("thread.pitch", 0)
    inside = "thread.internal" if designation.internal else "thread.external"
    unit = "mm" if metric else "in"
    return Requirement(line.written, Form.THREAD, unit=unit, nominal=nominal, explained=(Reason(inside),))


def _metric(line: Line, found: re.Match[str]) -> int:
    grade = line.take(_METRIC_CLASS)
    if grade is None:
        raise line.refused("thread.class_missing")
    letters = [letter for letter in grade["grade"] if letter.isalpha()]
    inside = all(letter in _INTERNAL_METRIC for letter in letters)
    if not inside and not all(letter in _EXTERNAL_METRIC for letter in letters):
        raise line.refused("thread.class", grade.start("grade"), **{"class": grade["grade"]})
    return _length(line, found, "size", "mm")


def _unified(line: Line, found: re.Match[str] | None) -> int:
    assert found is not None  # one of the two systems was read
    if line.take(_SERIES) is None:
        raise line.refused("thread.designation")
    if line.take(_UNIFIED_CLASS) is None:
        raise line.refused("thread.class_missing")
    if found["number"] and not _in_whole_inches(found):
        # Numbered sizes: .060 in and .013 in a number (ASME B1.1, from memory).
        return (60 + 13 * int(found["number"])) * UNITS["thou"].count
    size = next(name for name in ("number", "fraction", "mixed", "decimal") if found[name])
    return _length(line, found, size, "in")


def _in_whole_inches(found: re.Match[str]) -> bool:
    """Whether a bare 1 to 6 means inches and not a numbered size, whose threads are never coarser than 24 an inch."""
    return not found["mark"] and found["number"] in "123456" and float(found["pitch"]) < COARSEST_NUMBERED


def _length(line: Line, found: re.Match[str], group: str, unit: str) -> int:
    with line.blaming(found.start(group)):
        return read(found[group], unit=unit).count
