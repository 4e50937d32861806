"""The work of the Plan room that needs the book, each a value that is run on the book's thread."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from inspection.drawing.editing import Draft
from inspection.drawing.plan import Plan
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.life import decide
from inspection.words.say import word
from storage.book.clock import new_identity, wall_clock
from storage.book.queries.measured_rows import measured_rows
from storage.book.queries.parts import ListedPart, list_parts, part_of_number
from storage.book.queries.sheets import ListedSheet, list_sheets
from storage.drafts import KeptDraft, drop_draft, keep_draft, kept_drafts

if TYPE_CHECKING:
    from app.background.worker import Progress
    from app.jobs.hand import Foreseen
    from app.jobs.taking_in import Preview
    from storage.book.door import Book
    from storage.intake.features import FeatureFile

#: So many parts are listed; others are found by typing.
MOST_PARTS = 200
#: So many sheets of a part, the newest ones, are looked at before a further issue.
MOST_SHEETS = 200


class Listing(NamedTuple):
    """What the list shows: parts by their newest issue, plans under way, what is to be said of unreadable drafts."""

    book: Path
    parts: tuple[ListedPart, ...]
    drafts: tuple[KeptDraft, ...]
    said: tuple[Reason, ...]


def list_plans(book: Book, like: str = "") -> Listing:
    """Parts and drafts, of all or of those that hold ``like``."""
    drafts, said = kept_drafts(book.path)
    wanted = like.casefold()
    found = tuple(kept for kept in drafts if wanted in " ".join(kept.draft.head.values()).casefold())
    return Listing(book.path, tuple(book.ask(list_parts, limit=MOST_PARTS, like=like)), found, said)


class Opened(NamedTuple):
    """A part's newest plan issue, and the identities of its rows that were ever read."""

    plan: Plan
    measured: frozenset[str]


def open_part(book: Book, part: str) -> Opened:
    """The newest issue of a part's plan. Raises Refused if the book has none."""
    plans = book.plans_of(part)
    if not plans:
        raise Refused(Reason("plan.unknown"))
    newest = max(plans.values(), key=lambda plan: plan.issue)
    return Opened(newest, book.ask(measured_rows, newest.identity))


class Keeping(NamedTuple):
    """Keep a draft, or (None) forget it."""

    name: str
    draft: Draft | None

    def run(self, book: Book) -> None:
        """Raises BookFailure."""
        self.keep_at(book.path)

    def keep_at(self, book: Path) -> None:
        """The same by the book's place, when its thread has ended."""
        if self.draft is None:
            drop_draft(book, self.name)
        else:
            keep_draft(book, self.name, self.draft)


# --- before a further issue -----------------------------------------------------------------------------------


class SheetAhead(NamedTuple):
    """One sheet that is not sealed: what it would say to the new issue, the rows whose verdicts would change, and
    whether it can go over to it."""

    sheet: str
    serials: str
    day: str
    said: tuple[Reason, ...]
    changing: tuple[str, ...]
    can: bool


class LookAhead(NamedTuple):
    """Look at what issuing a plan would mean for the part's sheets; nothing is done."""

    plan: Plan
    begun_from: str
    person: str

    def run(self, book: Book, progress: Progress) -> tuple[SheetAhead, ...]:
        """Raises Refused where the plan may not be issued, or another issue came meanwhile."""
        part = self.plan.part_identity
        known = book.ask(part_of_number, self.plan.part.number)
        if not part and known:
            raise Refused(Reason("plan.part_known", {"part": self.plan.part.number}))
        plans = book.plans_of(part) if part else {}
        newest = max(plans.values(), key=lambda plan: plan.issue) if plans else None
        if newest is not None and newest.identity != self.begun_from:
            raise Refused(Reason("plan.issued_meanwhile", {"issue": newest.issue}))
        events = decide(book.shop(), None, plans, acts.IssuePlan(plan=self.plan), _entry(self.person))
        plan = next(event.plan for event in events if isinstance(event, ev.PlanIssued))
        sheets = book.ask(list_sheets, limit=MOST_SHEETS, part=part) if part else []
        standing = [sheet for sheet in sheets if not sheet.sealed]
        found = []
        for done, sheet in enumerate(standing):
            progress(done, len(standing))
            found.append(_ahead(book, sheet, {**plans, plan.identity: plan}, plan, self.person))
        return tuple(found)


def _entry(person: str) -> ev.Entry:
    """An entry to decide by that is never made."""
    now = wall_clock()
    return ev.Entry(identity=new_identity(), person=person, at=now.at, day=now.day)


def _ahead(book: Book, listed: ListedSheet, plans: dict[str, Plan], plan: Plan, person: str) -> SheetAhead:
    sheet, serials = book.sheet(listed.sheet), ", ".join(listed.serials)
    act = acts.AdoptPlan(sheet=sheet.identity, plan=plan.identity)
    try:
        decide(book.shop(), sheet, plans, act, _entry(person))
    except Refused as refused:
        can = all(reason.code == "plan.verdict_changes" for reason in refused.reasons)
        numbers = {reason.parts.get("number") for reason in refused.reasons}
        changing = tuple(row.identity for row in plan.characteristics if row.number in numbers and row.identity)
        said = tuple(map(_in_short, refused.reasons))
        return SheetAhead(sheet.identity, serials, listed.day, said, changing if can else (), can)
    return SheetAhead(sheet.identity, serials, listed.day, (Reason("plan.no_verdict_changes"),), (), True)


def _in_short(reason: Reason) -> Reason:
    """A verdict that would change, told for a list of them."""
    return Reason("plan.would_change", reason.parts) if reason.code == "plan.verdict_changes" else reason


# --- files ----------------------------------------------------------------------------------------------------


class Made(NamedTuple):
    """What a feature file came to: what is said, the part, and the sheet ("" if there is none)."""

    said: str
    part: str
    sheet: str = ""


class LookAtFile(NamedTuple):
    """Look at a feature file before it is taken in: what would come of it."""

    file: Path
    serials: tuple[str, ...]
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> Preview:
        """Raises Refused (every fault of the file, and what the book would refuse) or BookFailure; nothing is taken."""
        from app.jobs.hand import Hand
        from app.jobs.taking_in import preview
        from storage.intake.faults import FileRefused
        from storage.intake.grid import read_bytes

        hand = Hand(book, self.foreseen, self.person)
        seen = preview(read_bytes(self.file), self.file.name, hand, self.serials)
        if not seen.whole:
            raise FileRefused(seen.name, seen.faults, seen.count)
        return seen


class TakeIn(NamedTuple):
    """Take in a feature file as it was looked at, and make a sheet on it if pieces are named."""

    features: FeatureFile
    serials: tuple[str, ...]
    person: str
    foreseen: Foreseen

    def run(self, book: Book, _progress: Progress) -> Made:
        """Raises Refused or BookFailure; nothing was taken then."""
        from app.jobs.hand import Hand
        from app.jobs.taking_in import take_in

        hand = Hand(book, self.foreseen, self.person)
        taken = take_in(hand, self.features, self.serials)
        part, rows = taken.plan.part.number, len(taken.plan.characteristics)
        if taken.sheet is None:
            return Made(word("plan.file.no_pieces", part=part, rows=rows), taken.plan.part_identity)
        pieces = ", ".join(piece.serial for piece in taken.sheet.pieces)
        said = word("plan.file.done", part=part, rows=rows, pieces=pieces)
        return Made(said, taken.plan.part_identity, taken.sheet.identity)


class Template(NamedTuple):
    """Write an empty feature file."""

    file: Path

    def run(self, _book: Book, _progress: Progress) -> str:
        """Raises BookFailure; a file that is there is never overwritten."""
        from storage.intake.templates import write_template

        write_template("features", self.file)
        return word("plan.template.done", file=self.file.name)
