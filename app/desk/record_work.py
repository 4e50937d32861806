"""The work of the record, run on the book's thread: a file is read to be attached, or written out again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.attached import Attached

if TYPE_CHECKING:
    from app.background.worker import Progress
    from inspection.sheet.evidence import Evidence
    from inspection.sheet.state import Sheet
    from storage.book.door import Book


class ReadFile(NamedTuple):
    """Read a file that is to be attached."""

    path: Path

    def run(self, _book: Book, _progress: Progress) -> tuple[Attached, bytes]:
        """Its name with its digest, and its bytes. Raises BookFailure for a file that cannot be read, Refused for one
        that is empty or too large."""
        from storage.book.attached import read_attached

        return read_attached(self.path)


class DrawingBefore(NamedTuple):
    """Look for the drawing that an earlier sheet of the part has in the book."""

    sheet: Sheet

    def run(self, book: Book, _progress: Progress) -> Evidence:
        """The entry that the sheet would have."""
        from app.jobs.record import drawing_of

        return drawing_of(book, self.sheet)


class WriteOut(NamedTuple):
    """Write an attached file out of the book."""

    attached: Attached
    path: Path

    def run(self, book: Book, _progress: Progress) -> str:
        """The name it was written under. Raises Refused or BookFailure; what stood there is untouched then."""
        from storage.book.attached import content_of
        from storage.files import write_file

        write_file(self.path, book.ask(content_of, self.attached.digest))
        return self.path.name
