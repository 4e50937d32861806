"""Do the signed PDFs that a book keeps still say what was signed?

``verify_book`` hashes their bytes; here their signatures are checked too, as of a PDF that lies in a folder, and what
they state is held against what the book says was signed. Each is read once, as its last signature left it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, select

from inspection.attached import Attached
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import events as ev
from inspection.sheet.canonical.forms import ENTRY_READERS
from inspection.sheet.certificates import fingerprint
from storage.book.attached import content_of
from storage.book.chain import Progress
from storage.book.engines import Engines
from storage.book.failures import telling
from storage.book.opening import open_book
from storage.book.tables import document, journal, person, piece, plan_issue, sheet
from storage.seals.check import OnSheet, Verified
from storage.seals.pdf_checking import check_pdf, stated_in


class Kept(Struct):
    """The signed PDF of a sheet's round: what the book says its signatures state, by digest, and the journal entry that
    kept it last."""

    sheet: str
    round: int
    signs: list[str]
    sequence: int = 0


def verify_documents(path: Path, sheet: str = "", progress: Progress | None = None) -> Verified:
    """Check every signed PDF that a book keeps, or those of one ``sheet``, without writing to the book; ``progress``
    counts PDFs. Files that are gone, and rows that were changed, are for ``verify_book`` to tell. Raises BookFailure
    if the book cannot be opened."""
    statements: list[Reason] = []
    faults: list[Reason] = []
    engines = open_book(path, writable=False).engines
    try:
        with telling(path):
            kept = _kept(engines, sheet)
            signers = _signers(engines)
            for done, each in enumerate(kept, 1):
                found = _checked(engines, each, signers)
                statements += found.statements
                faults += (OnSheet(fault.code, fault.parts, sheet=each.sheet) for fault in found.faults)
                if progress is not None:
                    progress(done, len(kept))
    finally:
        engines.close()
    return Verified(tuple(statements), tuple(faults))


def _kept(engines: Engines, of_sheet: str) -> list[Kept]:
    query = select(document.c.sheet, document.c.round, document.c.signs, document.c.stamped, document.c.sequence)
    query = query.where(document.c.sheet == of_sheet) if of_sheet else query
    found: dict[tuple[str, int], Kept] = {}
    with engines.reading.begin() as connection:
        for name, number, signs, stamped, sequence in connection.execute(query.order_by(document.c.sequence)):
            held = found.setdefault((name, number), Kept(name, number, []))
            held.signs += () if stamped else (signs,)
            held.sequence = sequence
    return list(found.values())


def _signers(engines: Engines) -> frozenset[str]:
    """The fingerprints of every certificate that a person of the book ever had."""
    with engines.reading.begin() as connection:
        certificates = connection.execute(select(person.c.certificate).distinct()).scalars().all()
    return frozenset(filter(None, map(fingerprint, certificates)))


def _checked(engines: Engines, kept: Kept, signers: frozenset[str]) -> Verified:
    with engines.reading.begin() as connection:
        about = _about(connection, kept)
        try:
            pdf = b"".join(content_of(connection, part.digest) for part in _files(connection, kept))
        except Refused:
            return Verified()  # a file that is gone is told with the book
    if not pdf:
        return Verified()  # and so is an entry that cannot be read
    found = check_pdf(pdf, signers)
    faults = [*found.faults]
    if found.whole:
        unsaid = set(kept.signs) - stated_in(pdf)
        faults += [Reason("verify.document_other", {**about, "digest": name}) for name in sorted(unsaid)]
    if faults:
        return Verified((), (Reason("verify.document_fails", about), *faults))
    return Verified((Reason("verify.document_holds", {**about, "n": len(kept.signs)}),))


def _files(connection: Connection, kept: Kept) -> Iterator[Attached]:
    """The parts of the PDF, as the entry names them that kept it last."""
    query = select(journal.c.form, journal.c.content).where(journal.c.sequence == kept.sequence)
    form, content = connection.execute(query).one()
    try:
        record = ENTRY_READERS[form](content)
    except (KeyError, msgspec.DecodeError, UnicodeDecodeError):
        return
    for event in record.events:
        if isinstance(event, ev.DocumentKept) and event.round == kept.round:
            yield from event.files


def _about(connection: Connection, kept: Kept) -> dict[str, Part]:
    """Sheet and round, as people know them."""
    part = select(plan_issue.c.number).join(sheet, sheet.c.plan == plan_issue.c.plan).where(sheet.c.sheet == kept.sheet)
    pieces = select(piece.c.serial).where(piece.c.sheet == kept.sheet).order_by(piece.c.sequence, piece.c.place)
    serials = ", ".join(connection.execute(pieces).scalars())
    return {"number": connection.execute(part).scalar() or kept.sheet, "serials": serials, "round": kept.round}
