"""Checking an instrument before use, and telling that something happened to it: the one door to both.

What was entered on the panel and left is kept by the house for this sitting, for the person who began it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtWidgets import QDialog, QWidget

from app.window import words
from app.window.asking import Field, Question, Sort, ask, stay_with
from inspection.measuring.checks import configured
from inspection.measuring.checks_life import Upset
from inspection.measuring.checks_standards import sets_of
from inspection.measuring.checks_under_way import CheckUnderWay, answers_of, begin, resume, taken_up
from inspection.reasons import Refused
from inspection.sheet.acts import RecordCheck, ReportUpset
from inspection.sheet.proving import configuration_of
from inspection.words.say import say, word

if TYPE_CHECKING:
    from app.checking.panel import CheckPanel
    from app.window.house import House
    from inspection.instruments.record import Instrument
    from inspection.measuring.checks import Configuration

Done = Callable[[RecordCheck | None], object]


class Left(NamedTuple):
    """A check that was begun and left: what was entered, and what was typed and not entered."""

    check: CheckUnderWay
    text: str = ""


class Whose(NamedTuple):
    """Whose check of what is kept: another hand, another issue of the record or a closing check is another one."""

    person: str
    instrument: str
    issue: int
    closing: bool


def check_instrument(
    house: House,
    instrument: Instrument,
    size: int | None,
    closing: bool,
    then: Done,
    *,
    configuration: Configuration | None = None,
) -> CheckPanel | None:
    """Open the panel on which the person at the bench checks an instrument; it returns at once.

    ``size`` (counts) is that of the row it is made for, near which a block is suggested; None: no row.
    ``configuration`` is how it is set up, if that is known otherwise than from the person's last check of it. ``then``
    is given the act, or None if the person left; what was entered is then kept for the next time. Where it cannot be
    checked, that is said, and there is no panel.
    """
    from app.checking.panel import CheckPanel

    whose = Whose(house.person, instrument.identity, instrument.issue, closing)
    try:
        left = _left(house, whose, instrument, size, configuration)
    except Refused as refused:
        house.noticed.emit(" ".join(map(say, refused.reasons)), True)
        then(None)
        return None
    parent = house.parent()
    panel = CheckPanel(parent if isinstance(parent, QWidget) else None, house.theme, *left)
    panel.finished.connect(partial(_finished, house, whose, panel, then))
    stay_with(panel)
    return panel


def _left(
    house: House, whose: Whose, instrument: Instrument, size: int | None, configuration: Configuration | None
) -> Left:
    """The check as it was left, or one of which nothing is entered. Raises Refused as ``begin`` does."""
    crib = house.shop.crib if house.shop is not None else {}
    # looked at apart: the entry that this leads to is made when the check is recorded, not when it was begun
    now = house.foreseen.apart().moment_ahead() if house.foreseen is not None else None
    kept = house.left_off.get(whose)
    set_up = configuration or _as_known(house, instrument, now.at if now is not None else 0)
    sets = sets_of(crib, set_up.unit, now.day if now is not None else "")
    if isinstance(kept, Left):
        return kept._replace(check=resume(kept.check, size, sets))
    return Left(begin(instrument, set_up, closing=whose.closing, size=size, sets=sets))


def _as_known(house: House, instrument: Instrument, at: int) -> Configuration:
    """As the person at the bench last checked it, so far as its record still allows that; else as its record has it."""
    if house.shop is None:
        return configured(instrument)
    known = configuration_of(house.shop, instrument, house.person, at)
    try:
        return configured(instrument, known.unit, known.fitted, known.low, known.high)
    except Refused:
        return configured(instrument)


def _finished(house: House, whose: Whose, panel: CheckPanel, then: Done, result: int) -> None:
    house.left_off.pop(whose, None)
    if (over := panel.parentWidget()) is not None:
        over.activateWindow()  # not every screen has a manager that does
    if result == QDialog.DialogCode.Accepted:
        then(act_of(panel.check, house.at_hand))
        return
    if panel.check.is_begun or panel.text:
        house.left_off[whose] = Left(panel.check, panel.text)
    then(None)


def act_of(check: CheckUnderWay, sheet: str) -> RecordCheck:
    """The act that a finished check makes, for the sheet at hand ("": none)."""
    return RecordCheck(
        instrument=check.instrument.identity,
        issue=check.instrument.issue,
        configuration=check.configuration,
        answers=answers_of(check),
        closing=check.closing,
        sheet=sheet,
    )


def give_back(house: House, instrument: Instrument, act: RecordCheck) -> None:
    """The act was refused or could not be written: what was entered stands on the panel when it is opened again."""
    check = taken_up(instrument, act.configuration, act.answers, closing=act.closing)
    house.left_off[Whose(house.person, act.instrument, act.issue, act.closing)] = Left(check)


# --- something happened to it -----------------------------------------------------------------------------------


def report_upset(house: House, instrument: Instrument, then: Callable[[ReportUpset | None], object]) -> None:
    """Ask what happened to an instrument; ``then`` is given the act, or None if the person went back. What was begun
    of a check of it is forgotten: it is another instrument now."""
    parent = house.parent()
    assert isinstance(parent, QWidget)
    choices = tuple((what.value, word(f"check.upset.{what.value}")) for what in Upset)
    fields = (
        Field("what", word("checking.upset.what"), Sort.CHOICE, Upset.DROPPED, choices),
        Field("note", word("checking.upset.note"), needed=False),
    )
    title = word("checking.upset.title", instrument=f"{instrument.tag} {instrument.name}")
    text = word("checking.upset.text")
    answer = ask(parent, Question(title, text, fields, word("checking.upset.yes"), words.word("button.no")))
    if answer is None:
        then(None)
        return
    for whose in [each for each in house.left_off if isinstance(each, Whose)]:
        if whose.instrument == instrument.identity:
            del house.left_off[whose]
    then(ReportUpset(instrument=instrument.identity, what=Upset(answer["what"]), note=answer["note"].strip()))
