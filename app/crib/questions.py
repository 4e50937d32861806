"""What the crib asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QWidget

from app.crib.reopened import counted
from app.jobs.local_time import moment
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.attached import Attached
from inspection.instruments.as_written import length_unit
from inspection.instruments.record import Instrument
from inspection.instruments.sets import missing_text, read_missing
from inspection.reasons import Refused
from inspection.sheet.reopening import reading_text
from inspection.words.say import say, word

if TYPE_CHECKING:
    from inspection.measuring.proofs import CheckRecord
    from inspection.sheet.reopening import ReopenedRow

#: Rows that a question lists of those that would be re-opened; the others are counted.
MOST_LISTED = 100
#: A whole crib of templates is due so many days from today, until its own dates are entered.
FIRST_DUE = 365
LONGEST_NOTE = 400


def ask_holder(parent: QWidget, instrument: Instrument, person: str) -> str:
    """Who takes an instrument, "" if nobody does."""
    field = Field("holder", word("crib.lend.field"), value=person)
    answer = ask(parent, _question(word("crib.lend.title", tag=instrument.tag), "", (field,), "crib.lend.yes"))
    return answer["holder"].strip() if answer else ""


class Out(NamedTuple):
    """Why an instrument goes out of service, and whether that is because it can't be trusted."""

    reason: str
    for_cause: bool


def ask_out_of_service(parent: QWidget, instrument: Instrument) -> Out | None:
    """Why an instrument goes out of service, None if it does not."""
    sorts = tuple((sort, word(f"crib.out.sort.{sort}")) for sort in ("aside", "cause"))
    fields = (
        Field("reason", word("crib.out.field")),
        Field("sort", word("crib.out.sort"), Sort.CHOICE, "aside", sorts),
    )
    title = word("crib.out.title", tag=instrument.tag)
    answer = ask(parent, _question(title, word("crib.out.text"), fields, "crib.out.yes"))
    return Out(answer["reason"].strip(), answer["sort"] == "cause") if answer else None


def ask_removal(parent: QWidget, instrument: Instrument, check: CheckRecord, rows: Sequence[ReopenedRow]) -> bool:
    """Whether an instrument goes out of service for cause, with what that puts in question row by row."""
    listed = [(*_place(row), "; ".join(map(reading_text, row.readings))) for row in rows[:MOST_LISTED]]
    if len(rows) > MOST_LISTED:
        listed.append((word("crib.cause.more", n=len(rows) - MOST_LISTED), "", ""))
    since = word("crib.cause.since", since=moment(check.since)) if check.since else word("crib.cause.never")
    said = word("crib.cause.rows", count=counted(rows)) if rows else word("crib.cause.no_rows")
    title = word("crib.cause.title", tag=instrument.tag)
    question = _question(title, f"{since} {said}", (), "crib.cause.yes")
    return ask(parent, question._replace(rows=tuple(listed))) is not None


def _place(row: ReopenedRow) -> tuple[str, str]:
    """The sheet by its part, and the row on its piece."""
    part = " ".join(filter(None, (row.part, row.revision)))
    code = "crib.cause.row_marked" if row.sealed else "crib.cause.row"
    return part, word(code, number=row.number, serial=row.serial)


def ask_back_in_service(parent: QWidget, instrument: Instrument) -> str | None:
    """The note of an instrument that goes back into service, None if it does not."""
    field = Field("note", word("crib.field.note"), value=instrument.note, needed=False)
    title = word("crib.back.title", tag=instrument.tag)
    answer = ask(parent, _question(title, word("crib.back.text"), (field,), "crib.back.yes"))
    return answer["note"].strip() if answer else None


def ask_missing(parent: QWidget, instrument: Instrument) -> tuple[int, ...] | None:
    """The sizes that are missing from a set, None if the person went back."""
    unit = length_unit(instrument.unit)
    before = missing_text(instrument.missing, instrument.members, unit)

    def fault(answer: dict[str, str]) -> str:
        try:
            read_missing(answer["missing"], instrument.members, unit)
        except Refused as refused:
            return " ".join(say(reason) for reason in refused.reasons)
        return ""

    field = Field("missing", word("crib.field.missing"), value=before, needed=False)
    title = word("crib.missing.title", tag=instrument.tag)
    question = _question(title, word("crib.missing.text"), (field,), "crib.missing.yes")
    answer = ask(parent, question._replace(check=fault))
    return read_missing(answer["missing"], instrument.members, unit) if answer else None


def ask_whole_crib(parent: QWidget, today: str) -> tuple[str, str] | None:
    """Due date and place of a whole crib of templates."""
    due = (date.fromisoformat(today) + timedelta(days=FIRST_DUE)).isoformat()

    def fault(answer: dict[str, str]) -> str:
        try:
            right = date.fromisoformat(answer["due"].strip()).isoformat() == answer["due"].strip()
        except ValueError:
            right = False
        return "" if right else word("crib.cell.day", text=answer["due"])

    fields = (
        Field("due", word("crib.field.due"), value=due),
        Field("place", word("crib.field.place"), needed=False),
    )
    question = _question(word("crib.whole.title"), word("crib.whole.text"), fields, "crib.whole.yes")
    answer = ask(parent, question._replace(check=fault))
    return (answer["due"].strip(), answer["place"].strip()) if answer else None


def ask_leaving(parent: QWidget) -> bool:
    """Whether a form is left though something was typed into it."""
    return ask(parent, _question(word("crib.leave.title"), word("crib.leave.text"), (), "crib.leave.yes")) is not None


def ask_without_due(parent: QWidget, instrument: Instrument) -> bool:
    """Whether an instrument of a kind that needs calibration is kept without a due date."""
    title = word("crib.no_due.title", tag=instrument.tag)
    return ask(parent, _question(title, word("crib.no_due.text"), (), "crib.no_due.yes")) is not None


def ask_same_points(parent: QWidget, before: Instrument, now: Instrument) -> bool:
    """Whether another certificate states the very table of the one before."""
    title = word("crib.same_points.title", number=now.certificate, before=before.certificate)
    text = word("crib.same_points.text", number=now.certificate)
    return ask(parent, _question(title, text, (), "crib.same_points.yes")) is not None


def ask_older(parent: QWidget, before: Instrument, now: Instrument) -> bool:
    """Whether another certificate is dated before the one that it stands in place of."""
    title = word("crib.older.title", number=now.certificate, before=before.certificate)
    text = word("crib.older.text", number=now.certificate, day=now.certified, before=before.certified)
    return ask(parent, _question(title, text, (), "crib.older.yes")) is not None


# --- files ----------------------------------------------------------------------------------------------------


def ask_file(parent: QWidget) -> Path | None:
    """The crib file to take in."""
    field = Field("file", word("crib.take_in.file"), Sort.OPEN_FILE, files="*.csv *.xlsx")
    answer = ask(parent, _question(word("crib.take_in.title"), word("crib.take_in.text"), (field,), "crib.take_in.yes"))
    return Path(answer["file"]).expanduser() if answer else None


def ask_export(parent: QWidget) -> Path | None:
    """Where the crib is written to; an ending that is missing is added."""
    field = Field("file", word("crib.export.file"), Sort.SAVE_FILE, "crib.xlsx", files="*.xlsx *.csv")
    answer = ask(parent, _question(word("crib.export.title"), word("crib.export.text"), (field,), "crib.export.yes"))
    if answer is None:
        return None
    file = Path(answer["file"]).expanduser()
    return file if file.suffix else file.with_suffix(".xlsx")


def ask_attached(parent: QWidget, instrument: Instrument) -> Path | None:
    """The file to attach to a record."""
    field = Field("file", word("crib.attach.file"), Sort.OPEN_FILE)
    title = word("crib.attach.title", tag=instrument.tag)
    answer = ask(parent, _question(title, word("crib.attach.text"), (field,), "crib.attach.yes"))
    return Path(answer["file"]).expanduser() if answer else None


def ask_saved_out(parent: QWidget, instrument: Instrument) -> tuple[Attached, Path] | None:
    """Which attached file is saved out, and where."""
    named = {one.digest: one for one in instrument.files}
    last = instrument.files[-1]
    choices = tuple((one.digest, one.name) for one in instrument.files)
    fields = (
        Field("which", word("crib.field.files"), Sort.CHOICE, last.digest, choices),
        Field("to", word("crib.save_out.to"), Sort.SAVE_FILE, last.name),
    )
    title = word("crib.save_out.title", tag=instrument.tag)
    answer = ask(parent, _question(title, "", fields, "crib.save_out.yes"))
    return (named[answer["which"]], Path(answer["to"]).expanduser()) if answer else None


def ask_shown(parent: QWidget, instrument: Instrument) -> Attached | None:
    """Which attached file is shown; not asked where there is one alone."""
    if len(instrument.files) == 1:
        return instrument.files[0]
    named = {one.digest: one for one in instrument.files}
    choices = tuple((one.digest, one.name) for one in instrument.files)
    field = Field("which", word("crib.field.files"), Sort.CHOICE, instrument.files[-1].digest, choices)
    title = word("crib.show_file.title", tag=instrument.tag)
    answer = ask(parent, _question(title, "", (field,), "crib.show_file.yes"))
    return named[answer["which"]] if answer else None


def _question(title: str, text: str, fields: tuple[Field, ...], yes: str) -> Question:
    return Question(title, text, fields, word(yes), words.word("button.no"))
