"""What the Bench asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.words.say import word

if TYPE_CHECKING:
    from inspection.sheet.pull_page import PullLine, PullPage


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


def ask_fetch(parent: QWidget, page: PullPage) -> Path | None:
    """Show what to fetch and the route; the file to write the page to, None if it is not wanted."""
    rows = [(f"{one.stops}   {one.tag}", _fetched(one)) for one in page.pulls]
    rows += [("", lack) for lack in page.lacks]
    rows.append((page.labels["section.route"], ""))
    rows += [(f"{one.order}   {one.set_up}", f"{one.instrument}: {one.rows}") for one in page.legs]
    text = word("bench.fetch.text", instruments=page.counts[0], stops=page.counts[1])
    question = Question(
        word("bench.fetch.title"), text, yes=word("bench.fetch.yes"), no=words.word("button.close"), rows=tuple(rows)
    )
    if ask(parent, question) is None:
        return None
    field = Field("file", word("bench.fetch.file"), Sort.SAVE_FILE, word("bench.fetch.name"), files="*.pdf")
    answer = ask(parent, Question(page.title, "", (field,), word("bench.fetch.yes"), words.word("button.no")))
    if answer is None:
        return None
    file = Path(answer["file"]).expanduser()
    return file if file.suffix.lower() == ".pdf" else file.with_name(f"{file.name}.pdf")


def _fetched(one: PullLine) -> str:
    """One instrument to fetch: what it is, where it lies, until when it is good, sizes, rows, and what stands against
    it; below that a line each of what to take out of it."""
    told = (one.instrument, one.place, one.due, "; ".join(one.sizes), one.rows, *one.minds)
    return "\n".join(("   ·   ".join(filter(None, told)), *(take.told for take in one.takes)))
