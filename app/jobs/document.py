"""The signed PDF of a sheet: printed once for a round, then signed by each who signs or states, each time with the
same key and appended to the bytes before; kept in the book, from where it goes out."""

from __future__ import annotations

from collections.abc import Callable
from datetime import tzinfo
from typing import TYPE_CHECKING

from msgspec import Struct

from app.jobs.hand import Hand
from app.jobs.local_time import LocalZone
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.document_life import to_be_signed
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Seal, Sheet, Statement

if TYPE_CHECKING:
    from inspection.sheet.chain_head import ChainHead
    from inspection.sheet.report import Report
    from inspection.sheet.state import Document, Shop
    from storage.book.door import Book
    from storage.seals.keys import Unlocked
    from storage.seals.pdf_appearance import Said

Progress = Callable[[int, int], None]


class Making(Struct, frozen=True):
    """How a signed PDF is made: the ``paper`` as the exporters name it and the ``zone`` of its times (None: this
    computer's), both where it is printed; with each signature whether room is left in it for a time stamp."""

    paper: str = "Letter"
    zone: tzinfo | None = None
    room_for_stamp: bool = False


#: On letter paper, with this computer's times and no room for a time stamp.
USUALLY = Making()


def sign_document(
    hand: Hand, sheet: str, key: Unlocked, making: Making = USUALLY, progress: Progress | None = None
) -> Sheet:
    """Put everything that the hand's person signed of a sheet's present round, and its PDF does not state yet, into
    the PDF as signatures of ``key``; the sheet as it stands then.

    The PDF is printed where there is none yet. Raises Refused or BookFailure; what was kept until then stays.
    """
    found = hand.book.sheet(sheet)
    for stated in to_be_signed(found, hand.person):
        found = _sign_one(hand, found, stated, key, making, progress)
    return found


def _sign_one(
    hand: Hand, sheet: Sheet, stated: Seal | Statement, key: Unlocked, making: Making, progress: Progress | None
) -> Sheet:
    from storage.book.attached import attached
    from storage.seals.pdf_signing import sign_pdf
    from storage.seals.stated import carried

    shop, document = hand.book.shop(), sheet.documents.get(sheet.round)
    told = _report(sheet, shop, making.zone or LocalZone(), hand.book.head_to_carry())
    before = document_bytes(hand.book, document) if document is not None else b""
    now = hand.foreseen.now().at
    pdf = before or _printed(sheet, shop, told, making.paper, now, progress)
    said = _said(told, stated)
    signed = sign_pdf(
        pdf,
        _field_of(sheet, stated, pdf),
        said,
        shop.people[hand.person],
        key.sign,
        now,
        stated=carried(stated) if isinstance(stated, Statement) else None,
        chain=key.chain,
        room_for_stamp=making.room_for_stamp,
    )
    added = signed[len(before) :]
    part = attached(f"{_name(sheet)}.{len(document.files) if document else 0}.pdf", added)
    files = (*(document.files if document is not None else ()), part)
    act = acts.KeepDocument(sheet=sheet.identity, signs=stated.digest, files=files)
    outcome = hand.book.do(act, person=hand.person, files={part.digest: added})
    assert outcome.sheet is not None
    return outcome.sheet


def _said(told: Report, stated: Seal | Statement) -> Said:
    """What stands in the field: what is stated, in whose words, by whom and when; with an approval what was decided
    meanwhile, which the pages before may not tell."""
    from storage.seals.pdf_appearance import Said

    for signed in (each for each in told.signatures if each.digest == stated.digest):
        return Said(signed.statement, signed.person, signed.when, signed.digest)
    made = next(each for each in told.statements if each.digest == stated.digest)
    lines = [made.statement, made.replaces, made.words, *made.reasons, made.own]
    if isinstance(stated, Statement) and stated.kind is StatementKind.APPROVED:
        lines += (", ".join(filter(None, (each.number, each.disposition, each.leave))) for each in told.nonconformances)
    return Said("\n".join(filter(None, lines)), made.person, made.when, made.digest)


def _report(sheet: Sheet, shop: Shop, zone: tzinfo, chain: ChainHead) -> Report:
    from inspection.sheet.reporting import report

    return report(sheet, shop, zone=zone, chain=chain)


def _printed(sheet: Sheet, shop: Shop, told: Report, paper: str, now: int, progress: Progress | None) -> bytes:
    """The pages with empty fields and the data inside, ready to be signed."""
    from storage.dispatch.pdf import MARGINS, paper_size, pdf_bytes
    from storage.dispatch.signature_page import signature_fields
    from storage.seals.data_file import write_data
    from storage.seals.pdf_signing import prepare_pdf

    pages = pdf_bytes(told, paper=paper, progress=progress, signature_page=True)
    fields = signature_fields(paper_size(paper), MARGINS)
    return prepare_pdf(pages, write_data(sheet), fields, now)


def _field_of(sheet: Sheet, stated: Seal | Statement, pdf: bytes) -> str:
    """The next empty field for what is stated. Raises Refused where all of them are signed."""
    from storage.seals import pdf_signing

    inspector = pdf_signing.Statement.INSPECTOR
    wanted = pdf_signing.FIELD_OF[stated.kind] if isinstance(stated, Statement) else inspector
    empty = [name for name in pdf_signing.empty_fields(pdf) if name == wanted or name.startswith(f"{wanted}-")]
    if not empty:
        raise Refused(Reason("document.no_field_left", {"number": sheet.plan.part.number}))
    return empty[0]


def document_bytes(book: Book, document: Document) -> bytes:
    """The signed PDF as it was kept. Raises Refused where the book lost a part of it."""
    from storage.book.attached import content_of

    return b"".join(book.ask(content_of, part.digest) for part in document.files)


def _name(sheet: Sheet) -> str:
    from app.jobs.sending import proposed_name

    return proposed_name(sheet)


def document_of(sheet: Sheet) -> Document | None:
    """The signed PDF of a sheet's newest signed round; None where there is none."""
    return sheet.documents.get(sheet.seals[-1].round) if sheet.seals else None


def stamp_request(hand: Hand, sheet: str) -> bytes:
    """The request (RFC 3161, DER) for a time stamp on the last signature of a sheet's PDF. Raises Refused or
    BookFailure."""
    from storage.seals.pdf_stamp import stamp_request as request_for

    return request_for(_signed_pdf(hand, hand.book.sheet(sheet)))


def put_stamp(hand: Hand, sheet: str, answer: bytes) -> Sheet:
    """Put a time stamp into the last signature of a sheet's PDF, and keep it. Raises Refused or BookFailure."""
    from storage.book.attached import attached
    from storage.seals.pdf_stamp import put_stamp as stamped_with

    found = hand.book.sheet(sheet)
    document = document_of(found)
    stamped = stamped_with(_signed_pdf(hand, found), answer)
    assert document is not None
    *before, last = document.files
    added = stamped[sum(part.size for part in before) :]
    part = attached(last.name, added)
    act = acts.KeepDocument(sheet=sheet, signs=document.signed[-1], files=(*before, part), stamped=True)
    outcome = hand.book.do(act, person=hand.person, files={part.digest: added})
    assert outcome.sheet is not None
    return outcome.sheet


def _signed_pdf(hand: Hand, sheet: Sheet) -> bytes:
    document = document_of(sheet)
    if document is None:
        raise Refused(Reason("document.none", {"number": sheet.plan.part.number}))
    return document_bytes(hand.book, document)
