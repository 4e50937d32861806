"""The rows of a part in time: all of them, the worst first; of one its charts, its distribution, and what they say."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QHBoxLayout, QVBoxLayout, QWidget

from app.jobs.looking_back import part_listing, row_listing
from app.ledger.back import pictures, told, work
from app.ledger.back.shown import RowShown
from app.ledger.keys import ROWS_BUTTONS, ROWS_KEYS
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.exporting import copy_listing, write_listing_out
from app.parts.fitted import Fitted
from app.parts.items import ItemsView
from app.parts.page import Page
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.studies.history import Result, Series
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.dispatch.listing import Listing

#: A page narrower than this has the list above the chart, in logical pixels; and the width of the list beside it.
BOTH, LIST = 820, 380


class RowsPage(QWidget):
    """``left`` follows Esc."""

    left = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.rows: tuple[Series, ...] = ()
        self.looked: work.RowLooked | None = None
        self._part, self._number = "", ""
        self.title, self.about = Fitted("title", self), Fitted("soft", self)
        self.list = ItemsView(house.theme, word("ledger.rows.list"), self)
        self.card = QFrame(self)
        self.card.setObjectName("card")
        self.shown = RowShown(house.theme, self.card)
        self.page = Page(word("ledger.rows.page"), self.card)
        self.hints = Fitted("quiet", self)
        self.hints.show_text(word("ledger.rows.hints"))
        self.actions_by_name = self._make_actions()
        self.buttons = ButtonRow([ActionButton(self.actions_by_name[name], self) for name in ROWS_BUTTONS], self)
        self._later = QTimer(self, interval=60, singleShot=True)
        self._later.timeout.connect(self._read_row)
        self._lay_out()
        self.list.moved.connect(lambda _row: self._later.start())
        self.list.entered.connect(lambda _row: self._open_sheet())
        self.page.left.connect(self.left)
        self.page.agreed.connect(self._open_sheet)
        self.take_theme(house.theme)

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "time": partial(self._turn_to, False),
            "spread": partial(self._turn_to, True),
            "copy": self._copy,
            "write": self._write,
            "picture": self._write_picture,
            "whole": self._write_whole,
            "before": partial(self._step, -1),
            "after": partial(self._step, 1),
            "sheet": self._open_sheet,
            "waiting": self._open_waiting,
            "on": partial(self.page.turn, 1),
            "up": partial(self.page.turn, -1),
        }
        made = actions_of(self, ROWS_KEYS, does)
        for name in ("time", "spread"):
            made[name].setCheckable(True)
        made["time"].setChecked(True)
        return made

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.about, 1)
        self._inside = QVBoxLayout(self.card)
        self._inside.addWidget(self.shown, 2)
        self._inside.addWidget(self.page, 1)
        self._columns = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._columns.addWidget(self.list)
        self._columns.addWidget(self.card, 1)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(head)
        self._layout.addWidget(self.buttons)
        self._layout.addLayout(self._columns, 1)
        self._layout.addWidget(self.hints)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def open(self, part: str, number: str) -> None:
        """Show the rows of this part; ``number`` is how it is called."""
        if part != self._part:
            self.rows, self.looked = (), None
            self.list.show_items(())
            self._show_row()
        self._part, self._number = part, number
        self.title.show_text(word("ledger.rows.title", part=number))
        self.list.setFocus()
        if self.house.worker is not None:
            self.house.worker.read(work.ReadPart(part).run, self._take_part, self.house.fail)

    def go_on(self) -> None:
        """Read the rows anew, and stand where one stood."""
        self.open(self._part, self._number)

    def _take_part(self, found: work.PartRows) -> None:
        if found.part != self._part:
            return
        chosen = self.chosen()
        names = [each.row.identity for each in found.rows]
        row = names.index(chosen.row.identity) if chosen is not None and chosen.row.identity in names else 0
        self.rows = found.rows
        self.about.show_text(word("ledger.rows.about", n=len(found.rows)))
        self.list.show_items([told.row_item(each) for each in found.rows], row)
        self._read_row()

    def chosen(self) -> Series | None:
        """The row at hand as listed."""
        row = self.list.row()
        return self.rows[row] if 0 <= row < len(self.rows) else None

    def _read_row(self) -> None:
        chosen = self.chosen()
        if chosen is not None and self.house.worker is not None:
            job = work.ReadRow(self._part, chosen.row.identity)
            self.house.worker.read(job.run, self._take_row, self.house.fail)

    def _take_row(self, looked: work.RowLooked) -> None:
        chosen = self.chosen()
        if chosen is not None and (looked.part, looked.series.row.identity) == (self._part, chosen.row.identity):
            self.looked = looked
            self._show_row()

    def _show_row(self) -> None:
        self.shown.show_row(self.looked)
        html = "" if self.looked is None else told.row_page(self.looked, self.house.theme)
        self.actions_by_name["waiting"].setEnabled(self.looked is not None and bool(self.looked.series.waiting))
        self.page.show_page(html, from_top=True)

    def _turn_to(self, spread: bool) -> None:
        """Show the values in time, or how often which came."""
        self.shown.turn_to(spread=spread)
        self.actions_by_name["time"].setChecked(not spread)
        self.actions_by_name["spread"].setChecked(spread)

    # --- what is done -----------------------------------------------------------------------------------------------

    def _step(self, by: int) -> None:
        self._turn_to(False)
        self.shown.step(by)

    def _open_sheet(self) -> None:
        """Open the sheet of the result at hand, at its row."""
        place = self.shown.place()
        if self.looked is not None and place is not None:
            self._open_at(self.looked, self.looked.series.results[place])

    def _open_waiting(self) -> None:
        """Open the sheet of the oldest result about which a question waits, at its row, to have it answered there."""
        if self.looked is not None and self.looked.series.waiting:
            self._open_at(self.looked, self.looked.series.waiting[0])

    def _open_at(self, looked: work.RowLooked, result: Result) -> None:
        """The row is called there as its plan called it then."""
        row, plan = looked.series.row, looked.plans.get(result.plan)
        rows = plan.characteristics if plan is not None else ()
        number = next((each.number for each in rows if each.identity == row.identity), row.number)
        self.house.row_wanted.emit(result.sheet, number, result.serial)

    def _listing(self) -> Listing | None:
        looked, shop = self.looked, self.house.shop
        return None if looked is None or shop is None else row_listing(looked.series, looked.told, self._number, shop)

    def _copy(self) -> None:
        if (listing := self._listing()) is not None:
            copy_listing(self.house, listing)

    def _write(self) -> None:
        if (listing := self._listing()) is not None:
            write_listing_out(self, self.house, listing, self._name("ledger.rows.file"))

    def _write_whole(self) -> None:
        """The figures of all rows."""
        if self.house.shop is not None:
            listing = part_listing(self.rows, self._number, self.house.shop)
            write_listing_out(self, self.house, listing, self._named("ledger.rows.whole.file"))

    def _write_picture(self) -> None:
        if self.looked is not None:
            pictures.save_picture(self, self.house, self.shown, self._number, self._name("ledger.rows.picture.file"))

    def _name(self, code: str) -> str:
        """The file proposed; no number becomes a folder."""
        assert self.looked is not None
        return self._named(code, number=self.looked.series.row.number)

    def _named(self, code: str, **parts: str) -> str:
        name = word(code, part=self._number, **parts)
        return name.replace("/", "-").replace("\\", "-")

    # --- keys and look ----------------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc goes back to where sheets are found."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        """The list beside the chart, or above it where there is no room."""
        px = self.house.theme.px
        beside = self.width() >= px(BOTH)
        self._columns.setDirection(QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom)
        self.list.setMinimumWidth(px(LIST) if beside else 0)
        self.list.setMaximumWidth(px(LIST) if beside else 16_777_215)
        self.list.setMaximumHeight(16_777_215 if beside else self.height() // 3)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        px = theme.px
        self._layout.setContentsMargins(px(24), px(18), px(24), px(14))
        self._layout.setSpacing(px(12))
        self._columns.setSpacing(px(16))
        self._inside.setContentsMargins(px(16), px(16), px(16), px(8))
        self._inside.setSpacing(px(12))
        self.buttons.take_theme(theme)
        self.list.take_theme(theme)
        self.shown.take_theme(theme)
        self._fold()
        self._show_row()
