"""Taking readings back and putting them back: which one is meant, and whether a reason is asked."""

from __future__ import annotations

from app.bench.seen import newest_first
from inspection.measuring.reading import Reading
from inspection.sheet.events import Entry
from inspection.sheet.identities import derived
from inspection.sheet.state import Sheet


def to_take_back(sheet: Sheet, person: str) -> Reading | None:
    """The newest reading of this person that counts and that no seal covers."""
    return next(
        (
            reading
            for reading in newest_first(sheet)
            if reading.by == person
            and reading.identity not in sheet.withdrawn
            and reading.identity not in sheet.under_seal
        ),
        None,
    )


def to_put_back(sheet: Sheet, person: str) -> Reading | None:
    """The reading taken back last, this person's own first, that no seal covers and nothing replaced."""
    free = [
        (why.by == person, why.at, name)
        for name, why in sheet.withdrawn.items()
        if not why.replaced_by and name not in sheet.under_seal
    ]
    return sheet.readings[max(free)[2]] if free else None


def is_last_entry(sheet: Sheet, reading: Reading, person: str) -> bool:
    """Whether a reading is the person's own and the sheet's last entry: then no reason is asked."""
    if reading.by != person or not sheet.last_entry:
        return False
    last = Entry(identity=sheet.last_entry, person=person, at=0, day="")
    return derived(last, "reading") == reading.identity
