"""Writing the page that goes with the set-up sheet, on the book's thread."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.words.say import word

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.hand import Foreseen
    from storage.book.door import Book


class Fetching(NamedTuple):
    """Write the page of a sheet on the paper its customer gets."""

    sheet: str
    file: Path
    person: str
    foreseen: Foreseen
    papers: Mapping[str, str]

    def run(self, book: Book, _progress: Progress) -> str:
        """Raises Refused or BookFailure; what stood at the file is untouched then."""
        from app.jobs.hand import Hand
        from app.jobs.pulling import write_pull
        from app.jobs.sending import PAPERS

        hand = Hand(book, self.foreseen, self.person)
        write_pull(hand, self.sheet, self.file, paper=PAPERS[self.papers.get("", "letter")])
        return word("bench.fetch.done", file=self.file.name, folder=str(self.file.absolute().parent))
