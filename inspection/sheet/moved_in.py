"""Readings that were out and gave way to ones that are in."""

from __future__ import annotations

from inspection.measuring.reading import Reading
from inspection.sheet.state import Sheet


def moved_in(sheet: Sheet, question: str) -> bool:
    """Whether a questioned reading was out and the one that answered it is in."""
    answer = sheet.answers.get(question)
    if answer is None or answer.reading not in sheet.readings:
        return False
    asked = sheet.readings[sheet.questions[question].reading]
    return not is_inside(sheet, asked) and is_inside(sheet, sheet.readings[answer.reading])


def is_inside(sheet: Sheet, reading: Reading) -> bool:
    """Whether a number as read lies inside or on the limits of its row; so does what is no number."""
    requirement = sheet.characteristic(reading.characteristic).requirement
    count = reading.count
    if count is None:
        return True
    under = requirement.lower is not None and count < requirement.lower
    return not under and not (requirement.upper is not None and count > requirement.upper)
