"""Checking the signatures in the journal: over their bytes, by whom, and what they cover against the sheet then."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from inspection.reasons import Part, Reason, Refused
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.forms import read_content, said_by
from inspection.sheet.state import Sheet, Shop
from storage.seals.check import Verified, check_signature


def check_seal(event: ev.SheetSealed, entry: ev.Entry, sheet: Sheet, shop: Shop) -> Verified:
    """The seal's digest and signature over its bytes, its signer, and its content against the sheet then."""
    about = _about(event.round, entry, sheet, shop)
    faults = [*_signed(event.content, event.digest, event.signature, entry, shop, about)]
    faults += _content_faults(event, entry, sheet, shop, about)
    return _found(faults, Reason("verify.seal_holds", {**about, "digest": event.digest}))


def check_statement(event: ev.StatementSigned, entry: ev.Entry, sheet: Sheet, shop: Shop) -> Verified:
    """A statement's digest and signature over its bytes, its signer, and its content against the sheet then."""
    about: dict[str, Part] = {
        **_about(event.round, entry, sheet, shop),
        "statement": f"statement.{event.kind.name.lower()}",
    }
    faults = [*_signed(event.content, event.digest, event.signature, entry, shop, about)]
    try:
        held = form_4.read_statement(event.content)
        now = form_4.statement_of(shop, sheet, entry, held.program, event.kind, held.words, held.baseline)
    except (msgspec.DecodeError, KeyError, IndexError):
        faults.append(Reason("seal.unreadable_content", {"digest": event.digest[:16]}))
    else:
        said = (name for name in held.__struct_fields__ if name != "form")  # a later form only adds to it
        names = (name for name in said if getattr(held, name) != getattr(now, name))
        faults += [Reason("verify.statement_differs", {**about, "field": f"book.column.{name}"}) for name in names]
    return _found(faults, Reason("verify.statement_holds", {**about, "digest": event.digest}))


def _found(faults: list[Reason], holds: Reason) -> Verified:
    return Verified((), tuple(faults)) if faults else Verified((holds,))


def _about(of_round: int, entry: ev.Entry, sheet: Sheet, shop: Shop) -> dict[str, Part]:
    person = shop.people.get(entry.person)
    name = person.name if person else entry.person
    serials = ", ".join(piece.serial for piece in sheet.pieces)
    return {"person": name, "round": of_round, "number": sheet.plan.part.number, "serials": serials}


def _signed(
    text: str, kept: str, signature: ev.Signature, entry: ev.Entry, shop: Shop, about: dict[str, Part]
) -> Iterator[Reason]:
    """What stands against a signature in the journal: over the bytes, by the person's own certificate then."""
    content, person = text.encode("utf-8", "surrogatepass"), shop.people.get(entry.person)
    own = person is not None and signature.certificate == person.certificate
    against = [*check_signature(content, signature, entry.at, named=own)]
    if digest(content) != kept:
        against.append(Reason("seal.digest_differs", {"digest": kept[:16]}))
    yield from against
    if against:  # these speak of a signature alone; a reader wants to know of which sheet
        yield Reason("verify.signature_fails", about)
    if not own:
        yield Reason("verify.other_certificate", about)


def _content_faults(
    event: ev.SheetSealed, entry: ev.Entry, sheet: Sheet, shop: Shop, about: dict[str, Part]
) -> list[Reason]:
    try:
        sealed = read_content(event.content)
    except (msgspec.DecodeError, UnicodeDecodeError, Refused):
        return [Reason("seal.unreadable_content", {"digest": event.digest[:16]})]
    expected = form_4.content_of(shop, sheet, entry, sealed.program, event.incomplete)
    differing = [name for name in said_by(sealed) if getattr(sealed, name) != getattr(expected, name)]
    faults = [Reason("verify.seal_differs", {**about, "field": f"book.column.{name}"}) for name in differing]
    return faults + _rows_differing(sealed, expected, differing, sheet, about)


def _rows_differing(
    sealed: form_4.Content, expected: form_4.Content, differing: list[str], sheet: Sheet, about: dict[str, Part]
) -> list[Reason]:
    """The rows and pieces whose readings, verdicts or notes are not those that were signed."""
    numbers = {row.identity: row.number for row in sheet.plan.characteristics}
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    touched: dict[tuple[str, str], None] = {}
    for name in ("readings", "cells", "notes", "questions"):
        if name in differing:
            signed, now = getattr(sealed, name), getattr(expected, name)
            odd = [one for one in (*signed, *now) if one not in signed or one not in now]
            touched |= {(one.characteristic, one.piece): None for one in odd}
    return [
        Reason(
            "verify.sealed_row_differs",
            {**about, "row": numbers.get(characteristic, "-"), "serial": serials.get(piece, "-")},
        )
        for characteristic, piece in touched
        if characteristic
    ]
