"""Cut off anywhere: what was acknowledged is on disk, what was not is not there in part."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time

import pytest

from inspection.sheet import acts
from storage.book.door import Book
from storage.book.engines import driver_connection
from storage.book.failures import BookFailure
from storage.book.verify import verify_book

WRITER = """
import sys
from pathlib import Path
from inspection.sheet import acts
from storage.book.door import Book
with Book.open(Path(sys.argv[1]), station=sys.argv[2]) as book:
    sheet = book.sheet(sys.argv[3])
    person = next(iter(book.shop().people))
    row = sheet.plan.characteristics[0].identity
    n = 0
    while True:
        n += 1
        note = acts.WriteNote(sheet=sheet.identity, characteristic=row, text=f"note {n}")
        print(book.do(note, person=person).entry, flush=True)
"""

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills by signal")


def test_what_was_acknowledged_survives_a_kill(story):
    """Ten writers, each killed at a random moment; every identity it told of is in the book, the chain is whole."""
    rng = random.Random(41)
    told: list[str] = []
    for round_ in range(10):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(story.path), f"station {round_}", story.sheet_id],
            stdout=subprocess.PIPE,
            text=True,
        )
        first = writer.stdout.readline()
        time.sleep(rng.uniform(0, 0.03))
        writer.send_signal(signal.SIGKILL)
        rest = writer.communicate()[0].splitlines(keepends=True)
        told += [line.strip() for line in (first, *rest) if line.endswith("\n")]
    with Book.open(story.path) as book:
        rows = driver_connection(book._engines.reading).execute("SELECT identity FROM journal")
        kept = {identity for (identity,) in rows}
    assert len(told) > 10
    assert set(told) <= kept
    assert verify_book(story.path).whole


def note(bench, text: str = "x" * 20_000) -> acts.WriteNote:
    sheet = bench.book._held.sheets[bench.sheet_id]
    return acts.WriteNote(sheet=sheet.identity, characteristic=sheet.plan.characteristics[0].identity, text=text)


def fill(bench) -> BookFailure:
    """Write until the disk is full."""
    with pytest.raises(BookFailure) as failed:
        for _ in range(2_000):
            bench.do(note(bench))
    return failed.value


def test_a_full_disk_writes_nothing_of_the_entry(told):
    """The file may not grow beyond what it has: SQLite answers as for a full disk."""
    connection = driver_connection(told.book._engines.writing)
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    connection.execute(f"PRAGMA max_page_count = {pages + 20}")
    failure = fill(told)
    assert failure.reasons[0].code == "book.disk_full"
    held = told.book._held.sheets[told.sheet_id]
    assert told.sheet == held
    connection.execute(f"PRAGMA max_page_count = {pages + 2_000}")
    assert len(told.do(note(told)).sheet.notes) == len(held.notes) + 1
    told.book.close()
    assert verify_book(told.path).whole


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 3 MB."""
    folder = tmp_path / "small disk"
    folder.mkdir()
    mount = shutil.which("mount")
    if mount is None or os.geteuid() != 0:
        pytest.skip("only root may mount a small disk")
    done = subprocess.run([mount, "-t", "tmpfs", "-o", "size=3m", "tmpfs", str(folder)], check=False)
    if done.returncode:
        pytest.skip("no small disk can be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_disk_that_is_really_full(small_disk, new_bench):
    bench = new_bench(small_disk / "shop.tenthwright")
    bench.make_sheet()
    failure = fill(bench)
    assert failure.reasons[0].code == "book.disk_full"
    held = bench.book._held.sheets[bench.sheet_id]
    assert bench.sheet == held
    bench.book.close()
    with Book.open(bench.path) as book:
        assert book.sheet(bench.sheet_id) == held
    assert verify_book(bench.path).whole
    assert not [file for file in small_disk.iterdir() if file.name != "shop.tenthwright"]


def test_a_new_book_on_a_full_disk_leaves_nothing(small_disk):
    (small_disk / "filler").write_bytes(bytes(3_000_000))
    with pytest.raises(BookFailure) as failed:
        Book.new(small_disk / "shop.tenthwright")
    assert failed.value.reasons[0].code in ("book.disk_full", "file.disk_full")
    assert [file.name for file in small_disk.iterdir()] == ["filler"]


def test_a_backup_on_a_full_disk_leaves_nothing(told, small_disk):
    (small_disk / "filler").write_bytes(bytes(2_950_000))
    with pytest.raises(BookFailure) as failed:
        told.book.back_up(small_disk / "copy.tenthwright")
    assert failed.value.reasons[0].code in ("book.disk_full", "file.disk_full")
    assert [file.name for file in small_disk.iterdir()] == ["filler"]


def test_a_fault_of_ours_is_not_told_as_the_worlds(told):
    with pytest.raises(sqlite3.ProgrammingError):
        told.book.ask(lambda connection: driver_connection(told.book._engines.reading).execute("SELECT 1", (1, 2)))
    with pytest.raises(ZeroDivisionError):
        told.book.ask(lambda connection: 1 / 0)


def test_reading_beside_a_reader_waits_and_then_says_so(told):
    """A reader that keeps its cursor stops a commit (rollback journal): told as held by another, and kept whole."""
    reader = sqlite3.connect(f"file:{told.path}?mode=ro", uri=True, isolation_level=None)
    reader.execute("BEGIN")
    reader.execute("SELECT * FROM journal").fetchone()
    before = told.book._held
    with pytest.raises(BookFailure) as failed:
        told.do(note(told, "waits"))
    assert failed.value.reasons[0].code in ("book.locked", "book.locked_by")
    assert told.book._held == before
    reader.close()
    assert told.do(note(told, "goes through")).sheet.notes[-1].text == "goes through"
