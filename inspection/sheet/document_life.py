"""The signed PDF of a sheet: which signatures it may have, of whom, and that each only adds to the bytes before."""

from __future__ import annotations

from collections.abc import Iterator

from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.state import Seal, Sheet, Shop, Statement


def keep_document(shop: Shop, sheet: Sheet, act: acts.KeepDocument, entry: ev.Entry) -> tuple[ev.Event, ...]:
    """The signed PDF is kept with one more signature by whoever made the seal or statement that it states, or with a
    time stamp in its last signature."""
    faults = list(_not_to_keep(shop, sheet, act, entry.person))
    if faults:
        raise Refused(*faults)
    kept = ev.DocumentKept(round=sheet.round, signs=act.signs, files=act.files, stamped=act.stamped)
    return (kept,)


def to_be_signed(sheet: Sheet, person: str) -> tuple[Seal | Statement, ...]:
    """What a person signed of the present round and the signed PDF does not state yet, in the order it was signed."""
    document = sheet.documents.get(sheet.round)
    signed = document.signed if document is not None else ()
    return tuple(each for each in _signed(sheet) if each.by == person and each.digest not in signed)


def _signed(sheet: Sheet) -> Iterator[Seal | Statement]:
    """The seal of the present round, where there is one, and the statements made of it."""
    if sheet.sealed:
        yield sheet.seals[-1]
        yield from (each for each in sheet.statements if each.round == sheet.round)


def _not_to_keep(shop: Shop, sheet: Sheet, act: acts.KeepDocument, person: str) -> Iterator[Reason]:
    document = sheet.documents.get(sheet.round)
    signed, files = (document.signed, document.files) if document is not None else ((), ())
    if act.stamped:
        files = files[:-1]
        if not signed or act.signs != signed[-1]:
            yield Reason("document.not_the_last")
    elif act.signs in signed:
        yield Reason("document.signed_already")
    else:
        made = next((each for each in _signed(sheet) if each.digest == act.signs), None)
        if made is None:
            yield Reason("document.nothing_signed")
        elif made.by != person:
            yield Reason("document.anothers", {"person": shop.people[made.by].name})
    if len(act.files) != len(files) + 1 or act.files[:-1] != files:
        yield Reason("document.not_appended")
