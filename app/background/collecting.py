"""The garbage collector while a window is there: it runs on the window's thread only.

Python collects on whatever thread happens to allocate. On the book's thread it would end widgets that lie in a cycle
there, and Qt lets an object end on its own thread only ("Thread Support in Qt Modules", QObject). So it rests, and the
window's thread collects when about as much was made as would have started it.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

#: How often it is looked whether there is something to collect, in milliseconds.
EVERY = 250
#: So much of what is held must be new before all of it is gone through, as Python has it too ("Garbage collector
#: design", CPython's internal docs): a quarter.
NEW = 4
#: So much made between two looks is a book that was read, not work with it: it is taken for old without going through
#: it, which for a sheet of 5,000 rows would hold the window up for a twentieth of a second.
BULK = 20_000

_windows = 0


class Collecting(QObject):
    """Collects on the thread that made it, for as long as its parent lives."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._held, self._new = len(gc.get_objects()), 0
        _begun()
        self.destroyed.connect(_ended)
        timer = QTimer(self)
        timer.timeout.connect(self.look)
        timer.start(EVERY)

    def look(self) -> None:
        """Collect what is due: the youngest, with them those that outlived a collection, or all once a quarter is new;
        what a bulk brought waits for that. All is gone through while the hands rest, for it holds every thread up: at
        work only once as much is new as is held."""
        young, middle, _old = gc.get_count()
        most_young, most_middle, _most_old = gc.get_threshold()
        if young <= most_young:
            if self._new * NEW > self._held:
                self._collect_all()
            return
        if young > BULK:
            gc.freeze()
            gc.unfreeze()  # into the oldest generation
            self._held += young
            return
        self._new += young
        if middle <= most_middle:
            gc.collect(0)
        elif self._new <= self._held:
            gc.collect(1)
        else:
            self._collect_all()

    def _collect_all(self) -> None:
        gc.collect()
        self._held, self._new = len(gc.get_objects()), 0


def _begun() -> None:
    global _windows  # noqa: PLW0603 - the collector is one for the process, and so is the count of who asked it to rest
    _windows += 1
    gc.disable()


def _ended() -> None:
    global _windows  # noqa: PLW0603
    _windows -= 1
    if not _windows:
        gc.enable()
