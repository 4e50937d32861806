"""The pull list of a sheet, and the page made of it."""

from __future__ import annotations

from pathlib import Path

from app.jobs.hand import Hand
from inspection.sheet import acts
from inspection.sheet.pull_page import PullPage, pull_page
from inspection.sheet.steps import require

#: The name under which the journal keeps the page.
FORM = "set-up page"


def pull_of(hand: Hand, sheet: str) -> PullPage:
    """What to fetch for a sheet, from the crib as it stands today. Raises Refused for an unknown sheet."""
    return pull_page(hand.book.sheet(sheet), hand.book.shop(), hand.foreseen.now().day)


def write_pull(hand: Hand, sheet: str, path: Path, *, paper: str) -> str:
    """Write the set-up page to ``path`` and keep the file's SHA-256 in the book; returns it in hex.

    Raises Refused or BookFailure, and what stood at ``path`` stays unless the page was made.
    """
    from storage.dispatch.set_up_page import write_set_up_page

    page = pull_of(hand, sheet)
    kept = acts.RecordSent(sheet=sheet, form=FORM, name=path.name, digest="0" * 64)
    require(hand.book.shop(), hand.book.sheet(sheet), kept, hand.person)
    digest = write_set_up_page(page, path, paper=paper)
    hand.book.do(acts.RecordSent(sheet=sheet, form=FORM, name=path.name, digest=digest), person=hand.person)
    return digest
