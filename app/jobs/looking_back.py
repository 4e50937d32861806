"""Looking back over a book: a part's characteristics in time, and what a found error makes of what was read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from app.jobs.local_time import LocalZone, moment
from app.jobs.results_told import COLUMNS, ToldResults, heads
from inspection.drawing.plan import Plan
from inspection.instruments.reckoning import NEAR
from inspection.instruments.record import Instrument
from inspection.reasons import Reason
from inspection.sheet.state import Shop
from inspection.sheet.traced import Traced, known_good, traced
from inspection.studies.history import Series, series_of
from inspection.studies.history_told import (
    INDICES,
    StatedGroup,
    StatedSeries,
    discrimination_of,
    findings,
    stated,
    stated_groups,
)
from inspection.words.say import say, word
from storage.book.collecting import no_collecting
from storage.book.door import Book
from storage.book.queries.read_with import MOST_READINGS, last_good_check, read_with, serials_on
from storage.book.queries.results import results_of_characteristic, results_of_part
from storage.book.queries.waiting import waiting_cells

if TYPE_CHECKING:
    from storage.dispatch.listing import Listing

#: Later than anything that was read (UTC µs).
ENDLESS = 2**60


def part_series(book: Book, part: str) -> list[Series]:
    """Every row of a part's newest issue with its results on the newest sheets, in the drawing's order."""
    plans = book.plans_of(part)
    newest = max(plans.values(), key=lambda plan: plan.issue)
    with no_collecting():
        results = book.ask(results_of_part, part)
        return [series_of(row, results.get(row.identity, ()), plans) for row in newest.characteristics]


def row_series(book: Book, part: str, characteristic: str) -> Series:
    """One row of a part's newest issue with all its results."""
    plans = book.plans_of(part)
    newest = max(plans.values(), key=lambda plan: plan.issue)
    row = next(each for each in newest.characteristics if each.identity == characteristic)
    with no_collecting():
        return series_of(row, book.ask(results_of_characteristic, part, characteristic), plans)


class RowTold(Struct, frozen=True):
    """What a row in time says: findings, every result as a line by column, the groups by person and by instrument;
    ``step`` is the coarsest step (counts) that a value was read in, 0 where none is known, and ``normal`` whether
    nothing speaks against a normal distribution of the values."""

    findings: tuple[Reason, ...]
    lines: Sequence[Mapping[str, str]]
    groups: Mapping[str, tuple[StatedGroup, ...]]
    step: int
    normal: bool


def row_told(series: Series, plans: Mapping[str, Plan], shop: Shop) -> RowTold:
    """What is to be said of a row, for window and command line alike."""
    people = {one.identity: one.name for one in shop.people.values()}
    tags = {name: one.tag for name, one in shop.crib.items()}
    groups = {
        "people": stated_groups(series, series.by_person(), people),
        "instruments": stated_groups(series, series.by_instrument(), tags),
    }
    said = findings(series, people, shop.crib)
    seen = discrimination_of(series, shop.crib)
    step = seen.step // series.scale if seen is not None else 0
    normal = "history.found.expected" in {each.code for each in said}
    return RowTold(said, ToldResults(series, plans, shop), groups, step, normal)


def row_listing(series: Series, row: RowTold, part: str, shop: Shop) -> Listing:
    """All results of a row under what it says, as a list that goes out; ``part`` is how the part is called."""
    from storage.dispatch.listing import Listing

    asked, indices = series.row.requirement, stated(series).indices
    title = word("history.listing", part=part, number=series.row.number, requirement=asked.written)
    rows = tuple(tuple(line[name] for name in COLUMNS) for line in row.lines)
    figures = (f"{name.capitalize()} {one.value} ({one.low} … {one.high})" for name, one in indices.items())
    about = tuple(filter(None, (*map(say, row.findings), "   ".join(figures))))
    return Listing(title, heads(), rows, about, (COLUMNS.index("result"),), shop.name)


def part_listing(found: Sequence[Series], part: str, shop: Shop) -> Listing:
    """The rows of a part as a list that goes out, each with its figures; ``part`` is how it is called."""
    from storage.dispatch.listing import Listing

    names = ("number", "requirement", "n", "out", "mean", "s", *INDICES)
    rows = tuple(_figures(each, stated(each)) for each in found)
    about = (word("history.indices"),) if any(row[names.index("ppk")] for row in rows) else ()
    waiting = [
        word("history.waiting.row", number=each.row.number, n=len(each.waiting)) for each in found if each.waiting
    ]
    if waiting:
        about = (*about, word("history.waiting.rows", rows=", ".join(waiting)))
    numbers = tuple(map(names.index, ("mean", "s")))
    title = word("ledger.rows.title", part=part)
    return Listing(title, tuple(word(f"history.head.{name}") for name in names), rows, about, numbers, shop.name)


def _figures(series: Series, numbers: StatedSeries) -> tuple[str, ...]:
    indices = [index_text(numbers, name) for name in INDICES]
    if not any(indices) and numbers.lack == "too_few":
        indices[1] = word("history.too_few")
    asked, out = series.row.requirement, str(numbers.out) if numbers.out else ""
    return series.row.number, asked.written, str(numbers.n), out, numbers.mean, numbers.deviation, *indices


def index_text(numbers: StatedSeries, name: str) -> str:
    """An index with its interval, empty where it is not told."""
    told = numbers.indices.get(name)
    return f"{told.value} ({told.low} … {told.high})" if told else ""


# --- reverse trace ------------------------------------------------------------------------------------------------


class Trace(Struct, frozen=True):
    """What an ``error`` (counts) of an ``instrument``, found at a ``size`` (counts, None: at every size), makes of what
    was read after ``since`` and up to ``until`` (UTC µs); ``why`` says from when on. ``plans`` are those read by,
    ``serials`` are by sheet and piece; ``cut`` whether there was more than anybody goes through."""

    instrument: Instrument
    error: int
    size: int | None
    since: int
    until: int
    why: Reason
    found: tuple[Traced, ...]
    plans: Mapping[str, Plan]
    serials: Mapping[tuple[str, str], str]
    cut: bool = False


def trace(
    book: Book, instrument: Instrument, error: int, size: int | None = None, *, since: str = "", until: int = ENDLESS
) -> Trace:
    """Weigh what was read with an instrument since it was last known to be good: its last good check near the size, or
    its last good certificate, whichever is later; or since a day (ISO) that is asked for, which counts whole."""
    if since:
        began, why = _start_of(since), Reason("trace.since.asked", {"day": since})
    else:
        check = book.ask(last_good_check, instrument.identity, until, size, NEAR)
        began, why = known_good(book.shop(), instrument, check, until, _start_of, moment)
    with no_collecting():
        reads = book.ask(read_with, instrument.identity, began, until, limit=MOST_READINGS + 1)
        plans = book.plans_of(*dict.fromkeys(each.part for each in reads))
        sheets = dict.fromkeys(each.sheet for each in reads)
        serials, waiting = book.ask(serials_on, sheets), book.ask(waiting_cells, sheets)
        found = tuple(traced(reads[:MOST_READINGS], plans, error, size, waiting))
    return Trace(instrument, error, size, began, until, why, found, plans, serials, len(reads) > MOST_READINGS)


def _start_of(day: str) -> int:
    """The moment before this computer's day begins (UTC µs)."""
    return int(datetime.fromisoformat(day).replace(tzinfo=LocalZone()).timestamp()) * 1_000_000 - 1
