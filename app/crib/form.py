"""A record as a form: a field a line, faults below their fields with the character marked, everything by key."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QTextCursor
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.crib.points_table import PointsTable
from app.window.dialog import ChoiceBox
from app.window.theme import Theme
from inspection.instruments.as_written import FIELDS, read_instrument, unsaid, written_cells
from inspection.instruments.record import Direction, Instrument, InstrumentKind, Standing
from inspection.reasons import Reason, Refused
from inspection.words.say import known, say, word

#: Fields by what they are about, in the order of the form.
SECTIONS = {
    "what": ("tag", "kind", "name", "unit"),
    "measures": ("range", "resolution", "other", "permissible", "kelvin"),
    "keeping": ("due", "certificate", "certified", "laboratory", "interval", "standing", "place", "holder", "note"),
    "table": ("points",),
    "set": ("members", "missing", "gauge_class", "class_tolerance", "direction", "thread", "read_over"),
    "contacts": ("smallest_bore", "reach", "relief", "width", "jaws", "soft"),
    "held": ("tilt", "askew", "rock", "parallax", "expansion"),
    "use": ("repeatability", "zero", "as_calibrated", "handling_seconds"),
}
#: Fields that are chosen from a few words; an empty one stands for what is usual.
CHOICES: dict[str, tuple[str, ...]] = {
    "kind": ("", *sorted(InstrumentKind)),
    "standing": tuple(Standing),
    "direction": ("", *Direction),
    "soft": ("", "yes"),
    "as_calibrated": ("", "no"),
}
#: Fields with a line for each entry.
LINES = ("permissible",)
#: Fields that a due date follows from.
FOLLOWED = ("certified", "interval")
#: The field whose entries are cells; it is as wide as the form.
CELLS = "points"

#: Milliseconds after which a fault that was shown has its place in the form.
LAID_OUT = 30

Widget = QLineEdit | QComboBox | QPlainTextEdit | PointsTable


class Form(QWidget):
    """``kept`` carries the instrument as filled in, once it has no fault; ``left`` says that nothing is to be kept."""

    kept = Signal(object)
    left = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._base: Instrument | None = None
        self._at_first: dict[str, str] = {}
        self._followed = ""  # the due date shown because it follows; nobody typed it
        self.title = QLabel(self)
        self.title.setProperty("look", "head")
        self.title.setWordWrap(True)
        self._fields: dict[str, Widget] = {}
        self._labels: dict[str, QLabel] = {}
        self._faults: dict[str, QLabel] = {}
        self._sections: dict[str, QLabel] = {}
        self._unsaid: frozenset[str] = frozenset()
        self._grid = QGridLayout()
        self._inner = QWidget(self)
        self._inner.setObjectName("form")
        self._lay_out()
        self.take_theme(theme)

    # --- building ---------------------------------------------------------------------------------------------------

    def _lay_out(self) -> None:
        row = 0
        for section, fields in SECTIONS.items():
            head = QLabel(word(f"crib.form.{section}"), self._inner)
            head.setProperty("look", "strong")
            self._sections[section] = head
            self._grid.addWidget(head, row, 0, 1, 2)
            row += 1
            for field in fields:
                self._add(field, row)
                row += 2
        self.kind.currentIndexChanged.connect(self._suit_kind)
        self._grid.setColumnStretch(1, 1)
        self._grid.setRowStretch(row, 1)
        self._inner.setLayout(self._grid)
        self._area = QScrollArea(self)
        self._area.setWidgetResizable(True)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setWidget(self._inner)
        self._inner.setAutoFillBackground(False)
        self._area.viewport().setAutoFillBackground(False)
        keep = QPushButton(f"{word('crib.action.keep')}  Ctrl+Enter", self)
        keep.setAccessibleName(word("crib.action.keep"))
        keep.clicked.connect(self.keep)
        leave = QPushButton(f"{word('crib.form.leave')}  Esc", self)
        leave.setAccessibleName(word("crib.form.leave"))
        leave.clicked.connect(self.left.emit)
        self._buttons = QHBoxLayout()
        self._buttons.addWidget(keep)
        self._buttons.addWidget(leave)
        self._buttons.addStretch(1)
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.addWidget(self.title)
        self._layout.addWidget(self._area, 1)
        self._layout.addWidget(self._faults[CELLS])
        self._layout.addLayout(self._buttons)

    def _add(self, field: str, row: int) -> None:
        name = word(f"crib.field.{field}")
        label, widget, fault = QLabel(name, self._inner), self._widget(field), QLabel(self._inner)
        widget.setAccessibleName(name)
        widget.installEventFilter(self)
        label.setBuddy(widget)
        fault.setProperty("look", "problem")
        fault.setWordWrap(True)
        fault.hide()
        self._labels[field], self._fields[field], self._faults[field] = label, widget, fault
        above = Qt.AlignmentFlag.AlignTop if field in LINES else Qt.AlignmentFlag.AlignVCenter
        if field == CELLS:
            label.setText(word("crib.points.keys"))
            label.setProperty("look", "quiet")
            label.setWordWrap(True)
            over = QVBoxLayout()
            over.addWidget(label)
            over.addWidget(widget)
            self._grid.addLayout(over, row, 0, 1, 2)
            return  # its fault stands below the page, in sight whichever row it is of
        self._grid.addWidget(label, row, 0, above)
        self._grid.addWidget(widget, row, 1)
        self._grid.addWidget(fault, row + 1, 1)

    @property
    def kind(self) -> QComboBox:
        """What kind of instrument it is."""
        box = self._fields["kind"]
        assert isinstance(box, QComboBox)
        return box

    @property
    def due(self) -> QLineEdit:
        """Until when it is calibrated."""
        line = self._fields["due"]
        assert isinstance(line, QLineEdit)
        return line

    def _suit_kind(self) -> None:
        """Show only the fields that this kind of instrument has something to say in."""
        kind = self.kind.currentData()
        self._unsaid = unsaid(InstrumentKind(kind) if kind else None)
        for field, widget in self._fields.items():
            for shown in (self._labels[field], widget):
                shown.setVisible(field not in self._unsaid)
            if field in self._unsaid:
                self._faults[field].hide()
        for section, head in self._sections.items():
            head.setVisible(not self._unsaid.issuperset(SECTIONS[section]))

    def _widget(self, field: str) -> Widget:
        if field in CHOICES:
            box = ChoiceBox(self._inner)
            for value in CHOICES[field]:
                box.addItem(value or word(f"crib.form.none.{field}"), str(value))
            return box
        if field == CELLS:
            table = PointsTable(self._inner)
            table.touched.connect(partial(self._look_again, field))
            table.left.connect(table.focusNextChild)
            table.currentCellChanged.connect(partial(self._keep_in_sight, table))
            return table
        shape = f"crib.shape.{field}"
        placeholder = word(shape) if known(shape) else ""
        if field in LINES:
            text = QPlainTextEdit(self._inner)
            text.setTabChangesFocus(True)
            text.setPlaceholderText(placeholder)
            return text
        line = QLineEdit(self._inner)
        line.setPlaceholderText(placeholder)
        return line

    # --- what stands in it ------------------------------------------------------------------------------------------

    def show_record(self, record: Instrument, title: str, *, base: Instrument | None, at: str = "tag") -> None:
        """Fill the form from a record; ``base`` is the issue that a further one follows, None for a new instrument.
        ``at`` is the field that has the focus first."""
        self._base = base
        self.title.setText(title)
        given = written_cells(record)
        for field, widget in self._fields.items():
            text = given[field]
            if isinstance(widget, QComboBox):
                widget.setCurrentIndex(max(0, widget.findData(text)))
            elif isinstance(widget, QPlainTextEdit):
                widget.setPlainText(text.replace("; ", "\n"))
            elif isinstance(widget, PointsTable):
                widget.show_text(text)
            else:
                widget.setText(text)
                widget.setCursorPosition(0)
        self._suit_kind()
        self._followed = ""
        self._at_first = self.cells()
        self._show_faults({})
        self._area.verticalScrollBar().setValue(0)
        self.stand_at(at)

    def cells(self) -> dict[str, str]:
        """Every field as it stands; one that the kind has nothing to say in is empty, whatever was typed before, and a
        due date that follows from others stands as it was at first."""
        found = {field: "" if field in self._unsaid else _text(widget) for field, widget in self._fields.items()}
        if self._followed and found["due"] == self._followed:
            found["due"] = self._at_first["due"]
        return found

    def is_changed(self) -> bool:
        """Whether something was typed since the record was shown."""
        return self.cells() != self._at_first

    def follow(self, crib: Mapping[str, Instrument]) -> None:
        """The crib changed while the form stands: what was not typed into follows the record's newest issue."""
        if self._base is not None:
            self._base = crib.get(self._base.identity, self._base)

    def _read(self) -> Instrument:
        """The record as filled in; fields that nobody typed into are those of the newest issue."""
        cells = self.cells()
        if self._base is not None:
            typed = {field: text for field, text in cells.items() if text != self._at_first[field]}
            cells = {**written_cells(self._base), **typed}
        return read_instrument(cells, self._base)

    def stand_at(self, field: str, place: int | None = None) -> None:
        """Put the focus into a field, all of its text selected, or at one character."""
        widget = self._fields[field]
        widget.setFocus()
        if isinstance(widget, QLineEdit):
            widget.selectAll() if place is None else widget.setCursorPosition(place)
        elif isinstance(widget, QPlainTextEdit) and place is not None:
            cursor = widget.textCursor()
            cursor.setPosition(min(place, len(widget.toPlainText())), QTextCursor.MoveMode.MoveAnchor)
            widget.setTextCursor(cursor)
        self._keep_in_sight(widget)

    def stand_again(self) -> None:
        """Put the focus back into the field that had it last."""
        last = self.focusWidget()
        if last is not None:
            last.setFocus()

    def keep(self) -> None:
        """Hand the record over, or show every fault and stand at the first."""
        try:
            record = self._read()
        except Refused as refused:
            self._show_faults(_by_field(refused.reasons))
            first = min(refused.reasons, key=_order)
            at, field = first.parts.get("at"), str(first.parts["field"])
            widget = self._fields[field]
            if isinstance(widget, PointsTable):
                widget.stand_at_fault(first)
                self._keep_in_sight(widget)
            else:
                self.stand_at(field, at if isinstance(at, int) else 0)
            return
        self._show_faults({})
        self.kept.emit(record)

    def refuse(self, reasons: tuple[Reason, ...]) -> None:
        """The book would not take it: say why beside the field that a reason names, else beside the tag."""
        by_field = _by_field(reasons)
        self._show_faults(by_field)
        self.stand_at(min(by_field, key=lambda field: _PLACES[field]))

    def _show_faults(self, by_field: Mapping[str, list[Reason]]) -> None:
        for field, label in self._faults.items():
            said = "\n".join(say(reason) for reason in by_field.get(field, ()))
            label.setText(said)
            label.setVisible(bool(said))

    def _look_again(self, field: str) -> None:
        """A cell was written: what was said of the table is looked at again, nothing new said of half a row."""
        if self._faults[field].isVisible():
            self._look_at(field)

    def _look_at(self, field: str) -> None:
        """A field was left: show its own faults now, or none; a due date that follows from it is shown."""
        try:
            read = self._read()
            reasons: list[Reason] = []
            if field in FOLLOWED and self.cells()["due"] == self._at_first["due"]:
                self._followed = read.due
                self.due.setText(read.due)
        except Refused as refused:
            reasons = _by_field(refused.reasons).get(field, [])
        said = "\n".join(say(reason) for reason in reasons)
        self._faults[field].setText(said)
        self._faults[field].setVisible(bool(said))

    # --- keys and look ----------------------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter goes on to the next field; a field that is left is looked at; the one in hand is kept in sight. The
        wheel turns the page, never a value."""
        if event.type() == QEvent.Type.Wheel and isinstance(watched, QComboBox):
            event.ignore()  # the page beneath gets it
            return True
        field = next((name for name, widget in self._fields.items() if widget is watched), "")
        if field and event.type() == QEvent.Type.FocusOut:
            if self._fields[field].isAncestorOf(QApplication.focusWidget() or self):
                return False  # a cell of it is typed into
            if _text(self._fields[field]) != self._at_first.get(field, ""):
                self._look_at(field)
        elif field and event.type() == QEvent.Type.FocusIn:
            self._keep_in_sight(self._fields[field])
        elif field and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self._key(self._fields[field], event)
        return super().eventFilter(watched, event)

    def _key(self, widget: Widget, event: QKeyEvent) -> bool:
        plain = event.modifiers() in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if plain and enter and not isinstance(widget, QPlainTextEdit | PointsTable):
            widget.focusNextChild()
            return True
        return False

    def _keep_in_sight(self, widget: QWidget, *_cells: int) -> None:
        """The field with its fault below it, once the form was laid out anew."""
        QTimer.singleShot(LAID_OUT, self, partial(self._scroll_to, widget))

    def _scroll_to(self, widget: QWidget) -> None:
        field = next(name for name, one in self._fields.items() if one is widget)
        fault = self._faults[field]
        top, end, edge = widget.geometry().top(), widget.geometry().bottom(), widget.fontMetrics().height()
        if isinstance(widget, PointsTable):  # it may be higher than what is in sight
            cell = widget.visualRect(widget.currentIndex()).translated(widget.viewport().pos())
            top, end = top + cell.top(), top + cell.bottom()
        elif fault.isVisible():
            end = fault.geometry().bottom()
        self._area.ensureVisible(0, end, 0, edge)
        self._area.ensureVisible(0, top, 0, edge)

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._layout.setSpacing(theme.px(10))
        self._grid.setContentsMargins(0, 0, theme.px(10), theme.px(10))
        self._grid.setHorizontalSpacing(theme.px(12))
        self._grid.setVerticalSpacing(theme.px(5))
        self._buttons.setSpacing(theme.px(8))
        for head in self._sections.values():
            head.setContentsMargins(0, theme.px(10), 0, 0)
        table = self._fields[CELLS]
        assert isinstance(table, PointsTable)
        table.take_theme(theme)
        for field in LINES:
            self._fields[field].setFixedHeight(theme.px(104))


def _text(widget: Widget) -> str:
    if isinstance(widget, QComboBox):
        return str(widget.currentData())
    return widget.toPlainText() if isinstance(widget, QPlainTextEdit) else widget.text()


def _by_field(reasons: tuple[Reason, ...]) -> dict[str, list[Reason]]:
    found: dict[str, list[Reason]] = {}
    for reason in reasons:
        found.setdefault(str(reason.parts.get("field", "tag")), []).append(reason)
    return found


_PLACES = {field: place for place, field in enumerate(field for fields in SECTIONS.values() for field in fields)}
assert set(_PLACES) == set(FIELDS)


def _order(reason: Reason) -> int:
    return _PLACES[str(reason.parts["field"])]
