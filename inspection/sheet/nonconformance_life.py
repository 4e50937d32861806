"""Acts on what does not conform, and what follows: a number, a decision, a piece worked on or gone."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec.structs import replace

from inspection.measuring.verdict import IN_DOUBT, Verdict
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.cells import required
from inspection.sheet.identities import derived
from inspection.sheet.nonconformance import Before, Nonconformance
from inspection.sheet.state import Cell, Sheet

#: What asks for a nonconformance and its disposition before a sheet is approved.
NAMED = IN_DOUBT | {Verdict.NOT_CONFORMING}


def raise_nonconformance(sheet: Sheet, act: acts.RaiseNonconformance, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """Rows of one piece that do not conform, or are in doubt, get the shop's number; none belongs to two."""
    faults = list(_not_to_raise(sheet, act))
    if faults:
        raise Refused(*faults)
    raised = Nonconformance(
        derived(entry, "nonconformance"),
        act.number.strip(),
        act.piece,
        act.characteristics,
        tuple(sheet.judgement(row, act.piece) for row in act.characteristics),
        act.what.strip(),
        entry.person,
        entry.at,
    )
    return (ev.NonconformanceRaised(nonconformance=raised),)


def _not_to_raise(sheet: Sheet, act: acts.RaiseNonconformance) -> Iterator[Reason]:
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    if act.piece not in serials:
        yield Reason("sheet.no_such_piece", {"piece": act.piece})
        return
    if not act.number.strip():
        yield Reason("nonconformance.unnumbered")
    if any(each.number == act.number.strip() for each in sheet.nonconformances.values()):
        yield Reason("nonconformance.number_known", {"number": act.number.strip()})
    if not act.what.strip():
        yield Reason("nonconformance.without_words")
    if not act.characteristics:
        yield Reason("nonconformance.no_rows")
    for row in dict.fromkeys(act.characteristics):
        if row not in sheet.rows.by_identity:
            yield Reason("sheet.no_such_row", {"row": row})
        elif sheet.judgement(row, act.piece).verdict not in NAMED:
            yield Reason("nonconformance.conforms", _where(sheet, (row, act.piece)))
        elif (held := named_by(sheet, (row, act.piece))) is not None:
            yield Reason("nonconformance.row_known", {**_where(sheet, (row, act.piece)), "known": held.number})


def _where(sheet: Sheet, cell: Cell) -> dict[str, Part]:
    serial = next(piece.serial for piece in sheet.pieces if piece.identity == cell[1])
    return {"number": sheet.characteristic(cell[0]).number, "serial": serial}


def named_by(sheet: Sheet, cell: Cell) -> Nonconformance | None:
    """The nonconformance that names what a cell has come to now; None where none does. One whose piece was worked on
    since speaks of what was before."""
    for held in reversed(list(sheet.nonconformances.values())):
        if cell[1] == held.piece and cell[0] in held.rows and not _settled_by_work(sheet, held):
            return held
    return None


def _settled_by_work(sheet: Sheet, held: Nonconformance) -> bool:
    return held.disposition is not None and held.disposition.measured_again


def dispose(sheet: Sheet, act: acts.DisposeNonconformance, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """What is done about a nonconformance. Rework and repair put aside what the rows had come to and ask for them
    anew; scrap and return take the piece off the sheet; use as is leaves everything as it is, by the customer's leave.

    Only use as is may be decided on a signed sheet: the others change what is asked of the bench.
    """
    held = sheet.nonconformances.get(act.nonconformance)
    if held is None:
        raise Refused(Reason("nonconformance.unknown"))
    faults = list(_not_to_dispose(sheet, held, act))
    if faults:
        raise Refused(*faults)
    decided = replace(
        held,
        disposition=act.disposition,
        decided_by=entry.person,
        decided_at=entry.at,
        words=act.words.strip(),
        affected=tuple(row for row in dict.fromkeys(act.affected) if row not in held.rows),
        leave=act.leave,
    )
    return ev.NonconformanceDisposed(nonconformance=decided), *_following(sheet, decided)


def _not_to_dispose(sheet: Sheet, held: Nonconformance, act: acts.DisposeNonconformance) -> Iterator[Reason]:
    if held.disposition is not None:
        yield Reason("nonconformance.decided", {"number": held.number, "disposition": held.disposition.value})
    if not act.words.strip():
        yield Reason("nonconformance.decided_without_words", {"number": held.number})
    if act.disposition.by_leave:
        yield from _leave_faults(held, act)
    if sheet.sealed and (act.disposition.measured_again or act.disposition.leaves):
        yield Reason("nonconformance.sheet_signed", {"number": held.number, "disposition": act.disposition.value})
    if act.affected and not act.disposition.measured_again:
        yield Reason("nonconformance.affected_for_nothing", {"disposition": act.disposition.value})
    for row in act.affected:
        if row not in sheet.rows.by_identity:
            yield Reason("sheet.no_such_row", {"row": row})


def _leave_faults(held: Nonconformance, act: acts.DisposeNonconformance) -> Iterator[Reason]:
    leave = act.leave
    if leave is None or not leave.document.strip() or not leave.scope.strip():
        yield Reason("nonconformance.without_leave", {"number": held.number, "disposition": act.disposition.value})
        return
    try:
        date.fromisoformat(leave.day)
    except ValueError:
        yield Reason("nonconformance.leave_no_day", {"day": leave.day})


def _following(sheet: Sheet, decided: Nonconformance) -> Iterator[ev.Event]:
    disposition = decided.disposition
    assert disposition is not None
    if disposition.leaves:
        yield ev.PieceLeft(piece=decided.piece, nonconformance=decided.identity, disposition=disposition)
    if disposition.measured_again:
        number = sheet.reworked.get(decided.piece, 0) + 1
        rows = [row for row in (*decided.rows, *decided.affected) if (row, decided.piece) in sheet.standing]
        before = tuple(
            Before(row, sheet.judgement(row, decided.piece), sheet.standing[row, decided.piece], number) for row in rows
        )
        yield ev.PieceReworked(piece=decided.piece, round=number, nonconformance=decided.identity, before=before)


# --- what stands in the way of approval -----------------------------------------------------------------------------


def unsettled(sheet: Sheet) -> Iterator[Reason]:
    """Nonconformances without a decision, and rows that do not conform, or are in doubt, without one."""
    for held in sheet.nonconformances.values():
        if held.disposition is None:
            yield Reason("approve.undecided", {"number": held.number})
    yield from (Reason("approve.not_named", _where(sheet, cell)) for cell in unnamed(sheet))


def unnamed(sheet: Sheet) -> Iterator[Cell]:
    """The required cells that do not conform, or are in doubt, and that no nonconformance names."""
    for cell, judgement in sheet.judgements.items():
        if judgement.verdict in NAMED and required(sheet, cell) and named_by(sheet, cell) is None:
            yield cell
