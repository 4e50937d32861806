"""Nonconformances across the shop: those that wait for a decision first, found by what is typed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.background.worker import Job, Ticket
from app.jobs.local_time import moment
from app.ledger.keys import ACROSS_KEYS
from app.ledger.review import told
from app.ledger.review.work import Across, AcrossPage
from app.parts.find_line import FindLine
from app.parts.fitted import Fitted
from app.parts.items import Item, ItemsView
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.words.say import word
from storage.book.queries.nonconformances import ListedNonconformance

if TYPE_CHECKING:
    from inspection.sheet.state import Shop

#: The next page is read when the mark comes this near to the last line.
SOON = 12


def across_item(found: ListedNonconformance, shop: Shop) -> Item:
    """One nonconformance as listed."""
    part = word("ledger.of_part", part=found.part, revision=found.revision)
    text = word("review.across.line", number=found.number, part=part, serial=found.serial)
    side = found.disposition or word("review.nonconformance.waits")
    return told.waiting_item(text, tuple(_lines(found, shop)), side, waits=found.waits)


def _lines(found: ListedNonconformance, shop: Shop) -> Iterator[str]:
    person, when = told.name_of(shop, found.by), moment(found.at)
    rows = word("review.across.rows", n=found.rows)
    yield word("review.across.raised", person=person, when=when, rows=rows, what=found.what)
    if not found.waits:
        person, when = told.name_of(shop, found.decided_by), moment(found.decided_at)
        document = word("review.across.document", document=found.document) if found.document else ""
        yield " ".join(filter(None, (word("review.across.decided", person=person, when=when), document)))


class AcrossList(QWidget):
    """``left`` follows Esc; ``opened`` carries the sheet to be reviewed, and the nonconformance to be decided or ""."""

    left = Signal()
    opened = Signal(str, str)

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.found: tuple[ListedNonconformance, ...] = ()
        self._more, self._asked_after = False, 0
        self._finding: Job | None = None
        self.title, self.about = Fitted("title", self), Fitted("soft", self)
        self.title.show_text(word("review.across.title"))
        self.search = FindLine(word("review.across.find"), self)
        self.list = ItemsView(house.theme, word("review.across.title"), self)
        self._empty = QLabel(self)
        self._empty.setWordWrap(True)
        self._empty.setProperty("look", "soft")
        self._empty.hide()
        self.hints = Fitted("quiet", self)
        self.hints.show_text(word("review.across.hints"))
        self.actions_by_name = self._make_actions()
        self._soon = QTimer(self, interval=50, singleShot=True)
        self._soon.timeout.connect(self.look)
        self._lay_out()
        self.search.textChanged.connect(lambda _text: self._soon.start())
        self.search.given_on.connect(self.list.move_by)
        self.list.entered.connect(lambda _row: self._open())
        self.list.moved.connect(self._read_on)
        if house.worker is not None:
            house.worker.acted.connect(self._acted)
        self.take_theme(house.theme)

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {"review": self._open, "decide": self._decide, "find": self.go}
        return actions_of(self, ACROSS_KEYS, does)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.about, 1)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(head)
        self._layout.addWidget(self.search)
        self._layout.addWidget(self.list, 1)
        self._layout.addWidget(self._empty, 1, Qt.AlignmentFlag.AlignTop)
        self._layout.addWidget(self.hints)

    # --- finding ----------------------------------------------------------------------------------------------------

    def go(self) -> None:
        """Letters go to the find line."""
        self.search.setFocus()
        self.search.selectAll()

    def look(self) -> None:
        """Look for what is typed, from the first on."""
        self._soon.stop()
        if self.house.worker is None:
            return
        if self._finding is not None:
            self._finding.stop()
        self._asked_after = 0
        work = Across(" ".join(self.search.text().split()))
        self._finding = self.house.worker.read(work.run, self._take, self.house.fail)

    def _read_on(self, row: int) -> None:
        if not self._more or self.house.worker is None or row < len(self.found) - SOON:
            return
        last = self.found[-1]
        if last.sequence != self._asked_after:
            self._asked_after = last.sequence
            work = Across(" ".join(self.search.text().split()), last)
            self.house.worker.read(work.run, self._take, self.house.fail)

    def _take(self, page: AcrossPage) -> None:
        shop = self.house.shop
        if page.text != " ".join(self.search.text().split()) or shop is None:
            return
        chosen = self.chosen()
        self.found = page.found if page.first else (*self.found, *page.found)
        self._more = page.more
        names = [one.nonconformance for one in self.found]
        row = names.index(chosen.nonconformance) if chosen is not None and chosen.nonconformance in names else 0
        self.list.show_items([across_item(one, shop) for one in self.found], row)
        self.list.setVisible(bool(self.found))
        self._empty.setVisible(not self.found)
        self._empty.setText(word("review.across.empty.found") if page.text else word("review.across.empty"))
        waiting = sum(one.waits for one in self.found)
        self.about.show_text(word("review.across.count", n=waiting) if waiting else word("review.across.none"))
        for name in ("review", "decide"):
            self.actions_by_name[name].setEnabled(bool(self.found))

    def _acted(self, _ticket: Ticket, _outcome: Any) -> None:
        if self.isVisible():
            self._soon.start()

    # --- going on ---------------------------------------------------------------------------------------------------

    def chosen(self) -> ListedNonconformance | None:
        """The one at hand."""
        row = self.list.row()
        return self.found[row] if 0 <= row < len(self.found) else None

    def _open(self) -> None:
        if (found := self.chosen()) is not None:
            self.opened.emit(found.sheet, "")

    def _decide(self) -> None:
        if (found := self.chosen()) is not None:
            self.opened.emit(found.sheet, found.nonconformance if found.waits else "")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the sheet's review; Esc empties the find line, then goes back."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._open()
        elif event.key() == Qt.Key.Key_Escape:
            self.search.clear() if self.search.text() else self.left.emit()
        else:
            super().keyPressEvent(event)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        px = theme.px
        self._layout.setContentsMargins(px(24), px(18), px(24), px(14))
        self._layout.setSpacing(px(12))
        self.list.take_theme(theme)
