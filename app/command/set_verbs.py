"""``tenthwright blocks`` and ``pins``: what the shop's own sets hold for a size or a bore."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Sequence
from typing import Any

from app.command.outcome import Answer, Exit
from app.command.sheets import opened, sheet_asked
from app.command.table import table
from app.command.world import World, plain_text
from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.instruments.blocks import Stack, Stacking, stacking_reasons
from inspection.instruments.blocks_at_hand import sets_at_hand, stack_at_hand, told_unit
from inspection.instruments.blocks_grades import doubt_reasons, stack_expanded
from inspection.instruments.pins_at_hand import (
    Bore,
    Offered,
    bore_of,
    limits_told,
    none_reason,
    pairs_at_hand,
    pin_sets,
)
from inspection.instruments.ratios import spoken
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.spelling import Piece, read_amount, read_span
from inspection.instruments.stepping import marked
from inspection.quantity.reader import read
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Reason, Refused
from inspection.sheet.pull_list import minds_of
from inspection.sheet.state import Sheet, Shop, family
from inspection.words.say import part_text, say, word

#: A limit that is left open.
OPEN = "-"


def _named(shop: Shop, tags: Sequence[str], kind: InstrumentKind) -> tuple[Instrument, ...]:
    """The instruments of these tags. Raises Refused, naming the sets there are."""
    found = {tag: shop.by_tag(plain_text(tag)) for tag in tags}
    unknown = [tag for tag, one in found.items() if one is None]
    there = ", ".join(sorted(one.tag for one in shop.crib.values() if one.kind is kind)) or word("command.no_sets")
    if unknown:
        raise Refused(*(Reason("command.set_unknown", {"tag": plain_text(tag)[:60], "tags": there}) for tag in unknown))
    return tuple(one for one in found.values() if one is not None)


# --- blocks -----------------------------------------------------------------------------------------------------


def blocks(options: Namespace, world: World) -> Answer:
    """Show the stack that builds a size; where there is none, what is left over and the nearest."""
    with opened(options, world, only_read=True) as hand:
        shop, day = hand.book.shop(), hand.foreseen.moment_ahead().day
    named = _named(shop, options.set, InstrumentKind.GAUGE_BLOCKS)
    asked = read(plain_text(options.size), unit=named[0].unit if named else "in", kind=Kind.LENGTH)
    sets = named or sets_at_hand(shop.crib.values(), day, asked.unit)
    found = stack_at_hand(sets, asked.count, _system(asked.unit), wear=options.wear)
    unit = told_unit(found, sets, asked.unit)
    lines = [say(reason) for reason in stacking_reasons(found, unit)]
    if found.stack is not None:
        lines += ["", *_stack_table(found.stack, sets, unit), "", *map(say, doubt_reasons(found.stack, sets))]
    lines += [say(mind) for one in _used(found, sets) for mind in minds_of(one, day, shop.used_up)]
    return Answer(tuple(lines), _data(found, sets), Exit.DONE if found.stack else Exit.NOT_CONFORMING)


def _system(unit: str) -> str:
    """The unit of the sets that a size of this unit is built from first."""
    return "mm" if unit in ("mm", "cm", "m", "µm") else "in"


def _used(found: Stacking, sets: Iterable[Instrument]) -> list[Instrument]:
    """The sets that blocks are taken from."""
    stacks = filter(None, (found.stack, found.below, found.above))
    taken = {block.instrument for stack in stacks for block in stack.blocks}
    return [one for one in sets if one.identity in taken]


def _stack_table(stack: Stack, sets: Iterable[Instrument], unit: str) -> list[str]:
    by_identity = {one.identity: one for one in sets}
    heads = [word(f"blocks.head.{head}") for head in ("block", "label", "set", "place")]
    rows = []
    for block in stack.blocks:
        held = by_identity[block.instrument]
        size = part_text(Amount(block.size, Kind.LENGTH, unit))
        rows.append([size, block.label, held.tag, held.holder or held.place])
    return table(heads, rows)


def _data(found: Stacking, sets: Sequence[Instrument]) -> dict[str, Any]:
    tags = {one.identity: one.tag for one in sets}
    told = {"stack": found.stack, "below": found.below, "above": found.above}
    stacks = {name: _stack_data(stack, tags, sets) if stack else None for name, stack in told.items()}
    return {"done": True, "size": found.wanted, "short": found.short, "over": found.over, **stacks}


def _stack_data(stack: Stack, tags: dict[str, str], sets: Sequence[Instrument]) -> dict[str, Any]:
    made = [{"size": each.size, "label": each.label, "set": tags[each.instrument]} for each in stack.blocks]
    expanded = stack_expanded(stack, sets)
    return {"size": stack.size, "blocks": made, "expanded": expanded.count if expanded else None}


# --- pins -------------------------------------------------------------------------------------------------------


def pins(options: Namespace, world: World) -> Answer:
    """Show the sets of pins that hold GO and NO-GO for a bore, and what to take to size it."""
    with opened(options, world, only_read=True) as hand:
        shop, day = hand.book.shop(), hand.foreseen.moment_ahead().day
        sheet = hand.book.sheet(sheet_asked(options, hand)) if options.upper is None else None
    row = _row(sheet, plain_text(options.lower)) if sheet is not None else None
    bore = (
        bore_of(row.requirement) if row is not None else _limits(plain_text(options.lower), plain_text(options.upper))
    )
    sets = _named(shop, options.set, InstrumentKind.GAUGE_PINS) or pin_sets(shop.crib.values(), day)
    if not sets:
        raise Refused(Reason("pins.no_sets"))
    found = pairs_at_hand(sets, bore)
    if not found:
        raise Refused(none_reason(bore, ", ".join(one.tag for one in sets)))
    lines = [_title(bore, row), "", *_pin_table(found)]
    minds = [say(mind) for one in found for mind in minds_of(one.instrument, day, shop.used_up)]
    data = {"done": True, "lower": bore.lower, "upper": bore.upper, "sets": [_offered(one) for one in found]}
    return Answer((*lines, *(["", *minds] if minds else [])), data)


def _row(sheet: Sheet, number: str) -> Characteristic:
    """The bore of this balloon number; one place of a count stands for all. Raises Refused."""
    rows = sheet.plan.characteristics
    found = next((row for row in rows if row.number == number), None)
    found = found or next((row for row in rows if family(row) == number), None)
    if found is None:
        raise Refused(Reason("command.pins.no_such_row", {"number": number[:60]}))
    limits = (found.requirement.lower, found.requirement.upper)
    if found.kind is not FeatureKind.BORE or limits == (None, None):
        raise Refused(Reason("command.pins.no_bore", {"number": found.number}))
    return found


def _limits(lower: str, upper: str) -> Bore:
    """A bore of these limits, one of which may be open; a unit behind one holds for both. Raises Refused."""
    if lower == upper == OPEN:
        raise Refused(Reason("command.pins.both_open"))
    if OPEN in (lower, upper):
        one = read_amount(Piece(upper if lower == OPEN else lower), "in")
        return Bore(None, one.count, one.unit) if lower == OPEN else Bore(one.count, None, one.unit)
    span = read_span(Piece(f"{lower} … {upper}"), "in")
    return Bore(span.low, span.high, span.unit, span.high - span.low)


def _title(bore: Bore, row: Characteristic | None) -> str:
    given = limits_told(bore)
    code = "pins.bore" if row is None else "pins.row"
    told = code if len(given) > 1 else f"{code}_{next(iter(given))}"
    of = {"number": row.number, "requirement": row.requirement.written} if row is not None else {}
    return say(Reason(told, {**of, **given}))


def _pin_table(found: Iterable[Offered]) -> list[str]:
    heads = ("set", "class", "go", "no_go", "ratio", "take", "place")
    return table([word(f"pins.head.{head}") for head in heads], [_cells(one) for one in found])


def _cells(one: Offered) -> list[str]:
    held = one.instrument
    go, no_go = (_size(held, gauge.size) if gauge else "" for gauge in (one.pair.go, one.pair.no_go))
    direction = held.direction.value if held.direction else ""
    ratio = spoken(one.share) if one.share is not None else ""
    first, last = (_size(held, one.take[end].size) for end in (0, -1)) if one.take else ("", "")
    take = word("pins.run", first=first, last=last) if first != last else first
    return [held.tag, f"{held.gauge_class} {direction}".strip(), go, no_go, ratio, take, held.holder or held.place]


def _size(held: Instrument, size: int) -> str:
    return part_text(marked(held, size))


def _offered(one: Offered) -> dict[str, Any]:
    go, no_go = (gauge.size if gauge else None for gauge in (one.pair.go, one.pair.no_go))
    taken = [gauge.size for gauge in one.take]
    return {"set": one.instrument.tag, "go": go, "no_go": no_go, "ratio_hundredths": one.share, "take": taken}
