"""What the face of a customer's form asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Fault, Field, Question, Sort, ask
from inspection.layout.as_written import corrected
from inspection.layout.layout import HEAD_FIELDS, RESULT_FIELDS, ROW_FIELDS, Grow, Layout
from inspection.reasons import Refused
from inspection.words.say import say, word

#: The choice that takes a value off a cell.
NOTHING = ""


def ask_blank(parent: QWidget, folder: str, customer: str) -> tuple[Path, str] | None:
    """A customer's blank workbook, and whose it is."""
    fields = (
        Field("file", word("desk.form.blank_file"), Sort.OPEN_FILE, folder, files="*.xlsx *.xlsm"),
        Field("customer", word("layout.field.customer"), Sort.TEXT, customer),
    )
    question = Question(
        word("desk.form.blank_title"),
        word("desk.form.blank_text"),
        fields,
        word("desk.form.blank_yes"),
        words.word("button.no"),
        check=_is_file,
    )
    answer = ask(parent, question)
    return (Path(answer["file"].strip()).expanduser(), answer["customer"].strip()) if answer else None


def _is_file(answer: dict[str, str]) -> str | Fault:
    file = Path(answer["file"].strip()).expanduser()
    return "" if file.is_file() else Fault("file", word("desk.form.no_file", file=str(file)))


def ask_value(parent: QWidget, cell: str, field: str, piece: int, *, in_table: bool) -> tuple[str, int] | None:
    """Which value goes to a cell: its field and, of results, the piece (from 1; 0: all); of the head, which serial or
    which paper."""
    known = (*ROW_FIELDS, *RESULT_FIELDS) if in_table else HEAD_FIELDS
    choices = ((NOTHING, word("desk.form.nothing")), *((each, word(f"layout.field.{each}")) for each in known))
    fields = [Field("field", word("desk.form.value"), Sort.CHOICE, field, choices, needed=False)]
    which = word("desk.form.piece" if in_table else "desk.form.which_one")
    fields.append(Field("piece", which, value=str(piece) if piece else "", needed=False))
    question = Question(
        word("desk.form.value_title", cell=cell),
        word("desk.form.value_text_table" if in_table else "desk.form.value_text"),
        tuple(fields),
        word("desk.form.value_yes"),
        words.word("button.no"),
        check=_is_piece,
    )
    answer = ask(parent, question)
    if answer is None:
        return None
    return answer["field"], int(answer.get("piece") or 0)


def _is_piece(answer: dict[str, str]) -> str | Fault:
    text = answer.get("piece", "").strip()
    return "" if not text or text.isdecimal() else Fault("piece", word("desk.form.piece_wrong"))


def ask_settings(parent: QWidget, layout: Layout) -> list[str] | None:
    """How a layout writes: corrections as ``inspection.layout.as_written`` reads them."""
    yes_no = (("yes", word("desk.form.yes")), ("no", word("desk.form.no")))
    grow = layout.tables[-1].grow if layout.tables else Grow.ROWS
    plain = {
        "unit": Field("unit", word("desk.form.unit"), Sort.CHOICE, layout.unit, _choices("unit", ("", "in", "mm"))),
        "decimals": Field(
            "decimals", word("desk.form.decimals"), value="" if layout.decimals is None else str(layout.decimals)
        ),
        "outward": Field("outward", word("desk.form.outward"), Sort.CHOICE, _yes(layout.outward), yes_no),
        "pattern": Field("pattern", word("desk.form.pattern"), Sort.CHOICE, _yes(layout.pattern), yes_no),
        "grow": Field("grow", word("desk.form.grow"), Sort.CHOICE, str(grow), _choices("grow", tuple(Grow))),
        "protected": Field("protected", word("desk.form.protected"), Sort.CHOICE, _yes(layout.into_protected), yes_no),
        "word conforming": Field(
            "word conforming", word("desk.form.conforming"), value=layout.words.get("conforming", "")
        ),
        "word not conforming": Field(
            "word not conforming", word("desk.form.not_conforming"), value=layout.words.get("not conforming", "")
        ),
        **{
            f"word {said}": Field(
                f"word {said}", word(f"desk.form.{said.replace(' ', '_')}"), value=layout.words.get(said, "")
            )
            for said in ("in doubt", "open", "not judged")
        },
        "word mark": Field("word mark", word("desk.form.mark"), value=layout.words.get("mark", "")),
    }

    def check(answer: dict[str, str]) -> str:
        try:
            corrected(layout, [f"{name}={answer[name]}" for name in plain])
        except Refused as refused:
            return " ".join(map(say, refused.reasons))
        return ""

    question = Question(
        word("desk.form.settings_title"),
        "",
        tuple(field._replace(needed=False) for field in plain.values()),
        word("desk.form.value_yes"),
        words.word("button.no"),
        check=check,
    )
    answer = ask(parent, question)
    return [f"{name}={answer[name]}" for name in plain] if answer is not None else None


def _yes(on: bool) -> str:
    return "yes" if on else "no"


def _choices(name: str, values: Sequence[str]) -> tuple[tuple[str, str], ...]:
    return tuple((str(value), word(f"desk.form.{name}_{value or 'drawn'}")) for value in values)


def ask_name(parent: QWidget, name: str, customer: str) -> str | None:
    """Under which name a layout is kept."""
    field = Field("name", word("desk.form.name"), value=name)
    question = Question(
        word("desk.form.keep_title", customer=customer),
        word("desk.form.keep_text"),
        (field,),
        word("desk.form.keep_yes"),
        words.word("button.no"),
    )
    answer = ask(parent, question)
    return answer["name"].strip() if answer else None


def ask_which(parent: QWidget, layouts: Sequence[Layout], at: str) -> Layout | None:
    """Which of a customer's layouts."""
    choices = tuple((each.identity, each.name) for each in layouts)
    field = Field("layout", word("desk.form.layout"), Sort.CHOICE, at or choices[0][0], choices)
    question = Question(
        word("desk.form.which_title"), "", (field,), word("desk.form.value_yes"), words.word("button.no")
    )
    answer = ask(parent, question)
    return next((each for each in layouts if answer and each.identity == answer["layout"]), None)


def ask_place(parent: QWidget, title: str, folder: str, name: str, *, beside: bool = False) -> dict[str, str] | None:
    """Where a file goes: folder and name; ``beside`` also asks for a file to go with it."""
    fields = [
        Field("folder", word("desk.export.folder"), Sort.FOLDER, folder),
        Field("name", word("desk.export.name"), Sort.TEXT, name),
    ]
    if beside:
        fields.append(Field("beside", word("desk.package.beside"), Sort.OPEN_FILE, "", needed=False))
    text = word("desk.package.text" if beside else "desk.form.export_text")
    question = Question(title, text, tuple(fields), word("desk.export.yes"), words.word("button.no"), check=_folder)
    return ask(parent, question)


def _folder(answer: dict[str, str]) -> str:
    folder = Path(answer["folder"].strip()).expanduser()
    if not folder.is_dir():
        return word("desk.export.no_folder", folder=str(folder))
    name = answer["name"].strip()
    if Path(name).name != name:
        return word("desk.export.name_only", name=name)
    beside = answer.get("beside", "").strip()
    if beside and not Path(beside).expanduser().is_file():
        return word("desk.form.no_file", file=beside)
    return ""
