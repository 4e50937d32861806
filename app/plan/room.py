"""The Plan room: the list of parts, and the plan that is written. Every change of a plan is kept beside the book until
it is issued."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import QStackedLayout, QVBoxLayout, QWidget

from app.background.worker import Failure, Job
from app.parts.doing import Doing
from app.parts.faults import tell_faults
from app.plan import questions
from app.plan.listing import ListPage, lines_of
from app.plan.work import (
    Keeping,
    Listing,
    LookAhead,
    LookAtFile,
    Made,
    Opened,
    SheetAhead,
    TakeIn,
    Template,
    list_plans,
    open_part,
)
from app.window.house import House, Room
from app.window.theme import Theme
from inspection.drawing.editing import Draft, type_head
from inspection.drawing.editing_issue import draft_of, plan_of
from inspection.drawing.plan import Part, Plan
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.words.say import word
from storage.book.failures import BookFailure

if TYPE_CHECKING:
    from app.jobs.taking_in import Preview
    from app.plan.writing import WritingPage

#: A change of a draft is on disk after this, in milliseconds.
KEPT_AFTER = 700


class PlanRoom(Room):
    """Lists parts, opens one, keeps its draft, issues it and begins sheets on it."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, parent)
        self.setObjectName("page")
        self._book: Path | None = None
        self._name = ""  # of the draft that is open
        self._sought = ""
        self._reading = self._open_first = False
        self._unkept: dict[str, Draft | None] = {}  # drafts by name that are not on disk yet as they are; None: to go
        self._begun: tuple[Draft, str] | None = None  # a draft to be opened once its part is read
        self._keep_soon = QTimer(self, singleShot=True, interval=KEPT_AFTER)
        self._keep_soon.timeout.connect(self._keep)
        self.list_page = ListPage(house, self._list_actions(), self)
        self._page: WritingPage | None = None
        self._doing = Doing(house.theme, self)
        self._stack = QStackedLayout()
        self._stack.addWidget(self.list_page)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(self._stack, 1)
        layout.addWidget(self._doing)
        self._connect()
        self.take_theme(house.theme)

    def _list_actions(self) -> dict[str, Callable[[], object]]:
        return {
            "open": self._open,
            "new": self._new,
            "revise": self._revise,
            "file": self._take_in,
            "template": self._template,
            "drop": self._drop,
        }

    def _connect(self) -> None:
        self.list_page.sought.connect(self._seek)
        if self.house.worker is not None:
            self.house.worker.acted.connect(self._acted)
            self.house.worker.closed.connect(self._keep_at_end)

    @property
    def writing(self) -> WritingPage:
        """The page on which a plan is written, built when the first one is opened."""
        if self._page is None:
            from app.plan.writing import WritingPage

            page = self._page = WritingPage(self.house, self)
            page.changed.connect(self._changed)
            page.issue_wanted.connect(self._issue)
            page.sheet_wanted.connect(self._make_sheet)
            page.list_wanted.connect(self.show_list)
            self._stack.addWidget(page)
        return self._page

    @property
    def _is_writing(self) -> bool:
        return self._page is not None and self._stack.currentWidget() is self._page

    def actions(self) -> list[QAction]:
        """What can be done on the page shown, for the list of keys."""
        named = self.writing.actions_by_name if self._is_writing else self.list_page.actions_by_name
        return [action for action in named.values() if action.isEnabled()]

    # --- the list -------------------------------------------------------------------------------------------------

    def arrive(self) -> None:
        """Go on with the plan that is open, or list the parts."""
        if self._is_writing:
            self.writing.take_focus()
        else:
            self.show_list()

    def show_list(self) -> None:
        """Show the list; the draft that was open is kept."""
        self._keep()
        self._stack.setCurrentWidget(self.list_page)
        self.list_page.finding.setFocus()
        self._read()

    def _read(self) -> None:
        sought = self._sought
        self._reading = True
        if self.house.worker is not None:
            self.house.worker.read(lambda book: list_plans(book, sought), self._show_listing, self.house.fail)

    def _seek(self, text: str) -> None:
        self._sought = text
        self._read()

    def _show_listing(self, listing: Listing) -> None:
        self._book = listing.book
        self._reading = False
        self.list_page.show_lines(lines_of(listing))
        if listing.said:
            self.house.notice(self.house.say(*listing.said))
        if self._open_first:
            self._open()

    def _acted(self, _ticket: object, _outcome: object) -> None:
        if self.isVisible() and not self._is_writing:
            self._read()

    # --- opening --------------------------------------------------------------------------------------------------

    def _open(self) -> None:
        line = self.list_page.line()
        self._open_first = line is None and self._reading  # Enter came before the list did
        if line is not None:
            self._begin(line.draft, line.draft_name or line.part, line.part)

    def _begin(self, draft: Draft | None, name: str, part: str) -> None:
        """Open a draft, or where there is none the newest issue of a part."""
        if not part:
            self._write(draft or Draft(), None, 0, frozenset(), name)
            return
        if self.house.worker is not None:
            self._begun = (draft, name) if draft is not None else None
            self.house.worker.read(lambda book: open_part(book, part), self._opened, self.house.fail)

    def _opened(self, opened: Opened) -> None:
        issued = draft_of(opened.plan)
        draft, name = self._begun or (issued, opened.plan.part_identity)
        self._begun = None
        self._write(draft, issued, opened.plan.issue, opened.measured, name)

    def _write(self, draft: Draft, issued: Draft | None, issue: int, measured: frozenset[str], name: str) -> None:
        self._name = name
        page = self.writing
        self._stack.setCurrentWidget(page)
        page.open(draft, issued, issue, measured, grouped=draft == issued)
        page.take_focus()

    def _new(self) -> None:
        self._begin(None, f"new-{uuid4().hex[:12]}", "")

    def _revise(self) -> None:
        """The next revision begins from the newest issue: the same characteristics under other marks."""
        line = self.list_page.line()
        if line is not None and line.part and self.house.worker is not None:
            part = line.part
            self.house.worker.read(lambda book: open_part(book, part), self._revised, self.house.fail)

    def _revised(self, opened: Opened) -> None:
        asked = questions.ask_revision(self, opened.plan.part)
        if asked is None:
            return
        issued = draft_of(opened.plan)
        draft = type_head(type_head(issued, "revision", asked[0]), "drawing_revision", asked[1])
        self._write(draft, issued, opened.plan.issue, opened.measured, opened.plan.part_identity)
        self._changed()

    # --- keeping --------------------------------------------------------------------------------------------------

    def _changed(self) -> None:
        page = self.writing
        nothing = page.untouched or (page.issued is None and not page.draft.head and not page.draft.rows)
        self._unkept[self._name] = None if nothing else page.draft
        if not self._keep_soon.isActive():
            self._keep_soon.start()

    def _keep(self) -> None:
        """Hand what changed over to be written."""
        if self.house.worker is not None:
            for name, draft in self._unkept.items():
                done = partial(self._was_kept, name, draft)
                self.house.worker.read(Keeping(name, draft).run, done, self.house.fail)

    def _was_kept(self, name: str, draft: Draft | None, _done: object) -> None:
        """What was handed over is on disk; it may have changed again meanwhile."""
        if self._unkept.get(name, self) is draft:
            del self._unkept[name]
        if draft is None and not self._is_writing:
            self._read()

    def _keep_at_end(self) -> None:
        """The book is closed: what was not written yet is written now."""
        if self._page is not None:
            self._page.keep_typed()
        book = self._book
        if book is None:
            return
        for name, draft in self._unkept.items():
            try:
                Keeping(name, draft).keep_at(book)
            except BookFailure as failure:
                self.house.fail(Failure(failure.reasons))

    def _drop(self) -> None:
        line = self.list_page.line()
        if line is not None and line.draft is not None and questions.ask_drop(self, line.texts[0]):
            self._unkept[line.draft_name] = None
            self._keep()

    # --- issuing --------------------------------------------------------------------------------------------------

    def _issue(self) -> None:
        page = self.writing
        try:
            plan = plan_of(page.draft, page.reader)
        except Refused as refused:
            page.go_to_fault()
            more = len(refused.reasons) - 1
            said = self.house.say(refused.reasons[0])
            self.house.noticed.emit(f"{said} {word('plan.issue.more', n=more)}" if more else said, True)
            return
        look = LookAhead(plan, page.draft.plan, self.house.person)

        def ahead(found: tuple[SheetAhead, ...]) -> None:
            self._looked_ahead(plan, found)

        self._do(word("plan.issue.looking"), look.run, ahead)

    def _looked_ahead(self, plan: Plan, ahead: tuple[SheetAhead, ...]) -> None:
        self._doing.over()
        chosen = questions.ask_issue(self, plan.part.number, ahead, self.house.say)
        if chosen is not None:
            self.house.do(acts.IssuePlan(plan=plan), kept=lambda outcome: self._issued(outcome.events[0].plan, chosen))

    def _issued(self, plan: Plan, chosen: tuple[SheetAhead, ...]) -> None:
        """The plan is in the book: its draft is done with, and the sheets that were chosen go over to it."""
        self._unkept[self._name] = None
        self._keep()
        self._name = plan.part_identity
        page, at = self.writing, self.writing.table.at
        page.open(draft_of(plan), draft_of(plan), plan.issue, page.measured, grouped=page.grouped)
        page.table.go(at)
        page.take_focus()
        for sheet in chosen:
            self.house.do(acts.AdoptPlan(sheet=sheet.sheet, plan=plan.identity, accepted=sheet.changing))
        said = word("plan.issued", part=plan.part.number, issue=plan.issue, rows=len(plan.characteristics))
        then = word("plan.issued.sheets", n=len(chosen)) if chosen else word("plan.issued.next")
        self.house.notice(f"{said} {then}")

    # --- sheets and files -----------------------------------------------------------------------------------------

    def _make_sheet(self) -> None:
        draft = self.writing.draft
        number, revision, customer = (draft.head.get(name, "") for name in ("number", "revision", "customer"))
        part = Part(number, revision, customer=customer)
        asked = questions.ask_sheet(self, part)
        if asked is not None:
            serials, head = asked
            self.house.do(acts.MakeSheet(plan=draft.plan, serials=serials, head=head), kept=self._sheet_made)

    def _sheet_made(self, outcome: Any) -> None:
        self.house.sheet_wanted.emit(outcome.stream)

    def _take_in(self) -> None:
        asked = questions.ask_file(self)
        if asked is not None and self.house.foreseen is not None:
            file, serials = asked
            job = LookAtFile(file, serials, self.house.person, self.house.foreseen)
            looked = partial(self._looked_at, serials)
            self._do(word("plan.file.working", file=file.name), job.run, looked, self._not_taken_in)

    def _looked_at(self, serials: tuple[str, ...], seen: Preview) -> None:
        """What would come in is shown; it is taken in as it was looked at, whatever becomes of the file meanwhile."""
        self._doing.over()
        agreed = questions.ask_take_in(self, seen, serials, self.house.say)
        if agreed and seen.file is not None and self.house.foreseen is not None:
            job = TakeIn(seen.file, serials, self.house.person, self.house.foreseen)
            self._do(word("plan.file.taking", file=seen.name), job.run, self._taken_in, self._not_taken_in)

    def _taken_in(self, made: Made) -> None:
        self._doing.over()
        self.house.notice(made.said)
        if made.sheet:
            self._read()
            self.house.sheet_wanted.emit(made.sheet)
        else:
            self._begin(None, made.part, made.part)

    def _not_taken_in(self, failure: Failure) -> None:
        self._doing.over()
        if not tell_faults(self, failure, self.house.say):
            self.house.fail(failure)

    def _template(self) -> None:
        file = questions.ask_template(self)
        if file is not None:
            self._do(word("plan.file.working", file=file.name), Template(file).run, self._told)

    def _told(self, said: str) -> None:
        self._doing.over()
        self.house.notice(said)

    def _do(
        self,
        words: str,
        task: Callable[..., Any],
        done: Callable[[Any], None],
        failed: Callable[[Failure], None] | None = None,
    ) -> Job | None:
        if self.house.worker is None:
            return None
        job = self.house.worker.long(task, done, failed or self._failed, self._doing.moved)
        self._doing.begin(words, job)
        return job

    def _failed(self, failure: Failure) -> None:
        self._doing.over()
        self.house.fail(failure)

    # --- keys and look --------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc stops what is being done, or goes back to the list."""
        if event.key() == Qt.Key.Key_Escape and (self._doing.stop() or self._back()):
            return
        super().keyPressEvent(event)

    def _back(self) -> bool:
        if not self._is_writing:
            return False
        self.writing.keep_typed()
        self.show_list()
        return True

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self.list_page.take_theme(theme)
        if self._page is not None:
            self._page.take_theme(theme)
        self._doing.take_theme(theme)
