"""What W opens: why this instrument and not another, what would help, and on a second page the budget as a table."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction, QGuiApplication, QShowEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from app.bench.budget_table import BudgetTable
from app.bench.keys import WHY_KEYS
from app.bench.why_told import WhyTold, sums_of, text_of
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.fitted import Fitted
from app.parts.page import Page
from app.parts.paper import Paper
from app.window.keys import make_action
from app.window.theme import Theme
from inspection.words.say import word

#: The dialog's size in logical pixels, as far as its window has room.
WIDE, HIGH = 1200, 660
WHY, BUDGET = 0, 1


class WhyDialog(QDialog):
    """``show_page`` turns between the two pages; everything on them is copied as text by one key."""

    def __init__(self, parent: QWidget, theme: Theme, told: WhyTold) -> None:
        super().__init__(parent)
        self._theme, self.told = theme, told
        self.setWindowTitle(told.title)
        self.setAccessibleName(f"{told.title}, {told.instrument}")
        self.page, self.table = Page(word("bench.why.page"), self), BudgetTable(theme, self)
        self.page.document().setDocumentMargin(theme.px(12))
        self.sums, self.said = QLabel(self), Fitted("soft", self)
        self.pages = QStackedWidget(self)
        self.actions_by_name = self._make_actions()
        self._lay_out()
        self.finished.connect(parent.activateWindow)  # not every screen has a manager that does
        self.page.left.connect(self.reject)
        self.page.agreed.connect(self.accept)
        self.page.show_page("".join(_written(Paper(theme), told)), from_top=True)
        self.table.show_budget(told.budget)
        self.resize(self.sizeHint())
        self.show_page(WHY)

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "why": partial(self.show_page, WHY),
            "budget": partial(self.show_page, BUDGET),
            "turn": self._turn,
            "copy": self._copy,
            "close": self.accept,
        }
        made = {name: make_action(self, key, word(key.code), does[name]) for name, key in WHY_KEYS.items()}
        for name in ("why", "budget"):
            made[name].setCheckable(True)
        return made

    def _lay_out(self) -> None:
        px = self._theme.px
        title = QLabel(self.told.title, self)
        title.setProperty("look", "head")
        title.setTextFormat(Qt.TextFormat.PlainText)
        title.setWordWrap(True)
        instrument = Fitted("soft", self)
        instrument.show_text(self.told.instrument)
        self.pages.addWidget(self.page)
        self.pages.addWidget(self._budget_page())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(px(24), px(18), px(24), px(16))
        layout.setSpacing(px(8))
        layout.addWidget(title)
        layout.addWidget(instrument)
        layout.addWidget(self.pages, 1)
        layout.addLayout(self._foot())

    def _budget_page(self) -> QWidget:
        px = self._theme.px
        page = QWidget(self)
        of_what = QLabel("\n".join((self.told.of_what, *self.told.lacks)).strip() or word("help.no_budget"), page)
        for label in (of_what, self.sums):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        of_what.setProperty("look", "soft")
        self.sums.setProperty("look", "strong")
        self.sums.setText("\n".join(sums_of(self.told.budget)) if self.told.budget is not None else "")
        self.table.setVisible(self.told.budget is not None)
        layout = QVBoxLayout(page)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(px(8))
        ratios = QLabel("\n".join(self.told.standing), page)
        ratios.setWordWrap(True)
        layout.addWidget(of_what)
        layout.addWidget(self.table, 100)
        layout.addWidget(self.sums)
        layout.addWidget(ratios)
        ratios.setVisible(self._room().height() > px(HIGH))  # in a low room the first page alone tells them
        layout.addStretch(1)
        return page

    def _foot(self) -> QHBoxLayout:
        """The pages and what can be done with them, as buttons with their keys."""
        buttons = [ActionButton(self.actions_by_name[name], self) for name in ("why", "budget", "copy", "close")]
        for button in buttons:
            button.setAutoDefault(False)
        foot = QHBoxLayout()
        foot.addWidget(ButtonRow(buttons, self), 3)
        foot.addWidget(self.said, 1)
        return foot

    def sizeHint(self) -> QSize:
        return QSize(self._theme.px(WIDE), self._theme.px(HIGH)).boundedTo(self._room() - QSize(8, 8))

    def _room(self) -> QSize:
        """What there is of the window over which it stands, and of the screen."""
        over, screen = self.parentWidget(), self.screen().availableSize()
        return over.window().size().boundedTo(screen) if over is not None else screen

    # --- pages ------------------------------------------------------------------------------------------------------

    def show_page(self, page: int) -> None:
        """Turn to one of the two; the keys go to what is on it."""
        self.pages.setCurrentIndex(page)
        for name, place in (("why", WHY), ("budget", BUDGET)):
            self.actions_by_name[name].setChecked(place == page)
        self._focus()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._focus()

    def _focus(self) -> None:
        (self.page if self.pages.currentIndex() == WHY else self.table).setFocus()

    def _turn(self) -> None:
        self.show_page(BUDGET if self.pages.currentIndex() == WHY else WHY)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(text_of(self.told))
        self.said.show_text(word("bench.why.copied"))


def _written(paper: Paper, told: WhyTold) -> Iterator[str]:
    """The first page."""
    if told.found.figures:
        yield paper.line(" · ".join(told.found.figures), bold=True)
    if told.found.sentence:
        yield paper.line(told.found.sentence, told.found.look or "ink")
    yield from (paper.line(line) for line in told.standing)
    for heading, lines in (("help.remedies", told.helps), ("help.corrections", told.corrections)):
        if lines:
            yield paper.section(word(heading))
            yield from (paper.line(line) for line in lines)
    if told.others:
        yield paper.section(word("bench.others"))
        yield from (paper.paragraph(name, (against,)) for name, against in told.others)
