"""The list of parts and of plans under way, found by typing."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, NamedTuple

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.parts.find_line import is_no_letter
from app.parts.listed import ACCESSIBLE, DISPLAY, Index, LinesModel, ListTable
from app.plan.keys import LIST_KEYS
from app.plan.work import Listing
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import ROW, Theme
from inspection.drawing.editing import Draft
from inspection.words.say import word
from storage.book.queries.parts import ListedPart

COLUMNS = ("number", "revision", "name", "drawing", "customer", "rows", "state")
#: Widths of the columns in logical pixels; the name takes what is left, and so much at least.
WIDTHS = {"number": 120, "revision": 44, "drawing": 150, "customer": 180, "rows": 56, "state": 210}
LEAST_NAME = 190
#: What is folded first where the list is narrow.
FOLDED = ("customer", "drawing", "rows", "state", "revision")
#: Actions that need a row, and the one that needs a draft.
ON_ROW = ("open", "revise", "drop")


class ListedPlan(NamedTuple):
    """One line: a part by its newest issue, a draft of it or of a new one, or both. ``texts`` are as shown."""

    part: str
    draft_name: str
    draft: Draft | None
    texts: tuple[str, ...]


def lines_of(listing: Listing) -> tuple[ListedPlan, ...]:
    """Plans under way first, then the other parts."""
    lines = []
    for kept in listing.drafts:
        head, part = kept.draft.head, kept.draft.part_identity
        said = word("plan.list.draft", when=time.strftime("%Y-%m-%d %H:%M", time.localtime(kept.kept_at)))
        texts = (*(head.get(name, "") for name in COLUMNS[:5]), str(len(kept.draft.rows)), said)
        lines.append(ListedPlan(part, kept.name, kept.draft, texts))
    under_way = {line.part for line in lines if line.part}
    return (*lines, *(_line_of(part) for part in listing.parts if part.part not in under_way))


def _line_of(part: ListedPart) -> ListedPlan:
    drawing = " ".join(filter(None, (part.drawing, part.drawing_revision)))
    said = word("plan.list.issue", issue=part.issue)
    texts = (part.number, part.revision, part.name, drawing, part.customer, str(part.rows), said)
    return ListedPlan(part.part, "", None, texts)


class ListModel(LinesModel):
    """Lines as handed in."""

    def __init__(self, parent: Any = None) -> None:
        super().__init__(COLUMNS, "plan.list.column", parent)
        self.lines: tuple[ListedPlan, ...] = ()

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if index.isValid() and role in (DISPLAY, ACCESSIBLE):
            return self.lines[index.row()].texts[index.column()]
        return None


class PlansTable(ListTable):
    """The list itself; the keys stay with the field above it."""

    def __init__(self, house: House, model: ListModel, parent: QWidget) -> None:
        super().__init__(
            house,
            model,
            COLUMNS,
            stretched="name",
            marked="",
            least=LEAST_NAME,
            folded=FOLDED,
            name=word("plan.list.title"),
            parent=parent,
        )
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def widths(self) -> dict[str, int]:
        return {name: self._theme.px(width) for name, width in WIDTHS.items()}

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self.setFont(theme.font(ROW))
        super().take_theme(theme)


class Finding(QLineEdit):
    """The field that finds: arrows and Enter belong to the list below."""

    stepped = Signal(int)
    entered = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1, Qt.Key.Key_PageUp: -10, Qt.Key.Key_PageDown: 10}
        key = Qt.Key(event.key())
        if key in steps:
            self.stepped.emit(steps[key])
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not event.modifiers():
            self.entered.emit()
        elif key == Qt.Key.Key_Escape and self.text():
            self.clear()
        elif is_no_letter(event):
            event.ignore()
        else:
            super().keyPressEvent(event)


class ListPage(QWidget):
    """``sought`` carries what was typed to find; what is done with a line is the room's."""

    sought = Signal(str)

    def __init__(self, house: House, does: dict[str, Callable[[], object]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.model = ListModel(self)
        self.finding = Finding(self)
        self.finding.setPlaceholderText(word("plan.list.find"))
        self.finding.setAccessibleName(word("plan.list.find"))
        self.actions_by_name = self._make_actions({**does, "find": self.finding.setFocus})
        self.title = QLabel(word("plan.list.title"), self)
        self.title.setProperty("look", "title")
        self.table = PlansTable(house, self.model, self)
        self._nothing = QLabel(self)
        self._nothing.setWordWrap(True)
        self._nothing.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._soon = QTimer(self, singleShot=True, interval=120)
        self._soon.timeout.connect(self._seek)
        self.finding.textChanged.connect(self._soon.start)
        self.finding.stepped.connect(self._step)
        self.finding.entered.connect(does["open"])  # also before the list has come
        self.table.doubleClicked.connect(self.actions_by_name["open"].trigger)
        self._lay_out()
        self.take_theme(house.theme)
        self.show_lines(())

    def _make_actions(self, does: dict[str, Callable[[], object]]) -> dict[str, QAction]:
        return actions_of(self, LIST_KEYS, does)

    def _lay_out(self) -> None:
        top = self._top = QHBoxLayout()
        top.addWidget(self.title)
        top.addStretch(1)
        top.addWidget(self.finding)
        self._buttons = {name: self._button(name) for name in ("open", "new", "revise", "file", "template", "drop")}
        row = self._row = QHBoxLayout()
        for button in self._buttons.values():
            row.addWidget(button)
        row.addStretch(1)
        under = QWidget(self)
        self._stack = QStackedLayout(under)
        self._stack.addWidget(self.table)
        self._stack.addWidget(self._nothing)
        layout = self._layout = QVBoxLayout(self)
        layout.addLayout(top)
        layout.addLayout(row)
        layout.addWidget(under, 1)

    def _button(self, name: str) -> QPushButton:
        action = self.actions_by_name[name]
        key = word("plan.key.enter") if name == "open" else action.shortcut().toString()
        button = QPushButton(f"{action.text()}  {key}", self)
        button.setAccessibleName(action.text())
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.clicked.connect(action.trigger)
        return button

    # --- lines ----------------------------------------------------------------------------------------------------

    def show_lines(self, lines: tuple[ListedPlan, ...]) -> None:
        """Show these lines; the one chosen stays chosen."""
        chosen = self.line()
        self.model.show_lines(lines)
        said = "plan.list.none_found" if self.finding.text() else "plan.list.empty"
        self._nothing.setText(word(said))
        self._stack.setCurrentWidget(self.table if lines else self._nothing)
        same = (
            place
            for place, line in enumerate(lines)
            if chosen is not None and (line.part, line.draft_name) == (chosen.part, chosen.draft_name)
        )
        if lines:
            self.table.selectRow(next(same, 0))
        self._show_offers()

    def line(self) -> ListedPlan | None:
        """The line chosen, None on an empty list."""
        chosen: ListedPlan | None = self.table.line()
        return chosen

    def _step(self, by: int) -> None:
        if self.model.lines:
            place = self.table.currentIndex().row() + by
            self.table.selectRow(min(max(place, 0), len(self.model.lines) - 1))
            self._show_offers()

    def _show_offers(self) -> None:
        """Only what can be done is offered."""
        line = self.line()
        can = {
            "open": line is not None,
            "revise": line is not None and bool(line.part) and line.draft is None,
            "drop": line is not None and line.draft is not None,
        }
        for name in ON_ROW:
            self.actions_by_name[name].setEnabled(can[name])
        room = self._layout.contentsRect().width()
        for name, button in self._buttons.items():
            room -= button.sizeHint().width() + self._row.spacing() if can.get(name, True) else 0
            button.setVisible(can.get(name, True) and room >= 0)  # what has no room keeps its key

    def _seek(self) -> None:
        self.sought.emit(self.finding.text().strip())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._show_offers()

    # --- look -----------------------------------------------------------------------------------------------------

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        edge = theme.px(24)
        self._layout.setContentsMargins(edge, theme.px(18), edge, theme.px(14))
        self._layout.setSpacing(theme.px(14))
        self._row.setSpacing(theme.px(8))
        self.finding.setFixedWidth(theme.px(280))
        self.table.take_theme(theme)
        self._nothing.setMaximumWidth(theme.px(760))
