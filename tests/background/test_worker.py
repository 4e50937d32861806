"""Acts in order, before reads; failures hand back everything behind them; closing finishes what was handed in."""

from __future__ import annotations

import threading
from typing import Any

import pytest

from app.background.worker import Failure, Progress, Worker
from inspection.reasons import Reason, Refused
from storage.book.failures import BookFailure


class SlowBook:
    """Stands in for a book: keeps what was done, waits where told, fails where told."""

    def __init__(self) -> None:
        self.done: list[Any] = []
        self.gate = threading.Event()
        self.gate.set()
        self.fails: dict[Any, Exception] = {}
        self.files: dict[Any, Any] = {}
        self.closed = False
        self.threads: set[int] = set()

    def do(self, act: Any, *, person: str, based_on: str, sign: Any, files: Any = None) -> Any:
        self.gate.wait(5)
        self.threads.add(threading.get_ident())
        if act in self.fails:
            raise self.fails.pop(act)
        self.done.append(act)
        self.files[act] = files
        return f"kept {act}"

    def close(self) -> None:
        self.closed = True


FULL = BookFailure(Reason("book.disk_full", {"name": "a", "folder": "b"}))


@pytest.fixture
def book() -> SlowBook:
    return SlowBook()


@pytest.fixture
def worker(qtbot, book):
    made = Worker(lambda: book, lambda _book: "hello")
    with qtbot.waitSignal(made.opened) as opened:
        made.start()
    assert opened.args == ["hello"]
    yield made
    if made.isRunning() and not book.closed:  # the thread lives on for a moment after it has told that it closed
        book.gate.set()
        with qtbot.waitSignal(made.closed):
            made.close_book()
    made.wait()


def test_acts_are_kept_in_order_and_told_on_the_window_thread(qtbot, worker, book):
    heard: list[Any] = []
    here = threading.get_ident()
    for number in range(200):
        worker.act(number, person="p", kept=lambda outcome: heard.append((outcome, threading.get_ident())))
    qtbot.waitUntil(lambda: len(heard) == 200)
    assert heard == [(f"kept {number}", here) for number in range(200)]
    assert here not in book.threads


def test_files_that_an_act_names_go_with_it(qtbot, worker, book):
    worker.act("plain", person="p")
    worker.act("named", person="p", files={"digest": b"bytes"})
    qtbot.waitUntil(lambda: len(book.done) == 2)
    assert book.files == {"plain": None, "named": {"digest": b"bytes"}}


def test_acts_go_before_reads_that_were_asked_first(qtbot, worker, book):
    book.gate.clear()
    order: list[str] = []
    worker.act("first", person="p")
    worker.read(lambda _book: order.append("read"), lambda _answer: None)
    worker.act("second", person="p", kept=lambda _outcome: None)
    book.gate.set()
    qtbot.waitUntil(lambda: order == ["read"] and len(book.done) == 2)
    seen: list[list[Any]] = []
    worker.read(lambda each: seen.append(list(each.done)), lambda _answer: None)
    qtbot.waitUntil(lambda: bool(seen))
    assert seen == [["first", "second"]]


def test_long_work_lets_an_act_through_between_its_steps(qtbot, worker, book):
    steps: list[Any] = []
    handed_in = threading.Event()
    begun = threading.Event()

    def work(_book: SlowBook, progress: Progress) -> str:
        begun.set()
        handed_in.wait(5)
        for step in range(3):
            steps.append((step, list(book.done)))
            progress(step + 1, 3)
        return "rendered"

    answers: list[str] = []
    moves: list[tuple[int, int]] = []
    worker.long(work, answers.append, moved=lambda done, total: moves.append((done, total)))
    assert begun.wait(5)
    worker.act("reading", person="p")
    handed_in.set()
    qtbot.waitUntil(lambda: answers == ["rendered"])
    assert steps == [(0, []), (1, ["reading"]), (2, ["reading"])]
    assert moves[-1] == (3, 3)


def test_stopped_work_delivers_nothing_and_the_worker_goes_on(qtbot, worker):
    stopped = threading.Event()
    answers: list[str] = []

    def work(_book: SlowBook, progress: Progress) -> str:
        stopped.wait(5)
        progress(1, 2)
        return "never"

    job = worker.long(work, answers.append)
    job.stop()
    stopped.set()
    worker.read(lambda _book: "after", answers.append)
    qtbot.waitUntil(lambda: bool(answers))
    assert answers == ["after"]


def test_a_refused_act_stops_nothing(qtbot, worker, book):
    book.fails["bad"] = Refused(Reason("sheet.unknown"))
    refused: list[Failure] = []
    worker.act("bad", person="p", refused=refused.append)
    worker.act("good", person="p")
    qtbot.waitUntil(lambda: book.done == ["good"] and bool(refused))
    assert refused == [Failure((Reason("sheet.unknown"),))]


def test_an_answer_may_be_waited_for_and_no_longer_than_said(worker, book):
    worker.act("quick", person="p")
    assert worker.answered(5) and book.done == ["quick"]
    book.fails["bad"] = Refused(Reason("sheet.unknown"))
    worker.act("bad", person="p")
    assert worker.answered(5)
    book.gate.clear()
    worker.act("slow", person="p")
    assert not worker.answered(0.01) and book.done == ["quick"]
    book.gate.set()
    assert worker.answered(5) and book.done == ["quick", "slow"]


def test_what_could_not_be_written_comes_back_with_all_behind_it(qtbot, worker, book):
    book.gate.clear()
    book.fails[1] = FULL
    backs: list[tuple[int, Failure]] = []
    for number in range(4):
        worker.act(number, person="p", back=lambda failure, number=number: backs.append((number, failure)))
    with qtbot.waitSignal(worker.handed_back) as handed:
        book.gate.set()
    tickets, failure = handed.args
    assert [ticket.act for ticket in tickets] == [1, 2, 3]
    assert failure.reasons == FULL.reasons
    assert [number for number, _failure in backs] == [1, 2, 3]
    assert book.done == [0]
    worker.act("again", person="p")
    qtbot.waitUntil(lambda: book.done == [0, "again"])


def test_a_mistake_of_our_own_is_handed_back_as_a_fault(qtbot, worker, book):
    book.fails["odd"] = ZeroDivisionError("ours")
    with qtbot.waitSignal(worker.handed_back) as handed:
        worker.act("odd", person="p")
    assert "ZeroDivisionError" in handed.args[1].fault


def test_closing_finishes_every_act_and_drops_reads(qtbot, worker, book):
    book.gate.clear()
    reads: list[Any] = []
    for number in range(5):
        worker.act(number, person="p")
    worker.read(lambda _book: reads.append(1), lambda _answer: None)
    with qtbot.waitSignal(worker.closed):
        worker.close_book()
        assert worker.waiting() == 5
        book.gate.set()
    assert book.done == [0, 1, 2, 3, 4]
    assert book.closed
    assert reads == []


def test_acts_handed_back_call_the_closing_off(qtbot, worker, book):
    book.gate.clear()
    book.fails[0] = FULL
    worker.act(0, person="p")
    worker.act(1, person="p")
    with qtbot.waitSignal(worker.handed_back):
        worker.close_book()
        book.gate.set()
    worker.act(2, person="p")
    qtbot.waitUntil(lambda: book.done == [2])
    assert not book.closed


def test_a_book_that_does_not_open_is_told_with_its_reason(qtbot):
    def fail() -> None:
        raise FULL

    worker = Worker(fail, lambda _book: None)
    with qtbot.waitSignal(worker.not_opened) as told:
        worker.start()
    assert told.args[0].reasons == FULL.reasons
    assert worker.wait(2000)


def test_a_first_look_is_told_before_the_book_is_opened(qtbot, book):
    told: list[Any] = []
    opening = threading.Event()

    def opener() -> SlowBook:
        opening.set()
        return book

    worker = Worker(opener, lambda _book: "hello", None, lambda: "the last sheet")
    worker.glanced.connect(lambda seen: told.append((seen, opening.is_set())))
    worker.glanced.connect(worker.shown)
    worker.opened.connect(told.append)
    worker.start()
    qtbot.waitUntil(lambda: len(told) == 2)
    assert told == [("the last sheet", False), "hello"]
    with qtbot.waitSignal(worker.closed):
        worker.close_book()
    worker.wait()


@pytest.mark.parametrize("glance", [lambda: None, lambda: 1 / 0])
def test_a_look_that_sees_nothing_or_fails_is_no_matter(qtbot, book, glance):
    worker = Worker(lambda: book, lambda _book: "hello", None, glance)
    worker.glanced.connect(lambda _seen: pytest.fail("there was nothing to see"))
    with qtbot.waitSignal(worker.opened):
        worker.start()
    with qtbot.waitSignal(worker.closed):
        worker.close_book()
    worker.wait()


def test_acts_for_a_book_that_could_not_be_opened_are_handed_back(qtbot):
    """They were typed while the first look was shown."""
    gate = threading.Event()

    def fail() -> SlowBook:
        gate.wait(5)
        raise FULL

    worker = Worker(fail, lambda _book: None, None, lambda: "the last sheet")
    back: list[tuple[str, Failure]] = []
    worker.act("one", person="p", back=lambda failure: back.append(("one", failure)))
    worker.act("two", person="p", back=lambda failure: back.append(("two", failure)))
    worker.glanced.connect(worker.shown)
    with qtbot.waitSignals([worker.handed_back, worker.not_opened]):
        worker.start()
        gate.set()
    assert back == [("one", Failure(FULL.reasons)), ("two", Failure(FULL.reasons))]
    worker.wait()
