"""Every book that cannot be opened gets its own sentence and keeps every byte."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import pytest

from inspection.sheet import acts
from inspection.words.say import known, say
from storage.book import opening
from storage.book.door import Book
from storage.book.failures import BookFailure
from storage.book.header import APPLICATION_ID, SCHEMA, default_place, open_in_this_process, read_header
from storage.book.opening import open_book
from storage.book.verify import verify_book


def state(folder: Path) -> dict[str, str]:
    """The digest of every file of a folder."""
    return {
        file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in sorted(folder.iterdir()) if file.is_file()
    }


def refused(path: Path, writable: bool = True) -> str:
    """The one reason for which the book is not opened; nothing in its folder may have changed."""
    before = state(path.parent)
    with pytest.raises(BookFailure) as failed:
        open_book(path, writable=writable).engines.close()
    assert state(path.parent) == before
    (reason,) = failed.value.reasons
    assert known(reason.code)
    assert "[" not in say(reason)
    return reason.code


def patched(path: Path, at: int, new: bytes) -> None:
    content = bytearray(path.read_bytes())
    content[at : at + len(new)] = new
    path.write_bytes(content)


def test_a_missing_book_is_not_made(tmp_path):
    assert refused(tmp_path / "none.tenthwright") == "book.missing"
    assert list(tmp_path.iterdir()) == []


def test_a_folder_is_no_book(tmp_path):
    (tmp_path / "inner").mkdir()
    assert refused(tmp_path / "inner") == "book.is_folder"


def test_an_empty_file_is_no_book(tmp_path):
    (tmp_path / "empty.tenthwright").touch()
    assert refused(tmp_path / "empty.tenthwright") == "book.empty"


@pytest.mark.parametrize("content", [b"x", b"balloon;reading\n1;0.5\n" * 500, bytes(5_000)])
def test_any_other_file_is_no_book(tmp_path, content):
    (tmp_path / "readings.csv").write_bytes(content)
    assert refused(tmp_path / "readings.csv") == "book.not_a_book"


def test_another_programs_database_is_no_book(tmp_path):
    with closing(sqlite3.connect(tmp_path / "music.db")) as connection:
        connection.execute("CREATE TABLE songs (name)")
    assert refused(tmp_path / "music.db") == "book.other_program"


def test_a_newer_book(story):
    patched(story.path, 60, (SCHEMA + 1).to_bytes(4, "big"))
    assert refused(story.path) == "book.newer"


def test_a_damaged_beginning(story):
    patched(story.path, 0, b"SQLite format 4\x00")
    assert refused(story.path) == "book.damaged"


def test_a_file_cut_short(story):
    content = story.path.read_bytes()
    story.path.write_bytes(content[: len(content) // 2])
    assert refused(story.path) == "book.damaged"


def test_a_first_page_of_nonsense(story):
    patched(story.path, 100, bytes(range(256)) * 12)
    assert refused(story.path) == "book.damaged"


def test_a_table_taken_out(story):
    with closing(sqlite3.connect(story.path)) as connection:
        connection.execute("DROP TABLE note")
    assert refused(story.path) == "book.damaged"


def test_damage_found_later_is_told_and_the_file_kept(story):
    """A page in the middle is nonsense: the sheet cannot be folded."""
    with closing(sqlite3.connect(story.path)) as connection:
        if ("ENABLE_DBSTAT_VTAB",) not in connection.execute("PRAGMA compile_options").fetchall():
            pytest.skip("this SQLite was built without dbstat")
        (page,) = connection.execute("SELECT max(pageno) FROM dbstat WHERE name = 'journal'").fetchone()
        sheets = [name for (name,) in connection.execute("SELECT sheet FROM sheet")]
    patched(story.path, (page - 1) * 4096, bytes([0xA5]) * 4096)
    before = state(story.path.parent)
    with pytest.raises(BookFailure) as failed, Book.open(story.path) as book:
        for sheet in sheets:
            book.sheet(sheet)
    assert failed.value.reasons[0].code in ("book.damaged", "book.entry_damaged")
    assert state(story.path.parent) == before


def test_an_entry_altered_behind_the_programs_back_is_not_folded(story):
    with closing(sqlite3.connect(story.path)) as connection:
        connection.execute("DROP TRIGGER journal_never_updated")
        connection.execute("UPDATE journal SET content = CAST(replace(content, 'burr', 'blur') AS BLOB)")
        connection.commit()
    with pytest.raises(BookFailure) as failed, Book.open(story.path) as book:
        book.sheet(story.sheet_id)
    assert failed.value.reasons[0].code == "book.entry_damaged"


AS_NOBODY = """
import os, sys
from pathlib import Path
from storage.book.failures import BookFailure
from storage.book.opening import open_book
open_book(Path(sys.argv[2])).engines.close()  # everything is imported before the rights are given up
if os.geteuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    open_book(Path(sys.argv[1])).engines.close()
    print("opened")
except BookFailure as failure:
    print(failure.reasons[0].code)
"""


def opened_by_nobody(path: Path, other: Path) -> str:
    """What a person without rights is told; root steps down, for nothing is ever refused to it."""
    done = subprocess.run(
        [sys.executable, "-c", AS_NOBODY, str(path), str(other)], capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


@pytest.fixture
def reachable(story):
    """The story in a folder that everybody may enter."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o777)
    path = Path(shutil.copy(story.path, folder / "shop.tenthwright"))
    path.chmod(0o666)
    yield path
    folder.chmod(0o777)
    shutil.rmtree(folder)


@pytest.mark.skipif(os.name != "posix", reason="rights are POSIX here")
def test_a_book_that_may_only_be_read(reachable, story):
    before = state(reachable.parent)
    assert opened_by_nobody(reachable, story.path) == "opened"
    reachable.chmod(0o444)
    assert opened_by_nobody(reachable, story.path) == "book.read_only"
    reachable.chmod(0o666)
    reachable.parent.chmod(0o555)
    assert opened_by_nobody(reachable, story.path) == "book.folder_read_only"
    reachable.chmod(0o000)
    reachable.parent.chmod(0o777)
    assert opened_by_nobody(reachable, story.path) in ("book.read_only", "book.not_allowed")
    assert state(reachable.parent) == before


HOLDING = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN EXCLUSIVE")
print("held", flush=True)
sys.stdin.readline()
"""


@pytest.fixture
def held(story):
    """The story's book, held by another program."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(story.path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout.readline() == "held\n"
    yield story, holder
    holder.communicate("\n", timeout=10)


def test_a_book_held_by_another_program(held):
    story, holder = held
    before = state(story.path.parent)
    began = time.monotonic()
    with pytest.raises(BookFailure) as failed:
        Book.open(story.path)
    assert time.monotonic() - began < 3
    (reason,) = failed.value.reasons
    if Path("/proc/locks").exists():
        assert reason.code == "book.locked_by"
        assert str(holder.pid) in str(reason.parts["holder"])
    else:
        assert reason.code == "book.locked"
    assert state(story.path.parent) == before


def test_an_entry_while_another_program_writes(told):
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDING, str(told.path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout.readline() == "held\n"
    before = told.book._held.sheets[told.sheet_id]
    with pytest.raises(BookFailure) as failed:
        told.book.do(_note(told), person=told.person)
    assert failed.value.reasons[0].code in ("book.locked", "book.locked_by")
    holder.communicate("\n", timeout=10)
    assert told.book.sheet(told.sheet_id) == before


def _note(bench):
    sheet = bench.book._held.sheets[bench.sheet_id]
    return acts.WriteNote(sheet=sheet.identity, characteristic=sheet.plan.characteristics[0].identity, text="x")


CUT_OFF = """
import os, signal, sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("PRAGMA cache_size = 1")
connection.execute("BEGIN IMMEDIATE")
for table in ("note_never_updated", "note_never_deleted"):
    connection.execute(f"DROP TRIGGER {table}")
connection.execute("DELETE FROM note")
connection.execute("CREATE TABLE filler (a)")
connection.executemany("INSERT INTO filler VALUES (?)", [("x" * 3000,)] * 200)
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.fixture
def cut_off(story):
    """The story's book after a writer was killed in the middle of a transaction that had reached the file."""
    subprocess.run([sys.executable, "-c", CUT_OFF, str(story.path)], check=False)
    assert story.path.with_name(f"{story.path.name}-journal").stat().st_size > 0
    return story


@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
def test_a_leftover_journal_is_rolled_back_and_said(cut_off):
    with Book.open(cut_off.path) as book:
        assert [notice.code for notice in book.notices] == ["book.recovered"]
        assert len(book.sheet(cut_off.sheet_id).notes) == 1
    assert not cut_off.path.with_name(f"{cut_off.path.name}-journal").exists()
    assert verify_book(cut_off.path).whole
    with Book.open(cut_off.path) as book:
        assert book.notices == ()


@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
def test_a_check_leaves_a_leftover_journal_alone(cut_off):
    assert refused(cut_off.path, writable=False) == "book.cut_off"


def test_a_book_that_is_whole_says_nothing(story):
    with Book.open(story.path) as book:
        assert book.notices == ()


def test_the_header_is_not_read_beside_an_open_connection(story, monkeypatch):
    """Closing a second descriptor would drop the locks of the first connection."""
    with Book.open(story.path):
        monkeypatch.setattr(opening, "read_header", lambda path: pytest.fail("read beside a connection"))
        Book.open(story.path).close()
    monkeypatch.undo()
    assert read_header(story.path).application == APPLICATION_ID


def test_closing_twice_does_nothing(story):
    book = Book.open(story.path)
    book.close()
    book.close()
    assert open_in_this_process(story.path) is False


def test_the_default_place_is_the_users_own():
    place = default_place()
    assert place.is_absolute()
    assert (place.parent.name, place.name) == ("tenthwright", "shop.tenthwright")


def test_a_path_with_spaces_and_signs(new_bench, tmp_path):
    bench = new_bench(tmp_path / "Größe #1 50% ?.tenthwright")
    bench.make_sheet(2)
    bench.take(0)
    bench.book.close()
    assert verify_book(bench.path).whole


def test_a_folder_that_is_not_there_is_made_for_a_new_book(tmp_path):
    Book.new(tmp_path / "data" / "shop" / "shop.tenthwright").close()
    assert [file.name for file in (tmp_path / "data" / "shop").iterdir()] == ["shop.tenthwright"]
