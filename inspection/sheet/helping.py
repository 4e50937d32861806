"""How far one method can be trusted on one row, what would help where it falls short, and which readings would settle
a doubt: for a sheet, and for a plan that has none yet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic
from inspection.instruments.assess import assess
from inspection.instruments.crib import offers
from inspection.instruments.method import Assessment, Fitness, Method
from inspection.instruments.reach import usable
from inspection.instruments.reckoning import Reckoning, reckoning
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.rules import Rules
from inspection.instruments.ways import Manner, way_of
from inspection.measuring.bias_stated import StatedCorrection, stated_correction
from inspection.measuring.known import NOTHING_KNOWN, Known
from inspection.measuring.reading import Reading
from inspection.measuring.remedies import Case, Needed, Remedy, remedies
from inspection.measuring.repeats import Repeats
from inspection.measuring.settling import settling
from inspection.measuring.thermal import Measured, Temperatures
from inspection.measuring.uncertainty_stated import StatedBudget, stated
from inspection.reasons import Reason, Refused
from inspection.sheet.proving import known_for, known_now
from inspection.sheet.state import Cell, Sheet, Shop


class Given(Struct, frozen=True):
    """By what methods are weighed: the shop's records, the rules, the day (ISO), the part's material as written on the
    drawing, and what checks, studies and thermometers say."""

    shop: Shop
    rules: Rules
    day: str
    material: str = ""
    known: Known = NOTHING_KNOWN

    def assessed(self, row: Characteristic, method: Method) -> Assessment:
        """How well a method answers a row. KeyError for an instrument that the shop does not hold."""
        return assess(row, method, self.shop.issues, self.rules, self.day, self.material, self.known)


def given_on(shop: Shop, sheet: Sheet, day: str, at: int) -> Given:
    """By what methods are weighed on a sheet, as they would be for a reading taken at ``at`` (UTC microseconds)."""
    return Given(shop, sheet.rules, day, sheet.plan.part.material, known_now(shop, at, sheet))


# --- a method, told ---------------------------------------------------------------------------------------------


class BudgetTold(Struct, frozen=True):
    """One method on one row: how well it does, the budget of the row's declared readings, and what is done about the
    known errors; ``why`` says why there is no budget, where there is none."""

    assessment: Assessment
    budget: StatedBudget | None = None
    corrections: tuple[StatedCorrection, ...] = ()
    why: tuple[Reason, ...] = ()


def budget_told(given: Given, row: Characteristic, method: Method) -> BudgetTold:
    """The budget of a method on a row as a metrologist's table. KeyError for an instrument that the shop does not
    hold."""
    assessment = given.assessed(row, method)
    try:
        found = _reckoned(given, row, method)
        budget = stated(found.budget(row.repeats), found.unit)
        corrections = tuple(stated_correction(each) for each in found.corrections())
    except Refused as refused:
        return BudgetTold(assessment, why=refused.reasons)
    return BudgetTold(assessment, budget, corrections)


def _reckoned(given: Given, row: Characteristic, method: Method) -> Reckoning:
    """What the budget rests on. Raises Refused where nothing is read off a scale, and for what nobody knows."""
    issues = given.shop.issues
    way = way_of(method, issues)
    parts = [issues[part.identity, part.issue] for part in method.parts]
    if way is None or way.manner is not Manner.SCALE or not way.answers(row):
        told = {"tag": parts[0].tag, "name": parts[0].name}
        raise Refused(Reason("help.no_scale", {"number": row.number, **told}))
    return reckoning(row, way, parts, issues, given.rules, given.known, given.material)


def method_with(given: Given, row: Characteristic, wanted: Sequence[Instrument]) -> Method | None:
    """The best method of the crib for a row of which all these instruments are a part; None if none answers it."""
    names = {one.identity for one in wanted}
    found = (
        given.assessed(row, offer.method)
        for offer in offers(given.shop.crib, given.day)
        if names <= {part.identity for part in offer.method.parts} and offer.way.answers(row)
    )
    best = min(found, key=_worse, default=None)
    return best.method if best is not None else None


def _worse(assessment: Assessment) -> tuple[int, int]:
    return list(Fitness).index(assessment.fitness), assessment.expanded or 0


# --- what would help --------------------------------------------------------------------------------------------


def remedies_for(given: Given, row: Characteristic, method: Method) -> tuple[Remedy, ...]:
    """What would bring every ratio of a method on a row, each with the check it mends and what that comes to; nothing
    where all hold already, where there are no ratios, and where the method is no use as it is."""
    try:
        found = _reckoned(given, row, method)
        if found.band is None or not found.judged:
            return ()
        return remedies(_case(given, row, found), measured=_measurable(given, found.temperatures))
    except Refused:
        return ()  # the assessment says what bars the method


def _case(given: Given, row: Characteristic, found: Reckoning) -> Case:
    rules = given.rules
    return Case(
        found.sources,
        found.size,
        found.band or 0,
        row.repeats,
        found.temperatures,
        Needed(rules.resolution_needed, rules.accuracy_needed, rules.uncertainty_needed),
        found.corrections(),
    )


def _measurable(given: Given, known: Temperatures | None) -> Measured | None:
    """The worst that could be measured where only a bound on the room is known, by the shop's best thermometer."""
    if known is None or known.measured is not None or not known.room:
        return None
    within = [
        one.kelvin
        for one in given.shop.crib.values()
        if one.kind is InstrumentKind.THERMOMETER and one.kelvin and usable(one, given.day)
    ]
    return Measured(known.room, known.room, min(within)) if within else None


# --- a doubt ----------------------------------------------------------------------------------------------------


def settling_of(shop: Shop, sheet: Sheet, cell: Cell) -> Repeats | None:
    """How many readings in the mean would settle a cell in doubt, or why none do; None where it is not in doubt.

    Budgets are those of the readings that stand, each by what was known when it was taken.
    """
    row = sheet.row_at(*cell)
    readings = [reading for reading in sheet.counting(*cell) if not reading.indication]
    reckonings = {
        reading.identity: found
        for reading in readings
        if (found := reckoned_for(shop, sheet, row, reading)) is not None
    }
    return settling(row, readings, reckonings, sheet.rules.decision)


def reckoned_for(shop: Shop, sheet: Sheet, row: Characteristic, reading: Reading) -> Reckoning | None:
    """What the budget of a reading rests on, by what was known when it was taken; None where nothing is read off a
    scale or too little is known."""
    known = known_for(shop, sheet, reading)
    given = Given(shop, sheet.rules, reading.day, sheet.plan.part.material, known)
    try:
        found = _reckoned(given, row, reading.method)
        found.budget(row.repeats)
        found.corrections()
    except Refused:
        return None  # nothing was reckoned for its verdict either
    return found


def doubts_of(shop: Shop, sheet: Sheet, characteristics: Iterable[str]) -> Iterator[tuple[Cell, Repeats]]:
    """The cells of these rows that are in doubt, by piece, each with what readings taken again would do."""
    for characteristic in characteristics:
        for piece in sheet.pieces:
            found = settling_of(shop, sheet, (characteristic, piece.identity))
            if found is not None:
                yield (characteristic, piece.identity), found
