"""The rows of a part in time: all of them, the worst first, and of one the chart and what it says."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QGuiApplication, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QFrame, QHBoxLayout, QVBoxLayout, QWidget

from app.ledger.back import told, work
from app.ledger.keys import ROWS_KEYS
from app.parts.fitted import Fitted
from app.parts.items import ItemsView
from app.parts.page import Page
from app.parts.plot import PlotView
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.studies.history import Series
from inspection.words.say import word

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
        self._part = ""
        self.title, self.about = Fitted("title", self), Fitted("soft", self)
        self.list = ItemsView(house.theme, word("ledger.rows.list"), self)
        self.card = QFrame(self)
        self.card.setObjectName("card")
        self.plot = PlotView(word("ledger.rows.chart"), house.theme, self.card)
        self.page = Page(word("ledger.rows.page"), self.card)
        self.hints = Fitted("quiet", self)
        self.hints.show_text(word("ledger.rows.hints"))
        self.actions_by_name = self._make_actions()
        self._later = QTimer(self, interval=60, singleShot=True)
        self._later.timeout.connect(self._read_row)
        self._lay_out()
        self.list.moved.connect(lambda _row: self._later.start())
        self.page.left.connect(self.left)
        self.take_theme(house.theme)

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "copy": self._copy,
            "on": partial(self.page.turn, 1),
            "up": partial(self.page.turn, -1),
        }
        return actions_of(self, ROWS_KEYS, does)

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.about, 1)
        self._inside = QVBoxLayout(self.card)
        self._inside.addWidget(self.plot, 3)
        self._inside.addWidget(self.page, 2)
        self._columns = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._columns.addWidget(self.list)
        self._columns.addWidget(self.card, 1)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(head)
        self._layout.addLayout(self._columns, 1)
        self._layout.addWidget(self.hints)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def open(self, part: str, number: str) -> None:
        """Show the rows of this part; ``number`` is how it is called."""
        if part != self._part:
            self.rows, self.looked = (), None
            self.list.show_items(())
            self._show_row()
        self._part = part
        self.title.show_text(word("ledger.rows.title", part=number))
        self.list.setFocus()
        if self.house.worker is not None:
            self.house.worker.read(work.ReadPart(part).run, self._take_part, self.house.fail)

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
        series, shop = self.looked.series if self.looked is not None else None, self.house.shop
        self.plot.setVisible(series is not None and bool(series.values))
        if series is None or shop is None:
            self.page.show_page("", from_top=True)
            return
        self.plot.show_plot(told.plot_of(series))
        self.page.show_page(told.row_page(series, shop, self.house.theme), from_top=True)

    def _copy(self) -> None:
        """Put every result of the row on the clipboard."""
        looked, shop = self.looked, self.house.shop
        if looked is None or shop is None:
            return
        n, number = len(looked.series.results), looked.series.row.number
        if n:
            QGuiApplication.clipboard().setText(told.row_table(looked, shop))
        self.house.notice(word("ledger.rows.copied" if n else "ledger.rows.nothing", n=n, number=number))

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
        self.list.take_theme(theme)
        self.plot.take_theme(theme)
        self._fold()
        self._show_row()
