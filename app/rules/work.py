"""What the window of the rules asks of the book, as a value that is run on the book's thread."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from storage.book.door import Book
    from storage.book.queries.rules_history import RulesEntered

#: Issues that are shown, and the one before them, which the last is held against.
MOST_ISSUES = 30


class History(NamedTuple):
    """Who issued the rules, when, and what each issue said."""

    def run(self, book: Book) -> list[RulesEntered]:
        """The newest issues, newest first; one more than is shown."""
        from storage.book.queries.rules_history import rules_history

        return book.ask(rules_history, limit=MOST_ISSUES + 1)
