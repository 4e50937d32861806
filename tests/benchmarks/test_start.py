"""Start-up: which modules are loaded before the first frame, and how long frame and rows take beside bare scripts."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
from importlib.resources import files

import pytest

from app.jobs.hand import Hand
from app.jobs.opening_shop import open_shop
from app.jobs.reading_in import read_in
from app.jobs.taking_in import take_in
from storage.book.clock import new_identity, wall_clock
from storage.intake.features import read_features
from storage.intake.readings import read_readings

#: Nothing of these is needed to paint an entry that takes keys.
LATE = (
    "msgspec",
    "sqlalchemy",
    "alembic",
    "numpy",
    "scipy",
    "cryptography",
    "reportlab",
    "openpyxl",
    "pint",
    "fontTools",
    "hashlib",
    "app.background.opening",
    "storage.book.door",
    "storage.book.opening",
    "storage.book.glance",
    "app.bench",
    "app.ledger",
    "inspection.sheet",
)

OURS = """
import json, sys, time
began = time.perf_counter()
from PySide6.QtWidgets import QApplication
from app.window.early import early
from app.window.start import furnish
app = QApplication([])
frame, sitting = furnish(app, early())
def painted():
    took = time.perf_counter() - began
    takes_keys = app.focusWidget() is frame.waiting.entry
    print(json.dumps({"ms": took * 1000, "takes_keys": takes_keys, "modules": sorted(sys.modules)}))
    app.quit()
frame.first_painted.connect(painted)
frame.show()
app.exec()
"""

BARE = """
import json, time
began = time.perf_counter()
from PySide6.QtCore import QTimer
from PySide6.QtGui import QStandardItemModel
from PySide6.QtWidgets import QApplication, QTableView
class Table(QTableView):
    def paintEvent(self, event):
        super().paintEvent(event)
        QTimer.singleShot(0, self.painted)
    def painted(self):
        print(json.dumps({"ms": (time.perf_counter() - began) * 1000}))
        app.quit()
app = QApplication([])
table = Table()
table.setModel(QStandardItemModel(20, 8))
table.resize(1280, 720)
table.show()
app.exec()
"""


#: The last sheet shown at the Bench, all through the program's own way; a key typed before it stands must be kept.
LAST_SHEET = """
import json, os, sys, time
began = time.perf_counter()
from pathlib import Path
from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from app.background import worker
from app.window.early import Early
from app.window.start import furnish
worker.SHOWN_WITHIN = 30  # however busy the machine is
app = QApplication([])
frame, sitting = furnish(app, Early(sheet=sys.argv[2]))
class Painted(QObject):
    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint and "bench" in frame._rooms:
            table = frame.room("bench").table
            if watched is table.viewport() and table.model().rowCount():
                app.removeEventFilter(self)
                self.modules = sorted(sys.modules)
                QTimer.singleShot(0, self.shown)
        return False
    def shown(self):
        took, room = time.perf_counter() - began, frame.room("bench")
        told = {"ms": took * 1000, "rows": room.model.rowCount(), "typed": room.entry.text()}
        print(json.dumps({**told, "modules": self.modules}), flush=True)
        sitting.house.worker.opened.connect(frame.close)
painted = Painted()
app.installEventFilter(painted)
def begin():
    sitting.begin(Path(sys.argv[1]))
    QTest.keyClick(frame.windowHandle(), "7")
frame.first_painted.connect(begin)
frame.show()
app.exec()
"""

BARE_SHEET = """
import json, sys, time
began = time.perf_counter()
from PySide6.QtCore import QTimer
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QApplication, QTableView
from sqlalchemy import create_engine, text
class Table(QTableView):
    def paintEvent(self, event):
        super().paintEvent(event)
        QTimer.singleShot(0, self.painted)
    def painted(self):
        print(json.dumps({"ms": (time.perf_counter() - began) * 1000, "rows": model.rowCount()}), flush=True)
        app.quit()
app = QApplication([])
rows = "SELECT characteristic, number, written, lower, upper FROM characteristic WHERE plan = "
plan = "(SELECT plan FROM sheet WHERE sheet = :sheet)"
with create_engine(f"sqlite:///{sys.argv[1]}").connect() as connection:
    def ask(query):
        return connection.execute(text(query), {"sheet": sys.argv[2]}).all()
    rows = ask(rows + plan)
    readings = ask("SELECT characteristic, written FROM reading WHERE sheet = :sheet")
    verdicts = dict(ask("SELECT characteristic, verdict FROM judgement WHERE sheet = :sheet"))
    chosen = dict(ask("SELECT characteristic, instrument FROM assignment WHERE sheet = :sheet"))
taken = {}
for name, written in readings:
    taken.setdefault(name, []).append(written)
model = QStandardItemModel(len(rows), 7)
for place, (name, *told) in enumerate(rows):
    told += [chosen.get(name), " ".join(taken.get(name, [])), verdicts.get(name)]
    for column, cell in enumerate(told):
        model.setItem(place, column, QStandardItem(str(cell or "")))
table = Table()
table.setModel(model)
table.resize(1280, 720)
table.show()
app.exec()
"""


def run(script: str, *given: str) -> dict:
    """Run a script in a process of its own, with compiled modules kept as an installed program has them."""
    environ = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    done = subprocess.run(
        [sys.executable, "-c", script, *given], env=environ, capture_output=True, text=True, check=True, timeout=60
    )
    return json.loads(done.stdout.splitlines()[0])


def test_the_first_frame_takes_keys_and_needs_nothing_heavy():
    first = run(OURS)
    assert first["takes_keys"]
    heavy = [name for name in first["modules"] if name in LATE or name.startswith(tuple(f"{late}." for late in LATE))]
    assert heavy == []


@pytest.mark.measured
def test_the_first_frame_is_about_as_fast_as_a_bare_table_window(capsys):
    run(OURS), run(BARE)
    ours, bare = [], []
    for _ in range(9):
        ours.append(run(OURS)["ms"])
        bare.append(run(BARE)["ms"])
    ratio = statistics.median(ours) / statistics.median(bare)
    with capsys.disabled():
        print(f"\nfirst frame {statistics.median(ours):.0f} ms, bare {statistics.median(bare):.0f} ms, {ratio:.2f} x")
    assert ratio < 1.5


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> tuple[str, str]:
    """A book with the demo's part, read on three pieces and not yet signed; and its sheet."""
    book = tmp_path_factory.mktemp("start") / "shop.tenthwright"
    features, readings = (
        (files("resources") / "demo" / f"{name}.csv").read_bytes() for name in ("carrier_c", "carrier_c_readings")
    )
    with Hand.new(book, wall_clock, new_identity) as hand:
        open_shop(hand, shop="Ames", person="Ann Ames", passphrase="four grey geese", starter_crib=True)
        sheet = take_in(hand, read_features(features, "features.csv")).sheet
        read_in(hand, sheet.identity, read_readings(readings, "readings.csv"))
    return str(book), sheet.identity


def test_the_last_sheet_is_shown_before_the_database_layer_is_there_and_keys_are_kept(demo):
    shown = run(LAST_SHEET, *demo)
    assert (shown["rows"], shown["typed"]) == (40, "7")
    late = {"sqlalchemy", "alembic", "cryptography", "reportlab", "scipy", "calendar"}
    late |= {"inspection.sheet.missing", "inspection.sheet.points_marks", "inspection.sheet.pull_page"}
    late |= {"app.parts.signing", "storage.csv_cells"}
    assert not late & set(shown["modules"])


@pytest.mark.parametrize("room", ["bench", "plan", "crib", "ledger", "desk"])
def test_a_room_is_entered_without_what_reads_and_writes_files(room):
    """The window waits for what a room is made of, once in a process."""
    loaded = run(f"import json, sys, app.{room}.room; print(json.dumps({{'modules': sorted(sys.modules)}}))")["modules"]
    assert f"app.{room}.room" in loaded
    assert not {"openpyxl", "lxml", "reportlab", "scipy", "cryptography", "alembic"} & set(loaded)


@pytest.mark.measured
def test_the_last_sheet_is_shown_about_as_fast_as_by_a_bare_script(demo, capsys):
    run(LAST_SHEET, *demo), run(BARE_SHEET, *demo)
    ours, bare = [], []
    for _ in range(9):
        ours.append(run(LAST_SHEET, *demo)["ms"])
        bare.append(run(BARE_SHEET, *demo)["ms"])
    ratio = statistics.median(ours) / statistics.median(bare)
    with capsys.disabled():
        print(f"\nlast sheet {statistics.median(ours):.0f} ms, bare {statistics.median(bare):.0f} ms, {ratio:.2f} x")
    assert ratio < 1.3
