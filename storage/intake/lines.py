"""One row of any file as it came: filled cells by column, and what is wrong with those that cannot be taken."""

from __future__ import annotations

import unicodedata

from msgspec import Struct

from inspection.reasons import Reason

LONGEST_CELL = 2_000  # characters


class Line(Struct, frozen=True):
    """A row: its number from 1; stripped texts of filled cells by column from 0; columns that cannot be taken with
    why; ``width`` counts the columns up to the last filled one; ``sheet`` names another worksheet than the table's."""

    number: int
    cells: dict[int, str]
    problems: dict[int, Reason] = {}
    width: int = 0
    hidden: bool = False
    sheet: str = ""


def unfit(text: str) -> Reason | None:
    """Why a cell's text may not be taken whatever it means: too long, or holding what cannot be shown."""
    if len(text) > LONGEST_CELL:
        return Reason("intake.cell_too_long", {"most": LONGEST_CELL})
    if text.isprintable():
        return None
    for place, letter in enumerate(text):
        if letter not in "\n\r\t" and unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co", "Cn"):
            return Reason("intake.odd_character", {"at": place, "character": f"U+{ord(letter):04X}"})
    return None
