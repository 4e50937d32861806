"""Looking back costs as many statements in a book ten times as large; verifying reads every entry once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event

from app.jobs.looking_back import part_series, row_series
from inspection.sheet.canonical.forms import ENTRY_READERS
from storage.book.door import Book
from storage.book.engines import Engines
from storage.book.journal import CHUNK
from storage.book.queries.found_sheets import Came, State, Wanted, found_sheets
from storage.book.queries.read_with import last_good_check, read_with
from storage.book.queries.results import results_of_characteristic, results_of_part
from storage.book.tables import PROJECTION
from storage.book.verify import verify_book
from tests.benchmarks.bulk_book import BulkBook, make_bulk_book

SMALL, LARGE = 8, 80
FAR = 2**53


@pytest.fixture(scope="module")
def bulk(tmp_path_factory: pytest.TempPathFactory) -> tuple[BulkBook, BulkBook]:
    """The same shop after two days and after twenty."""
    folder = tmp_path_factory.mktemp("bulk")
    small, large = (make_bulk_book(folder / f"{n}.tenthwright", n, parts=4, rows=5) for n in (SMALL, LARGE))
    return small, large


def questions(book: BulkBook) -> Iterator[tuple[str, Callable[[Book], Any]]]:
    """Every question about what was, each of which finds something; those of a page ask for a page of two."""
    part, row, tag = book.parts[0], book.characteristics[0], book.instruments["M-01"]
    yield "results of a row", lambda held: held.ask(results_of_characteristic, part, row, limit=4)
    yield "results of a part", lambda held: held.ask(results_of_part, part, sheets=2)
    yield "rows of a part", lambda held: part_series(held, part)
    yield "a row with all of it", lambda held: row_series(held, part, row).results
    yield "read with", lambda held: held.ask(read_with, tag, 0, FAR, limit=10)
    yield "last good check", lambda held: held.ask(last_good_check, tag, FAR, None, 0)
    identities = {"part": part, "instrument": tag, "person": book.person}
    for field, wanted in WANTED:
        value = identities.get(field, wanted)
        yield f"found by {field}", lambda held, f=field, v=value: held.ask(found_sheets, Wanted(**{f: v}), limit=2)


WANTED: tuple[tuple[str, Any], ...] = (
    ("part", ""),
    ("number", "TW-0000"),
    ("revision", "A"),
    ("serial", "S-00"),
    ("lot", "L-00"),
    ("heat", "L-00"),
    ("customer", "lantern"),
    ("order", "PO-00"),
    ("since", "2019-01-07"),
    ("person", ""),
    ("instrument", ""),
    ("verdict", Came.CONFORMING),
    ("state", State.COMPLETE),
    ("text", "bracket PO-00"),
)


def statements(held: Book, question: Callable[[Book], Any]) -> int:
    seen: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        seen.append(statement)

    engine = held._engines.reading
    event.listen(engine, "before_cursor_execute", note)
    try:
        assert question(held)
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return len(seen)


def test_every_question_costs_as_many_statements_in_a_book_ten_times_as_large(
    bulk: tuple[BulkBook, BulkBook],
) -> None:
    counted = []
    for book in bulk:
        with Book.open(book.path, station="later") as held:
            counted.append({name: statements(held, question) for name, question in questions(book)})
    small, large = counted
    assert small == large
    assert all(0 < count <= 7 for count in large.values())


def verifying(monkeypatch: pytest.MonkeyPatch, path: Path) -> tuple[int, int, int]:
    """Statements, entries decoded, and entries there are, in one verifying of a book."""
    said: list[str] = []
    read: list[bytes] = []
    connect = Engines._connect

    def listened(self: Engines) -> Any:
        connection = connect(self)
        connection.set_trace_callback(said.append)
        return connection

    with monkeypatch.context() as patch:
        patch.setattr(Engines, "_connect", listened)
        for form, reader in list(ENTRY_READERS.items()):

            def noted(content: bytes, reader: Callable[[bytes], Any] = reader) -> Any:
                read.append(content)
                return reader(content)

            patch.setitem(ENTRY_READERS, form, noted)
        found = verify_book(path)
    assert found.whole
    entries = found.statements[0].parts["entries"]
    assert isinstance(entries, int)
    return len(said), len(read), entries


def test_statements_are_counted_by_pieces_and_every_entry_is_read_once(
    bulk: tuple[BulkBook, BulkBook], monkeypatch: pytest.MonkeyPatch
) -> None:
    small, large = (verifying(monkeypatch, book.path) for book in bulk)
    assert (small[1], large[1]) == (small[2], large[2])
    further = large[2] // CHUNK - small[2] // CHUNK
    assert further >= 1
    assert large[0] - small[0] <= further * (len(PROJECTION) + 3)
    assert small[0] < 6 * len(PROJECTION)
