"""Every question the window asks goes through ``ask``: one function, which tests replace."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QWidget


class Sort(Enum):
    """What a field of a question takes."""

    TEXT = "text"
    SECRET = "secret"  # a passphrase: never shown, never kept
    CHOICE = "choice"
    OPEN_FILE = "open file"
    SAVE_FILE = "save file"
    FOLDER = "folder"


class Field(NamedTuple):
    """One field: its name in the answer, its label, what stands in it at first. ``choices`` are (value, label) pairs;
    ``files`` is a file pattern such as ``*.csv``; ``hint`` stands in a line that is empty."""

    name: str
    label: str
    sort: Sort = Sort.TEXT
    value: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    files: str = ""
    needed: bool = True
    hint: str = ""


class Fault(NamedTuple):
    """What is wrong with one field: a sentence, and the character of its text (-1: all of it)."""

    field: str
    text: str
    at: int = -1


class Question(NamedTuple):
    """A question: its heading, what stands below it, its fields, and the words of its buttons.

    Without fields it is a statement to agree to; without ``no`` there is one button. ``rows`` are shown in columns, a
    name first. ``check`` looks at the answer before it is taken and returns a sentence if it cannot be, which is shown
    while the question stays, or what is wrong with one field, which is shown there. ``waits`` says how long one waits
    before the answer is taken, "" if not, and is shown counting down. ``fault`` is what was wrong with an answer that
    was tried, where the question is put anew.
    """

    title: str
    text: str = ""
    fields: tuple[Field, ...] = ()
    yes: str = ""
    no: str = ""
    rows: tuple[tuple[str, ...], ...] = ()
    check: Callable[[dict[str, str]], str | Fault] | None = None
    waits: Callable[[], str] | None = None
    fault: str | Fault = ""


Answer = dict[str, str] | None


def ask(parent: QWidget, question: Question) -> Answer:
    """Ask; the fields by name, or None if the person went back. A question without fields answers ``{}`` for yes."""
    return _asker(parent, question)


def _show(parent: QWidget, question: Question) -> Answer:
    from app.window.dialog import QuestionDialog

    dialog = QuestionDialog(parent, question)
    try:
        return dialog.answer() if dialog.exec() else None
    finally:
        dialog.deleteLater()


_asker: Callable[[QWidget, Question], Answer] = _show


def stay_with(dialog: QDialog) -> None:
    """Open a room's own dialog, one that is worked in for a while: over its window, which it does not hold up, and gone
    for good once it is closed. What it asks meanwhile goes through ``ask``."""
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    dialog.open()


def replace_asker(asker: Callable[[QWidget, Question], Answer] | None) -> None:
    """Let ``asker`` answer instead of the dialog (tests, walks); None puts the dialog back."""
    global _asker  # noqa: PLW0603 - the one place where questions are answered
    _asker = asker or _show
