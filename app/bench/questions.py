"""What the Bench asks, all through the window's one question."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from app.window import words
from app.window.asking import Fault, Field, Question, Sort, ask
from inspection.instruments.spelling import Piece
from inspection.measuring.guard import DecisionRule, rule_reason
from inspection.measuring.guard_as_written import decision_text, read_decision
from inspection.measuring.repeats import MOST
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.bench.temperatures import Temperatures
    from inspection.instruments.record import Instrument
    from inspection.sheet.pull_page import PullLine, PullPage

#: Rules as they are written, for who is asked for one.
RULES_LIKE = ("simple", "guarded:95", "guarded-U", "probability:95")


def ask_reason(parent: QWidget, title: str, text: str = "", given: str = "", *, yes: str = "") -> str:
    """Why something is done, which may be ``given`` already; "" if the person went back."""
    field = Field("reason", word("bench.reason"), value=given)
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


def ask_repeats(parent: QWidget, number: str, now: int, suggested: int, why: str) -> int | None:
    """How many readings the mean of a cell is to have, all of them counted; ``why`` tells what so many would do."""

    def check(answer: dict[str, str]) -> str | Fault:
        text = answer["m"].strip()
        if text.isdecimal() and now < int(text) <= MOST:
            return ""
        return Fault("m", say(Reason("repeats.number", {"number": number, "now": now, "most": MOST})))

    text = " ".join(filter(None, (word("bench.repeats.text", n=now), why and f"{why[:1].upper()}{why[1:]}.")))
    field = Field("m", word("bench.repeats.m"), value=str(suggested))
    title = word("bench.repeats.title", number=number)
    answer = ask(
        parent, Question(title, text, (field,), word("bench.repeats.yes"), words.word("button.no"), check=check)
    )
    return int(answer["m"]) if answer else None


def ask_temperature(parent: QWidget, asked: Temperatures) -> acts.LogTemperature | None:
    """The temperatures of part and instrument, and by which thermometer."""
    choices = asked.choices()
    fields = (
        Field("part", word("bench.log.part"), hint=word("bench.log.like")),
        Field("instrument", word("bench.log.instrument")),
        Field("thermometer", word("bench.log.thermometer"), Sort.CHOICE, choices[0][0], choices, needed=False),
        Field("other", word("bench.log.other"), needed=False, hint=word("bench.log.other.hint")),
        Field("within", word("bench.log.within"), needed=False, hint=word("bench.log.within.hint")),
        Field("soak", word("bench.log.soak"), needed=False, hint=word("bench.log.soak.hint")),
    )

    def check(answer: dict[str, str]) -> str | Fault:
        found = asked.read(answer)
        return found if isinstance(found, Fault) else ""

    title, text = word("bench.log.title"), word("bench.log.text")
    answer = ask(parent, Question(title, text, fields, word("bench.log.yes"), words.word("button.no"), check=check))
    found = asked.read(answer) if answer else None
    return found if isinstance(found, acts.LogTemperature) else None


def ask_rule(parent: QWidget, rule: DecisionRule, reason: str) -> tuple[DecisionRule, str] | None:
    """By which decision rule the sheet is to be judged, and what was agreed."""
    written = decision_text(rule)

    def check(answer: dict[str, str]) -> str | Fault:
        try:
            same = read_decision(Piece(answer["rule"]).cut(0)) == rule
        except Refused as refused:
            at = refused.reasons[0].parts.get("at", -1)
            return Fault("rule", say(refused.reasons[0]), at if isinstance(at, int) else -1)
        return Fault("rule", say(Reason("rule.the_same"))) if same else ""

    text = word("bench.rule.now", rule=say(rule_reason(rule)))
    if reason:
        text = f"{text} {word('bench.rule.because', reason=reason)}"
    fields = (Field("rule", word("bench.rule.rule"), value=written), Field("reason", word("bench.rule.reason")))
    rows = tuple((each, say(rule_reason(read_decision(Piece(each))))) for each in RULES_LIKE)
    title = word("bench.rule.title")
    question = Question(title, text, fields, word("bench.rule.yes"), words.word("button.no"), rows=rows, check=check)
    answer = ask(parent, question)
    return (read_decision(Piece(answer["rule"]).cut(0)), answer["reason"].strip()) if answer else None


def ask_closing(parent: QWidget, instruments: Sequence[Instrument]) -> bool:
    """Whether the checks after use that signing waits for are made now."""
    rows = tuple((each.tag, each.name) for each in instruments)
    title = word("bench.closing.title", n=len(rows))
    question = Question(
        title, word("bench.closing.text"), yes=word("bench.closing.yes"), no=word("bench.closing.no"), rows=rows
    )
    return ask(parent, question) is not None


def ask_which(parent: QWidget, instruments: Sequence[Instrument]) -> Instrument | None:
    """Which of the instruments of a row is meant."""
    choices = tuple((each.identity, f"{each.tag} {each.name}") for each in instruments)
    field = Field("instrument", word("bench.other.method"), Sort.CHOICE, choices[0][0], choices)
    question = Question(word("bench.upset.which"), "", (field,), word("bench.upset.which.yes"), words.word("button.no"))
    answer = ask(parent, question)
    return next((each for each in instruments if answer and each.identity == answer["instrument"]), None)


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
