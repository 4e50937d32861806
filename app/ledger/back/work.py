"""The work of looking back, run on the book's thread."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from app.jobs.looking_back import RowTold, Trace, part_series, row_series, row_told, trace
from inspection.studies.history import Series, worst_first

if TYPE_CHECKING:
    from collections.abc import Mapping

    from inspection.drawing.plan import Plan
    from inspection.instruments.record import Instrument
    from storage.book.door import Book


class PartRows(NamedTuple):
    """The rows of a part in time, the worst first."""

    part: str
    rows: tuple[Series, ...]


class ReadPart(NamedTuple):
    """Read the rows of a part in time."""

    part: str

    def run(self, book: Book) -> PartRows:
        """Raises BookFailure."""
        return PartRows(self.part, tuple(worst_first(part_series(book, self.part))))


class RowLooked(NamedTuple):
    """One row of a part with all its results, what it says, and the plan issues of the part by identity."""

    part: str
    series: Series
    plans: Mapping[str, Plan]
    told: RowTold


class ReadRow(NamedTuple):
    """Read all results of a row."""

    part: str
    characteristic: str

    def run(self, book: Book) -> RowLooked:
        """Raises BookFailure."""
        series, plans = row_series(book, self.part, self.characteristic), book.plans_of(self.part)
        return RowLooked(self.part, series, plans, row_told(series, plans, book.shop()))


class ReadTrace(NamedTuple):
    """Weigh what was read with an instrument against an error that was found in it."""

    instrument: Instrument
    error: int
    size: int | None
    since: str

    def run(self, book: Book) -> Trace:
        """Raises BookFailure."""
        return trace(book, self.instrument, self.error, self.size, since=self.since)
