"""What to take out of a set: the stack of blocks for a size, the pins for a bore; shown until it is enough."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.instruments.blocks import Stack, has_wear, stacking_reasons
from inspection.instruments.blocks_at_hand import stack_at_hand, with_wear_boxes
from inspection.instruments.blocks_grades import doubt_reasons
from inspection.instruments.pins_at_hand import bore_asked, pair_reasons
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.spelling import Piece, read_amount
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Refused
from inspection.words.say import part_text, say, word

#: What may be typed, by the unit of the set.
SIZES = {"in": "1.2345", "mm": "37.528"}
BORES = {"in": ".1360 +.004/-.001", "mm": "6 H7"}


class Found(NamedTuple):
    """What came of a question: a heading, what is said below it, and the members one by one with what is said of it."""

    title: str
    text: str = ""
    rows: tuple[tuple[str, str], ...] = ()


Finds = Callable[[dict[str, str]], Found]
"""Finds the answer to what was typed. Raises Refused where it cannot be read or had."""


def ask_out_of_set(parent: QWidget, instrument: Instrument, crib: Iterable[Instrument]) -> bool:
    """Ask for sizes and show what the set holds for each; False for an instrument that is no such set."""
    if instrument.kind is InstrumentKind.GAUGE_BLOCKS:
        sets = with_wear_boxes(instrument, crib)
        _ask_on(parent, _blocks_question(instrument, sets), lambda answer: _stack(answer, instrument, sets))
    elif instrument.kind is InstrumentKind.GAUGE_PINS:
        _ask_on(parent, _pins_question(instrument), lambda answer: _pins(answer, instrument))
    else:
        return False
    return True


def _ask_on(parent: QWidget, question: Question, find: Finds) -> None:
    """Ask, show, and ask again for as long as another is wanted; what was typed last stands in the field."""
    question = question._replace(check=lambda answer: _fault(find, answer))
    while (answer := ask(parent, question)) is not None:
        found = find(answer)
        told = Question(found.title, found.text, rows=found.rows)
        told = told._replace(yes=word("crib.out_of_set.another"), no=words.word("button.close"))
        if ask(parent, told) is None:
            return
        fields = tuple(each._replace(value=answer[each.name]) for each in question.fields)
        question = question._replace(fields=fields)


def _fault(find: Finds, answer: dict[str, str]) -> str:
    try:
        find(answer)
    except Refused as refused:
        return " ".join(say(reason) for reason in refused.reasons)
    return ""


# --- blocks -----------------------------------------------------------------------------------------------------


def _blocks_question(instrument: Instrument, sets: tuple[Instrument, ...]) -> Question:
    unit = instrument.unit
    fields = [Field("size", word("crib.blocks.size", unit=unit))]
    if has_wear(sets):
        choices = tuple((name, word(f"crib.blocks.wear.{name}")) for name in ("no", "yes"))
        fields.append(Field("wear", word("crib.blocks.wear"), Sort.CHOICE, "no", choices))
    text = word("crib.blocks.text", example=SIZES.get(unit, SIZES["mm"]))
    return _question(word("crib.blocks.title", tag=instrument.tag), text, fields)


def _stack(answer: dict[str, str], instrument: Instrument, sets: tuple[Instrument, ...]) -> Found:
    size = read_amount(Piece(answer["size"]).cut(0), instrument.unit).count
    found = stack_at_hand(sets, size, instrument.unit, wear=answer.get("wear") == "yes")
    title, *more = (say(reason) for reason in stacking_reasons(found, instrument.unit))
    if found.stack is None:
        return Found(title, "\n".join(more))
    doubt = "\n".join(say(reason) for reason in doubt_reasons(found.stack, sets))
    return Found(title, doubt, _block_rows(found.stack, sets, instrument.unit))


def _block_rows(stack: Stack, sets: tuple[Instrument, ...], unit: str) -> tuple[tuple[str, str], ...]:
    """Block by block, with its label and, where there are several sets, its own."""
    tags = {each.identity: each.tag for each in sets}
    several = len({block.instrument for block in stack.blocks}) > 1
    rows = [
        (_size(block.size, unit), ", ".join(filter(None, (block.label, tags[block.instrument] if several else ""))))
        for block in stack.blocks
    ]
    return tuple(rows) if len(rows) > 1 else ()


def _size(size: int, unit: str) -> str:
    return part_text(Amount(size, Kind.LENGTH, unit))


# --- pins -------------------------------------------------------------------------------------------------------


def _pins_question(instrument: Instrument) -> Question:
    text = word("crib.pins.text", example=BORES.get(instrument.unit, BORES["mm"]))
    fields = [Field("bore", word("crib.pins.bore", unit=instrument.unit))]
    return _question(word("crib.pins.title", tag=instrument.tag), text, fields)


def _pins(answer: dict[str, str], instrument: Instrument) -> Found:
    title, *more = (say(reason) for reason in pair_reasons(instrument, bore_asked(answer["bore"], instrument.unit)))
    return Found(title, "\n".join(more))


def _question(title: str, text: str, fields: list[Field]) -> Question:
    return Question(title, text, tuple(fields), word("crib.out_of_set.show"), words.word("button.close"))
