"""A list that a command told, written to the file that was named as well."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from app.command.outcome import Answer
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.dispatch.listing import Listing


def with_list(options: Namespace, answer: Answer, listing: Listing) -> Answer:
    """The answer, and the list in the file of ``--to``, if one was named. Raises Refused or BookFailure."""
    if not options.to:
        return answer
    from storage.dispatch.listing import write_listing

    path = Path(options.to).absolute()
    digest = write_listing(listing, path)
    done = word("command.export.done", file=str(path), digest=digest)
    return replace(answer, lines=(*answer.lines, done), data={**answer.data, "file": str(path), "digest": digest})
