"""Run in a process of its own: the real window on a book, keys fed to it, and what it has painted told by a pipe.

``python window_driver.py BOOK PIPE WHAT FOLDER``, where WHAT is "entry", "study", "signing" or "export". Told line by
line are the identity of each reading once its verdict is painted, or of a study once the next part is asked for on the
screen, "signing" and "export" when they begin, "sealed" and "sent 0", "sent 1" … once the window says that it is done.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.gauging.list_dialog import StudiesDialog
from app.gauging.reading_dialog import ReadingDialog
from app.parts.marks import Mark
from app.window import asking, start
from inspection.quantity.units import PICOMETRES_PER_INCH
from inspection.sheet import events as ev

FIRST = 4  # readings before a sheet is signed or sent
PASSPHRASE = "two brown otters"


class Driver(QObject):
    """Feeds keys, and tells what was painted."""

    def __init__(self, frame: Any, sitting: Any, pipe: int, what: str, folder: Path) -> None:
        super().__init__(frame)
        self.frame, self.sitting, self.pipe, self.what, self.folder = frame, sitting, pipe, what, folder
        self.pending: list[tuple[str, str]] = []  # reading and row, on disk and not yet painted
        self.told = self.sent = 0
        self.timer = QTimer(self)
        self.timer.setInterval(2)
        self.timer.timeout.connect(self.step)
        self.timer.start()
        self.room: Any = None
        self.dialog: Any = None
        self.seen: set[str] = set()  # readings of a study that were there, or are told

    def tell(self, line: str) -> None:
        os.write(self.pipe, f"{line}\n".encode())

    def step(self) -> None:
        house = self.sitting.house
        if house.foreseen is None or "bench" not in self.frame._rooms:
            return
        if self.room is None:
            self.room = self.frame.room("bench")
            self.room.table.viewport().installEventFilter(self)
            house.worker.acted.connect(self.acted)
        if self.what == "study":
            self.study()
        elif self.what != "entry" and self.told >= FIRST:
            self.timer.stop()
            if self.what == "export":
                house.desk_wanted.emit(self.room.seen.sheet.identity)
            else:
                self.frame.enter("ledger")
            QTimer.singleShot(200, self, getattr(self, self.what))
        elif len(self.room.flow.under_way) < 2:
            self.enter()

    def enter(self) -> None:
        """Type the nominal of the row at hand, and Enter."""
        row = self.room.seen.row(self.room.flow.at.row)
        for sign in f"{row.requirement.nominal / PICOMETRES_PER_INCH:.3f}in":
            QTest.keyClick(self.frame.windowHandle(), sign)
        QTest.keyClick(self.frame.windowHandle(), Qt.Key.Key_Return)

    def acted(self, _ticket: Any, outcome: Any) -> None:
        for event in outcome.events:
            if isinstance(event, ev.ReadingTaken):
                self.pending.append((event.reading.identity, event.reading.characteristic))

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's own name
        if event.type() == QEvent.Type.Paint and self.pending and self.what != "study":
            QTimer.singleShot(0, self, self.painted)
        elif event.type() == QEvent.Type.Paint and isinstance(self.dialog, ReadingDialog):
            QTimer.singleShot(0, self, self.asked_on)
        return False

    def painted(self) -> None:
        """The table was painted: tell the readings whose verdict it shows."""
        model, table = self.room.model, self.room.table
        for reading, row in list(self.pending):
            place = model.place_of(row)
            seen = table.viewport().rect().intersects(table.visualRect(model.index(place, 0)))
            if seen and model.line(place).mark is not Mark.WRITING:
                self.pending.remove((reading, row))
                self.told += 1
                self.tell(reading)

    # --- a gauge study ----------------------------------------------------------------------------------------------

    def study(self) -> None:
        """Open the list of studies by key, the one there is by Enter, and read what is asked, the standard's own
        size."""
        dialog: Any = QApplication.activeModalWidget()
        if isinstance(dialog, ReadingDialog):
            if dialog is not self.dialog:
                self.dialog = dialog
                dialog.turn.installEventFilter(self)
                self.seen = set(dialog.held.readings)
            asked = dialog.asked
            if asked is not None and not dialog._writing:
                size = dialog.held.plan.specimens[dialog.held.plan.runs[asked.run].specimen].size
                for sign in "" if asked.question else f"{size / PICOMETRES_PER_INCH:.3f}":
                    QTest.keyClick(dialog.windowHandle(), sign)
                QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_Return)
        elif isinstance(dialog, StudiesDialog):
            if dialog.list.items and dialog is not self.dialog:
                self.dialog = dialog
                QTest.keyClick(dialog.windowHandle(), Qt.Key.Key_Return)
        elif dialog is None and self.dialog is None:
            QTest.keyClick(self.frame.windowHandle(), Qt.Key.Key_J, Qt.KeyboardModifier.ControlModifier)

    def asked_on(self) -> None:
        """The next part was painted: tell the readings that are kept, in the order of the study."""
        held = self.dialog.held
        for reading in sorted(set(held.readings) - self.seen, key=lambda each: held.readings[each].run):
            self.seen.add(reading)
            self.tell(reading)

    # --- Ledger and Desk --------------------------------------------------------------------------------------------

    def signing(self) -> None:
        room = self.frame.room("ledger")
        if room.line() is None:
            QTimer.singleShot(20, self, self.signing)
            return
        self.tell("signing")
        self.sitting.house.noticed.connect(lambda _said, failed: self.tell("failed" if failed else "sealed"))
        room.actions_by_name["sign"].trigger()

    def export(self) -> None:
        room = self.frame.room("desk")
        if room.at_hand is None:
            QTimer.singleShot(20, self, self.export)
            return
        self.tell("export")
        self.sitting.house.noticed.connect(self.exported)
        room.actions_by_name["export"].trigger()

    def exported(self, _said: str, failed: bool) -> None:
        self.tell("failed" if failed else f"sent {self.sent}")
        self.sent += 1
        QTimer.singleShot(0, self, self.frame.room("desk").actions_by_name["export"].trigger)

    def answer(self, _parent: Any, question: Any) -> dict[str, str]:
        """What the person at the window answers."""
        if any(field.name == "passphrase" for field in question.fields):
            return {"passphrase": PASSPHRASE, "incomplete": "the others wait"}
        form = ("pdf", "csv", "xlsx")[self.sent % 3]
        return {"form": form, "folder": str(self.folder), "name": "sheet"}


def main() -> None:
    """Let the program run as ever, with a driver in its window."""
    book, pipe, what, folder = sys.argv[1], int(sys.argv[2]), sys.argv[3], Path(sys.argv[4])
    furnish = start.furnish

    def furnished(*given: Any) -> Any:
        frame, sitting = furnish(*given)
        driver = Driver(frame, sitting, pipe, what, folder)
        asking.replace_asker(driver.answer)
        return frame, sitting

    start.furnish = furnished
    sys.exit(start.run([book]))


if __name__ == "__main__":
    main()
