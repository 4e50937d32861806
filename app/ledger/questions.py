"""What the Ledger asks, all through the window's one question."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QWidget

from app.jobs import finding
from app.ledger.line import Line
from app.window import words
from app.window.asking import Fault, Field, Question, Sort, ask
from inspection.reasons import Refused
from inspection.sheet.state import Shop
from inspection.words.say import say, word


def ask_round(parent: QWidget, line: Line) -> str:
    """Why a new round begins on a signed sheet; "" if the person went back."""
    field = Field("reason", word("ledger.round.reason"))
    title = word("ledger.round.title", part=line.part)
    question = Question(title, word("ledger.round.text"), (field,), word("ledger.round.yes"), words.word("button.no"))
    answer = ask(parent, question)
    return answer["reason"].strip() if answer else ""


def ask_next(parent: QWidget, line: Line) -> tuple[tuple[str, ...], str] | None:
    """Serials of the part's next pieces, and the order they are made for."""
    fields = (
        Field("serials", word("ledger.next.serials")),
        Field("order", word("ledger.next.order"), needed=False),
    )
    title = word("ledger.next.title", part=line.part)
    question = Question(title, word("ledger.next.text"), fields, word("ledger.next.yes"), words.word("button.no"))
    answer = ask(parent, question)
    if answer is None:
        return None
    serials = tuple(part.strip() for part in answer["serials"].split(",") if part.strip())
    return serials, answer.get("order", "").strip()


def ask_fields(parent: QWidget, shop: Shop, line: str) -> str | None:
    """A line to look for by its fields, from the line that stands there; None if the person went back."""
    named, text = finding.parted(line)
    fields = [Field("text", word("ledger.fields.text"), value=text, needed=False)]
    for name in finding.FIELDS:
        value = named[name].text if name in named else ""
        choices = _choices(name, shop)
        label, hint = word(f"ledger.fields.{name}"), word(f"ledger.fields.hint.{name}") if name in HINTED else ""
        sort = Sort.CHOICE if choices else Sort.TEXT
        fields.append(Field(name, label, sort, value, choices, needed=False, hint=hint))
    title, yes = word("ledger.fields.title"), word("ledger.cut.yes")
    question = Question(
        title,
        word("ledger.fields.about"),
        tuple(fields),
        yes,
        words.word("button.no"),
        check=partial(_fault, shop),
    )
    answer = ask(parent, question)
    return None if answer is None else _line(answer)


#: Fields that say how they are filled in.
HINTED = ("revision", "instrument", "since", "until")


def _choices(name: str, shop: Shop) -> tuple[tuple[str, str], ...]:
    """What is chosen from, as it is written in the line; nothing for a field that is written."""
    if name == "person":
        people = sorted((person.name for person in shop.people.values()), key=str.casefold)
        return (("", word("ledger.fields.anybody")), *((each, each) for each in people))
    if name in finding.CHOSEN:
        return (("", word("ledger.fields.any")), *((each, each) for each in finding.values_of(name).values()))
    return ()


def _line(answer: dict[str, str]) -> str:
    return finding.written(answer, " ".join(answer.get("text", "").split()))


def _fault(shop: Shop, answer: dict[str, str]) -> str | Fault:
    """What is wrong with which field, "" if nothing is."""
    for name in finding.FIELDS:
        try:
            finding.wanted_by(finding.written({name: answer.get(name, "")}, ""), shop)
        except Refused as refused:
            return Fault(name, say(refused.reasons[0]))
    try:
        finding.wanted_by(_line(answer), shop)
    except Refused as refused:
        return Fault("until", say(refused.reasons[0]))
    return ""
