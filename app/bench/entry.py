"""The entry field: what is typed, what came by cable, and what has to wait.

Keys belong to the row that the entry stands at. While a question stands or something came back, a whole line at cable
speed is held and shown instead, and delivered in order once the way is free; what a person types is not.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from time import monotonic

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtGui import QInputMethodEvent, QKeyEvent, QKeySequence, QTextCharFormat
from PySide6.QtWidgets import QLineEdit, QWidget

from app.window.waiting import RETURN_SIGN

#: Keys closer together than this (milliseconds) come from a cable, a scanner or a burst, not from a hand.
TOGETHER = 50
#: So many characters together before an Enter are a line by cable, even where something was typed before them.
LEAST_LINE = 3
#: A second end of line follows the first within this.
SECOND_END = 10
#: A hand that types on with pauses shorter than this has not looked up.
LOOKS_UP = 400
#: Letters that act by themselves on an empty field.
LETTERS = frozenset("ENSIWKMD")

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)
_HELD_DOWN = (
    Qt.Key.Key_Shift,
    Qt.Key.Key_Control,
    Qt.Key.Key_Alt,
    Qt.Key.Key_AltGr,
    Qt.Key.Key_Meta,
    Qt.Key.Key_CapsLock,
)
_OWN_UNDO = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)
_NOT_TYPED = Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier
_COMMANDS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier | Qt.KeyboardModifier.MetaModifier


class Entry(QLineEdit):
    """``submitted`` follows Enter; ``lettered`` a single letter; ``stepped`` Up (−1) or Down (1). ``leave`` is asked
    on Esc and says whether there was anything to leave. ``held_changed`` carries what is held, as text. ``letters`` are
    those that act by themselves."""

    submitted = Signal()
    lettered = Signal(str)
    stepped = Signal(int)
    held_changed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("entry")
        self.setDragEnabled(False)
        self.leave: Callable[[], bool] = bool
        self.letters = LETTERS
        self._sifting = self._closed = self._unseen = self._turned_down = False
        self._held: deque[QKeyEvent] = deque()
        self._line: list[QKeyEvent] = []  # keys together, not yet known to be a line by cable or typed
        self._let_in: list[QKeyEvent] = []  # what was last let in as typed, should more of the same line follow
        self._last = 0
        self._at_rest: list[Callable[[], None]] = []
        self._letter_timer = self._timer(TOGETHER, self._act_on_letter)
        self._line_timer = self._timer(TOGETHER, self._let_line_in)
        self._rest_timer = self._timer(TOGETHER, self._rested)
        self._deliver_timer = self._timer(0, self._deliver)

    def _timer(self, milliseconds: int, then: Callable[[], None]) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(milliseconds)
        timer.timeout.connect(then)
        return timer

    # --- what the flow of readings asks for -------------------------------------------------------------------------

    def sift(self, *, unseen: bool = False) -> None:
        """From now on hold lines by cable; what a person types goes on. With ``unseen`` something came under the
        person's hands: what is typed on without a pause was meant for another row, and is held as well."""
        self._sifting = True
        self._unseen = self._unseen or unseen

    def close_up(self) -> None:
        """From now on hold every key that types."""
        self._sifting = self._closed = True

    def open_up(self) -> None:
        """The person may type again; lines by cable are held on."""
        self._closed = False

    def free(self) -> None:
        """The way is free: deliver what is held, in order."""
        self._sifting = self._closed = self._unseen = False
        self._let_line_in()
        if self._held:
            self._deliver_timer.start()

    def forget(self) -> None:
        """Drop what is held."""
        self._held.clear()
        self._line.clear()
        self._tell_held()

    def take_first(self) -> bool:
        """Take the first line held as if a person had typed it; whether there was one."""
        if not self._held or self._closed:
            return False
        self._take_line()
        return True

    def held(self) -> str:
        """What is held, as text."""
        return "".join(RETURN_SIGN if key.key() in _ENTER else key.text() for key in self._held)

    def when_at_rest(self, then: Callable[[], None]) -> None:
        """Call ``then`` once no line is being typed in one go: now, or with its end or its first pause."""
        if self._rest_timer.isActive() and self.text():
            self._at_rest.append(then)
        else:
            then()

    def take_rest(self) -> bool:
        """Call what waits for rest; whether anything did."""
        waiting, self._at_rest = self._at_rest, []
        for each in waiting:
            each()
        return bool(waiting)

    def rest_waits(self) -> bool:
        """Whether something waits for the line that is being typed to end."""
        return bool(self._at_rest)

    def hold_back(self) -> None:
        """The line at hand has ended, and waits now before all that is held."""
        keys = [_key(Qt.Key.Key_unknown, each) for each in self.text()]
        self._held.extendleft(reversed([*keys, _key(Qt.Key.Key_Return, "\r")]))
        self.clear()
        self._tell_held()

    def turned_down(self) -> None:
        """The text cannot be taken: what is typed next takes its place, unless it is mended with other keys first."""
        self._turned_down = True

    def point_at(self, at: int) -> None:
        """Mark one character of the text, without touching it."""
        shape = QTextCharFormat()
        shape.setFontUnderline(True)
        shape.setForeground(self.palette().brightText())
        kind = QInputMethodEvent.AttributeType.TextFormat
        mark = QInputMethodEvent.Attribute(kind, at - self.cursorPosition(), 1, shape)
        super().inputMethodEvent(QInputMethodEvent("", [mark]))

    # --- keys -------------------------------------------------------------------------------------------------------

    def event(self, event: QEvent) -> bool:
        """Undo and redo belong to the text only while there is one; Tab leaves the field as everywhere."""
        if event.type() != QEvent.Type.ShortcutOverride or not isinstance(event, QKeyEvent) or self.text():
            return super().event(event)
        if any(event.matches(key) for key in _OWN_UNDO):
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in _HELD_DOWN or event.modifiers() & _NOT_TYPED:
            event.ignore()
            return
        apart = self._apart(event)
        if self._letter_timer.isActive() and apart > TOGETHER:
            self._act_on_letter()
        self._letter_timer.stop()
        if self._types(event):
            self._rest_timer.start()
            if self._closed or (self._held and not self._sifting) or self._types_on(event, apart):
                self._hold([event.clone()])
            elif self._sifting:
                self._sift(event, apart)
            else:
                self._take(event)
            event.accept()
        else:
            self._let_line_in()
            self._take(event)

    def _types_on(self, event: QKeyEvent, apart: int) -> bool:
        """Whether a key belongs to what was being typed when something came that the person has not seen yet."""
        self._unseen = self._unseen and apart < LOOKS_UP
        begun = bool(self._held) and self._held[-1].key() not in _ENTER
        return self._unseen and (event.key() not in _ENTER or begun)

    def _apart(self, event: QKeyEvent) -> int:
        """Milliseconds since the key before, by the times at which they were pressed."""
        at = event.timestamp() or round(monotonic() * 1000)
        apart, self._last = at - self._last, at
        return apart if apart >= 0 else TOGETHER + 1

    @staticmethod
    def _types(event: QKeyEvent) -> bool:
        if event.key() in _ENTER:
            return True
        return bool(event.text()) and event.text().isprintable() and not event.modifiers() & _COMMANDS

    def _take(self, event: QKeyEvent) -> None:
        """A key that belongs to the row at hand."""
        key = event.key()
        if self._turned_down and key not in _ENTER and self._types(event):
            self.clear()
        self._turned_down = False
        if key in _ENTER:
            self.submitted.emit()
        elif key == Qt.Key.Key_Escape:
            event.setAccepted(self.leave())
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(-1 if key == Qt.Key.Key_Up else 1)
        else:
            empty = not self.text()
            super().keyPressEvent(event)
            if empty and self.text().upper() in self.letters:
                self._letter_timer.start()

    def _act_on_letter(self) -> None:
        self._letter_timer.stop()
        letter = self.text().upper()
        if letter in self.letters:
            self.clear()
            self.lettered.emit(letter)

    # --- holding ----------------------------------------------------------------------------------------------------

    def _sift(self, event: QKeyEvent, apart: int) -> None:
        """While a question stands: is this a line by cable, or typed?"""
        if apart <= TOGETHER and not self._line and self._let_in and self.text() == _text(self._let_in):
            self._line, self._let_in = self._let_in, []  # the line went on after all
            self.clear()
        if event.key() not in _ENTER:
            self._line.append(event.clone())
            self._line_timer.start()
        elif self._line and (not self.text() or len(self._line) >= LEAST_LINE):
            self._line_timer.stop()
            line, self._line = self._line, []
            self._hold([*line, event.clone()])
        elif self._line or self.text() or apart > SECOND_END:
            self._let_line_in()
            self._let_in = []
            self._take(event)
        # else: a second end of a line sent by cable

    def _let_line_in(self) -> None:
        """What came together was typed by hand after all."""
        self._line_timer.stop()
        line, self._line = self._line, []
        before = self.text()
        for key in line:
            self._take(key)
        if line:
            self._let_in = [] if before else line

    def _hold(self, keys: list[QKeyEvent]) -> None:
        self._held.extend(keys)
        self._tell_held()

    def _tell_held(self) -> None:
        self.held_changed.emit(self.held())

    def _deliver(self) -> None:
        """Deliver one line of what is held; the next one in the next turn, if the way is still free."""
        if self._sifting or self._closed:
            return
        self._take_line()
        if self._held and not self._sifting:
            self._deliver_timer.start()

    def _take_line(self) -> None:
        while self._held:
            key = self._held.popleft()
            self._take(key)
            if key.key() in _ENTER:
                break
        self._tell_held()

    def _rested(self) -> None:
        self.take_rest()


def _text(keys: list[QKeyEvent]) -> str:
    return "".join(key.text() for key in keys)


def _key(key: Qt.Key, text: str) -> QKeyEvent:
    return QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, text)
