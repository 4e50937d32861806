"""What a lead looks at: everything about a sheet that somebody has to answer for, the worst first. Pure.

How much each point weighs and whether it must be answered is one table, ``resources/tables/points.csv``; what makes a
point, with its thresholds and where they come from, stands in one module a subject, ``points_*``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from inspection.drawing.plan import Plan
from inspection.sheet.points_again import Again, again_of, of_again
from inspection.sheet.points_chance import Chances
from inspection.sheet.points_checks import of_checks
from inspection.sheet.points_copies import of_copies
from inspection.sheet.points_dates import of_dates
from inspection.sheet.points_drawing import of_drawing
from inspection.sheet.points_history import History, of_history
from inspection.sheet.points_instruments import of_instruments
from inspection.sheet.points_look import Look
from inspection.sheet.points_marks import of_marks
from inspection.sheet.points_questions import of_questions
from inspection.sheet.points_rules import of_rules
from inspection.sheet.points_runs import of_runs
from inspection.sheet.points_table import Point, grades
from inspection.sheet.points_temperature import of_temperature
from inspection.sheet.points_times import of_times
from inspection.sheet.points_verdicts import of_verdicts
from inspection.sheet.state import Sheet, Shop

_NOTHING: Mapping[str, tuple[()]] = {}


def points(
    shop: Shop,
    sheet: Sheet,
    history: History = _NOTHING,
    day: str = "",
    *,
    again: Again | None = None,
    newest: Plan | None = None,
) -> tuple[Point, ...]:
    """Every point of a sheet, the worst first, those that weigh the same in the order of table and plan.

    ``history`` holds earlier results by characteristic; ``day`` is today (ISO; empty: dates are held against each other
    only); ``again`` what the lead read again, by the reading that it is compared with (None: what the sheet holds of
    the present round); ``newest`` the newest issue of the part's plan. What is not given makes no point.
    """
    look = Look(shop, sheet, day)
    compared = again_of(sheet) if again is None else again
    return tuple(sorted(_found(look, history, compared, newest), key=lambda point: _order(look, point)))


def _found(look: Look, history: History, again: Again, newest: Plan | None) -> Iterator[Point]:
    chances = Chances(look)
    yield from of_drawing(look, newest)
    yield from of_verdicts(look)
    yield from of_instruments(look)
    yield from of_questions(look)
    yield from of_runs(look, chances)
    yield from of_times(look)
    yield from of_copies(look, chances, history)
    yield from of_history(look, history)
    yield from of_checks(look)
    yield from of_marks(look)
    yield from of_temperature(look)
    yield from of_dates(look)
    yield from of_rules(look)
    yield from of_again(look, again)


def _order(look: Look, point: Point) -> tuple[int, int, int]:
    place = min((look.place[cell] for cell in point.cells), default=-1)
    return -point.weight, grades()[point.code].place, place
