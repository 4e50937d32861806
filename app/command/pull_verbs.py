"""``tenthwright pull-list``."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from msgspec import to_builtins

from app.command.outcome import Answer
from app.command.sheets import acting, opened, sheet_asked
from app.command.table import table
from app.command.world import World
from inspection.sheet.pull_page import PullPage
from inspection.words.say import word

FETCH = ("order", "tag", "instrument", "place", "due", "sizes", "rows")
TAKE = ("tag", "take", "made", "used", "doubt")
ROUTE = ("order", "set_up", "instrument", "rows")


def pull_list(options: Namespace, world: World) -> Answer:
    """Show what to fetch from the crib and the route, or write the page that goes with the set-up sheet."""
    from app.jobs.pulling import pull_of, write_pull
    from app.jobs.sending import PAPERS

    with opened(options, world, only_read=options.to is None) as hand:
        sheet = sheet_asked(options, hand)
        page = pull_of(hand, sheet)
        data: dict[str, Any] = {"done": True, "sheet": sheet}
        data |= to_builtins({"pulls": page.pulls, "route": page.legs, "lacks": page.lacks})
        if options.to is None:
            return Answer(tuple(_lines(page)), data)
        acting(options, hand)
        path = Path(options.to).absolute()
        digest = write_pull(hand, sheet, path, paper=PAPERS[options.paper])
    told = word("command.export.done", file=str(path), digest=digest)
    return Answer((told,), {**data, "file": str(path), "digest": digest})


def _lines(page: PullPage) -> list[str]:
    pulls = [
        [one.stops, one.tag, one.instrument, one.place, one.due, "; ".join(one.sizes), one.rows] for one in page.pulls
    ]
    taken = [[one.tag, take.size, take.made, take.used, take.doubt] for one in page.pulls for take in one.takes]
    legs = [[one.order, one.set_up, one.instrument, one.rows] for one in page.legs]
    lines = [page.labels["section.fetch"], "", *table([page.labels[f"label.{code}"] for code in FETCH], pulls)]
    if taken:
        lines += ["", page.labels["section.take"], "", *table([page.labels[f"label.{code}"] for code in TAKE], taken)]
    lines += ["", page.labels["section.route"], "", *table([page.labels[f"label.{code}"] for code in ROUTE], legs)]
    minds = [*(mind for one in page.pulls for mind in one.minds), *page.lacks]
    return lines + (["", *minds] if minds else [])
