"""``tenthwright history``: how the rows of a part came out in time."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import to_builtins

from app.command.asked import row_of
from app.command.find_verb import part_asked
from app.command.lists import with_list
from app.command.outcome import Answer
from app.command.sheets import opened, row_limits
from app.command.table import table
from app.command.world import World, plain_text
from app.jobs.hand import Hand
from app.jobs.looking_back import RowTold, index_text, part_listing, part_series, row_listing, row_series, row_told
from inspection.reasons import Reason
from inspection.sheet.figures import between
from inspection.studies.history import Series, worst_first
from inspection.studies.history_told import INDICES, StatedGroup, StatedSeries, findings, stated
from inspection.words.say import say, word

#: What is listed of each result; who read it and with what stand together.
COLUMNS = ("day", "serial", "revision", "limits", "result", "came_to", "by")


def history(options: Namespace, world: World) -> Answer:
    """Tell how a part's rows came out in time, the worst first; of one row every result and what they come to."""
    with opened(options, world, only_read=True) as hand:
        part = part_asked(hand, options.part)
        if options.number is None:
            return _of_part(options, hand, part)
        return _of_row(options, hand, part, plain_text(options.number).strip())


def _of_part(options: Namespace, hand: Hand, part: str) -> Answer:
    found = worst_first(part_series(hand.book, part))
    shop = hand.book.shop()
    listing = part_listing(found, _number(hand, part), shop)
    lines = table(listing.heads, listing.rows)
    people = {one.identity: one.name for one in shop.people.values()}
    data = [_data(each, stated(each), findings(each, people, shop.crib)) for each in found]
    answer = Answer((*lines, "", *listing.about, word("history.more")), {"done": True, "part": part, "rows": data})
    return with_list(options, answer, listing)


def _number(hand: Hand, part: str) -> str:
    """How a part is called."""
    return max(hand.book.plans_of(part).values(), key=lambda plan: plan.issue).part.number


def _of_row(options: Namespace, hand: Hand, part: str, wanted: str) -> Answer:
    newest = max(hand.book.plans_of(part).values(), key=lambda plan: plan.issue)
    row = row_of(newest, wanted)
    series = row_series(hand.book, part, row.identity)
    numbers, told = stated(series), row_told(series, hand.book.plans_of(part), hand.book.shop())
    said = {"number": row.number, "written": row.requirement.written}
    about = row_limits(row)
    title = word("history.title", **said, limits=about) if about else word("history.title_alone", **said)
    results = _results(series, told)
    heads = [word(f"history.head.{name}") for name in COLUMNS]
    listed = table(heads, [_listed(each) for each in results]) if results else []
    figures = _figures(series, numbers)
    groups = [line for what, each in told.groups.items() if each for line in ("", *_group(what, each))]
    lines = (title, "", *listed, *([""] if listed else []), *figures, *groups, *([""] if figures else []))
    data = {**_data(series, numbers, told.findings), "groups": to_builtins(told.groups), "listed": results}
    answer = Answer((*lines, *map(say, told.findings)), {"done": True, "part": part, **data})
    return with_list(options, answer, row_listing(series, told, newest.part.number, hand.book.shop()))


def _group(what: str, groups: Sequence[StatedGroup]) -> list[str]:
    heads = [word(f"history.groups.{what}"), *(word(f"history.head.{name}") for name in ("n", "mean", "s"))]
    return table(heads, [[each.name, str(each.n), each.mean, each.deviation] for each in groups])


def _results(series: Series, told: RowTold) -> list[dict[str, Any]]:
    return [
        {
            **line,
            "sheet": result.sheet,
            "unit": (then or series.row).requirement.unit,
            "verdict": result.verdict.value,
        }
        for line, result, then in zip(told.lines, series.results, series.then, strict=True)
    ]


def _listed(each: dict[str, Any]) -> list[str]:
    by = " ".join(filter(None, (each["by"], each["instrument"])))
    return [by if name == "by" else each[name] for name in COLUMNS]


def _figures(series: Series, numbers: StatedSeries) -> list[str]:
    rows = [
        ["n", str(numbers.n)],
        ["mean", numbers.mean],
        ["s", numbers.deviation],
        ["chart", between(numbers.chart_lower, numbers.chart_upper)],
        *([name, index_text(numbers, name)] for name in INDICES),
    ]
    told = [[word(f"history.figure.{name}"), value] for name, value in rows if value]
    heads = [word("history.head.figure"), word("history.head.value", unit=numbers.unit)]
    return table(heads, told) if series.values else []


def _data(series: Series, numbers: StatedSeries, said: Iterable[Reason]) -> dict[str, Any]:
    return {
        "number": series.row.number,
        "requirement": series.row.requirement.written,
        "limits": row_limits(series.row),
        **to_builtins(numbers),
        "findings": [{"code": each.code, "text": say(each)} for each in said],
    }
