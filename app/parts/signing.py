"""Signing a sheet, from whatever room: the question, and the work on the book's thread."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QWidget

from app.parts.lacking import Lack, lack_of
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from app.window.keys import ROOMS
from app.window.people import Wait
from inspection.sheet.cells import open_cells
from inspection.sheet.document_life import to_be_signed
from inspection.sheet.proof_life import closing_checks_missing
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.background.worker import Failure, Job, Progress
    from app.jobs.hand import Foreseen
    from app.window.house import House
    from inspection.sheet.people import Person
    from inspection.sheet.state import Sheet, Shop
    from storage.book.door import Book


#: What stops a sheet, named one by one in the question; of more, these and how many others.
MOST_NAMED = 4


class ToSign(NamedTuple):
    """A sheet to be signed: its identity, its part's number, how many cells are still open, what else would still stop
    it from going out once it is sealed, and the tags of instruments that a check after use is still asked of."""

    sheet: str
    part: str
    open: int
    stops: tuple[Lack, ...] = ()
    closing: tuple[str, ...] = ()


def to_sign(shop: Shop, sheet: Sheet) -> ToSign:
    """What is to be signed of this sheet, as it stands now."""
    from inspection.sheet.missing import kept_back  # not with the first sheet

    stops = tuple(map(lack_of, kept_back(shop, sheet)))
    closing = closing_checks_missing(shop, sheet)
    return ToSign(sheet.identity, sheet.plan.part.number, len(open_cells(sheet)), stops, closing)


def sign(
    room: QWidget,
    house: House,
    wanted: ToSign,
    done: Callable[[str], None],
    failed: Callable[[Failure], None],
    *,
    desk_key: str = ROOMS["desk"][0],
) -> Job | None:
    """Ask the person at the bench for the passphrase, and sign; ``done`` is told what is to be said. ``desk_key`` is
    what leads from the room to the Desk with this sheet. None if nobody is there or the person went back."""
    person = house.shop.people.get(house.person) if house.shop is not None else None
    if person is None or house.worker is None or house.foreseen is None or cannot_sign(house, person):
        return None
    begun = ("signing", wanted.sheet)
    asked = ask_signing(room, wanted, person.name, desk_key, Wait(house), str(house.left_off.get(begun, "")))
    if asked is None:
        return None
    house.left_off[begun] = asked[1]  # why rows are open is not typed again for a wrong passphrase

    def signed(said: str) -> None:
        house.left_off.pop(begun, None)
        done(said)

    work = Signing(wanted, *asked, house.person, house.foreseen, house.papers, house.stamps)
    return house.worker.long(work.run, signed, failed)


def sign_pdf(
    room: QWidget, house: House, sheet: Sheet, done: Callable[[str], None], failed: Callable[[Failure], None]
) -> Job | None:
    """Ask the person at the bench for the passphrase, and sign the sheet's PDF for what they signed in the book before;
    ``done`` is told what is to be said. None if there is nothing of theirs to sign, or the person went back."""
    person = house.shop.people.get(house.person) if house.shop is not None else None
    if person is None or house.worker is None or house.foreseen is None:
        return None
    if not to_be_signed(sheet, house.person):
        house.notice(word("document.nothing_left", person=person.name))
        return None
    if cannot_sign(house, person):
        return None
    wait, field = Wait(house), Field("passphrase", word("sign.passphrase", person=person.name), Sort.SECRET)
    title = word("sign.pdf.title", part=sheet.plan.part.number)
    text = word("sign.pdf.text", person=person.name)
    yes, no = word("sign.yes"), words.word("button.no")
    answer = ask(room, Question(title, text, (field,), yes, no, (), lambda _: wait.fault("passphrase"), wait.ahead))
    if answer is None:
        return None
    work = SigningPdf(sheet, answer["passphrase"], house.person, house.foreseen, house.papers, house.stamps)
    return house.worker.long(work.run, done, failed)


def cannot_sign(house: House, person: Person) -> bool:
    """Whether the person's key signs nothing now, whatever the passphrase; it is said then."""
    from inspection.reasons import Refused
    from storage.seals.keys import require_in_time

    assert house.foreseen is not None
    try:
        require_in_time(person, house.foreseen.now().at)
    except Refused as refused:
        house.noticed.emit(house.say(*refused.reasons), True)
        return True
    return False


def ask_signing(
    parent: QWidget, wanted: ToSign, person: str, desk_key: str, wait: Wait, why: str = ""
) -> tuple[str, str] | None:
    """The passphrase that signs, and why the sheet is signed with rows open or without checks after use if it is;
    ``why`` stands there already."""
    fields = [Field("passphrase", word("sign.passphrase", person=person), Sort.SECRET)]
    text = word("sign.text", person=person)
    if wanted.open or wanted.closing:
        fields.insert(0, Field("incomplete", word("sign.incomplete"), value=why))
    if wanted.open:
        text = f"{text} {word('sign.open', n=wanted.open)}"
    if wanted.closing:
        text = f"{text} {word('sign.closing', n=len(wanted.closing), tags=', '.join(wanted.closing))}"
    if wanted.stops:
        text = f"{text} {word('sign.stops', n=len(wanted.stops), key=desk_key)}"
    title, rows = word("sign.title", part=wanted.part), tuple(_named(wanted.stops))
    yes, no = word("sign.yes"), words.word("button.no")
    too_early = lambda _: wait.fault("passphrase")  # noqa: E731
    answer = ask(parent, Question(title, text, tuple(fields), yes, no, rows, too_early, wait.ahead))
    return (answer["passphrase"], answer.get("incomplete", "")) if answer else None


def _named(stops: tuple[Lack, ...]) -> Iterator[tuple[str, str]]:
    """Where each is put right and what it is; of many the first ones, and how many others."""
    shown = stops if len(stops) <= MOST_NAMED + 1 else stops[:MOST_NAMED]  # never "and one more" in place of the one
    for lack in shown:
        yield lack.where, lack.text
    if len(stops) > len(shown):
        yield "", word("sign.stops.more", n=len(stops) - len(shown))


class Signing(NamedTuple):
    """Sign a sheet with the person's passphrase; ``incomplete`` says why rows are still open or checks after use were
    not made, if that is so."""

    to_sign: ToSign
    passphrase: str
    incomplete: str
    person: str
    foreseen: Foreseen
    papers: Mapping[str, str]
    stamps: bool = False

    def run(self, book: Book, progress: Progress) -> str:
        """Raises Refused or BookFailure; the sheet is as it was then."""
        from app.jobs.document import Making
        from app.jobs.hand import Hand
        from app.jobs.sending import paper_of
        from app.jobs.signing import sign as signing

        hand, sheet = Hand(book, self.foreseen, self.person), self.to_sign.sheet
        making = Making(paper_of(book.sheet(sheet), self.papers), room_for_stamp=self.stamps)
        signed = signing(hand, sheet, self.passphrase, incomplete=self.incomplete, making=making, progress=progress)
        return " ".join((word("sign.done", part=self.to_sign.part), *map(say, signed.notices)))


class SigningPdf(NamedTuple):
    """Sign a sheet's PDF alone with the person's passphrase."""

    sheet: Sheet
    passphrase: str
    person: str
    foreseen: Foreseen
    papers: Mapping[str, str]
    stamps: bool = False

    def run(self, book: Book, progress: Progress) -> str:
        """Raises Refused or BookFailure."""
        from app.jobs.document import Making
        from app.jobs.hand import Hand
        from app.jobs.sending import paper_of
        from app.jobs.signing import sign_pdf as signing

        hand = Hand(book, self.foreseen, self.person)
        making = Making(paper_of(self.sheet, self.papers), room_for_stamp=self.stamps)
        signing(hand, self.sheet.identity, self.passphrase, making, progress)
        return word("sign.pdf.done", part=self.sheet.plan.part.number)
