"""``tenthwright new`` and ``tenthwright list``."""

from __future__ import annotations

from argparse import Namespace
from collections import Counter
from collections.abc import Sequence

import msgspec

from app.command.outcome import Answer
from app.command.sheets import MOST_SHEETS, book_path, opened
from app.command.table import table
from app.command.world import World, passphrase, plain_text
from app.jobs.hand import Hand
from inspection.sheet.report_number import SHORT
from inspection.words.say import word
from storage.book.queries.found_sheets import FoundSheet, State, Wanted, found_sheets
from storage.book.queries.nonconformances import nonconformances
from storage.book.queries.parts import list_parts


def new(options: Namespace, world: World) -> Answer:
    """Make a book with its shop and first person. The passphrase is asked for before anything is written."""
    from app.jobs.opening_shop import open_shop
    from storage.book.failures import failure

    path, shop, person = book_path(options), plain_text(options.shop), plain_text(options.person)
    if path.exists():
        raise failure("book.exists", path)
    secret = passphrase(world, options.passphrase_file, person, twice=True)
    with Hand.new(path, world.clock, world.identities) as hand:
        try:
            entered = open_shop(hand, shop=shop, person=person, passphrase=secret, starter_crib=options.starter_crib)
        except BaseException:
            hand.book.close()
            path.unlink()  # made a moment ago, and nobody's yet
            raise
        name = hand.book.shop().name
    lines = [word("command.new.done", book=str(path), shop=name, person=person)]
    if entered:
        lines.append(word("command.new.crib", n=entered))
    data = {"done": True, "book": str(path), "shop": name, "person": person, "instruments": entered}
    return Answer(tuple(lines), data)


def list_things(options: Namespace, world: World) -> Answer:
    """List what the book holds."""
    return listed(options, world, options.what)


def listed(options: Namespace, world: World, what: str) -> Answer:
    """The list of all sheets, parts, people or instruments of the book."""
    with opened(options, world, only_read=True) as hand:
        heads, rows, data = _LISTS[what](hand)
    titles = [word(f"command.head.{head}") for head in heads]
    lines = table(titles, rows) if rows else [word("command.nothing_listed")]
    return Answer(tuple(lines), {"done": True, what: data})


Listed = tuple[Sequence[str], list[list[str]], object]


def _sheets(hand: Hand) -> Listed:
    return listed_sheets(hand, Wanted())


def listed_sheets(hand: Hand, wanted: Wanted) -> Listed:
    """The sheets that are wanted as a list: heads, rows, and the same for scripts."""
    found = hand.book.ask(found_sheets, wanted, limit=MOST_SHEETS)
    undecided = Counter(one.sheet for one in hand.book.ask(nonconformances, limit=MOST_SHEETS) if one.waits)
    rows = [
        [
            one.sheet[:SHORT],
            one.number,
            one.revision,
            one.name,
            ", ".join(one.serials),
            one.day,
            _state(each, undecided[one.sheet]),
        ]
        for each in found
        for one in (each.listed,)
    ]
    data = [
        {
            **msgspec.to_builtins(each.listed),
            "stage": each.state.value,
            "first_article": each.first_article.value if each.first_article else "",
            "nonconformances_open": undecided[each.listed.sheet],
        }
        for each in found
    ]
    return ("sheet", "part", "revision", "name", "pieces", "day", "state"), rows, data


#: How a list names the state of a sheet.
_STAGES = {State.SIGNED: "signed", State.APPROVED: "approved", State.RELEASED: "released"}


def _state(found: FoundSheet, undecided: int) -> str:
    one = found.listed
    counts = {
        "open": one.open,
        "not_conforming": one.not_conforming,
        "in_doubt": one.in_doubt,
        "marginal": one.marginal,
        "questions": one.questions,
        "undecided": undecided,
    }
    stage = word(f"command.state.{_STAGES.get(found.state, 'unsigned')}", round=one.round)
    article = [word(f"statement.{found.first_article.name.lower()}")] if found.first_article else []
    told = [word(f"command.state.{name}", n=n) for name, n in counts.items() if n]
    return ", ".join([stage, *article, *told])


def _parts(hand: Hand) -> Listed:
    found = hand.book.ask(list_parts, limit=MOST_SHEETS)
    rows = [[one.number, one.revision, one.name, str(one.issue), str(one.rows)] for one in found]
    return ("part", "revision", "name", "issue", "rows"), rows, msgspec.to_builtins(found)


def _people(hand: Hand) -> Listed:
    from app.command.person_verb import good_until

    found = sorted(hand.book.shop().people.values(), key=lambda person: person.name)
    rows = [[person.name, ", ".join(person.duties), good_until(person)] for person in found]
    data = [
        {
            "identity": p.identity,
            "name": p.name,
            "duties": list(p.duties),
            "key": bool(p.locked_key),
            "good_until": good_until(p),
        }
        for p in found
    ]
    return ("person", "duties", "good_until"), rows, data


def _instruments(hand: Hand) -> Listed:
    found = sorted(hand.book.shop().crib.values(), key=lambda one: one.tag)
    rows = [[one.tag, one.kind, one.name, one.due, one.standing] for one in found]
    return ("tag", "kind", "name", "due", "standing"), rows, msgspec.to_builtins(found)


_LISTS = {"sheets": _sheets, "parts": _parts, "people": _people, "instruments": _instruments}
