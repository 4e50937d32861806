"""A sitting at one book: opening it, choosing the person, making a new one, and finishing what is queued at the end."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer

from app.background.collecting import Collecting
from app.background.worker import Failure, Ticket, Worker
from app.window.frame import Frame
from app.window.house import House
from app.window.steps import how_far, steps_of
from app.window.words import word

if TYPE_CHECKING:
    from app.background.opening import Greeting, NewBook, Seen
    from app.window.people import KeyAsked, PersonWork
    from inspection.reasons import Reason
    from inspection.sheet.acts import Act

Opener = Callable[[Path | None], Any]
#: Milliseconds after the opening before what verdicts are reckoned with is loaded: the first sheet is shown by then.
WARM_AFTER = 400


class Sitting(QObject):
    """Joins the frame to the book's thread. ``settings`` is changed as things are chosen and saved at the end."""

    def __init__(self, frame: Frame, remembered: dict[str, Any], opener: Opener) -> None:
        super().__init__(frame)
        self._frame, self._house = frame, frame.house
        self._opener = opener
        self.remembered = remembered
        Collecting(self)
        self._soon_warm = QTimer(self)
        self._soon_warm.setSingleShot(True)
        self._soon_warm.setInterval(WARM_AFTER)
        self._soon_warm.timeout.connect(self._warm)
        self._path: Path | None = None
        self._next: Path | NewBook | None = None
        frame.leaving.connect(self._leave)
        frame.again_wanted.connect(self._again)
        frame.person_wanted.connect(self.choose_person)
        frame.new_person_wanted.connect(self._ask_for_new_person)
        frame.passphrase_wanted.connect(self._ask_for_passphrase)
        frame.new_key_wanted.connect(self._ask_for_new_key)
        frame.starter_crib_wanted.connect(self._enter_starter_crib)
        frame.open_wanted.connect(self._ask_for_book)
        frame.new_wanted.connect(self._ask_for_new_book)
        self._house.person_changed.connect(self._remember_person)
        self._house.sheet_wanted.connect(self._open_sheet)
        self._house.row_wanted.connect(self._open_row)
        self._house.desk_wanted.connect(self._prepare)

    @property
    def house(self) -> House:
        """The house that the rooms share."""
        return self._house

    # --- opening ----------------------------------------------------------------------------------------------------

    def begin(self, path: Path | None) -> None:
        """Open the book at ``path``, or the shop's own where none is named."""
        self._path = path
        self._frame.wait_for(path.name if path is not None else "")
        self._start(self._opener(path))

    def _start(self, opening: Any) -> None:
        sheet = self.remembered.get("sheet", "")
        worker = Worker(opening.open, opening.greet, self, partial(opening.glance, sheet) if sheet else None)
        worker.glanced.connect(self._glanced)
        worker.opened.connect(self._opened)
        worker.not_opened.connect(self._not_opened)
        worker.acted.connect(self._acted)
        worker.handed_back.connect(self._handed_back)
        worker.closed.connect(self._closed)
        self._house.worker = worker
        worker.start()

    def _glanced(self, seen: Seen) -> None:
        """Show the last sheet at the Bench while its book is still being opened, if it is plain who is there."""
        worker, people = self._house.worker, seen.shop.people
        if worker is None:
            return
        if self.remembered.get("person") in people or len(people) == 1:
            self._house.set_shop(seen.shop)
            self._settle_person()
            self._frame.show_book(seen.path.name)
            self._show_sheet(seen.sheet)
            self._frame.repaint()
        worker.shown()

    def _opened(self, greeting: Greeting) -> None:
        self._path = greeting.path
        self.remembered["book"] = str(greeting.path)
        self._house.foreseen, self._house.book = greeting.foreseen, greeting.path
        shown = greeting.as_seen and self._house.shop is greeting.shop
        if not shown:
            self._house.set_shop(greeting.shop)
        self._frame.show_book(greeting.path.name)
        self._frame.open_rooms()
        if greeting.notices:
            self._house.notice(self._house.say(*greeting.notices))
        if not shown:
            self._settle_person()
            self._first_room()
        self._soon_warm.start()

    def _warm(self) -> None:
        from app.background.opening import Warm

        if self._house.worker is not None and self._house.foreseen is not None:
            self._house.worker.read(Warm(self._house.foreseen.now().day).run, self._warmed)

    def _warmed(self, said: tuple[Reason, ...]) -> None:
        """What verdicts need is at hand; what falls due is said where nothing else is."""
        self._house.warmed.emit()
        if said and not self._frame.notice():
            self._house.notice(f"{self._house.say(*said)} {word('due.remind.key')}")

    def _first_room(self) -> None:
        """The last sheet at the Bench, if there was one; the steps to the first, if there is none; else the sheets."""
        worker = self._house.worker
        if self.remembered.get("sheet"):
            self._open_sheet(self.remembered["sheet"])
        elif worker is not None:
            worker.read(how_far, self._begin_or_list, self._no_sheet)

    def _begin_or_list(self, begun: Any) -> None:
        shop = self._house.shop
        if self._frame.in_room():
            return  # the person has gone to a room meanwhile
        if begun.sheets or shop is None:
            self._frame.enter("ledger")
        else:
            self._frame.begin_with(steps_of(shop, begun))

    def _open_sheet(self, sheet: str) -> None:
        worker = self._house.worker
        if worker is not None:
            worker.read(lambda book: book.sheet(sheet), self._show_sheet, self._no_sheet)

    def _show_sheet(self, sheet: Any) -> None:
        self.remembered["sheet"] = self._house.at_hand = sheet.identity
        bench: Any = self._frame.room("bench")
        bench.show_sheet(sheet)
        self._frame.enter("bench")

    def _open_row(self, sheet: str, number: str, serial: str) -> None:
        worker = self._house.worker
        if worker is not None:
            worker.read(lambda book: book.sheet(sheet), partial(self._show_row, number, serial), self._no_sheet)

    def _show_row(self, number: str, serial: str, sheet: Any) -> None:
        self._show_sheet(sheet)
        bench: Any = self._frame.room("bench")
        bench.stand_at(number, serial)

    def _prepare(self, sheet: str) -> None:
        desk: Any = self._frame.room("desk")
        desk.prepare(sheet)
        self._frame.enter("desk")

    def _no_sheet(self, failure: Failure) -> None:
        self.remembered["sheet"] = ""
        self._house.fail(failure)
        self._frame.enter("ledger")

    def _not_opened(self, failure: Failure) -> None:
        self._drop_worker()
        code = failure.reasons[0].code if failure.reasons else ""
        if code == "book.missing":
            text, ahead = self._house.sentence(failure), word("none.next")
            self._frame.stop_at(word("none.title"), text, ahead, "new_book", "open_book", "again")
        else:
            text = self._house.sentence(failure)
            self._frame.stop_at(word("stopped.title"), text, "", "again", "open_book", "new_book")

    def _drop_worker(self) -> None:
        worker, self._house.worker = self._house.worker, None
        if worker is not None:
            worker.wait()
            worker.deleteLater()

    def _again(self) -> None:
        self.begin(self._path)

    # --- people -----------------------------------------------------------------------------------------------------

    def _settle_person(self) -> None:
        """The person of last time, the only one there is, or ask."""
        shop = self._house.shop
        known = shop.people if shop is not None else {}
        if self.remembered.get("person") in known:
            self._house.set_person(self.remembered["person"])
        elif len(known) == 1:
            self._house.set_person(next(iter(known)))
        else:
            self.choose_person()

    def choose_person(self) -> None:
        """Ask who is at the bench."""
        from app.window import people

        shop = self._house.shop
        if shop is not None and shop.people:
            chosen = people.ask_person(self._frame, shop, self._house.person)
            if chosen:
                self._house.set_person(chosen)

    def _remember_person(self, identity: str) -> None:
        self.remembered["person"] = identity

    def _ask_for_new_person(self) -> None:
        """Ask for a person, make their key on the book's thread, and enter them."""
        from app.window import people

        if self._may_enter_people():
            self._make_with_key(people.ask_new_person(self._frame, self._house), "person.new.done")

    def _ask_for_passphrase(self) -> None:
        """Ask for another passphrase of the person at the bench, and lock their key under it."""
        from app.window import people

        if people.has_key(self._house):
            self._make(people.ask_passphrase(self._frame, self._house), "passphrase.done")

    def _ask_for_new_key(self) -> None:
        """Ask for whom a key is lost, and give them a new one."""
        from app.window import people

        if self._may_enter_people():
            self._make_with_key(people.ask_new_key(self._frame, self._house), "new_key.done")

    def _may_enter_people(self) -> bool:
        """Whether the person at the bench may; if not, it is said."""
        from app.window import people

        against = people.against_entering(self._house)
        if against is not None:
            self._house.noticed.emit(self._house.say(against), True)
        return against is None

    def _make_with_key(self, asked: KeyAsked | None, done: str) -> None:
        """With a key that is made here, or brought along in a file."""
        if asked is not None and asked.brought:
            from app.window.bringing import Bringing

            Bringing(self._frame, self._house, asked, lambda work: self._make(work, done)).begin()
        elif asked is not None:
            self._make(asked.made_here(self._house), done)

    def _make(self, asked: PersonWork | None, done: str) -> None:
        """Unlock or make a key, which takes a moment, on the book's thread; then hand in what follows."""
        if asked is not None and self._house.worker is not None:
            said = word(done, person=asked.name)
            self._house.worker.read(asked.run, partial(self._hand_in, said), self._house.fail)

    def _hand_in(self, said: str, act: Act) -> None:
        self._house.do(act, kept=lambda _outcome: self._house.notice(said))

    def _enter_starter_crib(self) -> None:
        """Fill the crib with the instruments of the template that it lacks."""
        from app.jobs.opening_shop import starter_act

        shop, foreseen = self._house.shop, self._house.foreseen
        if shop is None or foreseen is None:
            return
        act = starter_act(shop, foreseen.now().day)
        if act is None:
            self._house.notice(word("begin.crib.all_there"))
        else:
            self._house.do(act, kept=lambda _outcome: self._house.notice(word("begin.crib.entered")))

    # --- another book -----------------------------------------------------------------------------------------------

    def _ask_for_book(self) -> None:
        from app.window import people

        answer = people.ask_book(self._frame, self._path)
        if answer is not None:
            self._change_to(answer)

    def _ask_for_new_book(self) -> None:
        from app.window import people
        from storage.book.header import default_place

        answer = people.ask_new_book(self._frame, self._path or default_place())
        if answer is not None:
            self._change_to(answer)

    def _change_to(self, book: Path | NewBook) -> None:
        """Finish and close the present book first, if there is one; then go on with ``book``."""
        self._next = book
        if self._house.worker is None:
            self._go_on()
        else:
            self._house.leaving.emit()
            self._house.worker.close_book()

    def _go_on(self) -> None:
        book, self._next = self._next, None
        self.remembered["sheet"] = self._house.at_hand = ""
        if isinstance(book, Path):
            self.begin(book)
        elif book is not None:
            from app.background.opening import Making

            self._path = book.path
            self._frame.wait_for(book.path.name)
            self._start(Making(book))

    # --- acts and their end -----------------------------------------------------------------------------------------

    def _acted(self, _ticket: Ticket, outcome: Any) -> None:
        """What changed in the shop is told to every room; what changed on a sheet, by the outcome itself."""
        if outcome.shop is not self._house.shop:
            self._house.set_shop(outcome.shop)
        if outcome.notices:
            self._house.notice(self._house.say(*outcome.notices))
        worker = self._house.worker
        if self._frame.beginning() and worker is not None:
            worker.read(how_far, self._begin_or_list, self._no_sheet)

    def _handed_back(self, tickets: tuple[Ticket, ...], failure: Failure) -> None:
        self._next = None
        count = len(tickets)
        said = self._house.sentence(failure)
        if count:
            said = f"{said} {word('back.text.one') if count == 1 else word('back.text.other', n=count)}"
        self._house.noticed.emit(said, True)

    def _leave(self) -> None:
        """The window is to close: finish what is queued, then let it go."""
        worker = self._house.worker
        if worker is None:
            self._frame.let_go()
            return
        self._house.leaving.emit()
        waiting = worker.waiting()
        if waiting:
            self._house.notice(
                word("closing.writing.one") if waiting == 1 else word("closing.writing.other", n=waiting)
            )
        worker.close_book()

    def _closed(self) -> None:
        self._drop_worker()
        if self._next is not None:
            self._go_on()
        else:
            self._frame.let_go()
