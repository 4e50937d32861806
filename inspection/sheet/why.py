"""Why something happened where nobody had to say so, as a code of the catalogue.

A reason in an act, event or reading is what a person wrote and nothing else, so that no typed text is ever taken for
a code. What the program itself knows is told from what happened.
"""

from __future__ import annotations

from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.state import Sheet

ANSWERED = "slip.answered"
CORRECTION_TAKEN_BACK = "reading.correction_taken_back"


def why_event(act: acts.Act, event: ev.Event) -> str:
    """The code for why an event followed from this act; empty where a person said why, or nobody needs to."""
    if isinstance(event, ev.ReadingTaken) and event.answers and not event.reading.reason:
        return ANSWERED
    if isinstance(event, ev.ReadingPutBack) and isinstance(act, acts.TakeBack):
        return CORRECTION_TAKEN_BACK
    return ""


def why_withdrawn(sheet: Sheet, reading: str) -> str:
    """The code for why a withdrawn reading no longer counts; empty where a person said why, or nobody needs to."""
    why = sheet.withdrawn.get(reading)
    if why is None or why.reason or not why.replaced_by:
        return ""
    answered = any(answer.reading == why.replaced_by for answer in sheet.answers.values())
    return ANSWERED if answered else ""
