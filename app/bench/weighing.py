"""Which methods of the crib answer a row, how well, and what stands against the others."""

from __future__ import annotations

from typing import NamedTuple

from app.bench import told
from app.bench.seen import Seen
from inspection.drawing.characteristic import Characteristic
from inspection.instruments.crib import Offer, offers
from inspection.instruments.method import Assessment, Check, Fitness, Method
from inspection.instruments.record import Instrument
from inspection.reasons import Reason
from inspection.sheet.helping import given_on
from inspection.words.say import say, word
from storage.book.clock import wall_clock

#: Checks that a method fails today only.
_NOT_NOW = frozenset({"service", "used", "due", "configuration", "ends", "check"})
_BEST_FIRST = (Fitness.FIT, Fitness.MARGINAL, Fitness.UNSUITABLE)


class Weighed(NamedTuple):
    """One method for one row: how it was assessed, and its instruments."""

    assessment: Assessment
    parts: tuple[Instrument, ...]

    @property
    def method(self) -> Method:
        """The method."""
        return self.assessment.method

    @property
    def name(self) -> str:
        """Tag and name of what is read, then of what it needs."""
        return name_of(self.parts)

    @property
    def choosable(self) -> bool:
        """Whether a person may choose it for acceptance."""
        return self.assessment.choosable and self.assessment.fitness is not Fitness.UNSUITABLE


def name_of(parts: tuple[Instrument, ...]) -> str:
    """Tag and name of each instrument of a method."""
    return " + ".join(f"{part.tag} {part.name}" for part in parts)


def weigh(seen: Seen, row: str) -> tuple[Weighed, ...]:
    """Every method of the crib that is meant for the row's kind of feature, the best first."""
    asked, now = seen.row(row), wall_clock()
    given = given_on(seen.shop, seen.sheet, now.day, now.at)
    found = [
        Weighed(given.assessed(asked, offer.method), offer.parts)
        for offer in offers(seen.shop.crib, now.day)
        if _meant_for(offer, asked)
    ]
    return tuple(sorted(found, key=_order))


def _meant_for(offer: Offer, row: Characteristic) -> bool:
    return offer.way.answers(row) and offer.parts[0].quantity is row.requirement.kind


def _order(weighed: Weighed) -> tuple[int, float, int, str]:
    """Fit before marginal before unsuitable; the nearest to what is needed first, and fewest reasons against."""
    got = [float(each.got) / max(float(each.needed), 0.01) for each in weighed.assessment.ratios]
    against = len(weighed.assessment.against)
    return _BEST_FIRST.index(weighed.assessment.fitness), against, -round(min(got, default=0) * 100), weighed.name


def short(weighed: Weighed) -> str:
    """Tag and short name of what is read, then the tags of what it needs."""
    first, *aids = weighed.parts
    return " + ".join((f"{first.tag} {told.short_name(first)}", *(aid.tag for aid in aids)))


def barring(weighed: Weighed) -> tuple[Check, ...]:
    """The checks that keep a method from being used today, whatever it is to measure: service, calibration."""
    return tuple(check for check in weighed.assessment.checks if not check.holds and check.name in _NOT_NOW)


def lacks(weighed: Weighed) -> str:
    """The name of the first check of reach that fails, "" if all hold."""
    failed = (check.name for check in weighed.assessment.checks if not check.holds and check.name not in _NOT_NOW)
    return next(failed, "")


def ratios_in_words(assessment: Assessment) -> str:
    """The ratios in short: "20 : 1, 5 : 1, 3.7 : 1"."""
    return ", ".join(f"{ratio.got} : 1" for ratio in assessment.ratios)


def label(weighed: Weighed) -> str:
    """A method as it is offered: its instruments, whether it is fit, its ratios."""
    fitness = word(f"bench.fitness.{weighed.assessment.fitness.name.lower()}")
    return " · ".join(filter(None, (weighed.name, fitness, ratios_in_words(weighed.assessment))))


def plain_label(weighed: Weighed) -> str:
    """A method as it is offered for a row read blind: its ratios would tell the band."""
    return weighed.name


def against(weighed: Weighed, units: str) -> str:
    """What stands against a method, in words."""
    reasons: tuple[Reason, ...] = weighed.assessment.against
    return "; ".join(say(reason, units) for reason in reasons)
