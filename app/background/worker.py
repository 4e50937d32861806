"""The only thread: it owns the book, carries out acts in order, and reads between them.

Acts have the right of way: a read waits until no act is queued, and long work lets waiting acts through at each of
its steps. Everything comes back on the window's own thread, in the order it happened. This module is imported
before the first frame: the book's own libraries are imported by the opener, inside the thread.
"""

from __future__ import annotations

import traceback
from collections import deque
from collections.abc import Callable, Mapping
from contextlib import suppress
from threading import Condition, Event
from time import monotonic
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import QObject, Qt, QThread, Signal, Slot
from shiboken6 import isValid

if TYPE_CHECKING:
    from inspection.reasons import Reason
    from inspection.sheet.acts import Act

#: How often long work may report its progress, in seconds.
REPORT_EVERY = 0.05
#: How long the book's own libraries wait for what was seen at a first look to be shown, in seconds.
SHOWN_WITHIN = 0.3


class Failure(NamedTuple):
    """Why something was not carried out: reasons for people, or (``fault``) the trace of a mistake of our own."""

    reasons: tuple[Reason, ...] = ()
    fault: str = ""


class Ticket(NamedTuple):
    """One act handed in: by whom, on what it was based, who wants to know, and the files it names, by digest."""

    number: int
    act: Act
    person: str
    based_on: str
    sign: Any
    kept: Callable[[Any], None] | None
    refused: Callable[[Failure], None] | None
    back: Callable[[Failure], None] | None
    files: Mapping[str, bytes] | None = None


class Stopped(Exception):
    """Long work was asked to stop."""


class Job:
    """A piece of reading or long work that can be stopped."""

    def __init__(
        self,
        work: Callable[..., Any],
        done: Callable[[Any], None],
        failed: Callable[[Failure], None] | None,
        moved: Callable[[int, int], None] | None = None,
        *,
        long: bool = False,
    ) -> None:
        self.work, self.done, self.failed, self.moved, self.long = work, done, failed, moved, long
        self.stopped = False

    def stop(self) -> None:
        """Ask the work to stop at its next step; what it began is not delivered."""
        self.stopped = True


class Progress:
    """Called by long work between its steps, while it holds no cursor: reports, and lets waiting acts through."""

    def __init__(self, worker: Worker, job: Job) -> None:
        self._worker, self._job, self._last = worker, job, 0.0

    def __call__(self, done: int, total: int) -> None:
        """``done`` of ``total`` steps; raises Stopped if the work is to stop."""
        if self._job.stopped:
            raise Stopped
        self._worker.let_acts_through()
        now = monotonic()
        if self._job.moved is not None and (now - self._last >= REPORT_EVERY or done == total):
            self._last = now
            self._worker.tell(self._job.moved, done, total)


class Worker(QThread):
    """Owns the book from ``opener()`` to its close.

    ``glanced`` carries what ``glance()`` saw before, if it saw anything; the opening then waits a little for ``shown``.
    ``opened`` carries what ``greet(book)`` returned; ``not_opened`` a Failure, after ``handed_back`` if acts waited.
    ``acted`` carries (ticket, outcome) of every act kept. When an act cannot be carried out for a reason of the world,
    nothing handed in before the window knows of it is tried: ``handed_back`` carries (tickets, failure), the failed
    one first; what is handed in after that is a fresh start. ``closed`` follows ``close_book`` once every queued act
    is on disk; acts handed back instead call the closing off.
    """

    glanced = Signal(object)
    opened = Signal(object)
    not_opened = Signal(object)
    acted = Signal(object, object)
    handed_back = Signal(object, object)
    closed = Signal()
    _reported = Signal(object)

    def __init__(
        self,
        opener: Callable[[], Any],
        greet: Callable[[Any], Any],
        parent: QObject | None = None,
        glance: Callable[[], Any] | None = None,
    ) -> None:
        super().__init__(parent)
        self._opener, self._greet, self._glance = opener, greet, glance
        self._shown = Event()
        self._book: Any = None
        self._acts: deque[Ticket] = deque()
        self._jobs: deque[Job] = deque()
        self._running: Job | None = None
        self._wake = Condition()
        self._closing = self._halted = self._acting = False
        self._count = 0
        self._reported.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    # --- asked from the window's thread ---------------------------------------------------------------------------

    def act(
        self,
        act: Act,
        *,
        person: str,
        based_on: str = "",
        sign: Any = None,
        kept: Callable[[Any], None] | None = None,
        refused: Callable[[Failure], None] | None = None,
        back: Callable[[Failure], None] | None = None,
        files: Mapping[str, bytes] | None = None,
    ) -> Ticket:
        """Hand an act in. ``kept(outcome)`` is called once it is on disk, ``refused(failure)`` if the rules say no,
        ``back(failure)`` if it, or one before it, could not be written; ``files`` holds the bytes of the files that the
        act names, by SHA-256 in hex."""
        with self._wake:
            self._count += 1
            ticket = Ticket(self._count, act, person, based_on, sign, kept, refused, back, files)
            self._acts.append(ticket)
            self._wake.notify()
        return ticket

    def read(
        self,
        ask: Callable[[Any], Any],
        done: Callable[[Any], None],
        failed: Callable[[Failure], None] | None = None,
    ) -> Job:
        """Ask the book something short; ``done(answer)`` follows."""
        return self._queue(Job(ask, done, failed))

    def long(
        self,
        work: Callable[[Any, Progress], Any],
        done: Callable[[Any], None],
        failed: Callable[[Failure], None] | None = None,
        moved: Callable[[int, int], None] | None = None,
    ) -> Job:
        """Do long work ``work(book, progress)`` that calls ``progress(done, total)`` between its steps."""
        return self._queue(Job(work, done, failed, moved, long=True))

    def shown(self) -> None:
        """What was glanced at is on the screen: go on with the opening."""
        self._shown.set()

    def waiting(self) -> int:
        """How many acts are queued or under way."""
        with self._wake:
            return len(self._acts) + self._acting

    def answered(self, within: float) -> bool:
        """Wait until no act is queued or under way, ``within`` so many seconds at most; whether it came to that.

        For the window's thread, which else paints meanwhile and holds the interpreter from the thread that writes.
        """
        with self._wake:
            return self._wake.wait_for(lambda: not self._acts and not self._acting, within)

    def close_book(self) -> None:
        """Finish every queued act, stop reads and long work, close the book and end; ``closed`` follows."""
        self._shown.set()
        with self._wake:
            self._closing = True
            self._jobs.clear()
            if self._running is not None:
                self._running.stop()
            self._wake.notify()

    def _queue(self, job: Job) -> Job:
        with self._wake:
            self._jobs.append(job)
            self._wake.notify()
        return job

    # --- the thread -------------------------------------------------------------------------------------------------

    def run(self) -> None:
        """Look, open, serve, close."""
        self._look()
        try:
            self._book = self._opener()
            greeting = self._greet(self._book)
        except Exception as error:
            self._close_quietly()
            self.tell(self._not_open, failure_of(error))
            return
        self.tell(self.opened.emit, greeting)
        while self._serve():
            pass
        self._close_quietly()
        self.tell(self.closed.emit)

    def _look(self) -> None:
        """Tell what a first look sees. One that fails is no matter: the opening will say what is wrong."""
        if self._glance is None:
            return
        with suppress(Exception):
            seen = self._glance()
            if seen is not None:
                self.tell(self.glanced.emit, seen)
                self._shown.wait(SHOWN_WITHIN)

    def _not_open(self, failure: Failure) -> None:
        """On the window's thread: hand back what was handed in for a book that could not be opened, and say why."""
        with self._wake:
            tickets = tuple(self._acts)
            self._acts.clear()
        if tickets:
            self._hand_back(tickets, failure)
        self.not_opened.emit(failure)

    def _close_quietly(self) -> None:
        """Close the book if it was opened; a failure to close loses nothing that was acknowledged."""
        book, self._book = self._book, None
        if book is not None:
            try:
                book.close()
            except Exception as error:
                self.tell(self.handed_back.emit, (), failure_of(error))

    def _serve(self) -> bool:
        """Do one thing, an act before a read; False once closing and nothing is left to finish."""
        with self._wake:
            while not (self._may_act() or self._jobs or self._may_end()):
                self._wake.wait()
            if self._may_end():
                return False
            job = None if self._may_act() else self._jobs.popleft()
            self._running = job
        if job is None:
            self.let_acts_through()
        else:
            self._work(job)
            self._running = None
        return True

    def _may_act(self) -> bool:
        return bool(self._acts) and not self._halted

    def _may_end(self) -> bool:
        return self._closing and not self._acts and not self._halted

    def let_acts_through(self) -> None:
        """Carry out every act that waits. Called on the thread, between steps of long work too."""
        while (ticket := self._next_act()) is not None:
            self._carry_out(ticket)
            with self._wake:
                self._acting = False
                self._wake.notify_all()

    def _next_act(self) -> Ticket | None:
        with self._wake:
            if not self._may_act():
                return None
            self._acting = True
            return self._acts.popleft()

    def _carry_out(self, ticket: Ticket) -> None:
        from inspection.reasons import Refused

        try:
            outcome = self._book.do(
                ticket.act,
                person=ticket.person,
                based_on=ticket.based_on,
                sign=ticket.sign,
                files=ticket.files,
            )
        except Refused as refusal:
            if ticket.refused is not None:
                self.tell(ticket.refused, Failure(refusal.reasons))
        except Exception as error:
            self._halted = True
            self.tell(self._return, ticket, failure_of(error))
        else:
            self.tell(self.acted.emit, ticket, outcome)
            if ticket.kept is not None:
                self.tell(ticket.kept, outcome)

    def _return(self, ticket: Ticket, failure: Failure) -> None:
        """On the window's thread: hand back the act that failed and every one handed in before this was known."""
        with self._wake:
            tickets = (ticket, *self._acts)
            self._acts.clear()
            self._halted = self._closing = False
            self._wake.notify()
        self._hand_back(tickets, failure)

    def _hand_back(self, tickets: tuple[Ticket, ...], failure: Failure) -> None:
        self.handed_back.emit(tickets, failure)
        for each in tickets:
            if each.back is not None:
                each.back(failure)

    def _work(self, job: Job) -> None:
        if job.stopped:
            return
        try:
            answer = job.work(self._book, Progress(self, job)) if job.long else job.work(self._book)
        except Stopped:
            return
        except Exception as error:
            if job.failed is not None:
                self.tell(job.failed, failure_of(error))
            else:
                self.tell(self.handed_back.emit, (), failure_of(error))
        else:
            if not job.stopped:
                self.tell(job.done, answer)

    def tell(self, listener: Callable[..., Any], *parts: Any) -> None:
        """Call ``listener`` on the window's thread, after everything told before."""
        self._reported.emit((listener, parts))

    @Slot(object)
    def _deliver(self, report: tuple[Callable[..., Any], tuple[Any, ...]]) -> None:
        listener, parts = report
        owner = getattr(listener, "__self__", None)
        if isinstance(owner, QObject) and not isValid(owner):
            return  # the widget that asked is gone
        listener(*parts)


def failure_of(error: Exception) -> Failure:
    """The failure that an exception stands for: its reasons if it carries any, else the trace of our own mistake."""
    reasons = getattr(error, "reasons", None)
    if reasons is None and (reason := getattr(error, "reason", None)) is not None:
        reasons = (reason,)
    if reasons and all(hasattr(reason, "code") for reason in reasons):
        return Failure(tuple(reasons))
    return Failure(fault="".join(traceback.format_exception(error)))
