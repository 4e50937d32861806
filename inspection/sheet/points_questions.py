"""Points of questions and corrections: asked and kept, asked and open, and readings that were out and became in."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.measuring.reading import Reading
from inspection.measuring.verdict import Question
from inspection.quantity.speaker import shown
from inspection.sheet.moved_in import is_inside, moved_in
from inspection.sheet.points_look import Look
from inspection.sheet.points_table import Point
from inspection.sheet.state import Cell, Sheet

#: Questions about marks and members of the instrument.
_OF_MARKS = frozenset({"slip.graduation", "slip.missing_member", "slip.no_leaf"})


def of_questions(look: Look) -> Iterator[Point]:
    """Each question that still waits, and each that a reading which counts was kept against (of one between marks that
    is a point of its instrument's); then, together, the readings that moved in after a question, and those that moved
    in otherwise."""
    sheet = look.sheet
    for name, question in sheet.questions.items():
        answer = sheet.answers.get(name)
        if question.piece in sheet.left:
            continue  # nothing is asked of a piece that was scrapped or returned
        if sheet.waits(name):
            yield _asked(look, "question_open", question)
        elif answer is not None and answer.answer == "kept" and _is_kept(look, question):
            yield _asked(look, "question_kept", question)
    yield from _moved(look)
    yield from _corrected(look)


def _is_kept(look: Look, question: Question) -> bool:
    return question.reading in look.by_reading and question.reason.code not in _OF_MARKS


def _asked(look: Look, code: str, question: Question) -> Point:
    cell, reading = (question.characteristic, question.piece), look.sheet.readings[question.reading]
    pattern = question.reason.code.removeprefix("slip.").removesuffix("_beside")
    return look.point(
        code,
        [cell],
        [reading.identity],
        about=reading.identity,
        written=_written(reading),
        pattern=f"report.slip.{pattern}",
    )


def _written(reading: Reading) -> str:
    """A number as it is told: in the unit that it was read in."""
    if reading.count is None:
        return reading.written
    return shown(reading.count, reading.kind, reading.unit, reading.decimals)


# --- out, and then in -----------------------------------------------------------------------------------------------


def _moved(look: Look) -> Iterator[Point]:
    """Out-readings that became in-readings after a question: the number that tells whether questions push parts in."""
    sheet = look.sheet
    moved = [question for name, question in sheet.questions.items() if moved_in(sheet, name)]
    if moved:
        cells: list[Cell] = [(each.characteristic, each.piece) for each in moved]
        yield look.point("moved_in", cells, [each.reading for each in moved], count=len(moved))


def _corrected(look: Look) -> Iterator[Point]:
    """Out-readings that were corrected or taken back, with nothing asked, and in whose slot an in-reading stands now;
    those with the same reason together. What was out stays legible beside it."""
    asked = {question.reading for name, question in look.sheet.questions.items() if moved_in(look.sheet, name)}
    groups: dict[str, list[Reading]] = {}
    for name, withdrawal in look.sheet.withdrawn.items():
        was = look.sheet.readings[name]
        if name not in asked and not is_inside(look.sheet, was) and _stands_in(look.sheet, was):
            groups.setdefault(withdrawal.reason, []).append(was)
    for reason, group in groups.items():
        cells: list[Cell] = [(each.characteristic, each.piece) for each in group]
        names = [each.identity for each in group]
        said = "corrected_in" if reason else "corrected_in_unsaid"
        yield look.point("corrected_in", cells, names, said=said, about=reason, count=len(group), reason=reason)


def _stands_in(sheet: Sheet, was: Reading) -> bool:
    """Whether what now stands in the slot of a withdrawn reading is in."""
    now = [one for one in sheet.counting(was.characteristic, was.piece) if one.slot == was.slot and not one.indication]
    return bool(now) and all(is_inside(sheet, one) for one in now)
