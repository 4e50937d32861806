"""A dialog that asks what an act needs and hands it in. It closes once that is on disk; refused, it says why and keeps
all that was typed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.window import words
from app.window.dialog import ChoiceBox
from app.window.house import House

if TYPE_CHECKING:
    from app.background.worker import Failure
    from inspection.sheet.acts import Act

#: The dialog's width in logical pixels, as far as its window has room.
WIDE = 760


class ActDialog(QDialog):
    """``settled`` carries what became of the act, once it is kept. Enter in a line agrees, Ctrl+Enter agrees anywhere,
    Esc goes back."""

    settled = Signal(object)

    def __init__(self, house: House, parent: QWidget, title: str, text: str = "", *, yes: str) -> None:
        super().__init__(parent)
        self.house = house
        self._under_way = False
        self.setWindowTitle(title)
        self.setAccessibleName(title)
        self._grid = QGridLayout()
        self._grid.setColumnStretch(1, 1)
        self.problem = self.label("", "problem")
        self.problem.hide()
        px = house.theme.px
        layout = self.column = QVBoxLayout(self)
        layout.setContentsMargins(px(28), px(22), px(28), px(20))
        layout.setSpacing(px(10))
        layout.addWidget(self.label(title, "head"))
        if text:
            layout.addWidget(self.label(text))
        self._body = QVBoxLayout()
        layout.addLayout(self._body, 1)
        layout.addLayout(self._grid)
        layout.addWidget(self.problem)
        layout.addLayout(self._buttons(yes))
        for keys in ("Ctrl+Return", "Ctrl+Enter"):
            QShortcut(QKeySequence(keys), self, self.agree)
        self.finished.connect(parent.window().activateWindow)  # not every screen has a manager that does
        self._most = parent.window().height() * 19 // 20
        self._wide = min(px(WIDE), parent.window().width() * 19 // 20)
        self.setFixedWidth(self._wide)

    # --- building ---------------------------------------------------------------------------------------------------

    def label(self, text: str, look: str = "") -> QLabel:
        """A text in the dialog's width."""
        made = QLabel(text, self)
        made.setProperty("look", look)
        made.setTextFormat(Qt.TextFormat.PlainText)
        made.setWordWrap(True)
        return made

    def add(self, widget: QWidget, stretch: int = 0) -> None:
        """Put something between the text and the lines."""
        self._body.addWidget(widget, stretch)

    def add_line(self, label: str, value: str = "", *, secret: bool = False, hint: str = "") -> QLineEdit:
        """A line to type into, below the others."""
        line = QLineEdit(value, self)
        line.setPlaceholderText(hint)
        if secret:
            line.setEchoMode(QLineEdit.EchoMode.Password)
        self._add_field(label, line)
        return line

    def add_choice(self, label: str, choices: Sequence[tuple[str, str]], chosen: str = "") -> QComboBox:
        """Something to choose, (value, label) each, below the other lines."""
        box = ChoiceBox(self)
        for value, name in choices:
            box.addItem(name, value)
        box.setCurrentIndex(max(0, box.findData(chosen)))
        self._add_field(label, box)
        return box

    def _add_field(self, label: str, field: QWidget) -> None:
        name = QLabel(label, self)
        name.setBuddy(field)
        field.setAccessibleName(label)
        row = self._grid.rowCount()
        self._grid.addWidget(name, row, 0)
        self._grid.addWidget(field, row, 1)

    def show_field(self, field: QWidget, *, shown: bool) -> None:
        """Show a line and its label, or hide them."""
        row = self._grid.getItemPosition(self._grid.indexOf(field))[0]  # type: ignore[index]
        for column in (0, 1):
            item = self._grid.itemAtPosition(row, column)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.setVisible(shown)

    def _buttons(self, yes: str) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addStretch(1)
        self._no, self.yes = QPushButton(words.word("button.no"), self), QPushButton(yes, self)
        self._no.setAutoDefault(False)
        self._no.clicked.connect(self.reject)
        self.yes.setDefault(True)
        self.yes.clicked.connect(self.agree)
        row.addWidget(self._no)
        row.addWidget(self.yes)
        return row

    def inner(self) -> int:
        """The width that there is within its edges."""
        margins = self.column.contentsMargins()
        return self._wide - margins.left() - margins.right()

    def sizeHint(self) -> QSize:
        """As high as its texts are at the dialog's width, as far as the window over which it stands has room."""
        return QSize(self._wide, min(self.column.totalHeightForWidth(self._wide), self._most))

    def setVisible(self, visible: bool) -> None:
        """Texts are as high as they will be once they have their fonts."""
        if visible:
            for widget in self.findChildren(QWidget):
                widget.ensurePolished()
            self.fit()
        super().setVisible(visible)

    # --- the act ----------------------------------------------------------------------------------------------------

    def act(self) -> Act | None:
        """What is handed in; None where the dialog has said itself what is wrong."""
        raise NotImplementedError

    def agree(self) -> None:
        """Hand in what was asked for, once."""
        if self._under_way:
            return
        act = self.act()
        if act is not None:
            self.begin()
            self.hand_in(act)

    def hand_in(self, act: Act) -> None:
        """Hand the act in, in the name of the person at the bench."""
        self.house.do(act, kept=self.was_kept, refused=self.was_refused, back=self.was_refused)

    def begin(self) -> None:
        """The act is on its way."""
        self._under_way = True
        self.yes.setEnabled(False)
        self.say("")

    def was_kept(self, outcome: Any) -> None:
        """It is on disk."""
        self._under_way = False
        self.accept()
        self.settled.emit(outcome)

    def was_refused(self, failure: Failure) -> None:
        """It was not done, and this is why; what was typed stands."""
        self._under_way = False
        self.yes.setEnabled(True)
        self.say(self.house.sentence(failure))

    def say(self, sentence: str) -> None:
        """What is wrong, "" if nothing is."""
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))
        self.fit()

    def fit(self) -> None:
        """Be as high as what is shown."""
        self.column.activate()
        self.resize(self.sizeHint())

    def needs(self, field: QLineEdit) -> bool:
        """Whether a line is empty that may not be; it is said, and gone to."""
        if field.text().strip():
            return False
        self.say(words.word("field.needed", field=field.accessibleName()))
        field.setFocus()
        return True

    def reject(self) -> None:
        """Esc goes back, but not from an act that is on its way."""
        if not self._under_way:
            super().reject()
