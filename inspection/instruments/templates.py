"""The starter crib as templates: one is chosen, or all at once, and given tag, due date and place."""

from __future__ import annotations

import re
from collections.abc import Container

from msgspec.structs import replace

from inspection.instruments.record import Instrument
from inspection.instruments.starter import starter_crib

_NEEDS = "due"


def templates() -> tuple[Instrument, ...]:
    """Every template in the order of its tag's series; ``due`` of one that needs no calibration is empty."""
    return starter_crib(_NEEDS)


def in_series(tag: str, taken: Container[str]) -> str:
    """The tag itself if it is free, else the next free one of its series: C-05 → C-06; EYE → EYE-2.

    >>> in_series("C-05", {"C-05", "C-06"})
    'C-07'
    """
    if tag not in taken:
        return tag
    found = re.fullmatch(r"(?P<before>.*?)(?P<number>\d+)", tag)
    before, number, width = (
        (found["before"], int(found["number"]), len(found["number"])) if found else (f"{tag}-", 1, 1)
    )
    while (tag := f"{before}{number:0{width}}") in taken or number == 1:
        number += 1
    return tag


def from_template(template: Instrument, *, tag: str, due: str = "", place: str = "") -> Instrument:
    """A new instrument as the template has it; ``due`` (ISO date) is left out where none is needed."""
    needed = due if template.due else ""
    return replace(template, identity="", issue=0, tag=tag, due=needed, place=place or template.place)


def whole_crib(taken: Container[str], *, due: str = "", place: str = "") -> tuple[Instrument, ...]:
    """Every template at once, tags given in series past those that are taken."""
    given: set[str] = set()
    made = []
    for template in templates():
        tag = template.tag
        while tag in taken or tag in given:
            tag = in_series(tag, {tag})
        given.add(tag)
        made.append(from_template(template, tag=tag, due=due, place=place))
    return tuple(made)


def copied(instrument: Instrument, taken: Container[str]) -> Instrument:
    """A second instrument like this one: the next tag of the series, and nothing that belongs to the first alone."""
    return replace(
        instrument,
        identity="",
        issue=0,
        tag=in_series(instrument.tag, taken),
        due="",
        certificate="",
        certified="",
        laboratory="",
        points=(),
        contacts=replace(instrument.contacts, jaws=None, jaws_within=0),
        holder="",
        missing=(),
        files=(),
        note="",
    )
