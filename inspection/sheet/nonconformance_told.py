"""Nonconformances as a row and a reading tell them: which ones a row has on a piece, and which work put a reading
aside."""

from __future__ import annotations

from inspection.measuring.reading import Reading
from inspection.sheet.nonconformance import Before, Nonconformance
from inspection.sheet.state import Sheet
from inspection.sheet.teller import Teller


def disposition_word(teller: Teller, held: Nonconformance) -> str:
    """What is done about a nonconformance, or that it waits for a decision."""
    if held.disposition is None:
        return teller.word("report.nonconformance.waits")
    return teller.word(f"review.disposition.{held.disposition.name.lower()}")


def named_on(teller: Teller, row: str, piece: str) -> str:
    """The nonconformances that a row has on a piece, each with its disposition."""
    held = teller.sheet.nonconformances.values()
    named = (each for each in held if each.piece == piece and row in each.rows)
    return "; ".join(f"{each.number}: {disposition_word(teller, each)}" for each in named)


def works_on(sheet: Sheet, piece: str) -> tuple[Nonconformance, ...]:
    """The nonconformances for which a piece was worked on, in that order: it was "reworked n" for the n-th."""
    held = (each for each in sheet.nonconformances.values() if each.piece == piece)
    worked = (each for each in held if each.disposition is not None and each.disposition.measured_again)
    return tuple(sorted(worked, key=lambda each: each.decided_at))


def before_work(sheet: Sheet, held: Nonconformance, row: str) -> Before | None:
    """What a row had come to before the piece was worked on for a nonconformance; None where it had not been read."""
    number = works_on(sheet, held.piece).index(held) + 1
    befores = sheet.before.get((row, held.piece), ())
    return next((each for each in befores if each.round == number), None)


def put_aside(teller: Teller, reading: Reading) -> str:
    """That a reading counts no longer since its piece was worked on, and for which nonconformance; empty where it does
    count, or does not for another reason."""
    sheet = teller.sheet
    for before in sheet.before.get((reading.characteristic, reading.piece), ()):
        if reading.identity in before.readings:
            held = works_on(sheet, reading.piece)[before.round - 1]
            return teller.word("report.put_aside", number=held.number, disposition=disposition_word(teller, held))
    return ""
