"""What the Ledger asks, all through the window's one question."""

from __future__ import annotations

from datetime import date

from PySide6.QtWidgets import QWidget

from app.ledger.line import Line
from app.window import words
from app.window.asking import Field, Question, Sort, ask
from inspection.sheet.state import Shop
from inspection.words.say import word


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


def ask_person(parent: QWidget, shop: Shop, chosen: str) -> str | None:
    """Whose sheets are listed: a person's identity, "" for everybody's; None if the person went back."""
    people = sorted(shop.people.items(), key=lambda pair: pair[1].name.casefold())
    choices = (("", word("ledger.person.all")), *((identity, person.name) for identity, person in people))
    field = Field("person", word("ledger.person.field"), Sort.CHOICE, chosen, choices, needed=False)
    question = Question(word("ledger.person.title"), "", (field,), word("ledger.cut.yes"), words.word("button.no"))
    answer = ask(parent, question)
    return None if answer is None else answer["person"]


def ask_days(parent: QWidget, since: str, until: str) -> tuple[str, str] | None:
    """From and to which day sheets are listed, "" for an open end; None if the person went back."""
    fields = (
        Field("since", word("ledger.days.since"), value=since, needed=False),
        Field("until", word("ledger.days.until"), value=until, needed=False),
    )
    question = Question(
        word("ledger.days.title"),
        word("ledger.days.text"),
        fields,
        word("ledger.cut.yes"),
        words.word("button.no"),
        check=_fault,
    )
    answer = ask(parent, question)
    return None if answer is None else (answer["since"].strip(), answer["until"].strip())


def _fault(answer: dict[str, str]) -> str:
    """What is wrong with the days, "" if nothing is."""
    days = [answer.get(name, "").strip() for name in ("since", "until")]
    for text in filter(None, days):
        try:
            whole = date.fromisoformat(text).isoformat() == text
        except ValueError:
            whole = False
        if not whole:
            return word("ledger.days.no_day", text=text)
    since, until = days
    return word("ledger.days.backwards") if since and until and since > until else ""
