"""The time stamp on the last signature of a sheet's PDF (RFC 3161): its request goes to an authority as a file, and the
answer comes back as one. This program asks nothing of a network."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QWidget

from app.desk.keys import KEYS
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.sheet import acts
from inspection.sheet.steps import not_now
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.desk.work import AtHand
    from app.jobs.hand import Foreseen
    from app.window.house import House
    from storage.book.door import Book

REQUESTS, ANSWERS = "*.tsq", "*.tsr *.tst"


class Stamping:
    """What the Desk does about time stamps; ``stamped`` follows once one is kept."""

    def __init__(self, house: House, room: QWidget, stamped: Callable[[], object]) -> None:
        self._house, self._room, self._stamped = house, room, stamped

    def switch_room(self) -> None:
        """Leave room for a time stamp in what is signed from now on, or no more."""
        self._house.stamps = not self._house.stamps
        self._house.notice(word("desk.stamp.room" if self._house.stamps else "desk.stamp.no_room"))

    def ask(self, at_hand: AtHand | None) -> None:
        """Write the request for the last signature of a sheet's PDF to a file."""
        work = self._wanted(at_hand, "ask", Field("file", word("desk.stamp.file"), Sort.SAVE_FILE, files=REQUESTS))
        if work is not None and self._house.worker is not None:
            self._house.worker.read(work.ask, self._house.notice, self._house.fail)

    def put(self, at_hand: AtHand | None) -> None:
        """Put what came back into that signature."""
        work = self._wanted(at_hand, "put", Field("file", word("desk.stamp.file"), Sort.OPEN_FILE, files=ANSWERS))
        if work is not None and self._house.worker is not None:
            self._house.worker.read(work.put, self._put, self._house.fail)

    def _put(self, said: str) -> None:
        self._house.notice(said)
        self._stamped()

    def _wanted(self, at_hand: AtHand | None, what: str, field: Field) -> _Work | None:
        from app.jobs.document import document_of

        house = self._house
        if at_hand is None or house.foreseen is None:
            return None
        against = not_now(house.shop, at_hand.sheet, acts.KeepDocument, house.person) if house.shop else None
        if against is not None or document_of(at_hand.sheet) is None:
            house.notice(say(against) if against is not None else word("desk.pages.unsigned"))
            return None
        title = word(f"desk.stamp.{what}.title", part=at_hand.sheet.plan.part.number)
        yes, no = word(f"desk.stamp.{what}.yes"), words.word("button.no")
        answer = ask(self._room, Question(title, word(f"desk.stamp.{what}.text"), (field,), yes, no))
        if answer is None:
            return None
        file = Path(answer["file"].strip()).expanduser()
        return _Work(at_hand.sheet.identity, file, house.person, house.foreseen)


class _Work(NamedTuple):
    """What is done on the book's thread, with the file that goes out or came back."""

    sheet: str
    file: Path
    person: str
    foreseen: Foreseen

    def ask(self, book: Book) -> str:
        """Raises Refused or BookFailure."""
        from app.jobs.document import stamp_request
        from app.jobs.hand import Hand
        from storage.files import write_file

        request = stamp_request(Hand(book, self.foreseen, self.person), self.sheet)
        write_file(self.file, request, over=False)
        return word("desk.stamp.asked", file=str(self.file), key=KEYS["stamp_put"].key)

    def put(self, book: Book) -> str:
        """Raises Refused or BookFailure."""
        from app.jobs.document import put_stamp
        from app.jobs.hand import Hand
        from storage.files import read_file

        put_stamp(Hand(book, self.foreseen, self.person), self.sheet, read_file(self.file))
        return word("desk.stamp.done")
