"""What the Desk asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.jobs.sending import FORMS, USUAL
from app.parts.lacking import Lack
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.words.say import word

#: The choice of every form that a sheet can go out in.
ALL = "all"


def ask_export(
    parent: QWidget, forms: tuple[str, ...], chosen: str, folder: str, name: str, title: str
) -> dict[str, Path] | None:
    """In which of ``forms`` a sheet goes out, and the place of each file; None if the person went back."""
    offered = (*forms, ALL)
    fields = (
        Field(
            "form", word("desk.export.form"), Sort.CHOICE, chosen, tuple((f, word(f"desk.form.{f}")) for f in offered)
        ),
        Field("folder", word("desk.export.folder"), Sort.FOLDER, folder),
        Field("name", word("desk.export.name"), Sort.TEXT, name),
    )
    text = word("desk.export.text") if "data" in forms else word("desk.export.text_no_data")
    question = Question(title, text, fields, word("desk.export.yes"), words.word("button.no"), check=_fault)
    answer = ask(parent, question)
    if answer is None:
        return None
    usual = tuple(form for form in forms if form in USUAL)
    wanted = usual if answer["form"] == ALL else (answer["form"],)
    return {form: _place(answer, form) for form in wanted}


def _place(answer: dict[str, str], form: str) -> Path:
    """A file's place, with the ending of its form."""
    name, ending = answer["name"].strip(), FORMS[form]
    whole = name if name.lower().endswith(ending) else name + ending
    return Path(answer["folder"].strip()).expanduser() / whole


def _fault(answer: dict[str, str]) -> str:
    """What is wrong with folder or name, before anything is made."""
    folder = Path(answer["folder"].strip()).expanduser()
    if not folder.is_dir():
        return word("desk.export.no_folder", folder=str(folder))
    name = answer["name"].strip()
    return word("desk.export.name_only", name=name) if Path(name).name != name else ""


def ask_despite(parent: QWidget, lacks: Sequence[Lack], title: str) -> bool:
    """Whether a sheet goes out though it is stopped; what is only to be borne in mind stays at the Desk."""
    rows = tuple((lack.where, lack.text) for lack in lacks if lack.stops)
    question = Question(
        title, word("desk.despite.text"), (), word("desk.despite.yes"), words.word("button.no"), rows=rows
    )
    return ask(parent, question) is not None


def ask_replace(parent: QWidget, places: Sequence[Path]) -> bool:
    """Whether files that are there already are replaced."""
    rows = tuple(("", place.name) for place in places)
    title = word("desk.replace.title", n=len(places))
    text = word("desk.replace.text", folder=str(places[0].parent))
    question = Question(title, text, (), word("desk.replace.yes"), words.word("button.no"), rows=rows)
    return ask(parent, question) is not None


def ask_file(parent: QWidget, folder: str) -> Path | None:
    """A file to check."""
    field = Field("file", word("desk.check.file"), Sort.OPEN_FILE, folder)
    question = Question(
        word("desk.check.title"), word("desk.check.text"), (field,), word("desk.check.yes"), words.word("button.no")
    )
    answer = ask(parent, question)
    return Path(answer["file"].strip()).expanduser() if answer else None


def tell_checked(parent: QWidget, name: str, whole: bool, said: Sequence[str]) -> None:
    """What a check came to."""
    title = word("desk.checked.whole" if whole else "desk.checked.not", name=name)
    rows = tuple(("", each) for each in said)
    ask(parent, Question(title, "", yes=words.word("button.close"), rows=rows))
