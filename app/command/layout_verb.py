"""``tenthwright layout``: customers' layouts shown, proposed for a blank workbook, corrected, kept, written out."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from msgspec import to_builtins
from msgspec.structs import replace

from app.command.outcome import Answer
from app.command.sheets import acting, opened
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.customer_form import Proposed, correct, issue_layout, looked_through, propose_layout, workbook_of
from app.jobs.hand import Hand
from inspection.layout.as_written import lines_of
from inspection.layout.layout import Layout, check_layout
from inspection.reasons import Reason, Refused
from inspection.words.say import say, word


def layout(options: Namespace, world: World) -> Answer:
    """Show, propose, correct, keep or write out a customer's layout."""
    corrections = [plain_text(each) for each in options.set]
    if options.file is None and not corrections and not options.out:
        with opened(options, world, only_read=True) as hand:
            return _all(list(hand.book.shop().layouts.values()))
    if options.file is not None and not options.keep:
        return _told(correct(_from_file(options), corrections), word_of="proposed")
    with opened(options, world, only_read=bool(options.out)) as hand:
        if options.out:
            return _written_out(options, hand)
        acting(options, hand)
        proposed = correct(_from_file(options) if options.file is not None else _kept(options, hand), corrections)
        kept = replace(proposed, layout=issue_layout(hand, proposed))
    return _told(kept, word_of="kept")


def _from_file(options: Namespace) -> Proposed:
    path = Path(options.file)
    customer, name = plain_text(options.customer), plain_text(options.name)
    if path.suffix.casefold() == ".json":
        from storage.dispatch.customer_form.layout_file import read_layout
        from storage.files import read_file

        found, workbook = read_layout(read_file(path))
        found = replace(found, customer=customer or found.customer, name=name or found.name)
        return Proposed(found, workbook)
    if not customer:
        raise Refused(Reason("command.layout.customer_needed"))
    return propose_layout(path, customer, name)


def _named(options: Namespace, hand: Hand) -> Layout:
    """The kept layout that was named. Raises Refused, naming those there are."""
    from inspection.instruments.rules import plain_customer

    held = list(hand.book.shop().layouts.values())
    customer, name = plain_customer(plain_text(options.customer)), plain_text(options.name).casefold()
    found = [
        each
        for each in held
        if (not customer or plain_customer(each.customer) == customer) and (not name or each.name.casefold() == name)
    ]
    if len(found) != 1:
        names = "; ".join(f"{each.customer}: {each.name}" for each in held) or "-"
        raise Refused(Reason("command.layout.unknown", {"names": names}))
    return found[0]


def _kept(options: Namespace, hand: Hand) -> Proposed:
    found = _named(options, hand)
    return Proposed(found, workbook_of(hand.book, found))


def _written_out(options: Namespace, hand: Hand) -> Answer:
    from storage.dispatch.customer_form.layout_file import write_layout
    from storage.files import write_file

    found, path = _named(options, hand), Path(options.out).absolute()
    digest = write_file(path, write_layout(found, workbook_of(hand.book, found)))
    said = word("command.layout.written", name=found.name, customer=found.customer, issue=found.issue, file=str(path))
    return Answer((said,), {"done": True, "file": str(path), "digest": digest})


def _all(layouts: Sequence[Layout]) -> Answer:
    heads = [word(f"command.layout.head.{head}") for head in ("customer", "layout", "issue", "form")]
    rows = [[each.customer, each.name, str(each.issue), each.workbook.name] for each in layouts]
    lines = table(heads, rows) if rows else [word("command.layout.empty")]
    return Answer(tuple(lines), {"done": True, "layouts": [_data(each) for each in layouts]})


def _told(proposed: Proposed, *, word_of: str) -> Answer:
    told = proposed.layout
    check_layout(told)
    notices = looked_through(proposed)
    if word_of == "kept":
        said = word("command.layout.kept", name=told.name, customer=told.customer, issue=told.issue)
    else:
        said = word("command.layout.proposed", customer=told.customer)
    heads = [word(f"command.layout.head.{head}") for head in ("name", "place", "value")]
    lines = [said, "", *table(heads, list(_rows(told))), *map(say, notices)]
    data = {"done": True, "layout": _data(told), "notices": [{"code": one.code, "text": say(one)} for one in notices]}
    return Answer(tuple(lines), data)


def _rows(told: Layout) -> Iterator[list[str]]:
    for name, value, field in lines_of(told):
        yield [name, value, word(f"layout.field.{field}") if field else ""]


def _data(told: Layout) -> Any:
    return to_builtins(told)
