"""How long an entry and an opening take on a sheet of 5,000 rows, beside the same inserts by bare sqlite3."""

from __future__ import annotations

import sqlite3
import statistics
import time
from contextlib import closing

import pytest

from storage.book.door import Book
from storage.book.tables import PROJECTION

ROWS = 5_000
ENTRIES = 2_000

pytestmark = pytest.mark.measured


@pytest.fixture(scope="module")
def large(tmp_path_factory, key, bench_kind):
    """A sheet of 5,000 rows, all but the last two thousand read."""
    bench = bench_kind(tmp_path_factory.mktemp("large") / "large.tenthwright", key)
    bench.make_sheet(ROWS, serials=("1",))
    bench.book.do_all([bench.reading(place) for place in range(ROWS - ENTRIES)], person=bench.person)
    yield bench
    bench.book.close()


def timed(act) -> float:
    began = time.perf_counter()
    act()
    return (time.perf_counter() - began) * 1_000


def bare(path, bench) -> list[float]:
    """The rows of the newest entries, written again into a bare copy of the tables by sqlite3 alone."""
    names = ["journal", *PROJECTION]
    with closing(sqlite3.connect(bench.path)) as source, closing(sqlite3.connect(path, isolation_level=None)) as to:
        for (sql,) in source.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND type <> 'trigger'"):
            to.execute(sql)
        to.execute("PRAGMA synchronous = EXTRA")
        (last,) = source.execute("SELECT max(sequence) FROM journal").fetchone()
        times = []
        for sequence in range(last - ENTRIES + 1, last + 1):
            rows = [(n, source.execute(f"SELECT * FROM {n} WHERE sequence = ?", (sequence,)).fetchall()) for n in names]
            times.append(timed(lambda rows=rows: write(to, rows)))
    return times


def write(connection, rows) -> None:
    connection.execute("BEGIN IMMEDIATE")
    for name, found in rows:
        for row in found:
            connection.execute(f"INSERT INTO {name} VALUES ({', '.join('?' * len(row))})", row)
    connection.execute("COMMIT")


def p99(times: list[float]) -> float:
    return sorted(times)[len(times) * 99 // 100]


def test_an_entry_on_5000_rows(large, tmp_path):
    acts = [large.reading(place) for place in range(ROWS - ENTRIES, ROWS)]
    times = [timed(lambda act=act: large.do(act)) for act in acts]
    beside = bare(tmp_path / "bare.db", large)
    told = {
        "median": statistics.median(times),
        "p99": p99(times),
        "bare": statistics.median(beside),
        "bare p99": p99(beside),
    }
    print({name: f"{value:.2f} ms" for name, value in told.items()})
    assert p99(times) < 16
    # what came in first is no cheaper than what came in last
    assert statistics.median(times[-200:]) < 1.5 * statistics.median(times[:200]) + 0.5


def test_opening_a_sheet_of_5000_readings(large):
    """Fold of the whole stream and its plan, from a closed book; median of three."""
    times = []
    for _ in range(3):
        with Book.open(large.path) as book:
            times.append(timed(lambda book=book: book.sheet(large.sheet_id)))
    print(f"{statistics.median(times):.0f} ms")
    assert statistics.median(times) < 500


def test_opening_a_sheet_of_40_rows(bench):
    bench.make_sheet(40, serials=("1", "2", "3"))
    bench.book.do_all([bench.reading(place, piece) for place in range(40) for piece in range(3)], person=bench.person)
    times = []
    for _ in range(5):
        with Book.open(bench.path) as book:
            times.append(timed(lambda book=book: book.sheet(bench.sheet_id)))
    print(f"{statistics.median(times):.1f} ms")
    assert statistics.median(times) < 10
