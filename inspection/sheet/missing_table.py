"""What a sheet lacks before it may go: what customers send back, from everything that the sheet holds. Pure.

Which of these stop a sheet and which are only to be borne in mind is one table, ``resources/tables/missing.csv``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from msgspec import Struct

from inspection.drawing.numbers import in_short, natural_key
from inspection.reasons import Part, Reason
from inspection.standards.tables import rows

#: Numbers named in one sentence: of more, the first ones and the last.
MOST_NAMED = 12


class Missing(Struct, frozen=True):
    """One thing that is missing, whether it stops the sheet, and where it is mended: the balloon numbers of rows, the
    identity of a material, process or test, or the name of a field of the head."""

    reason: Reason
    stops: bool
    numbers: tuple[str, ...] = ()
    evidence: str = ""
    field: str = ""


@cache
def severities() -> dict[str, bool]:
    """Whether each code stops a sheet."""
    return {row["code"]: row["severity"] == "stops" for row in rows("missing")}


def lack(code: str, *, field: str = "", evidence: str = "", **parts: Part) -> Missing:
    """One missing thing of the table; KeyError for a code that it has not."""
    return Missing(Reason(f"missing.{code}", parts), severities()[code], evidence=evidence, field=field)


def lack_rows(code: str, numbers: Iterable[str], **parts: Part) -> Iterator[Missing]:
    """One missing thing of several rows, in the natural order of their numbers; nothing if there are none."""
    named = tuple(sorted(dict.fromkeys(numbers), key=natural_key))
    if not named:
        return
    reason = Reason(f"missing.{code}", {"numbers": in_short(named, MOST_NAMED), "n": len(named), **parts})
    yield Missing(reason, severities()[code], numbers=named)
