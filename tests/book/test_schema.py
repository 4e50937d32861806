"""The schema: the steps and the tables say the same, and a move keeps a backup and every row."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from inspection.words.say import say
from storage.book import schema
from storage.book.door import Book
from storage.book.engines import Engines, driver_connection
from storage.book.failures import BookFailure
from storage.book.header import APPLICATION_ID, SCHEMA
from storage.book.opening import make_book, open_book
from storage.book.schema import definitions
from storage.book.tables import metadata, schema_step


@pytest.fixture
def before_the_first(tmp_path):
    """A file marked as a book in which no step was taken yet."""
    path = tmp_path / "old.tenthwright"
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("CREATE TABLE kept_by_hand (a)")
        connection.execute("INSERT INTO kept_by_hand VALUES (1), (2)")
    return path


def test_first_schema(before_the_first, tmp_path):
    """What changed: every table, index and trigger is there, as in a book made new. What remained: the other rows."""
    open_book(before_the_first).engines.close()
    make_book(tmp_path / "new.tenthwright")
    with (
        closing(sqlite3.connect(before_the_first)) as moved,
        closing(sqlite3.connect(tmp_path / "new.tenthwright")) as new,
    ):
        found = definitions(moved)
        assert found.pop("kept_by_hand")
        assert found == definitions(new)
        assert moved.execute("SELECT a FROM kept_by_hand").fetchall() == [(1,), (2,)]
        assert moved.execute("SELECT version_num FROM schema_step").fetchall() == [(str(SCHEMA),)]
        assert new.execute("SELECT version_num FROM schema_step").fetchall() == [(str(SCHEMA),)]
        assert moved.execute("PRAGMA user_version").fetchone() == (SCHEMA,)


def test_doubt_and_review(tmp_path):
    """What changed: the tables of doubt and review are there, empty. What remained: every row of a kept book."""
    kept = Path(__file__).parents[1] / "books" / "schema_2.tenthwright"
    path = Path(shutil.copy(kept, tmp_path / "kept.tenthwright"))
    new = {"check_made", "upset", "study", "doubt", "in_doubt", "nonconformance", "statement", "read_again"}
    with closing(sqlite3.connect(path)) as connection:
        names = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        before = {name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name in names}
    assert not new & set(before)
    open_book(path).engines.close()
    with closing(sqlite3.connect(path)) as connection:
        after = {name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name in (*before, *new)}
    del before["schema_step"], after["schema_step"]
    assert {name: after[name] for name in before} == before
    assert all(after[name] == [] for name in new)


def test_gauge_studies(tmp_path):
    """What changed: the new tables are there, empty. What remained: every row of a kept book."""
    kept = Path(__file__).parents[1] / "books" / "schema_3.tenthwright"
    path = Path(shutil.copy(kept, tmp_path / "kept.tenthwright"))
    new = {"gauge_study", "study_reading", "study_answer", "study_end", "sheet_mark", "study_withdrawal", "document"}
    with closing(sqlite3.connect(path)) as connection:
        names = [name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        before = {name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name in names}
    assert not new & set(before)
    open_book(path).engines.close()
    with closing(sqlite3.connect(path)) as connection:
        after = {name: connection.execute(f'SELECT * FROM "{name}"').fetchall() for name in (*before, *new)}
    del before["schema_step"], after["schema_step"]
    assert {name: after[name] for name in before} == before
    assert all(after[name] == [] for name in new)


def test_the_steps_make_what_the_tables_say(before_the_first):
    opened = open_book(before_the_first)
    with opened.engines.reading.connect() as connection:
        driver_connection(opened.engines.reading).execute("DROP TABLE kept_by_hand")
        context = MigrationContext.configure(connection, opts={"version_table": schema_step.name})
        found = [change for change in compare_metadata(context, metadata) if change[-1] is not schema_step]
    opened.engines.close()
    assert found == []


def test_a_move_lays_a_backup_beside_the_book_and_says_so(before_the_first):
    with closing(sqlite3.connect(before_the_first)) as connection:
        rows = connection.execute("SELECT * FROM kept_by_hand").fetchall()
    opened = open_book(before_the_first)
    opened.engines.close()
    (notice,) = opened.notices
    backup = before_the_first.with_name(str(notice.parts["backup"]))
    assert notice.code == "book.moved"
    assert backup.name in say(notice)
    with closing(sqlite3.connect(backup)) as connection:
        assert connection.execute("SELECT * FROM kept_by_hand").fetchall() == rows
        assert connection.execute("PRAGMA user_version").fetchone() == (0,)
    with Book.open(before_the_first) as book:
        assert book.notices == ()


def test_a_move_that_fails_leaves_the_book_as_it_was(before_the_first, monkeypatch):
    def fail(connection):
        raise RuntimeError("a mistake of ours")

    monkeypatch.setattr(schema, "mark", fail)
    before = hashlib.sha256(before_the_first.read_bytes()).hexdigest()
    with pytest.raises(RuntimeError):
        open_book(before_the_first)
    assert hashlib.sha256(before_the_first.read_bytes()).hexdigest() == before
    monkeypatch.undo()
    open_book(before_the_first).engines.close()
    assert len(list(before_the_first.parent.glob("old-before-schema-*"))) == 2  # neither took the other's place


def test_a_move_that_would_lose_rows_is_not_made(before_the_first, monkeypatch):
    make_book(before_the_first.with_name("rows.tenthwright"))
    path = before_the_first.with_name("rows.tenthwright")
    engines = Engines(path)

    def lose(connection, version):
        connection.exec_driver_sql("DELETE FROM schema_step")

    monkeypatch.setattr(schema, "_run_steps", lose)
    with pytest.raises(RuntimeError, match="lost rows"):
        schema.move(engines, 0)
    connection = driver_connection(engines.reading)
    assert connection.execute("SELECT count(*) FROM schema_step").fetchone() == (1,)
    assert connection.execute("PRAGMA foreign_keys").fetchone() == (1,)
    engines.close()


def test_a_damaged_older_book_is_not_moved_and_no_copy_is_left(before_the_first):
    with closing(sqlite3.connect(before_the_first, isolation_level=None)) as connection:
        connection.execute("CREATE TABLE more (a)")
        connection.executemany("INSERT INTO more VALUES (?)", [("x" * 3_000,)] * 40)
    content = bytearray(before_the_first.read_bytes())
    content[-4096 * 20 : -4096 * 19] = bytes([0xA5]) * 4096
    before_the_first.write_bytes(content)
    with pytest.raises(BookFailure) as failed:
        open_book(before_the_first)
    assert failed.value.reasons[0].code == "book.damaged"
    assert before_the_first.read_bytes() == content
    assert [file.name for file in before_the_first.parent.iterdir()] == [before_the_first.name]


def test_an_older_book_is_not_moved_by_a_check(before_the_first):
    before = before_the_first.read_bytes()
    with pytest.raises(BookFailure) as failed:
        open_book(before_the_first, writable=False)
    assert failed.value.reasons[0].code == "book.older"
    assert before_the_first.read_bytes() == before


LOADED = """
import json, sys
from pathlib import Path
from storage.book.door import Book
after_import = sorted(sys.modules)
Book.open(Path(sys.argv[1])).close()
print(json.dumps([after_import, sorted(sys.modules)]))
"""


def test_the_door_brings_neither_the_mapper_nor_the_migrations(told_once):
    done = subprocess.run(
        [sys.executable, "-c", LOADED, str(told_once.path)], capture_output=True, text=True, check=True
    )
    for modules in json.loads(done.stdout):
        heavy = ("sqlalchemy.orm", "alembic", "numpy", "cryptography", "PySide6", "reportlab", "openpyxl", "pint")
        assert [name for name in heavy if name in modules] == []
