"""What the Bench asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.words.say import word


def ask_reason(parent: QWidget, title: str, text: str = "", *, yes: str = "") -> str:
    """Why something is done; "" if the person went back."""
    field = Field("reason", word("bench.reason"))
    answer = ask(parent, Question(title, text, (field,), yes or word("bench.reason.yes"), words.word("button.no")))
    return answer["reason"].strip() if answer else ""


def ask_note(parent: QWidget, number: str, serial: str) -> str:
    """A note to a row."""
    field = Field("note", word("bench.note"))
    title = word("bench.note.title", number=number, serial=serial)
    answer = ask(parent, Question(title, "", (field,), word("bench.note.yes"), words.word("button.no")))
    return answer["note"].strip() if answer else ""


def ask_instrument(
    parent: QWidget,
    number: str,
    choices: Sequence[tuple[str, str]],
    barred: Sequence[tuple[str, str]],
    chosen: str,
) -> tuple[str, str] | None:
    """Which of the methods ``choices`` (key, label) and why; ``barred`` (name, reasons) are shown beside, not to
    choose from."""
    fields = (Field("method", word("bench.other.method"), Sort.CHOICE, chosen, tuple(choices)), _reason())
    title = word("bench.other.title", number=number)
    text = word("bench.other.barred") if barred else ""
    question = Question(
        title, text, fields, word("bench.other.yes"), words.word("button.no"), rows=tuple(barred), check=_needs_reason
    )
    answer = ask(parent, question)
    return (answer["method"], answer["reason"].strip()) if answer else None


def tell_barred(parent: QWidget, title: str, barred: Sequence[tuple[str, str]]) -> None:
    """Why nothing can be chosen."""
    ask(parent, Question(title, "", yes=words.word("button.close"), rows=tuple(barred)))


def _reason() -> Field:
    return Field("reason", word("bench.reason"))


def _needs_reason(answer: dict[str, str]) -> str:
    return "" if answer["reason"].strip() else words.word("field.needed", field=word("bench.reason"))
