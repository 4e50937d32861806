"""Which instruments of the crib would answer a row of the plan, and what stands against the others."""

from __future__ import annotations

from typing import NamedTuple

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.choice import FITNESS, Choice, choose
from inspection.instruments.method import Assessment, Fitness
from inspection.instruments.record import Instrument
from inspection.reasons import Reason
from inspection.sheet.proving import known_now
from inspection.sheet.state import Shop
from inspection.words.say import say, word
from storage.book.clock import wall_clock

#: So many methods are named beside the one that would be chosen.
MOST_OTHERS = 4


class Would(NamedTuple):
    """What would be chosen for a row: its name, its ratios with why, the colour of the latter, and the others."""

    name: str
    why: str
    look: str
    others: tuple[str, ...] = ()


NOTHING = Would("", "", "quiet")


def would_choose(row: Characteristic, shop: Shop, material: str) -> Would:
    """The instrument that a sheet made today would begin with, taken by itself: the route of a whole sheet may prefer
    another fit one that is in hand already."""
    now = wall_clock()
    choice = choose((row,), shop.crib, shop.rules, now.day, material, known_now(shop, now.at), shop.issues)
    best = int(choice.best[0])
    if best < 0:
        return Would(word("plan.instrument.none"), _against_all(row, shop), "out")
    found = choice.assess(0, best)
    fit = found.fitness is Fitness.FIT
    return Would(
        _name(choice.offers[best].parts),
        _why(found),
        "good" if fit else "doubt",
        tuple(_others(choice, best)),
    )


def _why(found: Assessment) -> str:
    ratios = ", ".join(
        word("plan.ratio", name=word(f"plan.ratio.{ratio.name}"), got=ratio.got) for ratio in found.ratios
    )
    if found.fitness is Fitness.FIT:
        return word("plan.instrument.fit", ratios=ratios) if ratios else word("plan.instrument.plainly")
    short = "; ".join(
        word("plan.ratio.short", name=word(f"plan.ratio.{ratio.name}"), got=ratio.got, needed=ratio.needed)
        for ratio in found.ratios
        if not ratio.holds
    )
    return word("plan.instrument.marginal", reasons=short or _reasons(found.against))


def _reasons(against: tuple[Reason, ...]) -> str:
    return "; ".join(say(reason) for reason in against)


def _others(choice: Choice, best: int) -> list[str]:
    """Further methods that do as well, the quickest first: fit beside a fit one, marginal beside a marginal one."""
    fitness, offers = choice.fitness[0], choice.offers
    found = [j for j in range(len(offers)) if j != best and fitness[j] == fitness[best]]
    if not found:
        return []
    found.sort(key=lambda j: (offers[j].handling_seconds, offers[j].parts[0].tag))
    code = "plan.instrument.also_fit" if FITNESS[fitness[best]] is Fitness.FIT else "plan.instrument.also_marginal"
    more = len(found) - MOST_OTHERS
    named = word(code, names=", ".join(_tags(offers[j].parts) for j in found[:MOST_OTHERS]))
    return [named + (word("plan.instrument.more", n=more) if more > 0 else "")]


def _against_all(row: Characteristic, shop: Shop) -> str:
    return word("plan.instrument.none.why", kind=str(row.kind)) if shop.crib else word("plan.instrument.no_crib")


def _name(parts: tuple[Instrument, ...]) -> str:
    """The instrument that is read by tag and name, what it needs besides by tag."""
    first = f"{parts[0].tag} {parts[0].name.split(', ')[0]}"
    return " + ".join((first, *(part.tag for part in parts[1:])))


def _tags(parts: tuple[Instrument, ...]) -> str:
    return " + ".join(part.tag for part in parts)
