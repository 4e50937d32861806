"""The number of a sheet's report, as people write it."""

from __future__ import annotations

#: A sheet is named by so many characters of its identity.
SHORT = 8


def report_number(part: str, identity: str) -> str:
    """The number of a sheet's report on papers for people: the part's, then the beginning of the sheet's identity.
    It never changes, and of a thousand sheets of one part two share it with odds of 1 in 8,000.

    >>> report_number("HB-7", "3f9c21a0-5f4e-5d57-9a44-0c8b6f9a7e11")
    'HB-7-3f9c21a0'
    """
    return "-".join(filter(None, (part.strip(), identity[:SHORT])))


def sheet_reported(text: str) -> str:
    """The beginning of the sheet's identity that a report number ends with; empty where a text is none.

    >>> sheet_reported("HB-7-3F9C21A0"), sheet_reported("HB-7")
    ('3f9c21a0', '')
    """
    told = text.strip().casefold()[-SHORT:]
    return told if len(told) == SHORT and not {*told} - {*"0123456789abcdef"} else ""
