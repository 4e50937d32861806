"""What verifying asks of a book, each a value that is run on the book's thread and lets acts through between its steps:
by the very functions that the command line calls."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.verifying import Finding
    from storage.book.door import Book
    from storage.seals.check import Verified


class Itself(NamedTuple):
    """Entries, chain, rows and seals."""

    def run(self, book: Book, progress: Progress) -> Verified:
        """Raises BookFailure."""
        from storage.book.verify import verify_book

        return verify_book(book.path, progress)


class SignedPdfs(NamedTuple):
    """The signatures in the signed PDFs that the book keeps."""

    def run(self, book: Book, progress: Progress) -> Verified:
        """Raises BookFailure."""
        from storage.book.documents import verify_documents

        return verify_documents(book.path, progress=progress)


class Result(NamedTuple):
    """All that was found; whether it would be settled by saying that this is the book to go by."""

    found: Verified
    findings: tuple[Finding, ...]
    may_be_settled: bool


class Outside(NamedTuple):
    """What this computer saw of the book and of its copies, and with it all that was found."""

    itself: Verified
    pdfs: Verified

    def run(self, book: Book, progress: Progress) -> Result:
        """Raises BookFailure."""
        from app.jobs.verifying import findings, joined, may_be_settled
        from storage.book.carried import check_heads

        found = joined(self.itself, self.pdfs, check_heads(book.path, progress=progress))
        return Result(found, findings(book, found), may_be_settled(found))


class Settle(NamedTuple):
    """Go by this book from now on."""

    def run(self, book: Book) -> None:
        """Raises BookFailure."""
        from app.jobs.station_head import go_by_this

        go_by_this(book)
