"""Whether a plan answers its whole drawing: rows against the highest balloon, note rows against the notes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from msgspec import Struct

from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.numbers import natural_key
from inspection.drawing.plan import Plan
from inspection.drawing.rows import GENERAL_NUMBER
from inspection.reasons import Reason

_WHOLE = re.compile(r"[0-9]{1,6}")
#: Longer lists of numbers are cut: what is missing is found at its first.
MOST_RUNS = 12


class Counted(Struct, frozen=True):
    """What is counted: the balloon numbers of all rows, how many of these are notes, and what the drawing has: its
    highest balloon, the numbers it leaves out, and how many notes (None: nobody has counted them)."""

    numbers: tuple[str, ...]
    notes: int = 0
    last_balloon: str = ""
    unused: tuple[str, ...] = ()
    drawing_notes: int | None = None


def counted(plan: Plan) -> Counted:
    """What is counted of an issued plan."""
    rows = [row for row in plan.characteristics if row.number != GENERAL_NUMBER]
    notes = sum(row.kind is FeatureKind.NOTE for row in rows)
    numbers = tuple(row.number for row in rows)
    return Counted(numbers, notes, plan.last_balloon, plan.unused, plan.drawing_notes)


def open_points(asked: Counted) -> tuple[Reason, ...]:
    """What a plan leaves open against its drawing, each as a reason; nothing for a plan that is whole.

    7.1 and 7A stand for balloon 7, and a number without digits in front for none. A customer's own numbers may keep
    gaps: what is missing is told, never refused.
    """
    numbers = [number.strip() for number in asked.numbers if number.strip() and number.strip() != GENERAL_NUMBER]
    found = {whole for number in numbers if (whole := _whole(number)) is not None}
    last = _whole(asked.last_balloon)
    left_out = {number.strip() for number in asked.unused}
    missing = [n for n in range(1, (last or max(found, default=0)) + 1) if n not in found and str(n) not in left_out]
    beyond = [n for n in sorted(found) if last is not None and n > last]
    return (
        *_told("plan.gaps", missing),
        *_told("plan.beyond", beyond, last=asked.last_balloon.strip()),
        *_told("plan.unused_used", sorted(n for n in found if str(n) in left_out)),
        *_doubled(numbers),
        *_last_unknown(asked.last_balloon, last),
        *_notes(asked.notes, asked.drawing_notes),
    )


def whole(asked: Counted) -> Reason:
    """What a plan that leaves nothing open is counted against."""
    return Reason("plan.whole", {"last": asked.last_balloon.strip(), "notes": asked.drawing_notes or 0})


def _whole(number: str) -> int | None:
    found = _WHOLE.match(number.strip())
    return int(found[0]) if found else None


def _told(code: str, numbers: Sequence[int], **parts: str) -> Iterable[Reason]:
    if numbers:
        yield Reason(code, {"n": len(numbers), "numbers": runs(numbers), **parts})


def runs(numbers: Sequence[int]) -> str:
    """Rising numbers in short: "3, 5–8"; only the first runs of very many.

    >>> runs((3, 5, 6, 7, 9))
    '3, 5–7, 9'
    """
    ends: list[list[int]] = []
    for number in numbers:
        if ends and number == ends[-1][1] + 1:
            ends[-1][1] = number
        else:
            ends.append([number, number])
    told = [str(low) if low == high else f"{low}–{high}" for low, high in ends[:MOST_RUNS]]
    return ", ".join(told) + (" …" if len(ends) > MOST_RUNS else "")


def _doubled(numbers: Sequence[str]) -> Iterable[Reason]:
    twice = sorted((number for number, times in Counter(numbers).items() if times > 1), key=natural_key)
    if twice:
        yield Reason("plan.doubled", {"n": len(twice), "numbers": ", ".join(twice[:MOST_RUNS])})


def _last_unknown(written: str, last: int | None) -> Iterable[Reason]:
    if last is None:
        yield Reason("plan.last_unclear", {"text": written.strip()}) if written.strip() else Reason("plan.last_unknown")


def _notes(rows: int, drawing: int | None) -> Iterable[Reason]:
    if drawing is None:
        yield Reason("plan.notes_unknown", {"n": rows})
    elif rows < drawing:
        yield Reason("plan.notes_short", {"n": rows, "of": drawing})
    elif rows > drawing:
        yield Reason("plan.notes_over", {"n": rows, "of": drawing})
