"""Points of the verdicts: not conforming, in doubt, marginal with why, and rows still open."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from inspection.measuring.verdict import BESIDE, UNPROVEN, Verdict
from inspection.reasons import Reason
from inspection.sheet.cells import open_cells
from inspection.sheet.nonconformance_life import NAMED, named_by
from inspection.sheet.points_look import At, Look
from inspection.sheet.points_table import Point


def of_verdicts(look: Look) -> Iterator[Point]:
    """A point for each result that is out or in doubt, one for each cause of marginal rows, one for all open rows. Of a
    piece that was scrapped or returned only what that was decided about is told."""
    marginal: dict[tuple[str, ...], list[At]] = {}
    for at in look.at:
        verdict = at.judgement.verdict
        if at.cell[1] in look.sheet.left and named_by(look.sheet, at.cell) is None:
            continue
        if verdict in NAMED:
            yield _named(look, at)
        elif verdict is Verdict.MARGINAL and (short := _short(at)):
            kinds = dict.fromkeys(_kind(reason) for reason in short)
            marginal.setdefault((look.tags(at.readings[-1]) if at.readings else "–", *kinds), []).append(at)
    yield from (_marginal(look, tag, kinds, group) for (tag, *kinds), group in marginal.items())
    yield from _open(look)


def _named(look: Look, at: At) -> Point:
    """A result that is out or in doubt: to be decided on, or what was decided."""
    why, held = at.judgement.reasons, named_by(look.sheet, at.cell)
    verdict = f"verdict.{at.judgement.verdict.name.lower()}"
    if held is not None and held.disposition is not None:
        told = {"number": held.number, "disposition": held.disposition.value}
        return look.point("disposed", [at.cell], _names(at), about=held.identity, why=why, verdict=verdict, **told)
    code = "not_conforming" if at.judgement.verdict is Verdict.NOT_CONFORMING else "in_doubt"
    return look.point(code, [at.cell], _names(at), why=why, verdict=verdict)


def _names(at: At) -> tuple[str, ...]:
    return tuple(reading.identity for reading in at.readings)


# --- marginal -------------------------------------------------------------------------------------------------------


def _short(at: At) -> tuple[Reason, ...]:
    """Why a cell is marginal, apart from a missing check before use, which is a point of its own."""
    return tuple(r for r in at.judgement.reasons if r.code not in BESIDE and not r.code.startswith(UNPROVEN))


def _kind(reason: Reason) -> str:
    return f"{reason.code} {reason.parts.get('ratio', '')}"


def _marginal(look: Look, tag: str, kinds: list[str], group: list[At]) -> Point:
    """Cells that fall short with the same instrument for the same causes, each cause by its worst."""
    reasons = [reason for at in group for reason in _short(at)]
    worst = tuple(min((each for each in reasons if _kind(each) == kind), key=_got) for kind in kinds)
    names = [name for at in group for name in _names(at)]
    return look.point("marginal", (at.cell for at in group), names, about=" ".join((tag, *kinds)), why=worst, tag=tag)


def _got(reason: Reason) -> Fraction:
    """What a ratio came to; nothing to compare in any other reason."""
    got = reason.parts.get("got", "0")
    return Fraction(got) if reason.code == "ratio.short" and isinstance(got, str) else Fraction(0)


# --- open -----------------------------------------------------------------------------------------------------------


def _open(look: Look) -> Iterator[Point]:
    cells = sorted(open_cells(look.sheet), key=look.place.__getitem__)
    if not cells:
        return
    why = look.sheet.seals[-1].incomplete if look.sheet.sealed and look.sheet.seals else ""
    if why:
        yield look.point("open", cells, said="open_signed", reason=why)
    else:
        yield look.point("open", cells)
