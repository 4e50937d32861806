"""Looking back on a hundredth of a shop's ten years costs the database as much work as on a thousandth: counted in the
instructions that SQLite carries out, which are the same on every machine."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from app.jobs.looking_back import part_series
from inspection.studies.history import worst_first
from storage.book.door import Book
from storage.book.engines import driver_connection
from storage.book.queries.found_sheets import Came, State, Wanted, found_sheets
from storage.book.queries.last_sheet import last_sheet
from storage.book.queries.read_with import read_with
from storage.book.queries.results import results_of_characteristic
from storage.book.queries.sheets import list_sheets
from tests.benchmarks.bulk_book import BulkBook, make_bulk_book

#: Sheets of 40 rows on 2 pieces, each read once.
SMALL, LARGE = 50, 500
#: Instructions of SQLite from one count to the next.
STEP = 20
#: What a page may cost more in ten times the book: trees are a level deeper, counts round.
MORE = 1.25


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> tuple[BulkBook, BulkBook]:
    folder = tmp_path_factory.mktemp("growth")
    small, large = (make_bulk_book(folder / f"{n}.tenthwright", n, parts=4) for n in (SMALL, LARGE))
    return small, large


def questions(book: BulkBook) -> Iterator[tuple[str, Callable[[Book], Any]]]:
    """Questions whose answers are as long in both books."""
    part, row, tag = book.parts[0], book.characteristics[0], book.instruments["M-01"]
    yield "the newest sheets", lambda held: held.ask(list_sheets, limit=10)
    yield "the newest sheets of a part", lambda held: held.ask(list_sheets, limit=10, part=part)
    yield "last sheet", lambda held: held.ask(last_sheet)
    yield "open a sheet", lambda held: held.sheet(held.ask(last_sheet) or "")
    yield "results of a row", lambda held: held.ask(results_of_characteristic, part, row, limit=20)
    yield "read with", lambda held: held.ask(read_with, tag, 0, 2**60, limit=200)
    for name, wanted in (
        ("part", Wanted(part=part)),
        ("verdict", Wanted(verdict=Came.CONFORMING)),
        ("state", Wanted(state=State.COMPLETE)),
        ("instrument", Wanted(instrument=tag)),
        ("person", Wanted(person=book.person)),
    ):
        yield f"find by {name}", lambda held, wanted=wanted: held.ask(found_sheets, wanted, limit=10)


def work(book: BulkBook, question: Callable[[Book], Any]) -> int:
    """The instructions of SQLite that answering takes."""
    steps = 0

    def count() -> int:
        nonlocal steps
        steps += STEP
        return 0

    with Book.open(book.path, station="later") as held:
        connection = driver_connection(held._engines.reading)
        connection.set_progress_handler(count, STEP)
        assert question(held)
        connection.set_progress_handler(None, 0)
    return steps


@pytest.mark.slow
def test_a_page_costs_as_much_in_a_book_ten_times_as_large(books: tuple[BulkBook, BulkBook]) -> None:
    small, large = ({name: work(book, asked) for name, asked in questions(book)} for book in books)
    grown = {name: (small[name], cost) for name, cost in large.items() if cost > MORE * small[name] + 10 * STEP}
    assert grown == {}


@pytest.mark.parametrize("wanted", [Wanted(text="bracket PO-00"), Wanted(serial="S-0"), Wanted(lot="no such lot")])
def test_a_piece_of_a_text_costs_no_more_than_a_look_at_every_sheet(
    books: tuple[BulkBook, BulkBook], wanted: Wanted
) -> None:
    """No index knows the middle of a text, so this grows with the sheets: not faster, and not with what was read."""
    small, large = (work(book, lambda held: (held.ask(found_sheets, wanted, limit=10), True)) for book in books)
    assert large < LARGE / SMALL * small * MORE
    assert large < 100 * LARGE


def test_the_rows_of_a_part_cost_no_more_than_its_newest_sheets(books: tuple[BulkBook, BulkBook]) -> None:
    """Sixty sheets are looked at, however many there are: the small book has a dozen of the part."""
    twelve, sixty = (
        work(book, lambda held, part=book.parts[0]: worst_first(part_series(held, part))) for book in books
    )
    assert sixty < 60 / 12 * twelve * MORE
