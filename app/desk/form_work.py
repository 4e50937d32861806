"""The work of the face that shows a customer's form, each run on the book's thread with what the face hands it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from app.desk.grid import Grid, read_grids
from app.jobs.customer_form import FilledForm, Proposed, fill_form, propose_layout, send_form, workbook_of
from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.hand import Foreseen
    from app.jobs.packing import Packed
    from inspection.layout.layout import Layout
    from storage.book.door import Book


class Seen(NamedTuple):
    """A form filled with the sheet: the layout and its blank workbook, the very bytes that would go out, and the same
    as cells, those that a value went to marked."""

    proposed: Proposed
    form: FilledForm
    grids: tuple[Grid, ...]


class Proposing(NamedTuple):
    """Find out where things go on a blank workbook, and fill it."""

    file: Path
    customer: str
    sheet: str

    def run(self, book: Book, progress: Progress) -> Seen:
        """Raises BookFailure, Refused."""
        return seen(book, self.sheet, propose_layout(self.file, self.customer), progress)


class Filling(NamedTuple):
    """Fill a form: one that is kept (``workbook`` empty: the book has it), or one under way."""

    sheet: str
    layout: Layout
    workbook: bytes

    def run(self, book: Book, progress: Progress) -> Seen:
        """Raises Refused for what the form cannot take."""
        workbook = self.workbook or workbook_of(book, self.layout)
        return seen(book, self.sheet, Proposed(self.layout, workbook), progress)


def seen(book: Book, sheet: str, proposed: Proposed, progress: Progress) -> Seen:
    """A form filled with a sheet, and how it looks."""
    form = fill_form(book.sheet(sheet), book.shop(), proposed.layout, proposed.workbook)
    return Seen(proposed, form, marked(read_grids(form.content, progress), form))


def marked(grids: tuple[Grid, ...], form: FilledForm) -> tuple[Grid, ...]:
    """The cells with the names of the values that went to them."""
    marks: dict[str, dict[tuple[int, int], str]] = {}
    for each in form.filled.written:
        own, at = marks.setdefault(each.sheet, {}), (each.row - 1, each.column - 1)
        name = word(f"layout.field.{each.field}")
        own[at] = f"{own[at]}, {name}" if at in own else name
    return tuple(_with_marks(grid, marks.get(grid.name, {})) for grid in grids)


def _with_marks(grid: Grid, marks: dict[tuple[int, int], str]) -> Grid:
    if not marks:
        return grid
    rows = [list(row) for row in grid.rows]
    for (row, column), mark in marks.items():
        if row < len(rows) and column < len(rows[row]):
            rows[row][column] = rows[row][column]._replace(mark=mark)
    return grid._replace(rows=tuple(map(tuple, rows)))


class SendingForm(NamedTuple):
    """Write a filled form and keep its digest."""

    sheet: str
    layout: Layout
    path: Path
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> FilledForm:
        """Raises Refused or BookFailure."""
        from app.jobs.hand import Hand

        hand = Hand(book, self.foreseen, self.person)
        return send_form(hand, self.sheet, self.layout, self.path)


class Packing(NamedTuple):
    """Pack everything of a sheet, with the customer's form if there is a layout."""

    sheet: str
    layout: Layout | None
    path: Path
    beside: tuple[Path, ...]
    paper: str
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> Packed:
        """Raises Refused or BookFailure."""
        from app.jobs.hand import Hand
        from app.jobs.packing import send_package
        from storage.files import read_file

        hand = Hand(book, self.foreseen, self.person)
        beside = [(path.name, read_file(path)) for path in self.beside]
        as_folder = self.path.suffix.casefold() != ".zip"
        return send_package(
            hand, self.sheet, self.path, layout=self.layout, beside=beside, as_folder=as_folder, paper=self.paper
        )


class PackingAgain(NamedTuple):
    """Write a package that was kept once more."""

    sheet: str
    digest: str
    path: Path
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> str:
        """The package's digest. Raises Refused or BookFailure."""
        from app.jobs.hand import Hand
        from app.jobs.packing import send_again

        hand = Hand(book, self.foreseen, self.person)
        return send_again(hand, self.sheet, self.digest, self.path).digest
