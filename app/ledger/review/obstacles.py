"""What stands in the way of a statement, sentence by sentence, each with its way to where it is put right."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from typing import NamedTuple

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.ledger.review.work import InTheWay
from app.parts.items import Item, ItemsView
from app.parts.marks import Mark
from app.window import words
from app.window.house import House
from inspection.reasons import Reason
from inspection.words.say import say, word


class Way(Enum):
    """Where a reason is put right."""

    ROW = "row"
    RAISE = "raise"
    DECIDE = "decide"
    ANSWER = "answer"


class Goal(NamedTuple):
    """A way, the row's or the nonconformance's number, and the serial of the piece."""

    way: Way
    number: str = ""
    serial: str = ""


#: Reasons that are put right elsewhere than at their row.
_WAYS = {"approve.not_named": Way.RAISE, "approve.undecided": Way.DECIDE}


def goal_of(reason: Reason) -> Goal | None:
    """Where this is put right; None where nowhere in particular."""
    if reason.code == "review.unanswered" or reason.code.startswith("points."):
        return Goal(Way.ANSWER)
    if "number" not in reason.parts:
        return None
    way = _WAYS.get(reason.code, Way.ROW)
    return Goal(way, str(reason.parts["number"]), str(reason.parts.get("serial", "")))


def put_right(reasons: Iterable[Reason]) -> bool:
    """Whether any of them is put right somewhere."""
    return any(goal_of(reason) is not None for reason in reasons)


class ObstaclesDialog(QDialog):
    """``wanted`` carries the goal of the sentence that Enter was pressed at; the dialog closes then."""

    wanted = Signal(object)

    def __init__(self, house: House, parent: QWidget, found: InTheWay) -> None:
        super().__init__(parent)
        px = house.theme.px
        title = word(f"review.obstacles.{found.kind.name.lower()}", part=found.sheet.plan.part.number)
        self.setWindowTitle(title)
        self.setAccessibleName(title)
        self._goals = tuple(map(goal_of, found.reasons))
        self.list = ItemsView(house.theme, title, self)
        self.list.show_items([self._item(reason, house.units) for reason in found.reasons], 0)
        self.list.entered.connect(self._go)
        layout = self._column = QVBoxLayout(self)
        layout.setContentsMargins(px(28), px(22), px(28), px(20))
        layout.setSpacing(px(10))
        for text, look in ((title, "head"), (word("review.obstacles.text"), "")):
            label = QLabel(text, self)
            label.setProperty("look", look)
            label.setWordWrap(True)
            layout.addWidget(label)
        layout.addWidget(self.list, 1)
        close = QPushButton(words.word("button.close"), self)
        close.setAutoDefault(False)
        close.clicked.connect(self.reject)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(close)
        layout.addLayout(row)
        self.finished.connect(parent.window().activateWindow)  # not every screen has a manager that does
        room = parent.window().size()
        self._wide = min(px(860), room.width() * 19 // 20)
        self.setFixedWidth(self._wide)
        self.list.fit(self._wide - px(56), room.height() // 2)
        self.list.setFocus()

    def sizeHint(self) -> QSize:
        """As high as its texts are at the dialog's width."""
        return QSize(self._wide, self._column.totalHeightForWidth(self._wide))

    def _item(self, reason: Reason, units: str) -> Item:
        goal = goal_of(reason)
        side = word(f"review.way.{goal.way.value}") if goal is not None else ""
        return Item(say(reason, units), Mark.QUESTION, (), side)

    def _go(self, row: int) -> None:
        goal = self._goals[row]
        if goal is not None:
            self.accept()
            self.wanted.emit(goal)
