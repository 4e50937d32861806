"""Two sheets of a part side by side: every row with both results, their difference, and what is not as it was."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.jobs import comparing
from app.jobs.comparing import COLUMNS, BesideLine
from app.ledger.back.page_table import PageTable
from app.ledger.back.work import BesideLooked, ReadBeside
from app.ledger.keys import BESIDE_BUTTONS, BESIDE_KEYS
from app.parts.buttons import ActionButton, ButtonRow
from app.parts.exporting import copy_listing, write_listing_out
from app.parts.fitted import Fitted
from app.parts.listed import ACCESSIBLE, DISPLAY, MARK, TIP, Index, LinesModel, MarkedCell, WrappedCell
from app.parts.marks import Mark, mark_of
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.words.say import word
from storage.book.queries.found_sheets import FoundSheet

#: Widths of the columns in logical pixels; ``told`` takes what is left. And what folds first.
WIDTHS = {"number": 56, "requirement": 168, "limits": 168, "earlier": 190, "later": 196, "difference": 100}
FOLDED = ("limits", "requirement")
LEAST_TOLD = 190


class _Model(LinesModel):
    """The rows of two sheets; the heads of their results name them."""

    def __init__(self) -> None:
        super().__init__(COLUMNS, "beside.head")
        self.lines: tuple[BesideLine, ...] = ()
        self.names: tuple[str, ...] = ()

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = DISPLAY) -> Any:
        if role in (DISPLAY, TIP) and orientation is Qt.Orientation.Horizontal and self.names:
            return self.names[section]
        return super().headerData(section, orientation, role)

    def data(self, index: Index, role: int = DISPLAY) -> Any:
        if not index.isValid():
            return None
        line, column = self.lines[index.row()], COLUMNS[index.column()]
        if role in (DISPLAY, ACCESSIBLE, TIP):
            return line.texts[column]
        if role == MARK:
            verdict = line.earlier if column == "earlier" else line.later
            return Mark.NOT_JUDGED if verdict is None else mark_of(verdict)
        return None


class _Table(PageTable):
    """The rows, as many columns as have room."""

    def __init__(self, house: House, parent: QWidget) -> None:
        self.rows = _Model()
        super().__init__(
            house,
            self.rows,
            COLUMNS,
            WIDTHS,
            stretched="told",
            marked="later",
            least=LEAST_TOLD,
            folded=FOLDED,
            name=word("beside.list"),
            parent=parent,
        )
        self.setItemDelegateForColumn(COLUMNS.index("earlier"), MarkedCell(house, self))
        self.setItemDelegateForColumn(COLUMNS.index("told"), WrappedCell(house, self))


class BesidePage(QWidget):
    """``left`` follows Esc."""

    left = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.looked: BesideLooked | None = None
        self._sheet, self._changed = "", False
        self.title, self.about = Fitted("title", self), Fitted("soft", self)
        self.said = QLabel(self)
        self.said.setWordWrap(True)
        self.table = _Table(house, self)
        self.hints = Fitted("quiet", self)
        self.hints.show_text(word("beside.hints"))
        self.actions_by_name = self._make_actions()
        self.buttons = ButtonRow([ActionButton(self.actions_by_name[name], self) for name in BESIDE_BUTTONS], self)
        head = QHBoxLayout()
        head.addWidget(self.title)
        head.addWidget(self.about, 1)
        self._layout = QVBoxLayout(self)
        self._layout.addLayout(head)
        self._layout.addWidget(self.buttons)
        self._layout.addWidget(self.said)
        self._layout.addWidget(self.table, 1)
        self._layout.addWidget(self.hints)
        self.table.doubleClicked.connect(lambda _index: self._open())
        self.take_theme(house.theme)

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "all": partial(self._cut_to, False),
            "changed": partial(self._cut_to, True),
            "earlier": partial(self._step, 1),
            "later": partial(self._step, -1),
            "other": self._ask_other,
            "copy": self._copy,
            "write": self._write,
            "open": self._open,
        }
        made = actions_of(self, BESIDE_KEYS, does)
        for name in ("all", "changed"):
            made[name].setCheckable(True)
        made["all"].setChecked(True)
        return made

    # --- what is shown ----------------------------------------------------------------------------------------------

    def open(self, sheet: str) -> None:
        """Show a sheet beside the one of its part made before."""
        self._sheet = sheet
        if self.looked is not None and self.looked.asked != sheet:
            self.looked = None
            self._show()
        self.table.setFocus()
        self._read("")

    def go_on(self) -> None:
        """Read both sheets anew, and stand where one stood."""
        if self.looked is not None:
            self._read(self._other())

    def _read(self, other: str) -> None:
        if self.house.worker is not None:
            self.house.worker.read(ReadBeside(self._sheet, other).run, self._take, self._failed)

    def _failed(self, failure: Failure) -> None:
        self.house.fail(failure)
        if self.looked is None:
            self.left.emit()

    def _take(self, looked: BesideLooked) -> None:
        if looked.asked == self._sheet:
            anew = self.looked is not None and _pair(self.looked) == _pair(looked)
            row = self.table.currentIndex().row() if anew else 0
            self.looked = looked
            self._show()
            self.table.selectRow(max(row, 0))

    def _show(self) -> None:
        looked = self.looked
        if looked is None:
            for label in (self.title, self.about):
                label.show_text("")
            self.said.clear()
            self.table.rows.show_lines(())
            return
        compared = looked.compared
        self.title.show_text(comparing.title(compared))
        self.about.show_text(word("beside.count", n=compared.changed, of=len(compared.lines)))
        self.said.setText(" ".join(compared.about))
        self.said.setVisible(bool(compared.about))
        self.table.rows.names = comparing.heads(compared)
        self.table.rows.show_lines(tuple(line for line in compared.lines if line.changed or not self._changed))
        self.table.selectRow(0)

    def _cut_to(self, changed: bool) -> None:
        """Show all rows, or only those that are not as they were."""
        self._changed = changed
        self.actions_by_name["all"].setChecked(not changed)
        self.actions_by_name["changed"].setChecked(changed)
        self._show()
        if self.looked is not None and changed and not self.looked.compared.changed:
            self.house.notice(word("beside.none_differs"))

    # --- another sheet ----------------------------------------------------------------------------------------------

    def _other(self) -> str:
        """The sheet that stands beside the one that was asked for."""
        assert self.looked is not None
        compared = self.looked.compared
        return next(each.identity for each in (compared.earlier, compared.later) if each.identity != self._sheet)

    def _step(self, by: int) -> None:
        """The next sheet of the part in time, the one asked for passed over."""
        if self.looked is None:
            return
        names = [each.listed.sheet for each in self.looked.sheets]
        at = names.index(self._other()) + by if self._other() in names else 0
        if 0 <= at < len(names) and names[at] == self._sheet:
            at += by
        if 0 <= at < len(names):
            self._read(names[at])
        else:
            self.house.notice(word("beside.end"))

    def _ask_other(self) -> None:
        if self.looked is None:
            return
        choices = tuple(
            (each.listed.sheet, _named(each)) for each in self.looked.sheets if each.listed.sheet != self._sheet
        )
        field = Field("sheet", word("beside.ask.sheet"), Sort.CHOICE, self._other(), choices)
        question = Question(word("beside.ask"), "", (field,), word("beside.ask.yes"), words.word("button.no"))
        answer = ask(self, question)
        if answer is not None:
            self._read(answer["sheet"])

    # --- what is done -----------------------------------------------------------------------------------------------

    def _open(self) -> None:
        if self.looked is not None:
            self.house.sheet_wanted.emit(self.looked.compared.later.identity)

    def _copy(self) -> None:
        if self.looked is not None and self.house.shop is not None:
            copy_listing(self.house, comparing.listing(self.looked.compared, self.house.shop, changed=self._changed))

    def _write(self) -> None:
        if self.looked is not None and self.house.shop is not None:
            compared = self.looked.compared
            listing = comparing.listing(compared, self.house.shop, changed=self._changed)
            name = word("beside.file", part=compared.later.plan.part.number).replace("/", "-").replace("\\", "-")
            write_listing_out(self, self.house, listing, name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the later sheet; Esc goes back to where sheets are found."""
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
        self.buttons.take_theme(theme)
        self.table.take_theme(theme)


def _named(found: FoundSheet) -> str:
    one = found.listed
    return word("beside.ask.line", day=one.day, revision=one.revision, serials=", ".join(one.serials))


def _pair(looked: BesideLooked) -> tuple[str, str]:
    return looked.compared.earlier.identity, looked.compared.later.identity
