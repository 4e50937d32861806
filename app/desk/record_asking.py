"""What the record asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.attached import Attached
from inspection.words.say import word


def _asked(parent: QWidget, title: str, text: str, fields: tuple[Field, ...], yes: str) -> dict[str, str] | None:
    return ask(parent, Question(title, text, fields, yes, words.word("button.no")))


def ask_strike(parent: QWidget, name: str) -> str | None:
    """Why an entry is struck; None if the person went back."""
    title, text = word("record.strike.title", name=name), word("record.strike.text")
    answer = _asked(parent, title, text, (Field("reason", word("record.strike.reason")),), word("record.strike.yes"))
    return answer["reason"] if answer is not None else None


def ask_discard(parent: QWidget) -> bool:
    """Whether what was typed is left unwritten."""
    title, text = word("record.discard.title"), word("record.discard.text")
    return _asked(parent, title, text, (), word("record.discard.yes")) is not None


def ask_attach(parent: QWidget, name: str, folder: str) -> Path | None:
    """The file to attach."""
    title, text = word("record.attach.title", name=name), word("record.attach.text")
    field = Field("file", word("record.attach.file"), Sort.OPEN_FILE, f"{folder}/" if folder else "")
    answer = _asked(parent, title, text, (field,), word("record.attach.yes"))
    return Path(answer["file"].strip()).expanduser() if answer is not None else None


def ask_save(parent: QWidget, files: Sequence[Attached], folder: str) -> tuple[Attached, Path] | None:
    """Which attached file is written out, and where. A place that is a folder keeps the file's own name."""
    first = str(Path(folder) / files[0].name) if folder and len(files) == 1 else folder or files[0].name
    fields = (*_which(files), Field("place", word("record.save.place"), Sort.SAVE_FILE, first))
    answer = _asked(parent, word("record.save.title"), word("record.save.text"), fields, word("record.save.yes"))
    if answer is None:
        return None
    named = _named(files, answer)
    place = Path(answer["place"].strip()).expanduser()
    return named, place / named.name if place.is_dir() else place


def ask_drop(parent: QWidget, files: Sequence[Attached]) -> Attached | None:
    """Which file no longer belongs to an entry."""
    title, text = word("record.drop.title"), word("record.drop.text")
    field = Field("which", word("record.which"), Sort.CHOICE, files[0].digest, _choices(files))
    answer = _asked(parent, title, text, (field,), word("record.drop.yes"))
    return _named(files, answer) if answer is not None else None


def _which(files: Sequence[Attached]) -> tuple[Field, ...]:
    if len(files) == 1:
        return ()
    return (Field("which", word("record.which"), Sort.CHOICE, files[0].digest, _choices(files)),)


def _choices(files: Sequence[Attached]) -> tuple[tuple[str, str], ...]:
    return tuple((file.digest, file.name) for file in files)


def _named(files: Sequence[Attached], answer: dict[str, str]) -> Attached:
    return next((file for file in files if file.digest == answer.get("which")), files[0])
