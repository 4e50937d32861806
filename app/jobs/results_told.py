"""The results of a row in time as a table, alike in the window and on the command line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import overload

from inspection.drawing.plan import Plan
from inspection.drawing.requirement import Requirement
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


class ToldResults(Sequence[Mapping[str, str]]):
    """Every result of a row by column (``COLUMNS``), oldest first: with the limits as they were then, to the decimals
    of the finest. Each is put in words when it is asked for: one is looked at, thousands are not."""

    def __init__(self, series: Series, plans: Mapping[str, Plan], shop: Shop) -> None:
        self._series, self._plans, self._shop = series, plans, shop
        self._limits: dict[str, str] = {}  # by plan issue: a row is one in each

    @cached_property
    def _places(self) -> int:
        return finest(self._series)

    def __len__(self) -> int:
        return len(self._series.results)

    @overload
    def __getitem__(self, place: int) -> Mapping[str, str]: ...
    @overload
    def __getitem__(self, place: slice) -> Sequence[Mapping[str, str]]: ...
    def __getitem__(self, place: int | slice) -> Mapping[str, str] | Sequence[Mapping[str, str]]:
        if isinstance(place, slice):
            return [self._told(each) for each in range(*place.indices(len(self)))]
        return self._told(place)

    def _told(self, place: int) -> Mapping[str, str]:
        result, then = self._series.results[place], self._series.then[place]
        asked = (then or self._series.row).requirement
        plan, shop = self._plans.get(result.plan), self._shop
        ends = dict.fromkeys(end for end in (result.smallest, result.largest) if end is not None)
        person, held = shop.people.get(result.by), shop.crib.get(result.instrument)
        texts = (
            result.day,
            result.serial,
            plan.part.revision if plan is not None else "",
            self._limits.get(result.plan) or self._limits.setdefault(result.plan, _limits(asked)),
            " … ".join(number(end, asked, self._places, result.of) for end in ends),
            word(f"verdict.{result.verdict.name.lower()}"),
            person.name if person is not None else result.by,
            held.tag if held is not None else "",
            f"{uncertainty(result.expanded, asked.unit)} {asked.unit}" if result.expanded else "",
        )
        return dict(zip(COLUMNS, texts, strict=True))


def _limits(asked: Requirement) -> str:
    about = between(*limits(asked))
    return f"{about} {asked.unit}" if about else ""
