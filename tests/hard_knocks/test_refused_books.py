"""A book that cannot be used: the same sentence at the command line and in the window, and not a byte changed."""

from __future__ import annotations

import itertools
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from PySide6.QtWidgets import QLabel

from app.command.outcome import Exit
from storage.book.header import SCHEMA

VERBS = (
    ("list",),
    ("verdicts",),
    ("sign", "--incomplete", "row 3 waits"),
    ("verify", "--sheet", "WB-9"),
)


def patch(book: Path, at: int, new: bytes) -> None:
    content = bytearray(book.read_bytes())
    content[at : at + len(new)] = new
    book.write_bytes(content)


def damage(book: Path) -> None:
    patch(book, 100, bytes(range(256)) * 12)


def age(book: Path) -> None:
    patch(book, 60, (SCHEMA + 7).to_bytes(4, "big"))


def no_book(book: Path) -> None:
    book.write_text("balloon,reading\n1,.7501\n" * 50)


def cut_short(book: Path) -> None:
    content = book.read_bytes()
    book.write_bytes(content[: len(content) // 3])


def gone(book: Path) -> None:
    book.unlink()


#: What happened to the book, and how its sentence begins.
SPOILT = {
    damage: "shop.tenthwright is damaged: what it holds cannot be read whole. It was left as it is.",
    cut_short: "shop.tenthwright is damaged: what it holds cannot be read whole. It was left as it is.",
    age: f"shop.tenthwright was written by a newer version of the program (schema {SCHEMA + 7}; this one knows",
    no_book: "shop.tenthwright is not a book of this program. It was left as it is.",
    gone: "There is no book shop.tenthwright in ",
}
spoilt = pytest.mark.parametrize("spoil", SPOILT, ids=lambda spoil: spoil.__name__)


@spoilt
def test_every_command_says_it_and_changes_nothing(place, spoil) -> None:
    spoil(place.book)
    before = place.state()
    readings = place.file("more.csv", "serial,number,reading\n7,3,as required\n")
    sent = place.folder / "sheet.pdf"
    for argv in (*VERBS, ("read", readings), ("export", "pdf", str(sent)), ("choose",)):
        code, out, err = place.say(*argv)
        assert (code, out) == (Exit.WORLD, ""), argv
        assert err.startswith(SPOILT[spoil]), (argv, err)
        assert err.count("\n") == 1
        assert place.state() == before, argv


@spoilt
def test_scripts_are_told_the_same(place, spoil) -> None:
    spoil(place.book)
    code, out, _ = place.say("list", "--json")
    told = json.loads(out)
    assert (code, told["exit"], told["done"]) == (Exit.WORLD, Exit.WORLD, False)
    (reason,) = told["reasons"]
    assert reason["text"].startswith(SPOILT[spoil])


@pytest.fixture
def window(qapp, qtbot):
    """Open the window on a book; the sentence it stops with."""
    from app.window.early import Early
    from app.window.start import furnish

    frame, sitting = furnish(qapp, Early(theme="light"))

    def stopped(book: Path) -> str:
        frame.show()
        sitting.begin(book)
        qtbot.waitUntil(lambda: sitting.house.worker is None)
        return " ".join(label.text() for label in frame.findChildren(QLabel) if label.isVisible())

    yield stopped
    frame.close()
    with qtbot.waitSignal(frame.destroyed):
        frame.deleteLater()


@spoilt
def test_the_window_says_it_and_changes_nothing(place, spoil, window) -> None:
    spoil(place.book)
    before = place.state()
    assert SPOILT[spoil] in window(place.book)
    assert place.state() == before


# --- held by another program --------------------------------------------------------------------------------------


def test_a_book_that_another_program_writes_to(place, hold, window) -> None:
    holder = hold(place.book)
    before = place.state()
    for argv in VERBS[1:3]:
        code, out, err = place.say(*argv)
        assert (code, out) == (Exit.WORLD, ""), argv
        assert "is writing to shop.tenthwright. Nothing was written. Wait a moment and try again" in err
        assert str(holder) in err or not Path("/proc/locks").exists()
    assert "is writing to shop.tenthwright. Nothing was written." in window(place.book)
    assert place.state() == before


# --- may only be read ---------------------------------------------------------------------------------------------

AS_NOBODY = """
import codecs, io, os, platformdirs, sys
from app.command.main import run
for line in (["template", "readings", sys.argv[2]], *([each, "--book", sys.argv[1]] for each in sys.argv[3].split())):
    run(line, out=io.StringIO(), err=io.StringIO())  # everything is imported before the rights are given up
codecs.lookup("ascii")
if os.geteuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
sys.exit(run(sys.argv[4:]))
"""


@pytest.fixture
def reachable(new_place):
    """A book in a folder that everybody may enter."""
    top = Path(tempfile.mkdtemp())
    top.chmod(0o755)
    (top / "shop").mkdir(mode=0o777)
    (top / "shop").chmod(0o777)
    yield new_place(top / "shop")
    (top / "shop").chmod(0o777)
    shutil.rmtree(top)


#: Verbs that only look, with what they are asked.
LOOKING = ("list", "verdicts", "choose", "missing", "crib", "pull-list", "head", "evidence")

posix = pytest.mark.skipif(os.name != "posix", reason="rights are POSIX here")


@pytest.fixture
def by_nobody(small_book, tmp_path):
    """Carry out a command as a person without rights; root steps down, for nothing is ever refused to it."""
    numbers = itertools.count()

    def done(*argv: str) -> subprocess.CompletedProcess[str]:
        file = tmp_path / f"{next(numbers)}.csv"
        first = [sys.executable, "-P", "-c", AS_NOBODY, str(small_book), str(file), " ".join(LOOKING), *argv]
        return subprocess.run(first, capture_output=True, text=True, check=False, cwd="/", timeout=60)

    return done


@posix
def test_a_book_or_folder_that_may_only_be_read_is_not_written_to(reachable, by_nobody) -> None:
    def said(*argv: str) -> str:
        done = by_nobody(*argv)
        assert done.returncode == Exit.WORLD
        return done.stderr

    before, acting = reachable.state(), ["head", "order=7", "--book", str(reachable.book)]
    reachable.book.chmod(0o444)
    assert said(*acting).startswith("shop.tenthwright may only be read: file or disk are protected")
    reachable.book.chmod(0o666)
    reachable.folder.chmod(0o555)
    needs = f"The folder {reachable.folder} may not be written to, and the book shop.tenthwright needs it"
    assert said(*acting).startswith(needs)
    refused = said("template", "readings", str(reachable.folder / "sheet.csv"))
    assert refused.startswith(f"sheet.csv in {reachable.folder} may not be opened or written by you.")
    assert reachable.state() == before


@posix
@pytest.mark.parametrize("verb", LOOKING)
def test_what_only_looks_reads_a_book_that_may_only_be_read(reachable, by_nobody, verb) -> None:
    before, asked = reachable.state(), [verb, "--book", str(reachable.book)]
    expected = by_nobody(*asked)
    reachable.book.chmod(0o444)
    reachable.folder.chmod(0o555)
    found = by_nobody(*asked)
    assert (found.returncode, found.stdout, found.stderr) == (expected.returncode, expected.stdout, expected.stderr)
    assert found.returncode in (Exit.DONE, Exit.NOT_CONFORMING)
    assert reachable.state() == before


@posix
def test_a_book_cut_off_that_may_only_be_read_keeps_what_is_beside_it(reachable, by_nobody) -> None:
    journal = reachable.book.with_name(f"{reachable.book.name}-journal")
    journal.write_bytes(bytes.fromhex("d9d505f920a163d7") + bytes(504))
    reachable.book.chmod(0o444)
    reachable.folder.chmod(0o555)
    before = reachable.state()
    done = by_nobody("list", "--book", str(reachable.book))
    assert done.returncode == Exit.WORLD
    assert "Copy shop.tenthwright and shop.tenthwright-journal together" in done.stderr
    assert reachable.state() == before
