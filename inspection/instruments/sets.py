"""The members of a set as one text, and which of them are missing: ``.061–.250 by .001; .2500 (GO)``."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from itertools import groupby

from inspection.instruments.record import Member
from inspection.instruments.spelling import Piece, amount_text, ends, number_text, pieces, read_amount, read_span
from inspection.reasons import Reason, Refused

#: No set on a bench has more; a step mistyped by a decimal would.
MOST_MEMBERS = 5_000

_BY = re.compile(r"\s+(?:by|in steps of|step)\s+", re.IGNORECASE)
_LABEL = re.compile(r"\s*\((?P<after>[^()]*)\)\s*$")
_LABEL_FIRST = re.compile(r"(?P<before>(?:not[ -]?|no[ -]?)?go)\s+(?=[\d.,])", re.IGNORECASE)


def read_members(text: str, unit: str) -> tuple[Member, ...]:
    """The members of a set, by size (pm): single sizes, runs ``A–B by S``, sizes with a label ``.2500 (GO)``.

    ``unit`` is one of length. Raises Refused with every fault, each at its character.
    """
    found: list[Member] = []
    faults: list[Reason] = []
    for piece in pieces(text):
        try:
            found += _run(piece, unit)
        except Refused as refused:
            faults += refused.reasons
    if len(found) > MOST_MEMBERS:
        faults += Piece(text).refused("crib.cell.too_many", n=len(found), most=MOST_MEMBERS).reasons
    if faults:
        raise Refused(*faults)
    return tuple(sorted(found, key=lambda member: (member.size, member.label)))


def _run(piece: Piece, unit: str) -> list[Member]:
    step = _BY.search(piece.text)
    if step is None:
        return [_single(piece, unit)]
    span = read_span(piece.cut(0, step.start()), unit)
    at = piece.cut(step.end())
    by = read_amount(at, span.unit).count
    if not by or (span.high - span.low) % by:
        raise at.refused("crib.cell.step", step=at.text, span=piece.text[: step.start()])
    if (span.high - span.low) // by > MOST_MEMBERS:
        raise at.refused("crib.cell.too_many", n=(span.high - span.low) // by + 1, most=MOST_MEMBERS)
    return [Member(size) for size in range(span.low, span.high + 1, by)]


def _single(piece: Piece, unit: str) -> Member:
    label = ""
    if after := _LABEL.search(piece.text):
        label, piece = after["after"].strip(), piece.cut(0, after.start())
    elif before := _LABEL_FIRST.match(piece.text):
        label, piece = before["before"], piece.cut(before.end())
    if ends(piece) is not None:
        raise piece.refused("crib.cell.no_step")
    size = read_amount(piece, unit).count
    if not size:
        raise piece.refused("crib.cell.no_size")
    return Member(size, label)


def read_missing(text: str, members: Sequence[Member], unit: str) -> tuple[int, ...]:
    """The sizes (pm) of a set that a text names: ``0.125, 0.126 or .061–.065``, a span being every member within.

    Raises Refused with every fault: a size or a span that the set has no member for, and what is no number.
    """
    sizes = sorted({member.size for member in members})
    found: set[int] = set()
    faults: list[Reason] = []
    for piece in pieces(text):
        try:
            found.update(_named(piece, sizes, unit))
        except Refused as refused:
            faults += refused.reasons
    if faults:
        raise Refused(*faults)
    return tuple(sorted(found))


def _named(piece: Piece, sizes: Sequence[int], unit: str) -> Sequence[int]:
    if ends(piece) is None:
        size = read_amount(piece, unit).count
        named: Sequence[int] = [size] if size in sizes else []
    else:
        span = read_span(piece, unit)
        named = sizes[bisect_left(sizes, span.low) : bisect_right(sizes, span.high)]
    if not named:
        raise piece.refused("crib.cell.no_member")
    return named


# --- written back ---------------------------------------------------------------------------------------------


def members_text(members: Sequence[Member], unit: str) -> str:
    """The members as ``read_members`` takes them; three and more without label in equal steps are one run."""
    said: list[str] = []
    for label, group in groupby(members, key=lambda member: member.label):
        sizes = [member.size for member in group]
        if label:
            said += [f"{_size(size, unit)} ({label})" for size in sizes]
        else:
            said += [_run_text(run, unit) for run in _runs(sizes)]
    return "; ".join(said)


def _runs(sizes: Sequence[int]) -> Iterator[list[int]]:
    """Sizes in order, cut where their step changes; a pair that makes no run stays two."""
    run: list[int] = []
    for size in sizes:
        if len(run) == 1 and size == run[0]:
            yield [run.pop()]
        elif len(run) == 2 and size - run[1] != run[1] - run[0]:
            yield [run.pop(0)]
        elif len(run) > 2 and size - run[-1] != run[1] - run[0]:
            yield run
            run = []
        run.append(size)
    yield from ([run] if len(run) > 2 else [[size] for size in run])


def _run_text(run: Sequence[int], unit: str) -> str:
    if len(run) == 1:
        return _size(run[0], unit)
    step = run[1] - run[0]
    for one in (unit, "in"):
        first, last, by = (number_text(size, one) for size in (run[0], run[-1], step))
        if first is not None and last is not None and by is not None:
            behind = "" if one == unit else f" {one}"
            return f"{first}–{last}{behind} by {by}{behind}"
    return f"{amount_text(run[0], 'mm')} – {amount_text(run[-1], 'mm')} by {amount_text(step, 'mm')}"


def _size(size: int, unit: str) -> str:
    return number_text(size, unit) or amount_text(size, unit)


def missing_text(missing: Sequence[int], members: Sequence[Member], unit: str) -> str:
    """The missing sizes as ``read_missing`` takes them; three and more neighbours of the set are one span."""
    place = {size: i for i, size in enumerate(sorted({member.size for member in members}))}
    runs: list[list[int]] = []
    for size in sorted(missing):
        if runs and size in place and place.get(runs[-1][-1]) == place[size] - 1:
            runs[-1].append(size)
        else:
            runs.append([size])
    return "; ".join(_missing_run(run, unit) for run in runs)


def _missing_run(run: Sequence[int], unit: str) -> str:
    if len(run) < 3:
        return "; ".join(_size(size, unit) for size in run)
    first, last = number_text(run[0], unit), number_text(run[-1], unit)
    if first is None or last is None:
        return f"{amount_text(run[0], 'mm')} – {amount_text(run[-1], 'mm')}"
    return f"{first}–{last}"
