"""How long verifying a book takes against reading and hashing the same bytes bare, in the same run."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from storage.book.tables import metadata
from storage.book.verify import verify_book
from tests.benchmarks.bulk_book import make_bulk_book

#: A fiftieth of a shop's ten years. Of smaller books the second process takes longer to begin than it saves.
SHEETS = int(os.environ.get("TENTHWRIGHT_SHEETS", "1000"))
TIMES = 3


def rows_bare(path: Path) -> str:
    """Every column of every row of every table, hashed: what has to be read of a book before it can be believed."""
    hashed = hashlib.sha256()
    with closing(sqlite3.connect(path)) as connection:
        for table in metadata.tables:
            for row in connection.execute(f'SELECT * FROM "{table}"'):
                for value in row:
                    hashed.update(value if isinstance(value, bytes) else str(value).encode())
    return hashed.hexdigest()


def file_bare(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def took(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    assert work()
    return time.perf_counter() - begun


@pytest.mark.measured
def test_verifying_takes_twice_as_long_as_reading_and_hashing_the_rows(tmp_path: Path) -> None:
    path = make_bulk_book(tmp_path / "bulk.tenthwright", SHEETS).path
    rounds = [
        (took(lambda: verify_book(path).whole), took(lambda: rows_bare(path)), took(lambda: file_bare(path)))
        for _ in range(TIMES)
    ]
    verified, rows, file = (min(each) for each in zip(*rounds, strict=True))
    print(
        f"\n{SHEETS} sheets, {path.stat().st_size / 1e6:.0f} MB: verified in {verified:.2f} s; all rows bare "
        f"{rows:.2f} s ({verified / rows:.2f} times), file bare {file:.2f} s ({verified / file:.1f} times)"
    )
    assert verified <= 2 * rows
