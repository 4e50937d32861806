"""Reverse trace: what an error that was found in an instrument makes of each reading, as a table that can be copied."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from app.jobs import trace_told
from app.jobs.looking_back import Trace
from app.jobs.sending import PAPERS
from app.jobs.trace_told import COLUMNS
from app.ledger.back.page_table import PageTable
from app.ledger.back.work import Customers, PlanMarks, ReadTrace, TraceAsText, WriteTrace
from app.ledger.keys import TRACE_KEYS
from app.parts.fitted import Fitted
from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, Index, LinesModel
from app.parts.marks import Mark
from app.window import words
from app.window.asking import Fault, Field, Question, Sort, ask
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.measuring.found_error import Outcome
from inspection.quantity.reader import read
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.people import Person
from inspection.sheet.steps import not_now
from inspection.sheet.traced import Traced, sheets_to_be_seen
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.marking import Marking

MARKS = {
    Outcome.TAKEN_OUT: Mark.OUT,
    Outcome.NEAR: Mark.MARGINAL,
    Outcome.QUESTIONED: Mark.QUESTION,
    Outcome.TAKEN_IN: Mark.QUESTION,
    Outcome.STILL_OUT: Mark.OUT,
    Outcome.STILL_IN: Mark.CONFORMING,
    Outcome.NOT_NUMBERED: Mark.QUESTION,
    Outcome.NOT_JUDGED: Mark.NOT_JUDGED,
}
#: Widths of the columns in logical pixels; ``outcome`` takes what is left. And what folds first.
WIDTHS = {
    "sheet": 84, "part": 110, "number": 60, "serial": 150, "taken": 172, "by": 120, "read": 96, "limits": 156,
    "margin": 78, "then": 78,
}  # fmt: skip
FOLDED = ("sheet", "by", "taken", "limits", "margin", "part")
LEAST_OUTCOME = 190
#: So many lines in words are kept.
TOLD = 256


class _Model(LinesModel):
    """The readings of one trace, each put in words when it is looked at: twenty thousand take half a second."""

    def __init__(self) -> None:
        super().__init__(COLUMNS, "trace.head")
        self.lines: tuple[Traced, ...] = ()
        self._told: Callable[[int], dict[str, str]] = lambda _row: {}

    def show(self, found: Trace, people: Mapping[str, Person]) -> None:
        """Show this trace instead."""
        self._told = lru_cache(TOLD)(lambda row: trace_told.told(found, found.found[row], people))
        self.show_lines(found.found)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        if role in (DISPLAY, ACCESSIBLE):
            return self._told(index.row())[COLUMNS[index.column()]]
        outcome = role == MARK and COLUMNS[index.column()] == "outcome"
        return MARKS[self.lines[index.row()].outcome] if outcome else None


class _Table(PageTable):
    """The readings, as many columns as have room."""

    def __init__(self, house: House, parent: QWidget) -> None:
        self.readings = _Model()
        super().__init__(
            house,
            self.readings,
            COLUMNS,
            WIDTHS,
            stretched="outcome",
            marked="outcome",
            least=LEAST_OUTCOME,
            folded=FOLDED,
            name=word("ledger.trace.list"),
            parent=parent,
        )


class TracePage(QWidget):
    """``left`` follows Esc."""

    left = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.found: Trace | None = None
        self._answer: dict[str, str] = {}
        self._job: ReadTrace | None = None
        self._was_marked = False
        self.title = Fitted("title", self)
        self.said = QLabel(self)
        self.said.setWordWrap(True)
        self.table = _Table(house, self)
        self.hints = Fitted("quiet", self)
        self.hints.show_text(word("ledger.trace.hints"))
        does: dict[str, Callable[[], object]] = {
            "copy": self._copy,
            "trace": self.ask,
            "mark": self._mark,
            "write": self._write,
            "open": self._open,
        }
        self.actions_by_name = actions_of(self, TRACE_KEYS, does)
        self._layout = QVBoxLayout(self)
        for widget in (self.title, self.said):
            self._layout.addWidget(widget)
        self._layout.addWidget(self.table, 1)
        self._layout.addWidget(self.hints)
        self.table.doubleClicked.connect(lambda _index: self._open())
        self.take_theme(house.theme)

    def go(self) -> None:
        """Keys go to the table."""
        self.table.setFocus()

    # --- asking -----------------------------------------------------------------------------------------------------

    def ask(self) -> bool:
        """Ask which instrument was found out by how much, and look; whether the person did not go back."""
        given = self._answer
        fields = (
            Field("tag", word("ledger.trace.tag"), value=given.get("tag", "")),
            Field("error", word("ledger.trace.error"), value=given.get("error", "")),
            Field(
                "size",
                word("ledger.trace.size"),
                value=given.get("size", ""),
                needed=False,
                hint=word("ledger.trace.size.hint"),
            ),
            Field(
                "since",
                word("ledger.trace.since"),
                value=given.get("since", ""),
                needed=False,
                hint=word("ledger.trace.since.hint"),
            ),
        )
        asked = Question(
            word("ledger.trace.ask"),
            word("ledger.trace.about"),
            fields,
            word("ledger.trace.yes"),
            words.word("button.no"),
            check=lambda answer: _understood(self.house, answer)[1] or "",
        )
        answer = ask(self, asked)
        job = None if answer is None else _understood(self.house, answer)[0]
        if answer is None or job is None or self.house.worker is None:
            return False
        self._answer, self._job, self._was_marked = answer, job, False
        self.house.worker.read(job.run, self._take, self.house.fail)
        return True

    def go_on(self) -> None:
        """Look at the same anew, and stand where one stood."""
        if self._job is not None and self.house.worker is not None:
            self.house.worker.read(self._job.run, self._take_anew, self.house.fail)

    def _take_anew(self, found: Trace) -> None:
        row, was = self.table.currentIndex().row(), self.found
        at_hand = was.found[row].read.reading if was is not None and 0 <= row < len(was.found) else ""
        self._take(found)
        place = next((place for place, each in enumerate(found.found) if each.read.reading == at_hand), 0)
        if found.found:
            self.table.selectRow(place)
        self._say(found, marked=self._was_marked)

    def _take(self, found: Trace) -> None:
        shop = self.house.shop
        if shop is None:
            return
        self.found = found
        self.title.show_text(word("ledger.trace.title", tag=found.instrument.tag))
        self._say(found)
        self.table.readings.show(found, shop.people)
        self.table.setVisible(bool(found.found))
        if found.found:
            self.table.selectRow(0)
            self.table.fold()
            self.go()
        else:
            self.setFocus()

    def _say(self, found: Trace, *, marked: bool = False) -> None:
        self.said.setText("\n".join((trace_told.found_out(found), *trace_told.said(found, marked=marked))))

    # --- what is done -----------------------------------------------------------------------------------------------

    def _copy(self) -> None:
        """Put the whole table on the clipboard, cells with tabs between."""
        if self.found is not None and self.found.found and self.house.worker is not None:
            self.house.worker.read(TraceAsText(self.found).run, self._copied, self.house.fail)

    def _copied(self, text: str) -> None:
        QGuiApplication.clipboard().setText(text)
        self.house.notice(word("ledger.trace.copied", n=text.count("\n")))

    def _mark(self) -> None:
        """Mark every sheet with a reading that is to be looked at, with the lead's words."""
        found, shop = self.found, self.house.shop
        if found is None or shop is None or self.house.worker is None:
            return
        sheets = sheets_to_be_seen(found.found)
        if not sheets:
            self.house.notice(word("trace.nothing_to_mark", tag=found.instrument.tag))
            return
        against = not_now(shop, None, acts.MarkForReview, self.house.person)
        if against is not None:
            self.house.notice(say(against))
            return
        n = sum(each.is_to_be_seen for each in found.found)
        asked = Question(
            word("ledger.mark.ask", tag=found.instrument.tag),
            word("ledger.mark.about", n=n, sheets=len(sheets)),
            (Field("words", word("ledger.mark.words")),),
            word("ledger.mark.yes"),
            words.word("button.no"),
        )
        answer = ask(self, asked)
        if answer is not None:
            self.house.worker.read(PlanMarks(found, answer["words"].strip()).run, self._do_mark, self.house.fail)

    def _do_mark(self, plan: Marking) -> None:
        """Hand the acts in one after the other; what came of it is told once the last is on disk."""
        said = (("trace.marked", len(plan.acts)), ("trace.marked_already", len(plan.marked)))
        told = " ".join(word(code, n=n) for code, n in said if n)
        if not plan.acts:
            self.house.notice(told)
        for place, act in enumerate(plan.acts, 1):
            last = place == len(plan.acts)
            self.house.do(act, kept=(lambda _outcome: self._marked(told)) if last else None)

    def _marked(self, told: str) -> None:
        if self.found is not None:
            self._was_marked = True
            self._say(self.found, marked=True)
        self.house.notice(told)

    def _write(self) -> None:
        """Write the trace as a letter or a list, for a customer or for the shop's own file."""
        if self.found is not None and self.house.worker is not None:
            self.house.worker.read(Customers(self.found).run, self._write_for, self.house.fail)

    def _write_for(self, customers: tuple[str, ...]) -> None:
        found, worker = self.found, self.house.worker
        if found is None or worker is None:
            return
        proposed = str(Path(self.house.folder or Path.home()) / f"trace-{found.instrument.tag}.pdf")
        choices = (("", word("ledger.write_trace.all")), *((name, name) for name in customers))
        asked = Question(
            word("ledger.write_trace.ask", tag=found.instrument.tag),
            word("ledger.write_trace.about"),
            (
                Field("customer", word("ledger.write_trace.customer"), Sort.CHOICE, "", choices),
                Field("file", word("listing.file"), Sort.SAVE_FILE, proposed, files="*.pdf *.xlsx *.csv"),
            ),
            word("listing.yes"),
            words.word("button.no"),
        )
        answer = ask(self, asked)
        if answer is None:
            return
        path = Path(answer["file"].strip()).expanduser()
        path = path if path.suffix else path.with_suffix(".pdf")
        self.house.folder = str(path.parent)
        customer = answer["customer"]
        paper = PAPERS.get(self.house.papers.get(customer, self.house.papers.get("", "")), PAPERS["letter"])
        worker.read(WriteTrace(found, path, customer, paper).run, self.house.notice, self.house.fail)

    def _open(self) -> None:
        row = self.table.currentIndex().row()
        if self.found is not None and 0 <= row < len(self.found.found):
            each = self.found.found[row]
            serial = self.found.serials[each.read.sheet, each.read.piece]
            self.house.row_wanted.emit(each.read.sheet, each.row.number, serial)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the sheet; Esc goes back to where sheets are found."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        px = theme.px
        self._layout.setContentsMargins(px(24), px(18), px(24), px(14))
        self._layout.setSpacing(px(12))
        self.table.take_theme(theme)


def _understood(house: House, answer: dict[str, str]) -> tuple[ReadTrace | None, Fault | None]:
    """What is to be looked at, or what is wrong with which field."""
    shop = house.shop
    held = shop.by_tag_typed(answer.get("tag", "")) if shop is not None else None
    if held is None:
        return None, Fault("tag", word("ledger.trace.unknown"))
    size: int | None = None
    field = "error"
    try:
        error = read(answer.get("error", ""), unit=held.unit, kind=held.quantity, signed=True).count
        if written := answer.get("size", "").strip():
            field = "size"
            size = read(written, unit=held.unit, kind=held.quantity).count
    except Refused as refused:
        at = refused.reasons[0].parts.get("at")
        return None, Fault(field, say(refused.reasons[0]), at if isinstance(at, int) else -1)
    since = answer.get("since", "").strip()
    try:
        since = date.fromisoformat(since).isoformat() if since else ""
    except ValueError:
        return None, Fault("since", word("ledger.trace.no_day"))
    return ReadTrace(held, error, size, since), None
