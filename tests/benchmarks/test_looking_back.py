"""Looking back on a large book, as the first question of a process that has only begun, against bare SQL that answers
the same; and that entry and opening a sheet take no longer for the book's size.

What is found is held against the statements that find it. What is reckoned (a trace, a part's page, capability) is held
against statements of the tests' own that answer as much (``answered_in_sql``; the answers are compared in
``tests/book/test_results.py``), and told beside the bare time of what the program itself reads for it.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from datetime import UTC, datetime
from typing import Any

import pytest

from inspection.measuring.reading import Slot
from inspection.quantity.units import Kind, Quantity
from inspection.sheet import acts
from storage.book.clock import Moment
from storage.book.door import Book
from tests.benchmarks.bulk_book import BulkBook, make_bulk_book

#: A hundredth of a shop's ten years; all of them (50,000) take 29 GB and a quarter of an hour to make.
SHEETS = int(os.environ.get("TENTHWRIGHT_SHEETS", "500"))
SMALL = 40
ENTRIES = 300
#: Milliseconds that a first question may take, and what is spent once on the way into a book.
FIRST, ONCE = 200, 5
#: So many times the bare SQL that answers the same may an answer take.
MOST = 1.5
FRAME = 16

#: As the window asks: after it has been open for a moment, so that words and quantiles are loaded.
_ASK = """
import json, sqlite3, sys, time
from pathlib import Path
from sqlalchemy import event
from app.ledger.back.work import ReadPart, ReadRow, ReadTrace
from inspection.measuring.quantiles import warm
from inspection.words.say import word
from storage.book.door import Book
from storage.book.queries.found_sheets import Came, State, Wanted, found_sheets
from storage.book.queries.read_with import MOST_READINGS
from tests.benchmarks.answered_in_sql import PART, ROW, ROW_RESULTS, TRACE
path, instrument, part, question = Path(sys.argv[1]), *sys.argv[2:]
warm(), word("history.head.mean")
def find(**wanted):
    return lambda book: book.ask(found_sheets, Wanted(**wanted))
def trace(book):
    return ReadTrace(book.shop().crib[instrument], 7_620_000, None, "2000-01-01").run(book).found
def row(book):
    newest = max(book.plans_of(part).values(), key=lambda plan: plan.issue)
    return ReadRow(part, newest.characteristics[0].identity).run(book).told.lines
ask = {
    "verdict": find(verdict=Came.MARGINAL),
    "text": find(text="bracket PO-001"),
    "no such text": find(text="nowhere to be found"),
    "revision": find(revision="no such"),
    "released": find(state=State.RELEASED),
    "trace": trace,
    "part": lambda book: ReadPart(part).run(book).rows,
    "capability": row,
}[question]
with Book.open(path, station="later") as book:
    said = []
    event.listen(
        book._engines.reading, "before_cursor_execute",
        lambda connection, cursor, statement, parts, context, many: said.append((statement, parts)),
    )
    begun = time.perf_counter()
    found = len(ask(book))
    took = time.perf_counter() - begun
    first = max(book.plans_of(part).values(), key=lambda plan: plan.issue).characteristics[0].identity
bare = sqlite3.connect(path)
named = {"part": part, "row": first, "instrument": instrument, "error": 7_620_000, "since": 0, "most": MOST_READINGS}
def timed(statements):
    times = []
    for _ in range(2):  # the first warms the pages up for it, as the question above found them
        begun = time.perf_counter()
        for statement, parts in statements:
            bare.execute(statement, parts).fetchall()
        times.append(time.perf_counter() - begun)
    return min(times) * 1e3
own = timed([one for one in said if one[0].lstrip().startswith("SELECT")])
same = {"trace": [TRACE], "part": [PART], "capability": [ROW, ROW_RESULTS]}.get(question)
bare_ms = own if same is None else timed([(one, named) for one in same])
print(json.dumps({"found": found, "took": took * 1e3, "own": own, "bare": bare_ms}))
"""


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> tuple[BulkBook, BulkBook]:
    folder = tmp_path_factory.mktemp("looking")
    small, large = (make_bulk_book(folder / f"{n}.tenthwright", n) for n in (SMALL, SHEETS))
    return small, large


def first_asked(book: BulkBook, question: str) -> dict[str, float]:
    """Of three new processes the quickest: what it found, how long it took, and the bare SQL (ms)."""
    asked = [sys.executable, "-c", _ASK, str(book.path), book.instruments["M-01"], book.parts[0], question]
    answers = [json.loads(subprocess.run(asked, capture_output=True, check=True).stdout) for _ in range(3)]
    return min(answers, key=lambda answer: float(answer["took"]))


@pytest.mark.measured
@pytest.mark.parametrize(
    "question", ["verdict", "text", "no such text", "revision", "released", "trace", "part", "capability"]
)
def test_a_first_question_takes_little_longer_than_its_sql(books: tuple[BulkBook, BulkBook], question: str) -> None:
    answer = first_asked(books[1], question)
    print(
        f"\n{SHEETS} sheets, {question}: {answer['found']} found in {answer['took']:.0f} ms, SQL that answers the same "
        f"in {answer['bare']:.0f}, what is read for it in {answer['own']:.0f}"
    )
    assert answer["took"] < FIRST
    assert answer["took"] < MOST * answer["bare"] + ONCE


def now() -> Moment:
    return Moment(time.time_ns() // 1000, datetime.now(UTC).date().isoformat())


def opened(held: Book, sheet: str) -> float:
    begun = time.perf_counter()
    held.sheet(sheet)
    return (time.perf_counter() - begun) * 1e3


def worked_on(book: BulkBook) -> tuple[float, float]:
    """How long opening a sheet takes, and the entry that only one in a hundred outlasts (ms)."""
    with Book.open(book.path, station="later", clock=now) as held:
        sheets = held.ask(_newest, 12)
        opening = sorted(opened(held, sheet) for sheet in sheets)[len(sheets) // 2]
        plan = next(iter(held.plans_of(book.parts[0])))
        serials = tuple(f"N-{n}" for n in range(ENTRIES // 40 + 1))
        made = held.do(acts.MakeSheet(plan=plan, serials=serials), person=book.person).sheet
        assert made is not None
        cells: list[tuple[Any, Any]] = [(row, piece) for piece in made.pieces for row in made.plan.characteristics]
        times = []
        for row, piece in cells[:ENTRIES]:
            count = row.requirement.nominal
            quantity = Quantity(count, Kind.LENGTH, "in", f"{count / 25_400_000_000:.4f}", 4)
            act = acts.TakeReading(
                sheet=made.identity, characteristic=row.identity, piece=piece.identity, slot=Slot(), quantity=quantity
            )
            begun = time.perf_counter()
            held.do(act, person=book.person)
            times.append((time.perf_counter() - begun) * 1e3)
    return opening, sorted(times)[len(times) * 99 // 100]


def _newest(connection: Any, limit: int) -> list[str]:
    rows = connection.exec_driver_sql("SELECT sheet FROM sheet ORDER BY sequence DESC LIMIT ?", (limit,))
    return [sheet for (sheet,) in rows]


@pytest.mark.measured
def test_work_does_not_slow_down_with_the_book(books: tuple[BulkBook, BulkBook]) -> None:
    (small, _), (large, entry) = worked_on(books[0]), worked_on(books[1])
    print(f"\na sheet opens in {small:.1f} ms of {SMALL}, {large:.1f} ms of {SHEETS}; p99 of an entry {entry:.1f} ms")
    assert large < 1.5 * small + 5
    assert entry < FRAME
