"""Connections: pragmas on each of them, and tables that cannot be overwritten by any."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from sqlalchemy import text

from storage.book.engines import PRAGMAS, Engines, driver_connection
from storage.book.header import APPLICATION_ID, SCHEMA
from storage.book.schema import definitions
from storage.book.tables import APPEND_ONLY

# https://www.sqlite.org/pragma.html: synchronous EXTRA is 3; journal_mode answers in small letters.
WANTED = {
    "busy_timeout": 1_000,
    "journal_mode": "delete",
    "synchronous": 3,
    "foreign_keys": 1,
    "trusted_schema": 0,
    "cell_size_check": 1,
}


def pragmas(engines: Engines) -> dict[str, object]:
    with engines.reading.begin() as connection:
        return {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar_one() for name in WANTED}


def test_every_connection_is_set(bench):
    first, second = bench.book._engines, Engines(bench.path)
    try:
        assert pragmas(first) == pragmas(second) == WANTED
        assert {name for name, _, _ in PRAGMAS} == set(WANTED)
    finally:
        second.close()


def test_a_connection_opened_again_is_set_again(bench):
    bench.book._engines.reading.dispose()
    assert pragmas(bench.book._engines) == WANTED


def test_a_writer_takes_its_lock_before_it_reads(bench):
    with bench.book._engines.writing.begin(), closing(sqlite3.connect(bench.path, timeout=0)) as other:
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            other.execute("BEGIN IMMEDIATE")
        assert other.execute("SELECT count(*) FROM journal").fetchone()[0] > 0


def test_a_reader_takes_no_writing_lock(bench):
    with bench.book._engines.reading.begin() as connection:
        connection.execute(text("SELECT 1 FROM journal")).all()
        with closing(sqlite3.connect(bench.path, timeout=0, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            other.execute("ROLLBACK")


def test_an_engine_for_reading_cannot_write(bench):
    engines = Engines(bench.path, writable=False)
    try:
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            driver_connection(engines.reading).execute("CREATE TABLE other (a)")
    finally:
        engines.close()


def test_the_header_names_program_and_schema(bench):
    """Bytes 68 and 60 of the header: https://www.sqlite.org/fileformat2.html, section 1.3."""
    head = bench.path.read_bytes()[:100]
    assert int.from_bytes(head[68:72], "big") == APPLICATION_ID
    assert head[68:72] == b"TWBK"
    assert int.from_bytes(head[60:64], "big") == SCHEMA
    assert head[18:20] == b"\x01\x01"  # rollback journal, not a write-ahead log


@pytest.mark.parametrize("table", APPEND_ONLY)
def test_nothing_is_ever_overwritten(story, table):
    with closing(sqlite3.connect(story.path)) as connection:
        (rows,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()
        assert rows, "the story has to leave a row in every table"
        with pytest.raises(sqlite3.IntegrityError, match="never overwritten"):
            connection.execute(f"UPDATE {table} SET sequence = sequence")
        with pytest.raises(sqlite3.IntegrityError, match="never overwritten"):
            connection.execute(f"DELETE FROM {table}")


def test_every_table_of_the_file_is_guarded(bench):
    with closing(sqlite3.connect(bench.path)) as connection:
        names = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        triggers = set(definitions(connection))
    assert names == {*APPEND_ONLY, "schema_step"}
    assert {f"{name}_never_{what}d" for name in names - {"schema_step"} for what in ("update", "delete")} <= triggers


def test_a_projection_row_needs_its_entry(bench):
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        driver_connection(bench.book._engines.writing).execute("INSERT INTO rules_issue VALUES (9999, 0, 7)")
