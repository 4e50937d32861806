"""What in a crib fits a feature that is merely named, as one asks across the counter: ``.5000 ±.0005 bore``."""

from __future__ import annotations

import re
from collections.abc import Mapping

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import TitleBlock
from inspection.drawing.rows import KINDS, characteristic
from inspection.instruments.method import Fitness
from inspection.instruments.record import Instrument
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Issues
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.reasons import Reason, Refused


class Fitting(Struct, frozen=True):
    """The feature as read, and every instrument (by identity) that answers it alone or with others: fit or marginal."""

    asked: Characteristic
    found: Mapping[str, Fitness]


def feature_asked(text: str, unit: str = "in") -> Characteristic:
    """The feature that a text names: a callout as it is drawn with the kind of feature before or behind it.

    ``unit`` holds where the callout names none. Raises Refused if no kind is named, or the callout cannot be read.
    """
    for word in sorted(KINDS, key=len, reverse=True):
        edge = re.search(rf"(?:^\s*{re.escape(word)}s?(?=\s))|(?:(?<=\s){re.escape(word)}s?\s*$)", text, re.IGNORECASE)
        if edge and KINDS[word] is not FeatureKind.NOTE:
            callout = (text[: edge.start()] + text[edge.end() :]).strip()
            row = {"number": "1", "kind": word, "requirement": callout}
            return characteristic(row, TitleBlock(unit=unit))[0]
    kinds = ", ".join(kind for kind in FeatureKind if kind is not FeatureKind.NOTE)
    raise Refused(Reason("crib.fits.no_kind", {"kinds": kinds}))


def fitting(
    text: str,
    crib: Mapping[str, Instrument],
    rules: Rules,
    day: str,
    unit: str = "in",
    known: Known = NOTHING_KNOWN,
    issues: Issues | None = None,
) -> Fitting:
    """What in the crib answers the feature of a text on ``day`` (ISO), by what is ``known``; ``issues`` hold the crib's
    earlier issues. Raises Refused as ``feature_asked``."""
    from inspection.instruments.choice import FITNESS, choose

    asked = feature_asked(text, unit)
    choice = choose([asked], crib, rules, day, "", known, issues)
    found: dict[str, Fitness] = {}
    for place, offer in enumerate(choice.offers):
        fitness = FITNESS[choice.fitness[0, place]]
        if fitness is Fitness.UNSUITABLE:
            continue
        for part in offer.parts:
            if found.get(part.identity) is not Fitness.FIT:
                found[part.identity] = fitness
    return Fitting(asked, found)
