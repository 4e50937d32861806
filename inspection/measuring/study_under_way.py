"""A study on parts while it is being made: places of parts read again and again, lifted and replaced between.

Values throughout: every step gives another ``StudyUnderWay``, so that what was entered can be kept and taken up again.
Counts are of the instrument's quantity (pm, µas).
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.spelling import readings_of
from inspection.measuring import slips
from inspection.measuring.checks import Asked, Configuration, amount, checklist, configured, range_of
from inspection.measuring.quantiles import CONFIDENCE, coverage_factor
from inspection.measuring.spread import Seen, Spread, pooled
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.reader import read
from inspection.quantity.speaker import placed
from inspection.quantity.units import Quantity
from inspection.reasons import Figure, Part, Reason, Refused

#: More places, or readings of one, nobody takes in one go; a further study begins.
MOST_PLACES, MOST_READINGS = 60, 200


class StudyUnderWay(Struct, frozen=True):
    """A study with ``instrument`` as it is set up. ``places`` hold the readings taken at each, in order; the last one
    is at hand, and may still be without any."""

    instrument: Instrument
    configuration: Configuration
    places: tuple[tuple[Quantity, ...], ...] = ((),)

    @property
    def is_begun(self) -> bool:
        """Whether anything was read."""
        return any(self.places)

    @property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """The readings as counts, without the places that have none."""
        return tuple(tuple(each.count for each in place) for place in self.places if place)

    @property
    def signed(self) -> bool:
        """Whether readings may lie under zero: those of an instrument that is checked on one spot."""
        return any(line.asked is Asked.SPREAD for line in checklist(self.instrument, self.configuration))

    @property
    def spread(self) -> Spread | None:
        """s of one reading with ν, pooled over the places; None where no scatter shows."""
        return pooled(self.groups, Seen.STUDY)


def begin(instrument: Instrument, configuration: Configuration) -> StudyUnderWay:
    """A study of which nothing is read yet. Raises Refused for an instrument that gives no reading, neither by itself
    nor carried over to another, and a configuration that it has not."""
    if not instrument.resolution and not instrument.read_over:
        raise Refused(Reason("study.refused.no_scale", {"tag": instrument.tag, "name": instrument.name}))
    set_up = configuration
    return StudyUnderWay(instrument, configured(instrument, set_up.unit, set_up.fitted, set_up.low, set_up.high))


def enter(study: StudyUnderWay, text: str) -> StudyUnderWay:
    """With what was typed read at the place at hand: one reading, or several with blanks or semicolons between. Raises
    Refused as the reader of numbers does, with ``at`` in the text, and beyond what one study holds."""
    unit, kind = study.configuration.unit, study.instrument.quantity
    taken: list[Quantity] = []
    start = 0
    for part in readings_of(text):
        start = text.index(part, start)
        try:
            taken.append(read(part, unit=unit, kind=kind, signed=study.signed))
            check_shown(study.instrument, study.configuration, taken[-1])
        except Refused as refused:
            raise Refused(*(_shifted(reason, start) for reason in refused.reasons)) from None
        start += len(part)
    *before, here = study.places
    if len(here) + len(taken) > MOST_READINGS:
        raise Refused(Reason("study.refused.many", {"most": MOST_READINGS}))
    return replace(study, places=(*before, (*here, *taken)))


def check_shown(instrument: Instrument, configuration: Configuration, read: Quantity) -> None:
    """Raises Refused for a number that the instrument as it is set up cannot show: a study asks what this instrument
    reads, so that it is no reading of the study. What only compares moves over differences, and takes sizes too."""
    low, high = range_of(instrument, configuration)
    if instrument.kind is InstrumentKind.INDICATOR or not slips.is_beyond(read.count, instrument, low, high):
        return
    ends = {"low": amount(instrument, low, configuration.unit), "high": amount(instrument, high, configuration.unit)}
    raise Refused(Reason("study.refused.beyond", {"tag": instrument.tag, "written": read.written, **ends}))


def _shifted(reason: Reason, by: int) -> Reason:
    at = reason.parts.get("at")
    return Reason(reason.code, {**reason.parts, "at": by + (at if isinstance(at, int) else 0)})


def next_place(study: StudyUnderWay) -> StudyUnderWay:
    """On to another place. Raises Refused while the one at hand has fewer than two readings: one of a place shows no
    scatter."""
    here = study.places[-1]
    if len(here) < 2:
        raise Refused(Reason("study.refused.one", {"place": len(study.places), "n": len(here)}))
    if len(study.places) >= MOST_PLACES:
        raise Refused(Reason("study.refused.many_places", {"most": MOST_PLACES}))
    return replace(study, places=(*study.places, ()))


def without_last(study: StudyUnderWay) -> StudyUnderWay:
    """Without the last reading; from a place that has none, back at the one before. The same where nothing is read."""
    places = study.places
    if not places[-1]:
        return replace(study, places=places[:-1]) if len(places) > 1 else study
    return replace(study, places=(*places[:-1], places[-1][:-1]))


def set_up(study: StudyUnderWay, configuration: Configuration) -> StudyUnderWay:
    """The instrument is set up otherwise: what was read belongs to how it was, and is gone. Raises Refused for a
    configuration that it has not."""
    return study if configuration == study.configuration else begin(study.instrument, configuration)


def slip_of(study: StudyUnderWay) -> Reason | None:
    """What the last reading looks like beside the others of its place, if it has the mark of a slip."""
    here = study.places[-1]
    if not here:
        return None
    *before, last = here
    found = slip_beside(last, tuple(each.count for each in before), study.instrument, study.configuration.unit)
    if found is None:
        return None
    told: dict[str, Part] = {"tag": study.instrument.tag}
    if found.code == "slip.graduation":
        return Reason("study.graduation", {**told, "step": found.parts["step"]})
    return Reason("study.slip", {"what": found.code.removeprefix("slip.").removesuffix("_beside")})


def slip_beside(read: Quantity, beside: tuple[int, ...], instrument: Instrument, unit: str) -> Reason | None:
    """What a reading looks like beside others (counts) of the same place, if it has the mark of a slip."""
    place = Requirement("", Form.REFERENCE, read.kind, unit=unit)
    return slips.question(
        read.count,
        Characteristic("", "", FeatureKind.LENGTH, place),
        instrument,
        siblings=beside,
        unit=read.unit,
        decimals=read.decimals,
    )


#: Under so many degrees of freedom Student's t makes the uncertainty visibly larger than it need be: k is over 2.3.
FEW = 10


def said(study: StudyUnderWay) -> Iterator[Reason]:
    """What the readings come to so far, beside what the record says: scatter with its ν, and whether that is few."""
    unit, spread = study.configuration.unit, study.spread
    counts: dict[str, Part] = {"n": sum(map(len, study.groups)), "places": len(study.groups)}
    if spread is None or spread.freedom is None:
        yield Reason("study.none" if study.is_begun else "study.how")
    else:
        yield Reason("study.s", {**counts, "s": about(spread.square, unit), "freedom": spread.freedom})
        if spread.freedom < FEW:
            factor = coverage_factor(spread.freedom, CONFIDENCE)
            yield Reason("study.few", {"freedom": spread.freedom, "k": Figure(placed(round(factor * 100), 2))})
    if study.instrument.repeatability:
        yield Reason("study.record", {"s": amount(study.instrument, study.instrument.repeatability, unit)})
