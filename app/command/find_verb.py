"""``tenthwright find``, and parts and days as the command line names them."""

from __future__ import annotations

from argparse import Namespace
from datetime import date
from typing import Any

from msgspec.structs import replace

from app.command.asked import instrument_asked
from app.command.book_verbs import listed_sheets
from app.command.lists import with_list
from app.command.outcome import Answer
from app.command.sheets import opened
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.finding import FIELDS, names_of, told, unknown_field, wanted_by
from app.jobs.hand import Hand, person_named
from inspection.reasons import Reason, Refused
from inspection.words.say import word
from storage.book.queries.found_sheets import Came, Wanted
from storage.book.queries.parts import list_parts, part_of_number

#: Options of ``find`` that look for a piece of text, as fields of ``Wanted``.
TEXTS = ("revision", "serial", "lot", "heat", "customer", "order", "nonconformance")


def find(options: Namespace, world: World) -> Answer:
    """List the sheets for which everything named holds, the newest first."""
    since, until = day_asked("--since", options.since), day_asked("--until", options.until)
    texts: dict[str, Any] = {name: plain_text(getattr(options, name)) for name in TEXTS}
    with opened(options, world, only_read=True) as hand:
        within = Wanted(
            part=part_asked(hand, options.part) if options.part else "",
            person=_person(hand, options.by) if options.by else "",
            instrument=instrument_asked(hand, options.using).identity if options.using else "",
            verdict=Came(options.verdict.replace("-", "_")) if options.verdict else None,
            since=since,
            until=until,
        )
        shop, line = hand.book.shop(), " ".join(map(_one_piece, options.text))
        wanted = wanted_by(line, shop, replace(within, **texts))
        names, rows, data = listed_sheets(hand, wanted)
    heads = tuple(word(f"command.head.{name}") for name in names)
    lines = table(heads, rows) if rows else _nothing(wanted.text)
    answer = Answer(tuple(lines), {"done": True, "sheets": data})
    if not options.to:
        return answer
    from storage.dispatch.listing import Listing

    about = (", ".join(told(wanted, shop)),)
    return with_list(options, answer, Listing(word("find.list"), heads, tuple(map(tuple, rows)), about, shop=shop.name))


def _nothing(words: str) -> list[str]:
    """That nothing was found, and what of it may have been meant as a field."""
    said, name = [word("command.nothing_found")], unknown_field(words)
    if name:
        fields = ", ".join(f"{names_of(field)[0]}:" for field in FIELDS)
        said.append(word("command.nothing_found.field", name=name, fields=fields))
    return said


def _one_piece(text: str) -> str:
    """An argument as a piece of the line: what a shell took the quotes of gets them again."""
    text = plain_text(text)
    name, colon, rest = text.partition(":")
    return f'{name}:"{rest}"' if colon and " " in rest and '"' not in rest and " " not in name else text


def day_asked(option: str, text: str) -> str:
    """A day (ISO) of an option, or nothing. Raises Refused."""
    wanted = plain_text(text).strip()
    try:
        return date.fromisoformat(wanted).isoformat() if wanted else ""
    except ValueError:
        raise Refused(Reason("command.day_unknown", {"option": option, "text": wanted[:60]})) from None


def _person(hand: Hand, name: str) -> str:
    return person_named(hand.book.shop(), plain_text(name))


def part_asked(hand: Hand, wanted: str) -> str:
    """The identity of the part of this number, in any case. Raises Refused, naming those whose number is alike."""
    text = plain_text(wanted).strip()
    found = hand.book.ask(part_of_number, text)
    if found:
        return found
    alike = hand.book.ask(list_parts, limit=5, like=text) if text else []
    same = [one.part for one in alike if one.number.casefold() == text.casefold()]
    if same:
        return same[0]
    if alike:
        near = ", ".join(one.number for one in alike)
        raise Refused(Reason("command.part_near", {"part": text[:60], "near": near}))
    raise Refused(Reason("command.part_unknown", {"part": text[:60]}))
