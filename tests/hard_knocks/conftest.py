"""A small signed book, made by command line, and the ways in which the world can spoil it."""

from __future__ import annotations

import hashlib
import io
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from app.command.main import run

PASSPHRASE = "two brown otters"
ENVIRON = {"TENTHWRIGHT_PASSPHRASE": PASSPHRASE}
FEATURES = """\
# part,WB-9
# revision,A
# serials,7
number,kind,requirement
1,outside diameter,⌀.7500 ±.0010
2,length,1.250 ±.005
3,note,DEBURR ALL EDGES
"""
READINGS = """\
serial,number,reading
7,1,.7501
7,2,1.2515
"""


class Place:
    """A folder with a book, worked by command lines."""

    def __init__(self, folder: Path, book: Path) -> None:
        self.folder = folder
        self.book = Path(shutil.copy(book, folder / "shop.tenthwright"))

    def say(self, *argv: str) -> tuple[int, str, str]:
        """Exit code, output and errors of one command line on the book."""
        out, err = io.StringIO(), io.StringIO()
        code = run([*argv, "--book", str(self.book)], environ=ENVIRON, out=out, err=err)
        assert "Traceback" not in out.getvalue() + err.getvalue()
        return code, out.getvalue(), err.getvalue()

    def file(self, name: str, text: str) -> str:
        """A text file in the folder above, where it does not count as the book's."""
        path = self.folder.parent / name
        path.write_text(text, encoding="utf-8")
        return str(path)

    def state(self) -> dict[str, str]:
        """The digest of every file in the folder."""
        return {
            file.name: hashlib.sha256(file.read_bytes()).hexdigest()
            for file in sorted(self.folder.iterdir())
            if file.is_file()
        }


@pytest.fixture(scope="session")
def small_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop's book with a sheet of three rows, two of them read."""
    folder = tmp_path_factory.mktemp("small")
    book, features, readings = folder / "shop.tenthwright", folder / "features.csv", folder / "readings.csv"
    features.write_text(FEATURES, encoding="utf-8")
    readings.write_text(READINGS, encoding="utf-8")
    for line in (
        ["new", "--shop", "Willow Bank", "--person", "Una", "--starter-crib"],
        ["take-in", str(features)],
        ["read", str(readings)],
    ):
        err = io.StringIO()
        assert run([*line, "--book", str(book)], environ=ENVIRON, out=err, err=err) == 0, err.getvalue()
    return book


@pytest.fixture
def new_place(small_book: Path) -> Callable[[Path], Place]:
    """Put a copy of the small book in a folder."""
    return lambda folder: Place(folder, small_book)


@pytest.fixture
def place(new_place: Callable[[Path], Place], tmp_path: Path) -> Place:
    """A copy of the small book in a folder of its own."""
    (tmp_path / "shop").mkdir()
    return new_place(tmp_path / "shop")


HOLDING = """
import sqlite3, sys
connection = sqlite3.connect(sys.argv[1], isolation_level=None)
connection.execute("BEGIN EXCLUSIVE")
print("held", flush=True)
sys.stdin.readline()
"""


@pytest.fixture
def hold() -> Iterator[Callable[[Path], int]]:
    """Let another program hold a book until the end of the test; its process number."""
    holders = []

    def begin(book: Path) -> int:
        holder = subprocess.Popen(
            [sys.executable, "-c", HOLDING, str(book)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        holders.append(holder)
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        return holder.pid

    yield begin
    for holder in holders:
        holder.communicate("\n", timeout=10)
