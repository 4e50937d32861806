"""What stands beside the list: the record, its form, sheets it touches, rows re-opened, or what a file would change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QStackedLayout, QVBoxLayout, QWidget

from app.crib.behaving import Behaving
from app.crib.detail import DRIFT_PLOT, PLOT, Issued, detail_page, text_page
from app.crib.form import Form
from app.crib.record_page import RecordPage
from app.crib.reopened import ReopenedPage
from app.crib.touched import TouchedPage
from app.parts.page import Page
from app.window.house import House
from app.window.theme import Theme
from inspection.instruments.record import Instrument
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.jobs.crib import Looked

#: Lines of a preview that are shown one by one; the rest is counted.
MOST_LINES = 300


class Side(QWidget):
    """A card with one of five pages; ``turned`` says that another is shown.

    The form is built when it is first filled; ``kept`` and ``left_form`` tell what it tells.
    """

    turned = Signal()
    kept = Signal(object)
    left_form = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("card")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._house = house
        self.record = RecordPage(house.theme, word("crib.page.record"), self)
        self._form: Form | None = None
        self.touched, self.reopened = TouchedPage(house, self), ReopenedPage(house, self)
        self.preview = Page(word("crib.page.preview"), self)
        self._layout = QVBoxLayout(self)
        self._stack = QStackedLayout()
        self._layout.addLayout(self._stack)
        for page in (self.record, self.touched, self.reopened, self.preview):
            self._stack.addWidget(page)
        self.take_theme(house.theme)

    @property
    def form(self) -> Form:
        """The form, built now if it was not yet."""
        if self._form is None:
            self._form = Form(self._house.theme, self)
            self._form.kept.connect(self.kept)
            self._form.left.connect(self.left_form)
            self._stack.addWidget(self._form)
        return self._form

    def fills_in(self) -> bool:
        """Whether the form is shown."""
        return self._form is not None and self.shows(self._form)

    def follow(self, crib: Mapping[str, Instrument]) -> None:
        """The crib changed: a form that stands open follows it."""
        if self._form is not None:
            self._form.follow(crib)

    def shows(self, page: QWidget) -> bool:
        """Whether this page is the one that is shown."""
        return self._stack.currentWidget() is page

    def show_record(
        self, instrument: Instrument | None, history: tuple[Issued, ...], day: str, told: Behaving, *, again: bool
    ) -> None:
        """Show a record and how the instrument behaves, or nothing; with ``again`` it is the one that was shown,
        further down perhaps."""
        theme = self._house.theme
        html = detail_page(instrument, history, day, theme, told) if instrument is not None else ""
        plots = {PLOT: told.plot, DRIFT_PLOT: told.drift.plot if told.drift is not None else None}
        self.record.show_record(html, plots, theme, from_top=not again)

    def turn_to(self, page: QWidget) -> None:
        """Show one of the pages."""
        self._stack.setCurrentWidget(page)
        self.turned.emit()

    def show_preview(self, looked: Looked) -> None:
        """Show what taking a file in would change."""
        found = looked.taking
        lines: list[tuple[str, tuple[str, ...]]]
        lines = [(word("crib.preview.new", tag=one.tag), (one.name,)) for one in found.new]
        lines += [(one.before.tag, tuple(map(say, one.what))) for one in found.changed]
        counts = word("crib.preview.counts", new=len(found.new), changed=len(found.changed), same=found.same)
        more = (word("crib.preview.more", n=len(lines) - MOST_LINES),) if len(lines) > MOST_LINES else ()
        head: list[tuple[str, tuple[str, ...]]] = [(counts, tuple(map(say, looked.notices)))]
        end = " ".join((*more, word("crib.preview.end" if found.issues else "crib.preview.same")))
        title = word("crib.preview.title", file=looked.file)
        self.preview.show_page(text_page(title, head + lines[:MOST_LINES], end, self._house.theme), from_top=True)
        self.turn_to(self.preview)
        self.preview.setFocus()

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        edge = theme.px(16)
        self._layout.setContentsMargins(edge, edge, theme.px(8), edge)
        if self._form is not None:
            self._form.take_theme(theme)
        self.touched.take_theme(theme)
        self.reopened.take_theme(theme)
