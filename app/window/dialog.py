"""The dialog behind ``asking.ask``: heading, text, fields, and what is wrong with the answer so far."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF, QShowEvent
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFileDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.window.asking import Fault, Field, Question, Sort
from app.window.countdown import Countdown
from app.window.path_line import PathLine
from app.window.words import word

#: What a file or a folder is looked for with.
_PATHS = (Sort.OPEN_FILE, Sort.SAVE_FILE, Sort.FOLDER)

#: More fields than this stand in two columns, so that they fit on a low screen.
MOST_ROWS = 10


#: The least width in lines' heights: of a question with rows, files or many fields, and of any other.
WIDE, NARROW = 44, 34
#: So many lines' heights a choice is wide at least.
LEAST_CHOICE = 8
#: A screen of fewer lines is low: it has no room for wide edges.
LOW = 24


def _height(layout: QLayout, wide: int) -> int:
    """What a layout needs at this width: one asks for what broken lines would need on wider ones."""
    return layout.totalHeightForWidth(wide) if layout.hasHeightForWidth() else layout.totalSizeHint().height()


class ChoiceBox(QComboBox):
    """A choice whose chevron is painted in the text's own colour, light or dark. It asks for the room of its longest
    choice, and does with less."""

    def minimumSizeHint(self) -> QSize:
        wanted = super().minimumSizeHint()
        return wanted.boundedTo(QSize(self.fontMetrics().height() * LEAST_CHOICE, wanted.height()))

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        half = self.fontMetrics().height() / 4
        painter.setPen(QPen(self.palette().text().color(), max(1.5, half / 2.5)))
        x, y = self.width() - 4 * half, self.height() / 2
        points = [QPointF(x - half, y - half / 2), QPointF(x, y + half / 2), QPointF(x + half, y - half / 2)]
        painter.drawPolyline(QPolygonF(points))


class QuestionDialog(QDialog):
    """Shows one question; ``answer()`` is its fields by name. Enter agrees, Esc goes back."""

    def __init__(self, parent: QWidget, question: Question) -> None:
        super().__init__(parent)
        self.setWindowTitle(question.title)
        self.setAccessibleName(question.title)
        self._question = question
        self._fields: dict[str, QLineEdit | QComboBox] = {}
        self._browsers: list[QPushButton] = []
        self._problem, self._at_field = self._label("", "problem"), self._label("", "problem")
        self._problem.hide()
        self._at_field.hide()
        em = self.fontMetrics().height()
        self._room = self.screen().availableGeometry().size()
        self._low = self._room.height() < em * LOW
        layout = self._lines = QVBoxLayout(self)
        layout.addWidget(self._label(question.title, "head"))
        self._body = self._filled(question)
        layout.addWidget(self._scrolled(self._body), 1)
        layout.addWidget(self._problem)
        layout.addLayout(self._buttons(question))
        self._order_of_tab()
        across, along = (em, em * 3 // 4) if self._low else (em * 2, em * 3 // 2)
        layout.setContentsMargins(across, along, across, along)
        wide = (
            bool(question.rows)
            or len(question.fields) > MOST_ROWS
            or any(field.sort in _PATHS for field in question.fields)
        )
        for each in (layout, self._inner):
            each.setSpacing(em * 3 // 4)
        self.setMinimumWidth(min(em * (WIDE if wide else NARROW), self._room.width()))
        self._make_room()
        read = [self._area] if self._low and question.rows else []
        for widget in [*self._fields.values(), *read][:1]:
            widget.setFocus()  # not what is scrolled above it
        self._tell(question.fault)

    def _filled(self, question: Question) -> QWidget:
        """What stands between the heading and the buttons."""
        body = QWidget(self)
        body.setObjectName("page")
        inner = self._inner = QVBoxLayout(body)
        inner.setContentsMargins(0, 0, 0, 0)
        if question.text:
            inner.addWidget(self._label(question.text, ""))
        if question.rows:
            inner.addWidget(self._columns(question.rows))
        inner.addLayout(self._grid(question.fields))
        if question.waits is not None:
            self.wait = Countdown(question.waits, self)
            self.wait.changed.connect(self._waited)
            inner.addWidget(self.wait)
        inner.addStretch(1)
        return body

    def _scrolled(self, body: QWidget) -> QScrollArea:
        """It scrolls where the screen does not hold it; what has the keys is brought into sight."""
        area = self._area = QScrollArea(self)
        area.setFrameShape(QFrame.Shape.NoFrame)
        reads = self._low and bool(self._question.rows)  # then the keys scroll it
        area.setFocusPolicy(Qt.FocusPolicy.StrongFocus if reads else Qt.FocusPolicy.NoFocus)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(body)
        return area

    def _columns(self, rows: tuple[tuple[str, ...], ...]) -> QScrollArea:
        """Rows in columns, of which the last takes what is left and is broken; more than the screen holds are
        scrolled."""
        em = self.fontMetrics().height()
        inner = QWidget(self)
        inner.setObjectName("page")
        grid = QGridLayout(inner)
        grid.setContentsMargins(0, 0, em, 0)
        grid.setHorizontalSpacing(em * 2)
        grid.setVerticalSpacing(em // 2)
        last = max(map(len, rows)) - 1
        names = max(self.fontMetrics().horizontalAdvance(row[0]) for row in rows) * 5 // 4  # they are bold
        most = em * 13 if self._room.width() >= em * WIDE else self._room.width() // (2 + last)
        grid.setColumnMinimumWidth(0, min(names, most))
        grid.setColumnStretch(last, 1)
        for row, (name, *told) in enumerate(rows):
            grid.addWidget(self._label(name, "strong", wrap=names > most), row, 0, Qt.AlignmentFlag.AlignTop)
            for column, text in enumerate(told, 1):
                label = self._label(text, "", wrap=column == len(told) or most < em * 13)
                across = last - column + 1 if column == len(told) else 1
                grid.addWidget(label, row, column, 1, across, Qt.AlignmentFlag.AlignTop)
        grid.setRowStretch(len(rows), 1)  # what room is over stays below, and no row is torn from its name
        area = QScrollArea(self)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(inner)
        wide = min(em * WIDE, self._room.width()) - em * 5
        wanted = inner.heightForWidth(wide) if inner.hasHeightForWidth() else inner.sizeHint().height()
        most = self._room.height() // 2
        if self._low:  # all of it is scrolled at once
            area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            most = wanted + em
        area.setMinimumHeight(min(wanted + em // 2, most))
        area.setMaximumHeight(wanted + em // 2)
        return area

    def _label(self, text: str, look: str, *, wrap: bool = True) -> QLabel:
        label = QLabel(text, self)
        label.setProperty("look", look)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setWordWrap(wrap)
        return label

    def _grid(self, fields: tuple[Field, ...]) -> QGridLayout:
        """A field a row, below it the row in which its fault is told; many fields stand in two columns."""
        grid = self._fields_grid = QGridLayout()
        beside = len(fields) > MOST_ROWS and self._room.width() >= self.fontMetrics().height() * WIDE
        high = max(1, (len(fields) + 1) // 2 if beside else len(fields))
        for place, field in enumerate(fields):
            row, left = 2 * (place % high), 4 * (place // high)
            grid.setColumnStretch(left + 1, 1)
            if left:
                grid.setColumnMinimumWidth(left - 1, self.fontMetrics().height())
            label = QLabel(field.label, self)
            widget = self._widget(field)
            widget.setAccessibleName(field.label)
            label.setBuddy(widget)
            self._fields[field.name] = widget
            is_path = field.sort in _PATHS
            grid.addWidget(label, row, left)
            grid.addWidget(widget, row, left + 1, 1, 1 if is_path else 2)
            if is_path:
                grid.addWidget(self._browser(field), row, left + 2)
        return grid

    def _widget(self, field: Field) -> QLineEdit | QComboBox:
        if field.sort is Sort.CHOICE:
            box = ChoiceBox(self)
            for value, label in field.choices:
                box.addItem(label, value)
            box.setCurrentIndex(max(0, box.findData(field.value)))
            return box
        line = PathLine(field.value, self) if field.sort in _PATHS else QLineEdit(field.value, self)
        line.setPlaceholderText(field.hint)
        if field.sort is Sort.SECRET:
            line.setEchoMode(QLineEdit.EchoMode.Password)
        return line

    def _browser(self, field: Field) -> QPushButton:
        button = QPushButton(word("button.browse"), self)
        button.setAccessibleName(f"{field.label}: {word('button.browse')}")
        button.setAutoDefault(False)
        button.setProperty("field", field.name)
        button.clicked.connect(self._browse)
        self._browsers.append(button)
        return button

    def _order_of_tab(self) -> None:
        """From field to field as one types; looking for files comes after them, the answers last."""
        order = [*self._fields.values(), *self._browsers, *self._answers]
        for before, after in pairwise(order):
            self.setTabOrder(before, after)

    def _browse(self) -> None:
        name = self.sender().property("field")
        field = next(each for each in self._question.fields if each.name == name)
        line = self._fields[name]
        assert isinstance(line, QLineEdit)
        if field.sort is Sort.FOLDER:
            path = QFileDialog.getExistingDirectory(self, field.label, line.text())
        else:
            look = QFileDialog.getOpenFileName if field.sort is Sort.OPEN_FILE else QFileDialog.getSaveFileName
            path, _ = look(self, field.label, line.text(), field.files)
        if path:
            line.setText(path)

    def _buttons(self, question: Question) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addStretch(1)
        self._answers: list[QPushButton] = []
        if question.no:
            back = QPushButton(question.no, self)
            back.setAutoDefault(False)
            back.clicked.connect(self.reject)
            row.addWidget(back)
            self._answers.append(back)
        agree = QPushButton(question.yes or word("button.close"), self)
        agree.setDefault(True)
        agree.clicked.connect(self.accept)
        row.addWidget(agree)
        self._answers.append(agree)
        return row

    def answer(self) -> dict[str, str]:
        """The fields as they stand."""
        return {
            name: widget.currentData() if isinstance(widget, QComboBox) else widget.text()
            for name, widget in self._fields.items()
        }

    def accept(self) -> None:
        """Agree, unless something is missing or the question's own check finds a fault."""
        if not self._tell(self._fault()):
            super().accept()

    def _tell(self, found: str | Fault) -> bool:
        """Tell what is wrong, if anything is, and say whether it is."""
        fault = found if isinstance(found, Fault) else Fault("", found)
        if fault.field:
            self._point_at(fault)
        at_field, below = (fault.text, "") if fault.field else ("", fault.text)
        for label, text in ((self._at_field, at_field), (self._problem, below)):
            label.setText(text)
            label.setVisible(bool(text))
        self._make_room()
        return bool(fault.text)

    def _waited(self) -> None:
        """What was said of an answer that came too early is over with the wait."""
        if not self.wait.waits:
            self._at_field.hide()
        self._make_room()

    def _make_room(self) -> None:
        """As wide and high as broken lines need, and no more than the screen holds."""
        layout, inner = self._lines, self._inner
        margins = layout.contentsMargins()
        beside = margins.left() + margins.right()
        wanted = max(layout.totalSizeHint().width(), inner.totalSizeHint().width() + beside, self.minimumWidth())
        wide = min(max(wanted, self.width() if self.isVisible() else 0), self._room.width())
        body = _height(inner, wide - beside)
        self._area.setMinimumHeight(body)
        high = _height(layout, wide)
        over = max(0, high - self._room.height())
        bar = self._area.verticalScrollBar().sizeHint().width() if over else 0
        self._body.setMinimumHeight(
            _height(inner, wide - beside - bar) if over else 0
        )  # scrolled, not pressed together
        self._area.setMinimumHeight(max(0, body - over))
        self.resize(wide, high - over)

    def showEvent(self, event: QShowEvent) -> None:
        """What has the keys is in sight from the first."""
        super().showEvent(event)
        self._make_room()  # only now everything has the style's sizes
        self._lines.activate()
        for widget in list(self._fields.values())[:1]:
            self._area.ensureWidgetVisible(widget)

    def _point_at(self, fault: Fault) -> None:
        """Tell the fault below its field and go there, to the character if it is one."""
        widget = self._fields[fault.field]
        row, column = self._fields_grid.getItemPosition(self._fields_grid.indexOf(widget))[:2]  # type: ignore[index]
        self._fields_grid.addWidget(self._at_field, row + 1, column, 1, 2)
        widget.setAccessibleDescription(fault.text)
        widget.setFocus()
        if isinstance(widget, QLineEdit) and fault.at >= 0:
            widget.setSelection(fault.at, 1)

    def _fault(self) -> str | Fault:
        answer = self.answer()
        for field in self._question.fields:
            if field.needed and not (answer[field.name] or "").strip():
                return Fault(field.name, word("field.needed", field=field.label))
        return self._question.check(answer) if self._question.check else ""
