"""What a review leaves on a sheet, as it goes out: nonconformances with what was measured again, returned rounds, the
statements, and the sheets that it follows from."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.measuring.verdict import Judgement
from inspection.sheet.canonical.form_4 import read_statement
from inspection.sheet.certificates import fingerprint
from inspection.sheet.lines import result_of
from inspection.sheet.nonconformance import Nonconformance
from inspection.sheet.nonconformance_told import before_work, disposition_word
from inspection.sheet.report import NonconformanceLine, NonconformingRow, ReturnLine, Stated
from inspection.sheet.review import StatementKind
from inspection.sheet.review_life import incomplete
from inspection.sheet.state import Statement
from inspection.sheet.teller import Teller

#: As much of the digest of a seal as names it beside others.
SHORT = 16


# --- nonconformances ------------------------------------------------------------------------------------------------


def nonconformance_lines(teller: Teller) -> Iterator[NonconformanceLine]:
    """Every nonconformance of the sheet, in the order raised."""
    for held in teller.sheet.nonconformances.values():
        leave = held.leave
        yield NonconformanceLine(
            number=held.number,
            serial=_serial(teller, held.piece),
            what=held.what,
            raised=_who_when(teller, held.by, held.at),
            rows=tuple(_rows(teller, held)),
            disposition=disposition_word(teller, held),
            words=held.words,
            decided=_who_when(teller, held.decided_by, held.decided_at) if held.disposition else "",
            leave=teller.word("report.leave", document=leave.document, day=leave.day, scope=leave.scope)
            if leave
            else "",
        )


def _rows(teller: Teller, held: Nonconformance) -> Iterator[NonconformingRow]:
    for row, found in zip(held.rows, held.found, strict=True):
        yield NonconformingRow(_number(teller, row), _found(teller, held, row, found), _again(teller, held, row))
    for row in held.affected:
        before = before_work(teller.sheet, held, row)
        found_then = _found(teller, held, row, before.judgement) if before else ""
        yield NonconformingRow(_number(teller, row), found_then, _again(teller, held, row), affected=True)


def _found(teller: Teller, held: Nonconformance, row: str, judgement: Judgement) -> str:
    """What a row had come to when the nonconformance was raised, or the piece was worked on."""
    sheet = teller.sheet
    worked = held.disposition is not None and held.disposition.measured_again
    before = before_work(sheet, held, row) if worked else None
    names = before.readings if before else sheet.standing.get((row, held.piece), ())
    return _told(teller, row, held.piece, judgement, names)


def _again(teller: Teller, held: Nonconformance, row: str) -> str:
    """What a row came to after the work: before the next one, or now; empty where nothing is measured again."""
    if held.disposition is None or not held.disposition.measured_again:
        return ""
    sheet, before = teller.sheet, before_work(teller.sheet, held, row)
    later = [each for each in sheet.before.get((row, held.piece), ()) if before and each.round > before.round]
    if later:
        return _told(teller, row, held.piece, later[0].judgement, later[0].readings)
    names = sheet.standing.get((row, held.piece), ())
    if not names:
        return teller.word("report.not_measured_again")
    return _told(teller, row, held.piece, sheet.judgement(row, held.piece), names)


def _told(teller: Teller, row: str, piece: str, judgement: Judgement, names: tuple[str, ...]) -> str:
    sheet = teller.sheet
    if row not in sheet.rows.by_identity:  # a later issue of the plan has it no longer
        return teller.word(f"verdict.{judgement.verdict.name.lower()}")
    on = next(each for each in sheet.pieces if each.identity == piece)
    readings = [sheet.readings[name] for name in names]
    result = result_of(teller, sheet.row_at(row, piece), on, readings, judgement)
    return ", ".join(filter(None, (result.text, result.verdict)))


def pieces_left(teller: Teller) -> Iterator[str]:
    """The pieces that were scrapped or went back to their supplier."""
    for piece, disposition in teller.sheet.left.items():
        done = teller.word(f"review.disposition.{disposition.name.lower()}")
        yield teller.word("report.piece_left", serial=_serial(teller, piece), disposition=done)


# --- returned rounds ------------------------------------------------------------------------------------------------


def return_lines(teller: Teller) -> Iterator[ReturnLine]:
    """Every return to the bench, in the order made."""
    for back in teller.sheet.returns:
        rows = tuple((_number(teller, row.characteristic), _serial(teller, row.piece), row.words) for row in back.rows)
        yield ReturnLine(str(back.round), _who_when(teller, back.by, back.at), rows)


# --- statements -----------------------------------------------------------------------------------------------------


def stated_lines(teller: Teller) -> Iterator[Stated]:
    """Every statement made of the sheet, those that hold no longer too."""
    later = teller.sheet.in_place_of()
    before = {new.digest: old for old in teller.sheet.statements if (new := later.get(old.digest)) is not None}
    for made in teller.sheet.statements:
        said = read_statement(made.content)
        name = teller.word(f"statement.{made.kind.name.lower()}")
        own = "report.own_approved" if made.kind is StatementKind.APPROVED else "report.own_stated"
        yield Stated(
            statement=teller.word("report.stated", n=made.round, statement=name),
            person=said.by.name,
            when=teller.when(made.at),
            words=said.words,
            reasons=tuple(_reasons(teller, made)),
            own=teller.word(own, person=said.by.name) if said.own else "",
            seal=said.seal,
            baseline=said.baseline,
            digest=made.digest,
            certificate=fingerprint(made.signature.certificate),
            replaces=_named(teller, "report.statement_replaces", before.get(made.digest)),
            replaced=_named(teller, "report.statement_replaced", later.get(made.digest)),
        )


def _named(teller: Teller, code: str, other: Statement | None) -> str:
    """How a statement tells of another one; empty where there is none."""
    if other is None:
        return ""
    name = f"statement.{other.kind.name.lower()}"
    return teller.word(code, statement=teller.word(name), when=teller.when(other.at), person=teller.person(other.by))


def stated_now(teller: Teller) -> Iterator[str]:
    """What is stated of the present round and holds, each once."""
    sheet, gone = teller.sheet, teller.sheet.in_place_of()
    made = (each.kind for each in sheet.statements if each.round == sheet.round and each.digest not in gone)
    yield from (teller.word(f"statement.{kind.name.lower()}") for kind in dict.fromkeys(made))


def _reasons(teller: Teller, made: Statement) -> Iterator[str]:
    """What keeps the first article from being complete, as the sheet stood then: nothing moves it but a new round."""
    if made.kind is StatementKind.NOT_COMPLETE and made.round == teller.sheet.round:
        yield from map(teller.say, incomplete(teller.sheet))


# --- sheets that it follows from ------------------------------------------------------------------------------------


def linked(teller: Teller) -> str:
    """The sheet that a partial first article completes, and the rows that it is about; empty for any other."""
    sheet = teller.sheet
    if not sheet.completes:
        return ""
    rows = [row.number for row in sheet.plan.characteristics if row.identity in sheet.only]
    return teller.word("report.completes", sheet=sheet.completes, rows=", ".join(rows))


def amended(teller: Teller) -> str:
    """The sheet in whose place this one stands, with its seal and why; empty for any other."""
    sheet = teller.sheet
    if not sheet.amends:
        return ""
    seal = sheet.amends_seal[:SHORT]
    return teller.word("report.amends", sheet=sheet.amends, seal=seal, reason=sheet.amend_reason)


def _number(teller: Teller, row: str) -> str:
    return teller.sheet.characteristic(row).number if row in teller.sheet.rows.by_identity else row


def _serial(teller: Teller, piece: str) -> str:
    return next((each.serial for each in teller.sheet.pieces if each.identity == piece), piece)


def _who_when(teller: Teller, person: str, at: int) -> str:
    return f"{teller.person(person)}, {teller.when(at)}"
