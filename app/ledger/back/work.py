"""The work of looking back, run on the book's thread."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from app.jobs.comparing import Compared, compare, sheet_before, sheets_of_part
from app.jobs.looking_back import RowTold, Trace, part_series, row_series, row_told, trace
from inspection.studies.history import Series, worst_first
from inspection.words.say import word

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from app.jobs.marking import Marking
    from inspection.drawing.plan import Plan
    from inspection.instruments.record import Instrument
    from storage.book.door import Book
    from storage.book.queries.found_sheets import FoundSheet


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


class PlanMarks(NamedTuple):
    """What marking the sheets of a trace that are to be looked at would do."""

    trace: Trace
    words: str

    def run(self, book: Book) -> Marking:
        """Raises BookFailure."""
        from app.jobs.marking import marking

        return marking(book, self.trace, self.words)


class Customers(NamedTuple):
    """Whose parts were read with the instrument of a trace."""

    trace: Trace

    def run(self, book: Book) -> tuple[str, ...]:
        """By name, those with something to look at first. Raises BookFailure."""
        from app.jobs.trace_letter import addressed

        return addressed(book, self.trace).customers()


class TraceAsText(NamedTuple):
    """A trace as a table to be pasted."""

    trace: Trace

    def run(self, book: Book) -> str:
        """Cells with tabs between, heads first."""
        from app.jobs.trace_told import COLUMNS, MEASURED, told
        from storage.dispatch.listing import Listing, as_text

        people = book.shop().people
        lines = (told(self.trace, each, people) for each in self.trace.found)
        rows = tuple(tuple(line[name] for name in COLUMNS) for line in lines)
        measured = tuple(map(COLUMNS.index, MEASURED))
        return as_text(Listing("", tuple(word(f"trace.head.{name}") for name in COLUMNS), rows, measured=measured))


class WriteTrace(NamedTuple):
    """Write a trace as a document: for one customer, or for the shop's own file."""

    trace: Trace
    path: Path
    customer: str
    paper: str

    def run(self, book: Book) -> str:
        """What to tell of it. Raises Refused or BookFailure."""
        from app.jobs.trace_letter import write_trace
        from storage.book.clock import wall_clock

        write_trace(book, self.trace, self.path, wall_clock().day, self.customer, paper=self.paper)
        return word("trace.written", file=self.path.name)


class BesideLooked(NamedTuple):
    """Two sheets side by side, of which one was ``asked`` for, and the sheets of the part, the newest first."""

    asked: str
    compared: Compared
    sheets: tuple[FoundSheet, ...]


class ReadBeside(NamedTuple):
    """Set a sheet beside another one; beside the one made before where ``other`` is empty."""

    sheet: str
    other: str = ""

    def run(self, book: Book) -> BesideLooked:
        """Raises Refused where there is no other, or one of another part; BookFailure."""
        compared = compare(book, self.sheet, self.other or sheet_before(book, self.sheet))
        return BesideLooked(self.sheet, compared, tuple(sheets_of_part(book, self.sheet)))
