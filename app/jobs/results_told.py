"""The results of a row in time as a table, alike in the window and on the command line."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from inspection.drawing.plan import Plan
from inspection.drawing.requirement import Requirement
from inspection.measuring.verdict import Verdict
from inspection.sheet.figures import between, limits, number, uncertainty
from inspection.sheet.state import Shop
from inspection.studies.history import Series
from inspection.studies.history_told import finest
from inspection.words.say import word

#: The columns of the table, each with its word ``history.head.…``.
COLUMNS = ("day", "serial", "revision", "limits", "result", "came_to", "by", "instrument", "u")


def heads() -> tuple[str, ...]:
    """The heads of the columns."""
    return tuple(word(f"history.head.{'reader' if name == 'by' else name}") for name in COLUMNS)


def told(series: Series, plans: Mapping[str, Plan], shop: Shop) -> list[dict[str, str]]:
    """Every result by column (``COLUMNS``), oldest first: with the limits as they were then, to the decimals of the
    finest."""
    places, found = finest(series), []
    word_of = {each: word(f"verdict.{each.name.lower()}") for each in Verdict}
    about_of: dict[str, str] = {}  # by plan issue: a row is one in each
    doubt_of = cache(lambda expanded, unit: f"{uncertainty(expanded, unit)} {unit}")
    for result, then in zip(series.results, series.then, strict=True):
        plan, asked = plans.get(result.plan), (then or series.row).requirement
        ends = dict.fromkeys(end for end in (result.smallest, result.largest) if end is not None)
        person, held = shop.people.get(result.by), shop.crib.get(result.instrument)
        texts = (
            result.day,
            result.serial,
            plan.part.revision if plan is not None else "",
            about_of.get(result.plan) or about_of.setdefault(result.plan, _limits(asked)),
            " … ".join(number(end, asked, places, result.of) for end in ends),
            word_of[result.verdict],
            person.name if person is not None else result.by,
            held.tag if held is not None else "",
            doubt_of(result.expanded, asked.unit) if result.expanded else "",
        )
        found.append(dict(zip(COLUMNS, texts, strict=True)))
    return found


def _limits(asked: Requirement) -> str:
    about = between(*limits(asked))
    return f"{about} {asked.unit}" if about else ""
