"""Start-up: which modules are loaded before the first frame, and how long it takes beside a bare table window."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys

import pytest

#: Nothing of these is needed to paint an entry that takes keys.
LATE = (
    "msgspec",
    "sqlalchemy",
    "alembic",
    "numpy",
    "cryptography",
    "reportlab",
    "openpyxl",
    "pint",
    "fontTools",
    "storage.book.door",
    "storage.book.opening",
    "app.bench",
    "app.shelf",
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


def run(script: str) -> dict:
    """Run a script in a process of its own, with compiled modules kept as an installed program has them."""
    environ = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    done = subprocess.run(
        [sys.executable, "-c", script], env=environ, capture_output=True, text=True, check=True, timeout=60
    )
    return json.loads(done.stdout.splitlines()[0])


def test_the_first_frame_takes_keys_and_needs_nothing_heavy():
    first = run(OURS)
    assert first["takes_keys"]
    heavy = [name for name in first["modules"] if name in LATE or name.startswith(tuple(f"{late}." for late in LATE))]
    assert heavy == []


@pytest.mark.slow
def test_the_first_frame_is_about_as_fast_as_a_bare_table_window(capsys):
    """The ratio is printed, not asserted to the hundredth: seconds depend on what else the machine does."""
    run(OURS), run(BARE)
    ours, bare = [], []
    for _ in range(9):
        ours.append(run(OURS)["ms"])
        bare.append(run(BARE)["ms"])
    ratio = statistics.median(ours) / statistics.median(bare)
    with capsys.disabled():
        print(f"\nfirst frame {statistics.median(ours):.0f} ms, bare {statistics.median(bare):.0f} ms, {ratio:.2f} x")
    assert ratio < 2
