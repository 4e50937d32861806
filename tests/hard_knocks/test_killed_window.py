"""The real window, killed at any moment of entry, signing and sending: what it had shown is in the book, the chain is
whole, and no part of a file lies anywhere."""

from __future__ import annotations

import io
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import openpyxl
import pypdfium2
import pytest

from app.command.main import run
from app.jobs.hand import Hand
from storage.book.clock import new_identity, wall_clock
from storage.book.queries.gauge_studies import gauge_studies
from storage.book.queries.sheets import list_sheets
from storage.book.verify import verify_book

HERE = Path(__file__).parent
#: How often the window is killed; more of them by hand.
KILLS = int(os.environ.get("TENTHWRIGHT_KILLS", "10"))
PHASES = ("entry", "entry", "entry", "signing", "export")
ENVIRON = {"TENTHWRIGHT_PASSPHRASE": "two brown otters"}

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name != "posix", reason="kills by signal")]


@pytest.fixture(scope="module")
def long_book(tmp_path_factory) -> Path:
    """A book with a sheet of 200 lengths, nothing read yet."""
    folder = tmp_path_factory.mktemp("long")
    features, book = folder / "features.csv", folder / "shop.tenthwright"
    rows = "".join(f"{i},length,{1 + i / 100:.3f} ±.005\n" for i in range(1, 201))
    features.write_text(f"# part,LB-2\n# revision,A\n# serials,1\nnumber,kind,requirement\n{rows}", encoding="utf-8")
    for line in (["new", "--shop", "Willow Bank", "--person", "Una", "--starter-crib"], ["take-in", str(features)]):
        err = io.StringIO()
        assert run([*line, "--book", str(book)], environ=ENVIRON, out=err, err=err) == 0, err.getvalue()
    return book


class Killed(NamedTuple):
    """What a killed window left: lines it had told, and whether a journal lies beside its book."""

    told: list[str]
    journal: bool


class Window:
    """A window in a process of its own, with settings and folder of its own."""

    def __init__(self, book: Path, sheet: str, folder: Path, phase: str) -> None:
        self.journal = book.with_name(f"{book.name}-journal")
        settings = folder / "config" / "tenthwright" / "settings.toml"
        settings.parent.mkdir(parents=True)
        settings.write_text(f'book = "{book}"\nsheet = "{sheet}"\n', encoding="utf-8")
        (folder / "sent").mkdir()
        reading, writing = os.pipe()
        self.lines = os.fdopen(reading, encoding="utf-8")
        environ = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "XDG_CONFIG_HOME": str(folder / "config")}
        command = [sys.executable, "-P", str(HERE / "window_driver.py"), str(book), str(writing), phase]
        self.process = subprocess.Popen(
            [*command, str(folder / "sent")], env=environ, pass_fds=[writing], stderr=subprocess.DEVNULL
        )
        os.close(writing)

    def wait_for(self, count: int, word: str) -> list[str]:
        """Lines up to the ``count``-th, or up to ``word``."""
        told: list[str] = []
        while len(told) < count and word not in told:
            line = self.lines.readline()
            assert line, f"the window ended by itself after {told}"
            told.append(line.strip())
        return told

    def kill(self, rng: random.Random, *, in_commit: bool) -> list[str]:
        """Kill the window, in the middle of a commit or at any moment; the rest of what it told."""
        time.sleep(rng.uniform(0, 0.12))
        until = time.monotonic() + 2
        while in_commit and time.monotonic() < until and not self._committing():
            pass
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        rest = self.lines.read().splitlines(keepends=True)
        self.lines.close()
        return [line.strip() for line in rest if line.endswith("\n")]

    def _committing(self) -> bool:
        try:
            return self.journal.stat().st_size > 0
        except OSError:
            return False


def killed(long_book: Path, folder: Path, phase: str, rng: random.Random, *, in_commit: bool) -> Killed:
    folder.mkdir()
    book = Path(shutil.copy(long_book, folder / "shop.tenthwright"))
    with Hand.open(book, wall_clock, new_identity) as hand:
        (sheet,) = hand.book.ask(list_sheets, limit=2)
    window = Window(book, sheet.sheet, folder, phase)
    told = window.wait_for(rng.randint(1, 12) if phase == "entry" else 99, phase)
    told += window.kill(rng, in_commit=in_commit)
    return Killed(told, window._committing())


def test_what_was_shown_survives_every_kill(long_book, tmp_path, monkeypatch) -> None:
    rng = random.Random(1109)
    left, shown = Counter(), 0
    for number in range(KILLS):
        phase = PHASES[number % len(PHASES)]
        folder = tmp_path / f"{number} {phase}"
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / f"data {number}"))  # a computer that knows no other copy
        found = killed(long_book, folder, phase, rng, in_commit=number % 2 == 0)
        assert "failed" not in found.told
        left[phase] += found.journal
        shown += check(folder, found)
    print(f"\n{KILLS} kills, {sum(left.values())} left a journal: {dict(left)}; {shown} readings had been shown")
    assert sum(left.values()) >= KILLS // 5
    assert shown >= 3 * KILLS


def check(folder: Path, found: Killed) -> int:
    """Everything that the window told is in the book, which is whole; how many readings it had shown."""
    book = folder / "shop.tenthwright"
    with Hand.open(book, wall_clock, new_identity) as hand:
        codes = [notice.code for notice in hand.book.notices]
        (listed,) = hand.book.ask(list_sheets, limit=2)
        sheet = hand.book.sheet(listed.sheet)
    assert codes in ([], ["book.recovered"])
    readings = [line for line in found.told if len(line) == 36]
    assert set(readings) <= set(sheet.readings)
    assert sheet.sealed or "sealed" not in found.told
    assert len(sheet.sent) >= sum(line.startswith("sent ") for line in found.told)
    assert verify_book(book).whole
    # a journal that held nothing yet stays until the next entry
    assert {path.name for path in folder.iterdir()} - {f"{book.name}-journal"} == {book.name, "config", "sent"}
    for path in (folder / "sent").iterdir():
        check_whole(path)
    return len(readings)


# --- a gauge study under way ----------------------------------------------------------------------------------------

STANDARDS = {"A": ".5", "B": ".75", "C": "1"}


def test_a_study_goes_on_where_a_killed_window_left_it(long_book, tmp_path) -> None:
    """Its readings are on disk one by one in the order drawn, none twice and none skipped; what was shown as kept is
    there, and the next window and the command line ask for the very next part."""
    rng, folder = random.Random(2207), tmp_path / "study"
    folder.mkdir()
    book = Path(shutil.copy(long_book, folder / "shop.tenthwright"))
    parts = [option for label, size in STANDARDS.items() for option in ("--part", f"{label}={size}")]
    line = ["study-start", "M-01", "--kind", "standards", "--title", "blocks", "--reader", "Una", *parts]
    assert command(book, *line, "--trials", "40")[0] == 0
    with Hand.open(book, wall_clock, new_identity) as hand:
        (listed,), (sheet,) = hand.book.ask(gauge_studies), hand.book.ask(list_sheets, limit=2)
    held: list[str] = []
    for number in range(3):
        place = folder / str(number)
        place.mkdir()
        window = Window(book, sheet.sheet, place, "study")
        told = window.wait_for(rng.randint(1, 6), "study")
        told += window.kill(rng, in_commit=number % 2 == 0)
        with Hand.open(book, wall_clock, new_identity) as hand:
            study, (una,) = hand.book.study(listed.study), hand.book.shop().people
        now = [reading.identity for run in range(len(study.standing)) if (reading := study.read(run)) is not None]
        assert len(now) == len(study.readings), "the first runs of the order drawn, each once"
        assert now[: len(held)] == held, "what was there stays"
        assert told == now[len(held) :][: len(told)], "all that was shown is there, beginning with the very next"
        label = study.plan.specimens[study.plan.runs[len(now)].specimen].label
        code, said = command(book, "study-read", "--as", "Una")
        assert code == 0 and f"{label}" in said and f"{len(now) + 1} of {3 * 40}" in said
        assert study.next_run(una) == len(now)
        held = now
    assert len(held) >= 3
    assert verify_book(book).whole
    assert command(book, "study-read", "--as", "Una", STANDARDS[label])[0] == 0


def command(book: Path, *line: str) -> tuple[int, str]:
    """Exit code and all output of one command line."""
    out = io.StringIO()
    return run([*line, "--book", str(book)], environ=ENVIRON, out=out, err=out), out.getvalue()


def check_whole(path: Path) -> None:
    """A file that was sent is whole, and nothing else lies beside it."""
    if path.suffix == ".pdf":
        document = pypdfium2.PdfDocument(path)
        assert f"page 1 of {len(document)}" in document[0].get_textpage().get_text_bounded()
        document.close()
    elif path.suffix == ".xlsx":
        book = openpyxl.load_workbook(path)
        assert book.worksheets[0].max_row == 201
    else:
        assert path.name == "sheet.csv"
        assert len(path.read_bytes().splitlines()) == 201
