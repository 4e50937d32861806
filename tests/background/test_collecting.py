"""Qt objects that lie in a cycle end on the window's thread, whatever the book's thread allocates meanwhile."""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from typing import Any

import pytest
from PySide6.QtCore import QObject
from shiboken6 import delete

from app.background.collecting import BULK, Collecting
from app.background.worker import Worker


class InACycle(QObject):
    """Notes on which thread it ended."""

    def __init__(self, ended: list[int]) -> None:
        super().__init__()
        self.ended, self.itself = ended, self

    def __del__(self) -> None:
        self.ended.append(threading.get_ident())


def allocating(_book: Any) -> list[list[object]]:
    """What starts the collector many times over, if it may run."""
    made: list[list[object]] = []
    for _ in range(20):
        made = [[made] for _ in range(20_000)][:1]
    return made


@pytest.fixture
def worker(qtbot) -> Iterator[Worker]:
    class NoBook:
        def close(self) -> None: ...

    made = Worker(NoBook, lambda _book: "open")
    with qtbot.waitSignal(made.opened):
        made.start()
    yield made
    with qtbot.waitSignal(made.closed):
        made.close_book()
    made.wait()


@pytest.fixture
def window() -> Iterator[QObject]:
    """What holds the collector, in a process that holds little else: what earlier tests left is set aside."""
    gc.collect()
    gc.freeze()
    made = QObject()
    yield made
    delete(made)
    gc.unfreeze()


def busy(worker: Worker, ended: list[int]) -> None:
    """Drop objects in cycles, and let the book's thread allocate while this one waits."""
    done = threading.Event()

    def work(book: Any) -> None:
        allocating(book)
        done.set()

    gc.collect()
    for _ in range(50):
        InACycle(ended)
    worker.read(work, lambda _answer: None)
    assert done.wait(30)


def test_without_it_they_end_on_the_books_thread(worker: Worker) -> None:
    """What the test below would not see if the book's thread allocated too little."""
    ended: list[int] = []
    busy(worker, ended)
    assert ended and set(ended) != {threading.get_ident()}


def test_with_it_they_end_on_the_windows_thread(qtbot, worker: Worker, window: QObject) -> None:
    Collecting(window)
    ended: list[int] = []
    for _ in range(5):
        busy(worker, ended)
    kept = [[each] for each in range(2 * gc.get_threshold()[0])]
    qtbot.waitUntil(lambda: len(ended) == 250)
    assert len(kept) > 0
    assert set(ended) == {threading.get_ident()}


def test_the_collector_rests_as_long_as_a_window_is_there(window: QObject) -> None:
    other = QObject()
    assert gc.isenabled()
    Collecting(window)
    Collecting(other)
    assert not gc.isenabled()
    delete(other)
    assert not gc.isenabled()
    delete(window.findChild(Collecting))
    assert gc.isenabled()


def test_what_a_bulk_brings_is_not_gone_through_at_once_and_not_lost(window: QObject) -> None:
    collecting = Collecting(window)
    ended: list[int] = []
    gc.collect()
    InACycle(ended)
    kept: list[list[object]] = [[] for _ in range(2 * BULK)]
    collecting.look()
    assert ended == [] and gc.get_count()[0] < gc.get_threshold()[0]
    for _ in range(400):
        kept.extend([] for _ in range(1_000))
        collecting.look()
    assert len(ended) == 1


def test_what_grows_old_is_collected_too(qtbot, window: QObject) -> None:
    """Objects that outlived young collections while they were used end after they are dropped."""
    collecting = Collecting(window)
    ended: list[int] = []
    held = [InACycle(ended) for _ in range(50)]
    for _ in range(3):
        gc.collect(1)
    held.clear()
    kept: list[list[object]] = []
    for _ in range(400):
        kept.extend([] for _ in range(1_000))
        collecting.look()
    assert len(ended) == 50
