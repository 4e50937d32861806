"""Limits, readings and verdicts of a row as the Bench shows them, in the row's own unit or in the one switched to."""

from __future__ import annotations

from inspection.drawing.characteristic import Characteristic
from inspection.drawing.requirement import Form, Requirement
from inspection.instruments.record import Instrument
from inspection.measuring.guard import RuleKind, per_cent
from inspection.measuring.reading import Reading, Role, Slot
from inspection.measuring.verdict import IN_DOUBT, Judgement, Verdict
from inspection.quantity.speaker import (
    as_fine,
    degrees_minutes,
    fewest_decimals,
    plain,
    rounded_inward,
    seen_as,
    written_out,
)
from inspection.quantity.units import UNITS, Kind
from inspection.sheet import figures
from inspection.words.say import OTHER_UNITS, word

#: Forms that have no limits to show.
_WITHOUT_LIMITS = {Form.NOTE: "", Form.THREAD: "bench.limits.thread", Form.BASIC: "bench.limits.basic"}


def unit_shown(requirement: Requirement, units: str) -> str:
    """The unit that a row's lengths are shown in: its own, or that of the system switched to."""
    if requirement.kind is not Kind.LENGTH:
        return requirement.unit
    return OTHER_UNITS.get(units, {}).get(requirement.unit, requirement.unit)


def limit_pair(requirement: Requirement, unit: str) -> tuple[str, str]:
    """Lower and upper limit as numbers in ``unit``, "" where open: exact, or rounded inward so that nothing is let
    in. Angles that degrees cannot hold are in degrees and minutes."""
    ends = (requirement.lower, requirement.upper)
    if unit == requirement.unit:
        if requirement.kind is Kind.ANGLE and not all(_holds(end, unit) for end in ends):
            low, high = ("" if end is None else degrees_minutes(end) for end in ends)
            return low, high
        return figures.limits(requirement)
    if all(_holds(end, unit) for end in ends):
        least = [fewest_decimals(end, unit) or 0 for end in ends if end is not None]
        places = max([_decimals_in(requirement, unit), *least])
        low, high = ("" if end is None else plain(end, unit, places) for end in ends)
        return low, high
    rounded = rounded_inward(*ends, unit, _decimals_in(requirement, unit))
    return rounded[0] or "", rounded[1] or ""


def _holds(end: int | None, unit: str) -> bool:
    return end is None or fewest_decimals(end, unit) is not None


def _decimals_in(requirement: Requirement, unit: str) -> int:
    """Decimals in another unit that are about as fine as the row's own; inches are never told in less than tenths."""
    places = as_fine(requirement.decimals, requirement.unit, unit)
    return max(places, 4) if unit == "in" else places


def limits(requirement: Requirement, units: str = "", *, home: str = "") -> str:
    """Both limits on one line: "0.7495 … 0.7500"; the unit follows where it is not ``home``, the table's."""
    if requirement.form in _WITHOUT_LIMITS:
        code = _WITHOUT_LIMITS[requirement.form]
        return word(code) if code else ""
    unit = unit_shown(requirement, units)
    low, high = limit_pair(requirement, unit)
    if not low and not high:
        return word("bench.limits.reference" if requirement.form is Form.REFERENCE else "bench.limits.none")
    end = unit if UNITS[unit].kind is Kind.ANGLE else "" if unit == home else f" {unit}"
    said = figures.between(low, high)
    return said if said.endswith(("'", '"')) else said + end


def amount(count: int, requirement: Requirement, units: str = "", *, decimals: int = 0, of: int = 1) -> str:
    """A reading or result as a number in the unit shown, with at least the limits' decimals, and as many as
    ``decimals`` if it was read finer."""
    unit = unit_shown(requirement, units)
    if unit == requirement.unit:
        return figures.text(count, requirement, decimals, of)
    places = max(decimals, _decimals_in(requirement, unit))
    return seen_as(count, unit, places, lower=requirement.lower, upper=requirement.upper, of=of)


def earlier(count: int, requirement: Requirement, units: str = "", *, of: int = 1) -> str:
    """A result of which only its value is known: in another unit as fine as its decimals in the row's own."""
    finely = as_fine(
        fewest_decimals(count, requirement.unit, of) or 0, requirement.unit, unit_shown(requirement, units)
    )
    return amount(count, requirement, units, decimals=finely, of=of)


def reading(kept: Reading, requirement: Requirement, units: str = "") -> str:
    """One reading: its number, or what was seen, with what it answers where that is not plain."""
    if kept.observed is not None:
        seen = word(f"bench.seen.{kept.observed.name.lower()}")
        return seen if kept.slot.role is Role.FINDING else f"{_role(kept.slot)} {seen}"
    finely = as_fine(kept.decimals, kept.unit, unit_shown(requirement, units)) if kept.decimals is not None else 0
    number = amount(kept.count or 0, requirement, units, decimals=finely)
    return f"{number} {_role(kept.slot)}" if kept.slot.role in (Role.ENTERS, Role.STOPS) else number


def _role(slot: Slot) -> str:
    return word(f"bench.role.{slot.role.name.lower()}")


def verdict(row: Characteristic, judgement: Judgement, missing: int, asked: int, units: str = "") -> str:
    """The word beside the mark; ``missing`` of ``asked`` slots are empty."""
    if judgement.verdict is Verdict.NOT_CONFORMING and judgement.out_by:
        return out_by(judgement.out_by, row.requirement, units)
    if judgement.verdict is Verdict.OPEN and 0 < missing < asked:
        return word("bench.mark.missing", n=missing, of=asked)
    if judgement.only_unproven:
        return word("bench.mark.unproven")
    if judgement.verdict in IN_DOUBT and judgement.rule == RuleKind.PROBABILITY.value and judgement.probability:
        return word("bench.mark.doubt", p=per_cent(judgement.probability).partition(".")[0])
    if judgement.verdict is Verdict.NOT_JUDGED and row.requirement.form is Form.REFERENCE:
        return word("bench.limits.reference")
    return word(f"bench.mark.{judgement.verdict.name.lower()}")


def out_by(by: int, requirement: Requirement, units: str = "") -> str:
    """How far a result is out, in the unit shown."""
    unit = unit_shown(requirement, units)
    if unit == requirement.unit:
        return figures.out_text(by, requirement, "en")
    said = written_out(abs(by), unit, _decimals_in(requirement, unit))
    return word("report.over" if by > 0 else "report.under", by=said.replace("0.", ".", 1) if unit == "in" else said)


def entry_unit(row: Characteristic, instrument: Instrument | None) -> str:
    """The unit that a number without one is read in: what the instrument in hand is set to."""
    if instrument is not None and instrument.quantity is row.requirement.kind:
        return instrument.unit
    return row.requirement.unit


def instrument_names(parts: tuple[Instrument, ...]) -> tuple[str, ...]:
    """A method's instruments by name, ever shorter: in full, without what follows a comma, with what it needs by tag
    only, all by tag. A narrow place shows the first that fits, so that none is cut."""
    if not parts:
        return (word("bench.instrument.none"),)
    short = [short_name(part) for part in parts]
    tags = [part.tag for part in parts]
    forms = ([part.name for part in parts], short, [short[0], *tags[1:]], [tags[0], *tags[1:]])
    return tuple(dict.fromkeys(" + ".join(form) for form in forms))


def short_name(instrument: Instrument) -> str:
    """An instrument's name without what follows a comma: its class, its graduation, what is in the set."""
    return instrument.name.split(", ")[0]


def slot_words(row: Characteristic, slot: Slot) -> str:
    """What a slot asks for, where the row (as it is measured on its piece) alone does not say: role, place, repeat:
    "left end, 2 of 3"."""
    said = [] if slot.role in (Role.VALUE, Role.FINDING) else [word(f"role.{slot.role.name.lower()}")]
    if slot.place:
        said.append(slot.place)
    if row.repeats > 1 and slot.role is Role.VALUE:
        said.append(word("bench.repeat", n=slot.repeat, of=row.repeats))
    return ", ".join(said)
