"""What the sheets room asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.background.worker import Failure
from app.shelf.model import Line
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.reasons import Reason
from inspection.words.say import word

#: Forms that a sheet goes out in, and the ending of each.
FORMS = {"pdf": ".pdf", "xlsx": ".xlsx", "csv": ".csv", "data": ".json"}


def ask_new_sheet(parent: QWidget) -> tuple[Path, tuple[str, ...]] | None:
    """The feature file to take in, and the serials if the person named any."""
    fields = (
        Field("file", word("shelf.new.file"), Sort.OPEN_FILE, files="*.csv"),
        Field("serials", word("shelf.new.serials"), needed=False),
    )
    answer = ask(parent, _question("shelf.new.title", word("shelf.new.text"), fields, "shelf.new.yes"))
    if answer is None:
        return None
    serials = tuple(part.strip() for part in answer["serials"].split(",") if part.strip())
    return Path(answer["file"]).expanduser(), serials


def tell_faults(parent: QWidget, failure: Failure, say: Callable[[Reason], str]) -> bool:
    """Show every fault of a file by its place; False if the failure is none of a file's content."""
    if not failure.reasons or failure.reasons[0].code != "intake.file_refused":
        return False
    head, *rest = failure.reasons
    pairs = list(zip(rest[::2], rest[1::2], strict=False))
    rows = [(say(place), say(fault)) for place, fault in pairs]
    rows += [("", say(more)) for more in rest[2 * len(pairs) :]]
    count = head.parts["n"]
    title = word("shelf.new.faults", file=head.parts["file"])
    text = word("shelf.new.faults.text", n=count)
    ask(parent, Question(title, text, yes=words.word("button.close"), rows=tuple(rows)))
    return True


def ask_template(parent: QWidget) -> Path | None:
    """Where to write an empty feature file."""
    field = Field("file", word("shelf.template.file"), Sort.SAVE_FILE, "features.csv", files="*.csv")
    answer = ask(parent, _question("shelf.template.title", "", (field,), "shelf.template.yes"))
    return Path(answer["file"]).expanduser() if answer else None


def ask_signing(parent: QWidget, line: Line, person: str) -> tuple[str, str] | None:
    """The passphrase that signs, and why the sheet is signed with rows open if there are any."""
    fields = [Field("passphrase", word("shelf.sign.passphrase", person=person), Sort.SECRET)]
    text = word("shelf.sign.text", person=person)
    if line.open:
        fields.insert(0, Field("incomplete", word("shelf.sign.incomplete")))
        text = f"{text} {word('shelf.sign.open', n=line.open)}"
    title = word("shelf.sign.title", part=line.part)
    answer = ask(parent, Question(title, text, tuple(fields), word("shelf.sign.yes"), words.word("button.no")))
    return (answer["passphrase"], answer.get("incomplete", "")) if answer else None


def ask_export(parent: QWidget, line: Line) -> tuple[str, Path] | None:
    """The form a sheet goes out in, and the file; an ending that is missing is added."""
    forms = tuple((form, word(f"shelf.form.{form}")) for form in FORMS)
    fields = (
        Field("form", word("shelf.export.form"), Sort.CHOICE, "pdf", forms),
        Field("file", word("shelf.export.file"), Sort.SAVE_FILE, _suggested(line)),
    )
    title = word("shelf.export.title", part=line.part)
    answer = ask(parent, Question(title, "", fields, word("shelf.export.yes"), words.word("button.no")))
    if answer is None:
        return None
    file, ending = Path(answer["file"]).expanduser(), FORMS[answer["form"]]
    return answer["form"], file if file.suffix.lower() == ending else file.with_name(file.name + ending)


def _suggested(line: Line) -> str:
    """A file name of part and revision, with nothing in it that a disk refuses."""
    name = "-".join(part for part in (line.part, line.revision) if part)
    return "".join(sign if sign.isalnum() or sign in "-_." else "_" for sign in name)


def _question(title: str, text: str, fields: tuple[Field, ...], yes: str) -> Question:
    return Question(word(title), text, fields, word(yes), words.word("button.no"))
