"""The page on which a plan is written: head, table and foot over one history, every change a new draft."""

from __future__ import annotations

from collections.abc import Callable
from itertools import zip_longest

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.parts.fitted import Fitted
from app.plan import told
from app.plan.cells import PlanCell
from app.plan.changes import Changes
from app.plan.columns import COLUMNS
from app.plan.foot import Foot
from app.plan.head import HeadForm
from app.plan.keys import PLAN_KEYS, TABLE_KEYS
from app.plan.model import PlanModel
from app.plan.table import At, PlanTable
from app.window.house import House
from app.window.keys import Key, make_action
from app.window.theme import Theme
from inspection.drawing import editing
from inspection.drawing.complete import open_points, whole
from inspection.drawing.editing import Draft, DraftRow
from inspection.drawing.editing_history import History, Step
from inspection.drawing.editing_issue import Reader, counted_of, faults_of, reader_of
from inspection.drawing.title_block import default_name
from inspection.reasons import Reason, Refused
from inspection.words.say import say, word

#: The rest follows when typing rests: what the row would be measured with, what the plan leaves open.
IDLE = 160
#: A page lower than this, in logical pixels, is low.
LOW = 420
_BLOCK = ("unit", "fraction", "angle", "general")


class WritingPage(QWidget):
    """``changed`` follows every change; ``issue_wanted``, ``sheet_wanted`` and ``list_wanted`` are the room's to do."""

    changed = Signal()
    issue_wanted = Signal()
    sheet_wanted = Signal()
    list_wanted = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("page")
        self.house = house
        self.history = History()
        self.issued: Draft | None = None  # the newest issue as a draft, None for a part that has none
        self.issue = 0
        self.measured: frozenset[str] = frozenset()
        self._reader = reader_of(self.draft)
        self._block: dict[str, str] = {}
        self._head_faults: dict[str, str] = {}
        self._grouped = False
        self.title, self.state = Fitted("title", self), Fitted("soft", self)
        self.form = HeadForm(house.theme, self)
        self.model = PlanModel(self)
        self.table = PlanTable(house, self.model, self)
        self.table.setItemDelegate(PlanCell(house, self.table))
        self.foot = Foot(house.theme, self)
        self._rest = QTimer(self, singleShot=True, interval=IDLE)
        self._rest.timeout.connect(self._show_rest)
        self.changes = Changes(self)
        self.actions_by_name = self._make_actions()
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)

    # --- building -------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        page: dict[str, Callable[[], object]] = {
            "issue": self._issue,
            "sheet": self._make_sheet,
            "head": self._head,
            "list": self._list,
            "undo": self._undo,
            "redo": self._redo,
            "group": self._group,
        }
        table: dict[str, Callable[[], object]] = {
            "copy": self.changes.copy,
            "cut": self.changes.cut,
            "paste": self.changes.paste,
            "clear": self.changes.clear,
            "all": self.table.choose_all,
            "insert": self.changes.insert,
            "delete": self.changes.delete,
            "up": self.changes.up,
            "down": self.changes.down,
            "split": self.changes.split,
            "join": self.changes.join,
            "renumber": self.changes.renumber,
            "turn": self._turn,
            "turn_back": self._turn_back,
            "next_fault": self._next_fault,
        }
        made = {name: self._action(self, PLAN_KEYS[name], do) for name, do in page.items()}
        return made | {name: self._action(self.table, TABLE_KEYS[name], do) for name, do in table.items()}

    def _action(self, owner: QWidget, key: Key, do: Callable[[], object]) -> QAction:
        action = make_action(owner, key, word(key.code), do)
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        return action

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.addWidget(self.title)
        top.addWidget(self.state, 1)
        self.buttons = {name: self._button(name) for name in ("issue", "sheet", "head", "list")}
        for button in self.buttons.values():
            top.addWidget(button)
        self._top = top
        self._scrolled = QScrollArea(self)
        self._scrolled.setFrameShape(QFrame.Shape.NoFrame)
        self._scrolled.setWidgetResizable(True)
        self._scrolled.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scrolled.setWidget(self.form)
        self.form.setObjectName("page")
        self._hint = QLabel(word("plan.empty.rows"), self)
        self._hint.setProperty("look", "soft")
        self._hint.setWordWrap(True)
        layout = self._layout = QVBoxLayout(self)
        layout.addLayout(top)
        layout.addWidget(self._scrolled)
        layout.addWidget(self._hint)
        layout.addWidget(self.table, 1)
        layout.addWidget(self.foot)

    def _button(self, name: str) -> QPushButton:
        action = self.actions_by_name[name]
        button = QPushButton(f"{action.text()}  {action.shortcut().toString()}", self)
        button.setAccessibleName(action.text())
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        button.clicked.connect(action.trigger)
        return button

    def _connect(self) -> None:
        self.form.typed.connect(self._typed_head)
        self.table.typed.connect(self._typed)
        self.table.filled.connect(self.changes.fill)
        self.table.moved.connect(self._moved)
        self.table.live.connect(self._live)
        self.table.left.connect(self._leave_table)
        self.house.shop_changed.connect(self._shop_changed)

    # --- the draft ------------------------------------------------------------------------------------------------

    @property
    def draft(self) -> Draft:
        """The plan as typed so far."""
        return self.history.present

    @property
    def reader(self) -> Reader:
        """The reader of its rows."""
        return self._reader

    @property
    def grouped(self) -> bool:
        """Whether rows stand by set-up."""
        return self._grouped

    @property
    def untouched(self) -> bool:
        """Whether the plan stands as it was issued."""
        return self.issued is not None and self.draft == self.issued

    def open(self, draft: Draft, issued: Draft | None, issue: int, measured: frozenset[str], *, grouped: bool) -> None:
        """Write on ``draft``; ``issued`` is the part's newest issue, number ``issue``, as a draft. Its rows are shown
        ``grouped`` by set-up, or as the drawing has them."""
        self.history = History(draft)
        self.issued, self.issue, self.measured = issued, issue, measured
        self._grouped, self._head_faults = grouped, {}
        self.table.at = self.table.anchor = At(0, 0)
        self._show()
        self.show_form(not draft.head.get("number", "").strip())
        self.table.go(At(0, 0))

    def take_focus(self) -> None:
        """Keys belong to the head of a new plan, else to the table."""
        if self.form.isVisible() and not self.draft.rows:
            self.form.begin()
        else:
            self.table.setFocus()

    def keep_typed(self) -> None:
        """Whatever is being typed just now becomes part of the draft."""
        self.table.keep_typed()
        self.form.keep_typed()

    def do(self, step: str, draft: Draft) -> None:
        """Make a step: another draft, under the name that it is undone by."""
        after = self.history.did(Reason(f"plan.step.{step}"), draft)
        if after is not self.history:
            self._take(after)

    def _take(self, history: History) -> None:
        self.history = history
        self._show()
        self.changed.emit()

    def attempt(self, step: str, change: Callable[[Draft], Draft]) -> bool:
        """Do a step that may be refused; whether it was done."""
        try:
            after = change(self.draft)
        except Refused as refused:
            self.house.noticed.emit(self.house.say(*refused.reasons), True)
            return False
        self.do(step, after)
        return True

    def _show(self) -> None:
        block = {name: text for name, text in self.draft.head.items() if name in _BLOCK or default_name(name)}
        if block != self._block:
            self._block, self._reader = block, reader_of(self.draft)
        self.model.show_draft(self.draft, self._reader, grouped=self._grouped)
        self._show_title()
        self.form.show_head(self.draft.head, self._head_faults)
        self._show_hint()
        self._show_row()
        self._rest.start()

    def _show_title(self) -> None:
        head = self.draft.head
        number = head.get("number", "").strip() or word("plan.unnumbered_part")
        revision = head.get("revision", "").strip()
        self.title.show_text(word("plan.title.part", part=number, revision=revision) if revision else number)
        self.state.show_text("   ".join(filter(None, (head.get("name", ""), self._state_words()))))
        self.actions_by_name["issue"].setEnabled(not self.untouched)
        self.buttons["issue"].setVisible(not self.untouched)
        self.actions_by_name["sheet"].setEnabled(self.untouched)
        self.buttons["sheet"].setVisible(self.untouched)

    def _state_words(self) -> str:
        if self.issued is None:
            return word("plan.state.new")
        return word("plan.state.issued" if self.untouched else "plan.state.changed", issue=self.issue)

    # --- the row at hand ------------------------------------------------------------------------------------------

    def _moved(self) -> None:
        if not self.table.typing:
            self._show_row()
        self._rest.start()

    def row_at_hand(self) -> DraftRow:
        """The row of the cell at hand, a blank one below the last."""
        row = self.model.row_of(self.table.at.row)
        return self.draft.rows[row] if row < len(self.draft.rows) else DraftRow()

    def _show_row(self, typed: DraftRow | None = None) -> None:
        """What the row at hand reads as, or the row as it is being typed."""
        row = typed or self.row_at_hand()
        found = self._reader.read(row)
        name = COLUMNS[self.table.at.column]
        fault = found.fault_of(name) or next(iter(found.faults), None)
        if fault is not None:
            self.foot.read_back.show_fault(told.marked(row.text(str(fault.parts.get("field", ""))), fault))
        elif found.requirement is not None:
            self.foot.read_back.show_limits(told.reads(found), told.explained(found.requirement))
        else:
            self.foot.read_back.show_limits("", word("plan.reads.blank"))

    def _live(self, text: str) -> None:
        """While a cell is typed: the fault under its character, or what the requirement reads as."""
        name = COLUMNS[self.table.at.column]
        row = self.row_at_hand()
        cells = {field: said for field, said in {**row.cells, name: text}.items() if said}
        typed = DraftRow(cells, row.identity)
        found = self._reader.read(typed)
        fault = found.fault_of(name) if text.strip() else None
        under = self.table.under
        if fault is not None:
            under.show_marked(told.marked(text, fault), self.table.editor)
        elif name == "requirement" and found.requirement is not None:
            under.show_said(told.reads(found), wrong=False)
        else:
            under.hide()
        self.table.show_under()
        self.model.show_typed(self.table.at.row, typed)
        self._show_row(typed)

    def _show_rest(self) -> None:
        """What may come a moment later."""
        from app.plan.instruments import NOTHING, would_choose  # brings numpy, which the first frame can do without

        found = self._reader.read(self.row_at_hand()).found
        shop = self.house.shop
        if found and shop is not None and found[0].requirement.judged:
            self.foot.show_would(would_choose(found[0], shop, self.draft.head.get("material", "")))
        else:
            self.foot.show_would(NOTHING)
        self._show_open()

    def _show_open(self) -> None:
        faults = faults_of(self.draft, self._reader)
        self._head_faults = {fault.field: say(fault.reason) for fault in reversed(faults) if fault.row < 0}
        self.form.show_head(self.draft.head, self._head_faults)
        counted = counted_of(self.draft)
        points = [say(reason) for reason in open_points(counted)]
        wrong = len({fault.row for fault in faults if fault.row >= 0})
        if wrong:
            points.insert(0, word("plan.open.unread", n=wrong))
        if typed := [field for field in self._head_faults if self.draft.head.get(field, "").strip()]:
            fields = ", ".join(word(f"plan.head.{field}") for field in typed)
            points.insert(0, word("plan.open.head", fields=fields))
        if not self.draft.rows:
            self.foot.show_open("", whole=False)
        else:
            self.foot.show_open("  ".join(points) or say(whole(counted)), whole=not points)
        self._show_hints()

    def _show_hints(self) -> None:
        page, of = self.table.pages_shown()
        turned = word("plan.hints.pages", page=page, of=of) if of > 1 else ""
        self.foot.hints.setText("   ".join(filter(None, (turned, word("plan.hints")))))

    def _shop_changed(self, _shop: object) -> None:
        self._rest.start()

    # --- typing ---------------------------------------------------------------------------------------------------

    def _typed_head(self, field: str, text: str) -> None:
        self.do("head", editing.type_head(self.draft, field, text))

    def _typed(self, place: int, column: int, text: str) -> None:
        row, field = self.model.row_of(place), COLUMNS[column]
        new = row >= len(self.draft.rows)
        if new and not text:
            return
        cells = {field: text}
        if new and self._grouped and self.model.order:  # it goes on where it stands
            cells = {"set_up": self.draft.rows[self.model.order[-1]].text("set_up"), **cells}
        self.do("type", editing.type_cells(self.draft, row, cells))
        if new and self.model.place_of(row) != place:
            self.table.go(At(self.model.place_of(row), column))

    # --- undo, order, faults --------------------------------------------------------------------------------------

    def _undo(self) -> None:
        self.keep_typed()
        if self.history.past:
            self._step_in_time(self.history.undone(), "plan.undone", self.history.past[-1])

    def _redo(self) -> None:
        self.keep_typed()
        if self.history.future:
            self._step_in_time(self.history.redone(), "plan.redone", self.history.future[-1])

    def _step_in_time(self, history: History, code: str, step: Step) -> None:
        """A step back or forward, to where it changed something."""
        pairs = enumerate(zip_longest(self.draft.rows, history.present.rows))
        changed = next((row for row, (before, after) in pairs if before is not after), None)
        self._take(history)
        place = self.table.at.row if changed is None else self.model.place_of(min(changed, len(self.draft.rows)))
        self.table.go(At(place, self.table.at.column))
        self.state.show_text(word(code, step=say(step.name)))

    def _group(self) -> None:
        """By set-up, or as the drawing has them; the row at hand stays at hand."""
        self.table.keep_typed()
        row, column = self.model.row_of(self.table.at.row), self.table.at.column
        self._grouped = not self._grouped
        self._show()
        self.table.go(At(self.model.place_of(row), column))

    def _turn(self) -> None:
        self.table.turn(1)
        self._show_hints()

    def _turn_back(self) -> None:
        self.table.turn(-1)
        self._show_hints()

    def _next_fault(self) -> None:
        self.go_to_fault(after=self.model.row_of(self.table.at.row))

    def go_to_fault(self, after: int = -1) -> bool:
        """To the next cell at fault after a row, from the top again at the end; whether there is any."""
        faults = faults_of(self.draft, self._reader)
        if not faults:
            return False
        fault = next((each for each in faults if each.row > after), faults[0])
        if fault.row < 0:
            self.show_form(True)
            self.form.begin(fault.field if fault.field in self.form.fields else "number")
        else:
            column = COLUMNS.index(fault.field) if fault.field in COLUMNS else 0
            self.table.setFocus()
            self.table.go(At(self.model.place_of(fault.row), column))
        return True

    # --- to the room ----------------------------------------------------------------------------------------------

    def _issue(self) -> None:
        self.keep_typed()
        self.issue_wanted.emit()

    def _make_sheet(self) -> None:
        self.keep_typed()
        if self.untouched:
            self.sheet_wanted.emit()

    def _list(self) -> None:
        self.keep_typed()
        self.list_wanted.emit()

    # --- head -----------------------------------------------------------------------------------------------------

    def _head(self) -> None:
        """Show the head and go there; from the head back to the table."""
        inside = self.form.isVisible() and self.form.isAncestorOf(self.focusWidget() or self)
        self.table.keep_typed()
        self.show_form(not inside)
        if inside:
            self.table.setFocus()
        else:
            self.form.begin()

    def show_form(self, shown: bool) -> None:
        """Show the whole head, or the title alone."""
        self.form.keep_typed()
        self._scrolled.setVisible(shown)
        self._fold()

    def _leave_table(self, forwards: bool) -> None:
        if forwards or not self._scrolled.isVisible():
            self.buttons["list"].setFocus()
        else:
            self.form.begin("drawing_notes")

    # --- look -----------------------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        theme = self.house.theme
        high = self.height() * 100 / theme.scale
        self.foot.fold(high - (180 if self._scrolled.isVisible() and high < 700 else 0))
        needed = self.form.sizeHint().height() + theme.px(4)
        self._scrolled.setFixedHeight(min(needed, max(theme.px(110), self.height() * 2 // 5)))
        small, edge = high < LOW, theme.px(24)
        self._layout.setContentsMargins(edge, theme.px(8 if small else 18), edge, theme.px(8 if small else 14))
        wide = self.width() * 100 / theme.scale
        self.buttons["list"].setVisible(wide >= 900)
        self.buttons["head"].setVisible(wide >= 780)
        self._show_hint()

    def _show_hint(self) -> None:
        """How to begin, over a table without rows; in a low room not beside the head."""
        low = self.height() * 100 / self.house.theme.scale < LOW
        self._hint.setVisible(not self.draft.rows and not (low and not self._scrolled.isHidden()))

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self._layout.setSpacing(theme.px(10))
        self._top.setSpacing(theme.px(12))
        self.form.take_theme(theme)
        self.table.take_theme(theme)
        self.foot.take_theme(theme)
        self._fold()
        self._rest.start()
        self.update()
