"""A sheet's record at the Desk: its head, its materials, special processes and functional tests, entered by key."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QAction, QHideEvent, QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from app.background.worker import Failure
from app.desk import record_asking as asking
from app.desk.record_entry import EntryForm
from app.desk.record_fields import Flow
from app.desk.record_files import RecordFiles
from app.desk.record_head import HeadForm
from app.desk.record_keys import CHANGING, KEYS
from app.desk.record_list import EvidenceList
from app.window.house import House
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.state import Sheet
from inspection.words.say import word


class RecordPanel(QWidget):
    """Shows and writes the record of one sheet. ``changed`` is sent when something of it is on disk."""

    changed = Signal()

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        self.sheet: Sheet | None = None
        self.setAccessibleName(word("record.title"))
        self.list = EvidenceList(house.theme, self)
        self.head = HeadForm(house.theme, self)
        self.entry = EntryForm(house.theme, self)
        self.files = RecordFiles(self)
        self.actions_by_name = self._make_actions()
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "write": self._write,
            "head": self.go_to_head,
            "list": self._go_to_list,
            "material": self._new_material,
            "process": self._new_process,
            "test": self._new_test,
            "attach": self.files.attach,
            "drawing": self.files.drawing,
            "save_file": self.files.save,
            "drop_file": self.files.drop,
        }
        return actions_of(self, KEYS, does)

    def _lay_out(self) -> None:
        self._standing = self._label("")
        self._problem = self._label("problem")
        self._problem.hide()
        self._empty = self._label("soft")
        self._empty.setText(word("record.empty"))
        self._files = self._label("quiet")
        self._head_title, self._list_title = self._label("head"), self._label("head")
        self._head_title.setText(word("record.head"))
        self._list_title.setText(word("record.list"))
        self._write_bar = self._bar("write")
        self._list_bar = self._bar("material", "process", "test", "drawing", "attach", "save_file", "drop_file")
        overview = QWidget(self)
        overview.setObjectName("page")
        self._rows = QVBoxLayout(overview)
        for widget in (
            self._standing,
            self._list_title,
            self.list,
            self._empty,
            self._files,
            self._list_bar,
            self._problem,
            self._head_title,
            self.head,
            self._write_bar,
        ):
            self._rows.addWidget(widget)
        self._rows.addStretch(1)
        self.entry.setObjectName("page")
        self._pages = QStackedWidget(self)
        self._overview, self._entering = self._scrolled(overview), self._scrolled(self.entry)
        self._pages.addWidget(self._overview)
        self._pages.addWidget(self._entering)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self._pages)
        self._order_of_tab()

    def _order_of_tab(self) -> None:
        """The list, what can be done to it, then the head."""
        before: QWidget = self.list
        for button in self._list_bar.widgets:
            self.setTabOrder(before, button)
            before = button

    def _label(self, look: str) -> QLabel:
        label = QLabel(self)
        label.setProperty("look", look)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setWordWrap(True)
        return label

    def _bar(self, *names: str) -> Flow:
        """Buttons that say their keys."""
        buttons = []
        for name in names:
            action = self.actions_by_name[name]
            button = QPushButton(f"{action.text()}  {action.shortcut().toString()}", self)
            button.setAccessibleName(action.text())
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(action.trigger)
            action.enabledChanged.connect(button.setEnabled)
            buttons.append(button)
        return Flow(buttons, 225, self.house.theme, self)

    def _scrolled(self, inner: QWidget) -> QScrollArea:
        area = QScrollArea(self)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setWidget(inner)
        return area

    def _connect(self) -> None:
        self.house.leaving.connect(self._finish)
        self.head.touched.connect(self._show_standing)
        self.list.opened.connect(self._open)
        self.list.struck.connect(self._strike)
        self.list.selectionModel().currentRowChanged.connect(self._show_offers)
        self.entry.entered.connect(self._write)
        for block in self.head.blocks.values():
            block.field.installEventFilter(self)

    # --- what is shown ----------------------------------------------------------------------------------------------

    def show_sheet(self, sheet: Sheet) -> None:
        """Show this sheet's record. What was typed into the head and is not written yet stays; of another sheet it is
        written before."""
        same = self.sheet is not None and self.sheet.identity == sheet.identity
        kept = same and not sheet.sealed and self.head.changed()
        if not same:
            self._finish()
        self.sheet = sheet
        if kept:
            self.head.take_in(sheet.head)
        elif self.head.written != sheet.head or not same or self.head.changed():
            self.head.show_head(sheet.head)
        self._show_entries()

    def _show_entries(self) -> None:
        assert self.sheet is not None
        entries = tuple(self.sheet.evidence.values())
        if entries != self.list.entries.entries:
            self.list.show_entries(entries)
        self.list.setVisible(bool(entries))
        self._empty.setVisible(not entries)
        self._show_page(self._pages.currentWidget() or self._overview)
        self.head.let_write(not self.sheet.sealed)
        self._show_standing()
        self._show_offers()

    def _show_page(self, page: QWidget) -> None:
        """Show the overview or the form of an entry; keys for the record go there."""
        self._pages.setCurrentWidget(page)
        if page is self._entering:
            self.setFocusProxy(self.entry.blocks["name"].field)
        else:
            self.setFocusProxy(self.list if self.list.entries.entries else self.head.blocks["customer"].field)

    def _show_standing(self) -> None:
        if self.sheet is None:
            return
        if self.sheet.sealed:
            said = word("record.sealed", round=self.sheet.round)
        else:
            said = word("record.unwritten" if self.head.changed() else "record.written")
        self._standing.setText(said)

    def _show_offers(self, *_rows: object) -> None:
        may = self.sheet is not None and not self.sheet.sealed
        chosen = self.list.chosen()
        for name in CHANGING:
            self.actions_by_name[name].setEnabled(may)
        self.actions_by_name["attach"].setEnabled(may and chosen is not None)
        self.actions_by_name["save_file"].setEnabled(chosen is not None and bool(chosen.files))
        self.actions_by_name["drop_file"].setEnabled(may and chosen is not None and bool(chosen.files))
        names = ", ".join(file.name for file in chosen.files) if chosen is not None else ""
        self._files.setText(word("record.files", name=chosen.name, files=names) if chosen is not None and names else "")
        self._files.setVisible(bool(names))

    def tell_problem(self, sentence: str = "") -> None:
        """Say what was not written, and why."""
        entering = self._pages.currentWidget() is self._entering
        self.entry.tell_problem(sentence if entering else "")
        self._problem.setText(sentence)
        self._problem.setVisible(bool(sentence) and not entering)
        shown = self.entry.problem if entering else self._problem
        if sentence:
            (self._entering if entering else self._overview).ensureWidgetVisible(shown)

    # --- going about ------------------------------------------------------------------------------------------------

    def go_to_head(self, field: str = "") -> None:
        """Go to a field of the head, the first if none is named."""
        if not self.leave_entry():
            return
        self.head.go(field or "customer")
        self._overview.ensureWidgetVisible(self.head.focusWidget() or self.head)

    def go_to_evidence(self, identity: str) -> None:
        """Go to an entry of the list."""
        if not self.leave_entry():
            return
        row = next((n for n, each in enumerate(self.list.entries.entries) if each.identity == identity), 0)
        self.list.go(row)
        self.list.setFocus()

    def _go_to_list(self) -> None:
        if self.leave_entry():
            self.setFocus()

    def _new_material(self) -> None:
        self.begin(Evidence("", EvidenceKind.MATERIAL, ""))

    def _new_process(self) -> None:
        self.begin(Evidence("", EvidenceKind.PROCESS, ""))

    def _new_test(self) -> None:
        self.begin(Evidence("", EvidenceKind.TEST, ""))

    def _open(self) -> None:
        chosen = self.list.chosen()
        if chosen is not None and self.sheet is not None and not self.sheet.sealed:
            self.begin(chosen)

    def begin(self, evidence: Evidence) -> None:
        """Open the form of an entry, a new one or one of the list."""
        if self._pages.currentWidget() is self._entering and not self._may_leave():
            return
        self.tell_problem()
        self._show_page(self._entering)
        self.entry.show_evidence(evidence)

    def _may_leave(self) -> bool:
        return not self.entry.changed() or asking.ask_discard(self)

    def leave_entry(self) -> bool:
        """Back to the list; what was typed is left only after asking."""
        if self._pages.currentWidget() is self._overview:
            return True
        if not self._may_leave():
            return False
        self._back()
        return True

    def _back(self) -> None:
        self._show_page(self._overview)
        self.tell_problem()
        self.setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc leaves the form of an entry."""
        if event.key() == Qt.Key.Key_Escape and self._pages.currentWidget() is self._entering:
            self.leave_entry()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QWidget, event: QEvent) -> bool:  # type: ignore[override]
        """Enter in a field of the head writes the head."""
        pressed = event.key() if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent) else None
        if pressed in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and isinstance(event, QKeyEvent) and not event.modifiers():
            self._write()
            return True
        return super().eventFilter(watched, event)

    # --- writing ----------------------------------------------------------------------------------------------------

    def _write(self) -> None:
        if self.sheet is None or self.sheet.sealed:
            return
        if self._pages.currentWidget() is self._overview:
            self.write_what_was_typed()
            return
        try:
            told = self.entry.told()
        except Refused as refused:
            self.tell_problem(self.house.say(*refused.reasons))
            return
        self.enter(told, then=self._entered)

    def write_what_was_typed(self) -> None:
        """Hand the head in if it was changed."""
        if self.sheet is not None and not self.sheet.sealed and self.head.changed():
            self._do(acts.WriteHead(sheet=self.sheet.identity, head=self.head.head()))

    def _finish(self) -> None:
        """The sheet or the book is left: hand in what was typed, an entry too if it can be read; if not, say so."""
        self.write_what_was_typed()
        if self.sheet is not None and self._pages.currentWidget() is self._entering and self.entry.changed():
            try:
                self.enter(self.entry.told())
            except Refused:
                name = self.entry.blocks["name"].text()
                self.house.notice(word("record.left_unwritten", name=name))
        self._show_page(self._overview)

    def enter(
        self, evidence: Evidence, files: dict[str, bytes] | None = None, then: Callable[[], None] | None = None
    ) -> None:
        """Hand an entry of the sheet in, with the bytes of the files it names."""
        assert self.sheet is not None
        self._do(acts.EnterEvidence(sheet=self.sheet.identity, evidence=evidence), files, then)

    def _entered(self) -> None:
        name = self.entry.told().name
        self._back()
        row = next((n for n, each in enumerate(self.list.entries.entries) if each.name == name), -1)
        self.list.go(row)

    def _do(self, act: Any, files: dict[str, bytes] | None = None, then: Callable[[], None] | None = None) -> None:
        assert self.sheet is not None

        def kept(outcome: Any) -> None:
            self._kept(outcome)
            if then is not None:
                then()

        self.house.do(act, based_on=self.sheet.last_entry, kept=kept, refused=self.refused, files=files)

    def _kept(self, outcome: Any) -> None:
        if self.sheet is not None and outcome.stream == self.sheet.identity:
            self.tell_problem()
            self.show_sheet(outcome.sheet)
        self.changed.emit()

    def refused(self, failure: Failure) -> None:
        """Say why something was not done."""
        self.tell_problem(self.house.sentence(failure))

    def _strike(self) -> None:
        chosen = self.list.chosen()
        if chosen is None or self.sheet is None or self.sheet.sealed:
            return
        reason = asking.ask_strike(self, chosen.name)
        if reason is not None:
            self._do(acts.StrikeEvidence(sheet=self.sheet.identity, evidence=chosen.identity, reason=reason))

    # --- look -------------------------------------------------------------------------------------------------------

    def hideEvent(self, event: QHideEvent) -> None:
        """What was typed into the head is written when the record is left."""
        super().hideEvent(event)
        if not event.spontaneous():
            self.write_what_was_typed()

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self._rows.setSpacing(theme.px(10))
        self._rows.setContentsMargins(theme.px(2), theme.px(4), theme.px(12), theme.px(8))
        for part in (self.head, self.list, self.entry, self._list_bar, self._write_bar):
            part.take_theme(theme)
        self.update()
