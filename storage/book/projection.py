"""The rows that follow from a journal entry: one pure function, used by the door and by the check of a book."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from operator import itemgetter
from typing import Any

from sqlalchemy import Table

from inspection.sheet.events import Event
from storage.book import rows_review, rows_sheet, rows_shop
from storage.book.rows import Row, RowsOf, Where, by
from storage.book.tables import PROJECTION
from storage.book.tally import Tally

Values = tuple[Any, ...]
"""A row as it lies in its table."""


def rows_of(
    events: Iterable[Event], where: Where, tally: Tally | None = None, before: Tally | None = None
) -> list[Row]:
    """The projection rows of one entry's events, each with its ``sequence`` and its ``place`` in its table.

    ``tally`` is where the entry's sheet stands afterwards, None for an entry on no sheet; ``before`` is where it stood,
    None for one that the entry makes.
    """
    return [
        (table, {"sequence": where.sequence, "place": place, **columns})
        for table, place, columns in _placed(events, where, tally, before)
    ]


def values_of(
    events: Iterable[Event], where: Where, tally: Tally | None = None, before: Tally | None = None
) -> list[tuple[str, Values]]:
    """The same rows as they lie in their tables: ``sequence``, ``place``, and the columns in the table's order."""
    sequence = where.sequence
    return [
        (table, (sequence, place, *_IN_ORDER[table](columns)))
        for table, place, columns in _placed(events, where, tally, before)
    ]


def _placed(
    events: Iterable[Event], where: Where, tally: Tally | None, before: Tally | None
) -> list[tuple[str, int, dict[str, Any]]]:
    """The rows, each with its table and its place among the entry's rows of that table."""
    rows = [row for event in events for row in _ROWS.get(type(event), _none)(event, where)]
    if tally is not None:
        rows.append(("standing", _standing(tally, where)))
        if tally.in_doubt or (before is not None and before.in_doubt):
            rows.append(("in_doubt", {"sheet": where.stream, "cells": tally.in_doubt}))
        if before is None or (before.stage, before.plan) != (tally.stage, tally.plan):
            rows.append(("stage", {"sheet": where.stream, "stage": tally.stage, "plan": tally.plan}))
    places: dict[str, int] = {}
    placed = []
    for table, columns in rows:
        place = places.get(table, 0)
        placed.append((table, place, columns))
        places[table] = place + 1
    return placed


def _in_order(table: Table) -> Callable[[dict[str, Any]], tuple[Any, ...]]:
    """Takes a table's values out of a row's columns, in the table's order."""
    names = [column.name for column in table.columns][2:]
    take = itemgetter(*names)
    return take if len(names) > 1 else lambda columns: (take(columns),)


_IN_ORDER = {name: _in_order(table) for name, table in PROJECTION.items()}


def _none(event: Event, where: Where) -> list[Row]:
    return []


def _standing(tally: Tally, where: Where) -> dict[str, Any]:
    return {
        "sheet": where.stream,
        "plan": tally.plan,
        "round": tally.round,
        "sealed": int(tally.sealed),
        "conforming": tally.conforming,
        "marginal": tally.marginal,
        "not_conforming": tally.not_conforming,
        "open": tally.open,
        "questions": tally.questions,
        **by(where),
    }


_ROWS: Mapping[type[Event], RowsOf] = {**rows_shop.ROWS, **rows_sheet.ROWS, **rows_review.ROWS}
