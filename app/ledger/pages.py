"""The pages of the Ledger: where sheets are found, and others, each made when first wanted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from app.window.house import House
from app.window.theme import Theme

if TYPE_CHECKING:
    from app.jobs.reviewing import Reviewed
    from app.ledger.back.beside_page import BesidePage
    from app.ledger.back.rows_page import RowsPage
    from app.ledger.back.trace_page import TracePage
    from app.ledger.review.across import AcrossList
    from app.ledger.review.again import AgainPage
    from app.ledger.review.panel import ReviewPanel
    from inspection.sheet.state import Cell


class Pages(QStackedWidget):
    """``left`` says that sheets are to be found again."""

    left = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.finding = QWidget(self)
        self.review_panel: ReviewPanel | None = None
        self.again_page: AgainPage | None = None
        self.across_list: AcrossList | None = None
        self.rows_page: RowsPage | None = None
        self.trace_page: TracePage | None = None
        self.beside_page: BesidePage | None = None
        self._back_to: QWidget = self.finding
        self.addWidget(self.finding)

    def shown(self) -> QWidget:
        """The page that is shown."""
        return self.currentWidget() or self.finding

    def go_on(self) -> None:
        """The room was entered again: a review is gone on with, and what looks back is looked at anew: what it tells
        may have been answered or measured meanwhile."""
        for page in (self.review_panel, self.rows_page, self.trace_page, self.beside_page):
            if page is not None and self.shown() is page:
                page.go_on()

    def to_finding(self) -> None:
        """Show where sheets are found."""
        self.setCurrentWidget(self.finding)

    # --- review -----------------------------------------------------------------------------------------------------

    def review(self, sheet: str, decide: str = "") -> None:
        """Review this sheet; ``decide`` is the nonconformance to be decided at once."""
        if self.review_panel is None:
            from app.ledger.review.panel import ReviewPanel

            self.review_panel = ReviewPanel(self.house, self)
            self.review_panel.left.connect(self._leave_review)
            self.review_panel.again_wanted.connect(self._to_again)
            self.addWidget(self.review_panel)
        if (here := self.shown()) in (self.finding, self.across_list):
            self._back_to = here
        self.setCurrentWidget(self.review_panel)
        self.review_panel.open(sheet, decide)

    def _leave_review(self) -> None:
        if self._back_to is self.across_list:
            self.nonconformances()
        else:
            self.left.emit()

    def _to_again(self, seen: Reviewed, cells: tuple[Cell, ...]) -> None:
        """Rows are read again on a page of their own, where nothing shows what was read before."""
        if self.again_page is None:
            from app.ledger.review.again import AgainPage

            self.again_page = AgainPage(self.house, self)
            self.again_page.left.connect(self._leave_again)
            self.addWidget(self.again_page)
        self.setCurrentWidget(self.again_page)
        self.again_page.start(seen.sheet, seen.shop, cells)

    def _leave_again(self) -> None:
        if self.review_panel is not None:
            self.setCurrentWidget(self.review_panel)
            self.review_panel.go_on()

    def nonconformances(self) -> None:
        """Show those of the whole shop."""
        if self.across_list is None:
            from app.ledger.review.across import AcrossList

            self.across_list = AcrossList(self.house, self)
            self.across_list.left.connect(self.left)
            self.across_list.opened.connect(self.review)
            self.addWidget(self.across_list)
        self.setCurrentWidget(self.across_list)
        self.across_list.look()
        self.across_list.go()

    # --- looking back -----------------------------------------------------------------------------------------------

    def rows(self, part: str, number: str) -> None:
        """Show the rows of a part in time; ``number`` is how the part is called."""
        if self.rows_page is None:
            from app.ledger.back.rows_page import RowsPage

            self.rows_page = RowsPage(self.house, self)
            self.rows_page.left.connect(self.left)
            self.addWidget(self.rows_page)
        self.setCurrentWidget(self.rows_page)
        self.rows_page.open(part, number)

    def beside(self, sheet: str) -> None:
        """Show this sheet beside another one of its part."""
        if self.beside_page is None:
            from app.ledger.back.beside_page import BesidePage

            self.beside_page = BesidePage(self.house, self)
            self.beside_page.left.connect(self.left)
            self.addWidget(self.beside_page)
        self.setCurrentWidget(self.beside_page)
        self.beside_page.open(sheet)

    def trace(self) -> None:
        """Ask for an instrument that was found out, and show what that makes of what was read with it."""
        if self.trace_page is None:
            from app.ledger.back.trace_page import TracePage

            self.trace_page = TracePage(self.house, self)
            self.trace_page.left.connect(self.left)
            self.addWidget(self.trace_page)
        if self.trace_page.ask():
            self.setCurrentWidget(self.trace_page)
            self.trace_page.go()

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        back = (self.rows_page, self.trace_page, self.beside_page)
        for page in (self.review_panel, self.again_page, self.across_list, *back):
            if page is not None:
                page.take_theme(theme)
