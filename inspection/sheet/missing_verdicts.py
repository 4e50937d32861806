"""What a sheet lacks by what its rows came to: a row that does not conform, or is in doubt, is settled by its
nonconformance, and what is lacking until then is told for what it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from inspection.measuring.verdict import IN_DOUBT, Judgement, Verdict
from inspection.sheet.missing_table import Missing, lack_rows
from inspection.sheet.nonconformance import Nonconformance
from inspection.sheet.nonconformance_life import NAMED, named_by
from inspection.sheet.nonconformance_told import works_on
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Cell, Sheet, Stage


class _At(Struct, frozen=True):
    """One cell with the number of its row, what it came to, and the nonconformance that names it now."""

    number: str
    cell: Cell
    judgement: Judgement
    held: Nonconformance | None


def asked_of(sheet: Sheet, row: str, piece: str) -> bool:
    """Whether anything is asked of a row on a piece: not of a piece that was scrapped or returned, nor of a row that a
    partial first article is not about."""
    return piece not in sheet.left and (not sheet.only or row in sheet.only)


def of_verdicts(sheet: Sheet) -> Iterator[Missing]:
    """Rows that do not conform, are in doubt or marginal, by what is still to be done about them."""
    judged = tuple(_judged(sheet))
    out = [at for at in judged if at.judgement.verdict is Verdict.NOT_CONFORMING]
    doubt = [at for at in judged if at.judgement.verdict in IN_DOUBT]
    unnamed = [at for at in out if at.held is None]
    again = [at for at in unnamed if works_on(sheet, at.cell[1]) and at.cell in sheet.before]
    noted = [at for at in unnamed if at not in again and _noted(sheet, at.cell)]
    yield from lack_rows("not_conforming", (at.number for at in unnamed if at not in again and at not in noted))
    yield from _by_work(sheet, again)
    yield from lack_rows("not_conforming_noted", (at.number for at in noted))
    yield from _by_nonconformance("not_conforming_waits", (at for at in out if _waits(at)))
    yield from lack_rows("in_doubt", (at.number for at in doubt if at.held is None))
    yield from _by_nonconformance("in_doubt_waits", (at for at in doubt if _waits(at)))
    yield from _waiting_besides(sheet, (*out, *doubt))
    yield from _used(sheet, (*out, *doubt))
    yield from lack_rows("marginal", (at.number for at in judged if _by_instrument(at.judgement)))


def _judged(sheet: Sheet) -> Iterator[_At]:
    for row in sheet.plan.characteristics:
        for piece in sheet.pieces:
            cell = (row.identity, piece.identity)
            if asked_of(sheet, *cell):
                judgement = sheet.judgement(*cell)
                yield _At(row.number, cell, judgement, named_by(sheet, cell) if judgement.verdict in NAMED else None)


def _waits(at: _At) -> bool:
    return at.held is not None and at.held.disposition is None


def _waiting_besides(sheet: Sheet, found: Iterable[_At]) -> Iterator[Missing]:
    """Nonconformances that wait for a decision though their rows have come in since: the sheet is not approved
    before."""
    told = {at.held.identity for at in found if at.held is not None}
    for held in sheet.nonconformances.values():
        if held.disposition is None and held.identity not in told:
            rows = (sheet.characteristic(row).number for row in held.rows)
            yield from lack_rows("nonconformance_waits", rows, no=held.number)


def _noted(sheet: Sheet, cell: Cell) -> bool:
    """Whether somebody wrote a note to a row of a sheet that is approved. A note is no disposition; but before there
    were nonconformances the customer's document stood there, and a sheet approved then can be given none any more."""
    if sheet.stage is not Stage.APPROVED:
        return False
    return any(note.characteristic == cell[0] and note.piece in ("", cell[1]) for note in sheet.notes)


def _by_nonconformance(code: str, found: Iterable[_At], **parts: str) -> Iterator[Missing]:
    """One missing thing for the rows of each nonconformance."""
    numbers: dict[str, list[str]] = {}
    for at in found:
        assert at.held is not None
        numbers.setdefault(at.held.number, []).append(at.number)
    for no, rows in numbers.items():
        yield from lack_rows(code, rows, no=no, **parts)


def _by_work(sheet: Sheet, found: Iterable[_At]) -> Iterator[Missing]:
    """Rows that do not conform after their piece was worked on, for each work that they were last measured after."""
    numbers: dict[str, list[str]] = {}
    for at in found:
        held = works_on(sheet, at.cell[1])[sheet.before[at.cell][-1].round - 1]
        numbers.setdefault(held.number, []).append(at.number)
    for no, rows in numbers.items():
        yield from lack_rows("not_conforming_again", rows, no=no)


def _used(sheet: Sheet, found: Iterable[_At]) -> Iterator[Missing]:
    """Rows used as they are by the customer's leave: they are settled, and keep the first article from being complete
    all the same, whether that was stated or is still to be."""
    stated = sheet.first_article is not None and sheet.first_article.kind is StatementKind.NOT_COMPLETE
    used = [at for at in found if at.held is not None and at.held.leave is not None]
    for document in dict.fromkeys(at.held.leave.document for at in used if at.held and at.held.leave):
        mine = (at for at in used if at.held and at.held.leave and at.held.leave.document == document)
        yield from _by_nonconformance("used_as_is_stated" if stated else "used_as_is", mine, document=document)


def _by_instrument(judgement: Judgement) -> bool:
    """Whether the instrument makes a verdict marginal, and not the missing check alone, which is named by itself."""
    return judgement.verdict is Verdict.MARGINAL and not judgement.only_unproven
