"""The work of a review, each run on the book's thread with what the room hands it."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from storage.book.queries.nonconformances import ListedNonconformance, nonconformances

if TYPE_CHECKING:
    from collections.abc import Mapping

    from app.background.worker import Progress
    from app.jobs.hand import Foreseen
    from app.jobs.reviewing import Reviewed
    from app.jobs.signing import Signed
    from inspection.reasons import Reason
    from inspection.sheet.acts import MakeStatement
    from inspection.sheet.review import StatementKind
    from inspection.sheet.state import Sheet, Shop
    from storage.book.clock import Moment
    from storage.book.door import Book

#: Nonconformances on a page of the shop's list.
PAGE = 60


class Review(NamedTuple):
    """Look at a sheet as its lead, ``person``, does at a ``moment``."""

    sheet: str
    person: str
    moment: Moment

    def run(self, book: Book) -> Reviewed:
        """Raises Refused if there is no such sheet, or BookFailure."""
        from app.jobs.reviewing import reviewed

        return reviewed(book, self.sheet, self.person, self.moment)


class InTheWay(NamedTuple):
    """A sheet as it stands, what stands in the way of a statement of it, what its first article lacks, and what stops
    it from going out that only a sheet of its own mends once this one is approved."""

    sheet: Sheet
    shop: Shop
    kind: StatementKind
    reasons: tuple[Reason, ...]
    lacking: tuple[Reason, ...]
    stops: tuple[Reason, ...] = ()


class AskInTheWay(NamedTuple):
    """Ask what stands in the way of a statement that ``person`` would make at a ``moment``."""

    sheet: str
    kind: StatementKind
    person: str
    moment: Moment

    def run(self, book: Book) -> InTheWay:
        """Raises Refused if there is no such sheet, or BookFailure."""
        from app.jobs.reviewing import listed_of
        from inspection.sheet.missing import kept_back
        from inspection.sheet.review_life import in_the_way, incomplete

        sheet, shop = book.sheet(self.sheet), book.shop()
        listed = listed_of(book, shop, sheet, self.moment.day)
        found = in_the_way(shop, sheet, self.kind, self.person, self.moment.at, listed)
        stops = tuple(each.reason for each in kept_back(shop, sheet))
        return InTheWay(sheet, shop, self.kind, tuple(found), tuple(incomplete(sheet)), stops)


class Stating(NamedTuple):
    """Make and sign one statement with the person's passphrase, in the book and in the sheet's PDF."""

    act: MakeStatement
    passphrase: str
    person: str
    foreseen: Foreseen
    papers: Mapping[str, str]
    stamps: bool = False

    def run(self, book: Book, progress: Progress) -> Signed:
        """Raises Refused or BookFailure; the sheet is as it was then."""
        from app.jobs.document import Making
        from app.jobs.hand import Hand
        from app.jobs.sending import paper_of
        from app.jobs.signing import state

        hand, act = Hand(book, self.foreseen, self.person), self.act
        making = Making(paper_of(book.sheet(act.sheet), self.papers), room_for_stamp=self.stamps)
        return state(hand, act.sheet, act.kind, self.passphrase, words=act.words, making=making, progress=progress)


class AcrossPage(NamedTuple):
    """A page of the shop's nonconformances that hold a ``text``; ``first``: from the beginning; ``more`` follow."""

    text: str
    first: bool
    found: tuple[ListedNonconformance, ...]
    more: bool


class Across(NamedTuple):
    """Look for nonconformances across the shop."""

    text: str = ""
    after: ListedNonconformance | None = None

    def run(self, book: Book) -> AcrossPage:
        """Raises BookFailure."""
        found = book.ask(nonconformances, self.text, limit=PAGE + 1, after=self.after)
        return AcrossPage(self.text, self.after is None, tuple(found[:PAGE]), len(found) > PAGE)
