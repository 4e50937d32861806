"""A first look sees what the open book holds, or nothing; it never writes, never waits, and needs no database layer."""

from __future__ import annotations

import hashlib
import sqlite3
import subprocess
import sys
import time
from contextlib import closing

import pytest

from storage.book.door import Book
from storage.book.glance import glance
from storage.book.header import SCHEMA


def patched(path, at, new):
    content = bytearray(path.read_bytes())
    content[at : at + len(new)] = new
    path.write_bytes(content)


def test_a_look_sees_what_the_book_holds_and_changes_nothing(story):
    before = hashlib.sha256(story.path.read_bytes()).digest()
    look = glance(story.path, story.sheet_id)
    assert hashlib.sha256(story.path.read_bytes()).digest() == before
    assert [file.name for file in story.path.parent.iterdir()] == [story.path.name]
    with Book.open(story.path) as book:
        assert (look.shop, look.sheet) == (book.shop(), book.sheet(story.sheet_id))
        assert dict(look.plans) == dict(book.plans_of(look.sheet.plan.part_identity))


def test_a_book_goes_on_from_a_look(told):
    """Also where an entry was made between the look and the opening."""
    act = told.reading(3)
    told.book.close()
    look = glance(told.path, told.sheet_id)
    with Book.open(told.path) as other:
        other.do(act, person=told.person)
        moved = other.sheet(told.sheet_id)
    assert moved != look.sheet
    with Book.open(told.path, look=look) as book:
        assert book.sheet(told.sheet_id) == moved
        assert book.shop() == look.shop


def test_a_look_at_another_book_is_not_gone_on_from(story, told):
    with Book.open(story.path, look=glance(told.path, told.sheet_id)) as book:
        assert book.sheet(story.sheet_id).identity == story.sheet_id


@pytest.mark.parametrize("sheet", ["", "no such sheet"])
def test_no_look_at_a_sheet_that_is_not_there(story, sheet):
    assert glance(story.path, sheet) is None


def newer(path):
    patched(path, 60, (SCHEMA + 1).to_bytes(4, "big"))


def nonsense(path):
    patched(path, 100, bytes(range(256)) * 12)


def other_file(path):
    path.write_bytes(b"balloon;reading\n" * 400)


def gone(path):
    path.unlink()


def altered(path):
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("DROP TRIGGER journal_never_updated")
        connection.execute("UPDATE journal SET content = CAST(replace(content, 'burr', 'blur') AS BLOB)")
        connection.commit()


@pytest.mark.parametrize("spoil", [newer, nonsense, other_file, gone, altered])
def test_no_look_at_what_is_not_plainly_in_order(story, spoil):
    spoil(story.path)
    assert glance(story.path, story.sheet_id) is None


def test_a_locked_book_is_not_waited_for(story):
    with closing(sqlite3.connect(story.path, isolation_level=None)) as holder:
        holder.execute("BEGIN EXCLUSIVE")
        began = time.monotonic()
        assert glance(story.path, story.sheet_id) is None
        assert time.monotonic() - began < 0.5


def test_a_look_leaves_an_open_book_alone(story):
    """Its header could only be read by dropping the open connection's locks."""
    with Book.open(story.path):
        assert glance(story.path, story.sheet_id) is None
    assert glance(story.path, story.sheet_id) is not None


def test_a_look_needs_no_database_layer():
    code = "import sys, storage.book.glance; sys.exit('sqlalchemy' in sys.modules or 'alembic' in sys.modules)"
    assert subprocess.run([sys.executable, "-P", "-c", code], check=False, cwd="/").returncode == 0
