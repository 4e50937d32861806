"""``tenthwright compare``: two sheets of a part side by side."""

from __future__ import annotations

from argparse import Namespace
from typing import Any

from app.command.lists import with_list
from app.command.outcome import Answer
from app.command.sheets import opened, sheet_asked, sheet_named
from app.command.table import table
from app.command.world import World
from app.jobs.comparing import compare, heads, listing, sheet_before, title
from inspection.words.say import word
from storage.csv_cells import number_text


def compare_sheets(options: Namespace, world: World) -> Answer:
    """Tell row by row what two sheets came to and what is not as it was; write it to a file where one is named."""
    with opened(options, world, only_read=True) as hand:
        one = sheet_asked(options, hand)
        other = sheet_named(options.beside, hand) if options.beside else sheet_before(hand.book, one)
        found, shop = compare(hand.book, one, other), hand.book.shop()
    told = listing(found, shop, changed=options.changed)
    data: dict[str, Any] = {
        "done": True,
        "earlier": found.earlier.identity,
        "later": found.later.identity,
        "about": list(found.about),
        "rows": [
            {**line.texts, "difference": number_text(line.texts["difference"]), "changed": line.changed}
            for line in found.lines
            if line.changed or not options.changed
        ],
    }
    count = word("beside.count", n=found.changed, of=len(found.lines))
    lines = (title(found), *found.about, "", *table(heads(found), told.rows), "", count)
    return with_list(options, Answer(lines, data), told)
