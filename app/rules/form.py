"""Every rule of the shop in a line of its own: its name, what it says, its value as written, where that comes from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QTextCharFormat, QTextCursor
from PySide6.QtWidgets import QGridLayout, QLabel, QPlainTextEdit, QScrollArea, QTextEdit, QWidget

from app.parts.fault_mark import FaultMark, PointedLine
from app.window.theme import Theme
from inspection.instruments.rules import Rules
from inspection.instruments.rules_as_written import CUSTOMERS, RuleLine, meant, read_rules, rule_lines, written_rules
from inspection.reasons import Reason, Refused
from inspection.words.say import known, say, word

#: Milliseconds after which a fault that was shown has its place in the form.
LAID_OUT = 30
#: Rows of the grid that a rule takes, and the height of the list of customers in lines.
ROWS, LINES = 5, 5

Widget = PointedLine | QPlainTextEdit


class RulesForm(QScrollArea):
    """``typed`` follows each change. What is typed is looked at when its line is left."""

    typed = Signal()

    def __init__(self, theme: Theme, parent: QWidget) -> None:
        super().__init__(parent)
        self._theme, self._base = theme, Rules()
        self._at_first: dict[str, str] = {}
        self._fields: dict[str, Widget] = {}
        self._below: dict[str, QLabel] = {}
        self._faults: dict[str, FaultMark] = {}
        self._lines = {line.field: line for line in rule_lines(Rules())}
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._inner = QWidget(self)
        self._inner.setObjectName("form")
        self._grid = QGridLayout(self._inner)
        for place, line in enumerate(self._lines.values()):
            self._add(line, place * ROWS)
        self._grid.setColumnStretch(0, 2)
        self._grid.setColumnStretch(1, 3)
        self._grid.setRowStretch(len(self._lines) * ROWS, 1_000)
        self.setWidget(self._inner)
        self._inner.setAutoFillBackground(False)
        self.viewport().setAutoFillBackground(False)
        self._fit(theme)

    # --- building ---------------------------------------------------------------------------------------------------

    def _add(self, line: RuleLine, row: int) -> None:
        """Its name beside its value, and below them what it says beside what is said of the value."""
        forms = f"rules.forms.{line.field}"
        said = "\n".join((say(line.says), *((word(forms),) if known(forms) else ())))
        name, says = QLabel(line.name, self._inner), QLabel(said, self._inner)
        name.setProperty("look", "strong")
        says.setProperty("look", "quiet")
        field, below, fault = self._widget(line), QLabel(self._inner), FaultMark(self._theme, self._inner)
        below.setProperty("look", "quiet")
        for label in (name, says, below):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        name.setBuddy(field)
        many = int(isinstance(field, QPlainTextEdit))  # a higher field stands beside both its name and what it says
        top = Qt.AlignmentFlag.AlignTop
        self._grid.addWidget(name, row, 0, top if many else Qt.AlignmentFlag.AlignVCenter)
        self._grid.addWidget(field, row, 1, 1 + many, 1)
        self._grid.addWidget(says, row + 1, 0, 2 + many, 1, top)
        self._grid.addWidget(fault, row + 1 + many, 1)
        self._grid.addWidget(below, row + 2 + many, 1, top)
        self._grid.setRowStretch(row + 1, many)
        self._grid.setRowStretch(row + 2 + many, 1)  # what is higher beside it leaves no gap above it
        self._grid.setRowMinimumHeight(row + ROWS - 1, self._theme.px(10))
        self._fields[line.field], self._below[line.field], self._faults[line.field] = field, below, fault

    def _widget(self, line: RuleLine) -> Widget:
        field: Widget = QPlainTextEdit(self._inner) if line.field == CUSTOMERS else PointedLine(self._inner)
        field.setAccessibleName(line.name)
        field.setAccessibleDescription(say(line.says))
        field.setProperty("rule", line.field)
        field.installEventFilter(self)
        field.textChanged.connect(self._was_typed)
        if isinstance(field, QPlainTextEdit):
            field.setTabChangesFocus(True)
        return field

    def _fit(self, theme: Theme) -> None:
        self._grid.setContentsMargins(0, 0, theme.px(12), theme.px(8))
        self._grid.setHorizontalSpacing(theme.px(20))
        self._grid.setVerticalSpacing(theme.px(2))
        customers = self._fields[CUSTOMERS]
        customers.setFixedHeight(customers.fontMetrics().lineSpacing() * LINES + theme.px(16))

    # --- what stands in it ------------------------------------------------------------------------------------------

    def show_rules(self, rules: Rules, *, may_change: bool) -> None:
        """Show these rules; what was typed into one that stands already stays."""
        typed = self.cells()
        self._base = rules
        self._lines = {line.field: line for line in rule_lines(rules)}
        given = written_rules(rules)
        for field, widget in self._fields.items():
            if field not in typed:
                self._put(widget, given[field])
            widget.setReadOnly(not may_change)
        self._at_first = given
        for field in self._fields:
            self._tell_below(field)

    def _put(self, widget: Widget, text: str) -> None:
        if text == _text(widget):
            return
        if isinstance(widget, QPlainTextEdit):
            widget.setPlainText(text)
        else:
            widget.setText(text)
            widget.setCursorPosition(0)

    def cells(self) -> dict[str, str]:
        """What was typed anew, by field."""
        texts = {field: _text(widget) for field, widget in self._fields.items()}
        return {field: text for field, text in texts.items() if self._at_first and text != self._at_first[field]}

    def forget(self) -> None:
        """What was typed is in force, or given up."""
        self._at_first = {field: _text(widget) for field, widget in self._fields.items()}
        self._show_faults({})

    def read(self) -> Rules:
        """The rules as they are typed. Raises Refused, and then every fault stands at its rule."""
        try:
            found = read_rules(self.cells(), self._base)
        except Refused as refused:
            by_field = _by_field(refused.reasons)
            self._show_faults(by_field)
            for field in self._fields:
                if field in by_field:
                    self._stand_at(field, by_field[field][0])
                    break
            raise
        self._show_faults({})
        return found

    def _was_typed(self) -> None:
        widget = self.sender()
        field = str(widget.property("rule"))
        if self._at_first and field in self._below:
            self._faults[field].show_fault("", None)
            self._tell_below(field)
        self.typed.emit()

    def _tell_below(self, field: str) -> None:
        """Where the value comes from; of one typed anew what it was; of a decision rule what it means."""
        line, text = self._lines[field], _text(self._fields[field])
        said = [
            word("rules.window.meant", customer=name, rule=say(rule)) if name else say(rule)
            for name, rule in meant(field, text)
        ]
        if self._at_first and text != self._at_first[field]:
            said.append(word("rules.window.was", was="; ".join(line.text.splitlines())))
        else:
            said.append(word("rules.window.source", source=line.source, how=line.how_obtained))
        self._below[field].setText("\n".join(said))

    # --- faults -----------------------------------------------------------------------------------------------------

    def _look_at(self, field: str) -> None:
        """A line was left: show its own fault now, or none."""
        cells = {name: text for name, text in self.cells().items() if name == field}
        try:
            read_rules(cells, self._base)
            reasons: list[Reason] = []
        except Refused as refused:
            reasons = _by_field(refused.reasons).get(field, [])
        self._show_fault(field, reasons)

    def _show_faults(self, by_field: Mapping[str, list[Reason]]) -> None:
        for field in self._faults:
            self._show_fault(field, by_field.get(field, []))

    def _show_fault(self, field: str, reasons: list[Reason]) -> None:
        widget = self._fields[field]
        at = reasons[0].parts.get("at") if reasons else None
        place = at if isinstance(at, int) else None
        x = widget.x_of(place) if isinstance(widget, PointedLine) and place is not None else None
        if isinstance(widget, QPlainTextEdit):
            _underline(widget, place)
            x = _x_in(widget, place)
        self._faults[field].show_fault("\n".join(map(say, reasons)), x)
        widget.setAccessibleDescription(" ".join(map(say, reasons)) or say(self._lines[field].says))

    def fault_of(self, field: str) -> FaultMark:
        """What is wrong with a rule as typed."""
        return self._faults[field]

    def field(self, name: str) -> Widget:
        """The line of a rule."""
        return self._fields[name]

    def _stand_at(self, field: str, reason: Reason) -> None:
        widget, at = self._fields[field], reason.parts.get("at")
        widget.setFocus()
        if isinstance(at, int):
            _put_cursor(widget, at)
        self._keep_in_sight(widget)

    def stand(self) -> None:
        """Begin at the first rule."""
        widget = next(iter(self._fields.values()))
        widget.setFocus()
        if isinstance(widget, PointedLine):
            widget.selectAll()

    # --- keys and look ----------------------------------------------------------------------------------------------

    def turn(self, pages: int) -> None:
        """Scroll by so many pages, whatever has the focus."""
        bar = self.verticalScrollBar()
        bar.setValue(bar.value() + pages * bar.pageStep())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A line that is left is looked at; the one in hand is kept in sight; Enter goes on to the next."""
        field = next((name for name, widget in self._fields.items() if widget is watched), "")
        if field and event.type() == QEvent.Type.FocusOut and field in self.cells():
            self._look_at(field)
        elif field and event.type() == QEvent.Type.FocusIn:
            self._keep_in_sight(self._fields[field])
        elif field and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self._key(self._fields[field], event)
        return super().eventFilter(watched, event)

    def _key(self, widget: Widget, event: QKeyEvent) -> bool:
        plain = event.modifiers() in (Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.KeypadModifier)
        if not plain or isinstance(widget, QPlainTextEdit):
            return False
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down):
            widget.focusNextChild()
            return True
        if event.key() == Qt.Key.Key_Up:
            widget.focusPreviousChild()
            return True
        return False

    def _keep_in_sight(self, widget: QWidget) -> None:
        """The line with what stands below it, once the form was laid out anew."""
        field = str(widget.property("rule"))
        QTimer.singleShot(LAID_OUT, self, lambda: self._scroll_to(field))

    def _scroll_to(self, field: str) -> None:
        widget, below = self._fields[field], self._below[field]
        edge = widget.fontMetrics().height()
        self.ensureVisible(0, below.geometry().bottom(), 0, edge)
        self.ensureVisible(0, widget.geometry().top(), 0, edge)


def _text(widget: Widget) -> str:
    return widget.toPlainText() if isinstance(widget, QPlainTextEdit) else widget.text()


def _by_field(reasons: tuple[Reason, ...]) -> dict[str, list[Reason]]:
    """Faults by the rule that they are about; those about several together under ""."""
    found: dict[str, list[Reason]] = {}
    for reason in reasons:
        found.setdefault(str(reason.parts.get("field", "")), []).append(reason)
    return found


def unplaced(reasons: tuple[Reason, ...]) -> Iterator[Reason]:
    """The faults that are about no one rule."""
    return (reason for reason in reasons if "field" not in reason.parts)


# --- a text of several lines --------------------------------------------------------------------------------------


def _put_cursor(widget: Widget, at: int) -> None:
    if isinstance(widget, QPlainTextEdit):
        widget.setTextCursor(_cursor(widget, at))
    else:
        widget.setCursorPosition(at)


def _cursor(widget: QPlainTextEdit, at: int) -> QTextCursor:
    cursor = widget.textCursor()
    cursor.setPosition(min(at, len(widget.toPlainText())))
    return cursor


def _x_in(widget: QPlainTextEdit, at: int | None) -> float | None:
    """Where a character stands, from the left of the field."""
    if at is None:
        return None
    return float(widget.cursorRect(_cursor(widget, at)).left() + widget.viewport().x())


def _underline(widget: QPlainTextEdit, at: int | None) -> None:
    """Mark one character of the text, on whatever line it stands."""
    if at is None:
        widget.setExtraSelections([])
        return
    mark = QTextEdit.ExtraSelection()
    cursor = _cursor(widget, at)
    cursor.movePosition(QTextCursor.MoveOperation.Right, QTextCursor.MoveMode.KeepAnchor)
    shape = QTextCharFormat()
    shape.setFontUnderline(True)
    shape.setForeground(widget.palette().brightText())
    mark.cursor, mark.format = cursor, shape
    widget.setExtraSelections([mark])
