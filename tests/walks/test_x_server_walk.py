"""The same walk once more as a process of its own, its keys sent by an X server: nothing of the program is touched but
its window, and the book is looked at from outside."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from app.command.outcome import Exit

PASSPHRASE = "nine blue herons"
#: Between two keys of a hand, in milliseconds.
BY_HAND = "60"
LETTERS = {"as required": "e", "enters": "e", "does not enter": "n"}

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(shutil.which("Xvfb") is None, reason="Xvfb is not installed"),
    pytest.mark.skipif(shutil.which("xdotool") is None, reason="xdotool is not installed"),
    pytest.mark.skipif(shutil.which("setxkbmap") is None, reason="setxkbmap is not installed"),
]


def wait_until(found: Callable[[], Any], what: str, seconds: float = 15) -> Any:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if answer := found():
            return answer
        time.sleep(0.004)
    raise AssertionError(f"waited in vain until {what}")


@pytest.fixture(scope="module")
def display() -> Iterator[str]:
    """An X server without a screen; its name."""
    reading, writing = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1440x900x24", "-nolisten", "tcp", "-noreset"],
        pass_fds=[writing],
        stderr=subprocess.DEVNULL,
    )
    os.close(writing)
    with os.fdopen(reading) as told:
        name = f":{told.readline().strip()}"
    # a keyboard that has the sign for degrees: what a keyboard lacks is put on a spare key, and is lost under load
    subprocess.run(["setxkbmap", "-display", name, "de"], check=True)
    yield name
    server.terminate()
    server.wait()


class Bench:
    """The program's own process on a display."""

    def __init__(self, display: str, book: Path, folder: Path) -> None:
        self.book = book
        self.environ = {**os.environ, "DISPLAY": display, "QT_QPA_PLATFORM": "xcb"}
        for kind in ("CONFIG", "DATA", "STATE"):
            self.environ[f"XDG_{kind}_HOME"] = str(folder / kind.lower())
        said = folder / "said.txt"
        with said.open("wb") as errors:
            command = [sys.executable, "-P", "-m", "app.window", str(book)]
            self.process = subprocess.Popen(command, env=self.environ, stderr=errors, cwd="/")
        wait_until(lambda: self.windows() or self.process.poll() is not None, "the window stands")
        if self.process.poll() is not None:
            pytest.skip(f"the window cannot be opened on an X server here: {said.read_text()}")

    def x(self, *argv: str) -> str:
        done = subprocess.run(["xdotool", *argv], env=self.environ, capture_output=True, text=True, check=False)
        return done.stdout

    def windows(self) -> list[str]:
        """The windows on the display, the newest last."""
        return self.x("search", "--onlyvisible", "--pid", str(self.process.pid)).split()

    def focus(self, count: int = 1) -> None:
        """Give the keys to the newest of ``count`` windows, as a window manager does, and there is none."""
        windows = wait_until(lambda: (found := self.windows()) and len(found) == count and found, f"{count} windows")
        self.x("windowfocus", "--sync", windows[-1])

    def until_asked(self, *names: str) -> None:
        """Press a key until a further window opens: on a busy machine a room may still be preparing what it asks of."""
        before = set(self.windows())

        def asked() -> bool:
            self.keys(*names)
            until = time.monotonic() + 3
            while time.monotonic() < until:
                if set(self.windows()) - before:
                    return True
                time.sleep(0.02)
            return False

        wait_until(asked, f"{names} asks", 30)
        self.focus(2)

    def keys(self, *names: str) -> None:
        self.x("key", "--delay", "0", *names)

    def type(self, text: str, delay: str = "0") -> None:
        self.x("type", "--delay", delay, text)

    def entries(self) -> int:
        with closing(sqlite3.connect(f"file:{self.book}?mode=ro", uri=True, timeout=5)) as connection:
            return int(connection.execute("SELECT count(*) FROM journal").fetchone()[0])

    def until_kept(self, before: int, count: int = 1) -> None:
        wait_until(lambda: self.entries() >= before + count, f"{count} entries are on disk")

    def answer(self, *fields: str) -> None:
        """Type into the fields of the dialog that opens, one after the other, and agree."""
        self.focus(2)
        for place, text in enumerate(fields):
            if place:
                self.keys("Tab")
            if text:
                self.keys("ctrl+a")
                self.type(text)
        self.keys("Return")
        self.focus(1)

    def row(self, row: dict[str, str]) -> None:
        """What a person types for one row of the story."""
        before, kept, reading = self.entries(), 1, row.get("reading", "")
        if row.get("note"):
            self.keys("d")
            self.answer(row["note"])
        elif row.get("withdraw"):
            self.keys("ctrl+z")
        elif row.get("answer") == "keep":
            time.sleep(0.1)
            self.keys("Return")
        elif row.get("replaces"):
            self.keys("F2")
            self.type(reading)
            self.keys("Return")
            self.answer(row["reason"])
        else:
            if row.get("instrument"):
                kept = 2
                self.keys("i")
                self.focus(2)
                self.type(row["instrument"])
                self.keys("Tab")
                self.type(row["reason"])
                self.keys("Return")
                self.focus(1)
                self.until_kept(before)
            if reading in LETTERS:
                self.keys(LETTERS[reading])
            else:
                self.type(reading, BY_HAND if row.get("answer") else "0")
                time.sleep(0.06 if row.get("answer") else 0)
                self.keys("Return")
        self.until_kept(before, kept)

    def leave(self) -> None:
        """Close the window by key."""
        self.keys("ctrl+q")
        assert self.process.wait(10) == 0


@pytest.fixture
def open_bench(display):
    opened: list[Bench] = []

    def make(book: Path, folder: Path) -> Bench:
        opened.append(Bench(display, book, folder))
        return opened[-1]

    yield make
    for bench in opened:
        if bench.process.poll() is None:
            bench.process.kill()
            bench.process.wait()


def told(sheet: Any) -> dict[str, Any]:
    """What a sheet says, without the identities and moments that differ between two walks."""
    numbers = {row.identity: row.number for row in sheet.plan.characteristics}
    serials = {piece.identity: piece.serial for piece in sheet.pieces}

    def reading(each: Any) -> tuple[Any, ...]:
        return (
            numbers[each.characteristic],
            serials[each.piece],
            each.slot,
            each.count,
            each.written,
            each.observed,
            each.reason,
        )

    return {
        "readings": [reading(each) for each in sheet.readings.values()],
        "withdrawn": [(reading(sheet.readings[name]), why.reason) for name, why in sheet.withdrawn.items()],
        "verdicts": [(numbers[row], serials[piece], each.verdict) for (row, piece), each in sheet.judgements.items()],
        "questions": [(numbers[each.characteristic], each.reason.code) for each in sheet.questions.values()],
        "answers": [each.answer for each in sheet.answers.values()],
        "notes": [(numbers[each.characteristic], each.text) for each in sheet.notes],
        "by hand": [
            (numbers[row], each.chosen_by_hand) for row, each in sheet.assignments.items() if each.chosen_by_hand
        ],
        "sealed": sheet.sealed,
    }


def test_the_walk_through_the_x_server(new_walk, open_bench, story, measured) -> None:
    walk = new_walk("x server")
    settings = walk.folder / "config" / "tenthwright" / "settings.toml"
    settings.parent.mkdir(parents=True)
    settings.write_text(f'book = "{walk.book}"\nsheet = "{walk.sheet}"\n', encoding="utf-8")
    half = len(story) // 2
    for rows in (story[:half], story[half:]):  # closed and opened again half-way
        bench = open_bench(walk.book, walk.folder)
        bench.focus()
        for row in rows:
            bench.row(row)
        if row is not story[-1]:
            bench.leave()
    sent = sign_and_send(bench, walk.folder)
    bench.leave()
    with walk.hand() as mine, measured.hand() as other:
        assert told(mine.book.sheet(walk.sheet)) == told(other.book.sheet(walk.sheet))
    assert walk.command("verify") == Exit.DONE, walk.said
    assert walk.command("verify", str(sent)) == Exit.DONE, walk.said


def sign_and_send(bench: Bench, folder: Path) -> Path:
    """In the Ledger and at the Desk, by key."""
    bench.keys("ctrl+4")
    before = bench.entries()
    bench.until_asked("ctrl+g")
    bench.answer(PASSPHRASE)
    bench.until_kept(before, 2)  # the seal, and the signed PDF
    bench.keys("ctrl+d")
    sent = folder / "walk.signed.pdf"
    bench.until_asked("ctrl+e")
    told = bench.windows()[-1]
    bench.keys("Return")  # what the customer will miss is told first
    wait_until(lambda: told not in bench.windows() and len(bench.windows()) == 2, "it asks where to")
    bench.answer("", str(folder), "walk")
    bench.until_kept(before, 3)
    return sent
