"""What an instrument's record says for the budget of a reading: its certificates, its inside jaws, how it is held."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.instruments.materials import STEEL
from inspection.instruments.record import Instrument, Use
from inspection.instruments.ways import Issues
from inspection.measuring.bias import Jaws
from inspection.measuring.certificates import Certificate, Point
from inspection.measuring.uncertainty_parts import Touch
from inspection.measuring.uncertainty_sources import Held
from inspection.standards.usual_figures import usual_jaws

#: How being out of square shows, in the uses that measure along a line; the other uses are not held at a length.
TOUCHES = {
    Use.OUTSIDE: Touch.LONG,
    Use.INSIDE: Touch.BORE,
    Use.DEPTH: Touch.LONG,
    Use.STEP: Touch.LONG,
    Use.HEIGHT: Touch.LONG,
}


def certificate_of(instrument: Instrument, use: Use) -> Certificate | None:
    """The record's certificate in one ``use``; None where it states nothing for it."""
    points = tuple(
        Point(point.size, point.error, point.expanded, point.factor) for point in instrument.points if point.use is use
    )
    return Certificate(instrument.certificate, instrument.certified, points) if points else None


def certificates_of(issues: Issues, instrument: Instrument, use: Use) -> tuple[Certificate | None, Certificate | None]:
    """The certificate of this issue of a record in a ``use``, and the one before it: that of the newest earlier issue
    with another certificate number and points for the same use. Without one now there is none before.

    ``issues`` are all issues by identity and number, as the shop holds them.
    """
    now = certificate_of(instrument, use)
    if now is None:
        return None, None
    earlier = (certificate_of(issue, use) for issue in _earlier(issues, instrument))
    return now, next((held for held in earlier if held is not None and held.number != now.number), None)


def _earlier(issues: Issues, instrument: Instrument) -> Iterator[Instrument]:
    """The earlier issues of a record, the newest first."""
    for number in range(instrument.issue - 1, 0, -1):
        issue = issues.get((instrument.identity, number))
        if issue is not None:
            yield issue


def jaws_of(instrument: Instrument) -> tuple[Jaws | None, bool]:
    """Inside jaws and whether they were measured on this very instrument; otherwise those usual for its kind, None for
    a kind without such jaws."""
    contacts = instrument.contacts
    if contacts.jaws is not None:
        return Jaws(contacts.jaws, contacts.jaws_within), True
    usual = usual_jaws(instrument.kind.value)
    return (Jaws(*usual), False) if usual is not None else (None, False)


def held_of(instrument: Instrument, use: Use) -> Held:
    """How the record says that an instrument is held in a ``use``; nothing where the use measures along no line.

    A jaw's play is left out in depth, where no jaw touches.
    """
    touch = TOUCHES.get(use)
    if touch is None:
        return Held()
    stated = instrument.holding
    return Held(
        tilt=stated.tilt,
        touch=touch,
        contact_width=stated.contact_width,
        contact_askew=stated.contact_askew,
        jaw_distance=stated.jaw_distance,
        jaw_rock=0 if use is Use.DEPTH else stated.jaw_rock,
        scale_height=stated.scale_height,
        eye_off=stated.eye_off,
    )


def own_expansion(instrument: Instrument) -> int:
    """The instrument's own linear expansion in 1e-9 per kelvin: steel's where the record states none."""
    return instrument.expansion or STEEL
