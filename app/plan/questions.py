"""What the Plan room asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtWidgets import QWidget

from app.plan.work import SheetAhead
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.drawing.plan import Part
from inspection.reasons import Reason
from inspection.sheet.head import Head
from inspection.words.say import word

if TYPE_CHECKING:
    from app.jobs.taking_in import Preview, PreviewRow

#: Fields of a sheet's head that are asked when it is made; the rest is written at the Desk.
HEAD_ASKED = ("customer", "order", "order_line", "lot", "process", "machine", "temperature")
FEATURE_FILES = "*.csv *.xlsx"
#: Rows of a file that are shown before it is taken in; further ones are counted.
MOST_SHOWN = 200


def _question(code: str, text: str, fields: tuple[Field, ...], **parts: str) -> Question:
    return Question(word(f"{code}.title", **parts), text, fields, word(f"{code}.yes"), words.word("button.no"))


def ask_revision(parent: QWidget, part: Part) -> tuple[str, str] | None:
    """The next revision of a part and of its drawing."""
    fields = (
        Field("revision", word("plan.head.revision.long"), value=part.revision),
        Field("drawing_revision", word("plan.head.drawing_revision.long"), value=part.drawing_revision, needed=False),
    )
    answer = ask(parent, _question("plan.revise", word("plan.revise.text"), fields, part=part.number))
    return (answer["revision"].strip(), answer["drawing_revision"].strip()) if answer else None


def ask_drop(parent: QWidget, part: str) -> bool:
    """Whether a draft is to be forgotten."""
    return ask(parent, _question("plan.drop", word("plan.drop.text"), (), part=part)) is not None


class Renumbering(NamedTuple):
    """How to renumber: "one" (to ``number``), "shift" (by ``by``), "order" or "sort"."""

    how: str
    number: str = ""
    by: int = 0


def ask_renumber(parent: QWidget, number: str) -> Renumbering | None:
    """How rows are to be renumbered; the row at hand bears ``number``."""
    ways = tuple((how, word(f"plan.renumber.{how}", number=number)) for how in ("one", "shift", "order", "sort"))
    fields = (
        Field("how", word("plan.renumber.how"), Sort.CHOICE, "one", ways),
        Field("number", word("plan.renumber.number"), value=number, needed=False),
        Field("by", word("plan.renumber.by"), value="1", needed=False),
    )
    question = _question("plan.renumber", word("plan.renumber.text"), fields)
    answer = ask(parent, question._replace(check=_renumber_fault))
    if answer is None:
        return None
    return Renumbering(answer["how"], answer["number"].strip(), _whole(answer["by"]) or 0)


def _renumber_fault(answer: dict[str, str]) -> str:
    if answer["how"] == "shift" and not _whole(answer["by"]):
        return word("plan.renumber.by.wrong")
    if answer["how"] == "one" and not answer["number"].strip():
        return word("row.number_missing")
    return ""


def _whole(text: str) -> int | None:
    plainly = text.strip().replace("−", "-")
    sign, digits = plainly[:1], plainly.lstrip("+-")
    if not digits.isdecimal() or len(digits) > 4 or len(plainly) - len(digits) > 1:
        return None
    return -int(digits) if sign == "-" else int(digits)


# --- issuing --------------------------------------------------------------------------------------------------


def ask_issue(
    parent: QWidget, part: str, ahead: tuple[SheetAhead, ...], say: Callable[[Reason], str]
) -> tuple[SheetAhead, ...] | None:
    """Whether to issue the plan, and which sheets go over to it at once. Each sheet that is not sealed is told with
    the verdicts that would change."""
    if not ahead:
        asked = ask(parent, _question("plan.issue", word("plan.issue.text"), (), part=part))
        return () if asked is not None else None
    rows = tuple((_named(sheet), " ".join(map(say, sheet.said))) for sheet in ahead)
    choices = (("stay", word("plan.issue.stay")), ("go", word("plan.issue.go")))
    fields = tuple(
        Field(sheet.sheet, _named(sheet), Sort.CHOICE, "stay" if sheet.changing else "go", choices)
        for sheet in ahead
        if sheet.can
    )
    text = word("plan.issue.text.sheets", n=len(ahead))
    answer = ask(parent, _question("plan.issue", text, fields, part=part)._replace(rows=rows))
    if answer is None:
        return None
    return tuple(sheet for sheet in ahead if answer.get(sheet.sheet) == "go")


def _named(sheet: SheetAhead) -> str:
    return word("plan.issue.sheet", serials=sheet.serials, day=sheet.day)


def ask_sheet(parent: QWidget, part: Part) -> tuple[tuple[str, ...], Head] | None:
    """Serials and the first of the head of a sheet."""
    fields = (
        Field("serials", word("plan.sheet.serials")),
        *(
            Field(name, word(f"plan.sheet.{name}"), value=part.customer if name == "customer" else "", needed=False)
            for name in HEAD_ASKED
        ),
    )
    answer = ask(parent, _question("plan.sheet", word("plan.sheet.text"), fields, part=part.number))
    if answer is None:
        return None
    serials = serials_of(answer["serials"])
    asked: dict[str, Any] = {name: answer[name].strip() for name in HEAD_ASKED}
    return serials, Head(**asked)


def serials_of(text: str) -> tuple[str, ...]:
    """Serials parted by commas or semicolons."""
    return tuple(part for part in (piece.strip() for piece in text.replace(";", ",").split(",")) if part)


# --- files ----------------------------------------------------------------------------------------------------


def ask_file(parent: QWidget) -> tuple[Path, tuple[str, ...]] | None:
    """The feature file to take in, and the serials if the person named any."""
    fields = (
        Field("file", word("plan.file.file"), Sort.OPEN_FILE, files=FEATURE_FILES),
        Field("serials", word("plan.sheet.serials"), needed=False),
    )
    answer = ask(parent, _question("plan.file", word("plan.file.text"), fields))
    return (Path(answer["file"]).expanduser(), serials_of(answer["serials"])) if answer else None


def ask_take_in(parent: QWidget, seen: Preview, serials: tuple[str, ...], say: Callable[[Reason], str]) -> bool:
    """Whether a feature file is taken in, with every row that would come of it."""
    assert seen.file is not None
    part, pieces = seen.file.part, ", ".join(serials or seen.file.serials)
    told = [word("preview.part", part=part.number, revision=part.revision, rows=len(seen.rows))]
    told += [word("preview.pieces", serials=pieces) if pieces else word("plan.file.no_serials")]
    told += map(say, seen.notices)
    rows: list[tuple[str, ...]] = [_as_it_comes(row) for row in seen.rows[:MOST_SHOWN]]
    if len(seen.rows) > MOST_SHOWN:
        rows.append(("", word("plan.file.more_rows", n=len(seen.rows) - MOST_SHOWN)))
    question = _question("plan.file.look", " ".join(told), (), file=seen.name)
    return ask(parent, question._replace(rows=tuple(rows))) is not None


def _as_it_comes(row: PreviewRow) -> tuple[str, ...]:
    """Number, kind and limits of a row, and its requirement as drawn."""
    asked = row.characteristic
    return asked.number, str(asked.kind), row.limits, asked.requirement.written


def ask_template(parent: QWidget) -> Path | None:
    """Where to write an empty feature file."""
    field = Field("file", word("plan.template.file"), Sort.SAVE_FILE, "features.csv", files=FEATURE_FILES)
    answer = ask(parent, _question("plan.template", word("plan.template.text"), (field,)))
    return Path(answer["file"]).expanduser() if answer else None
