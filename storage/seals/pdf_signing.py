"""Signing a printed sheet: PAdES baseline signatures (ETSI EN 319 142-1) in visible fields, each an incremental
update (ISO 32000-2, 7.5.6) after the one before.

First ``prepare_pdf`` puts the data and the empty fields in; then each person signs one field.
"""

from __future__ import annotations

from base64 import b64decode
from datetime import UTC, datetime
from enum import StrEnum
from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.sheet.canonical.canonical import dumps
from inspection.sheet.people import Person
from inspection.sheet.review import StatementKind
from storage.seals.keys import Sign
from storage.seals.pdf_appearance import Said, appearance
from storage.seals.pdf_attachments import attach, attachments
from storage.seals.pdf_envelope import (
    Envelope,
    certificate_of,
    der_of,
    envelope,
    good_at,
    in_order,
    signed_attributes,
)
from storage.seals.stated import SignedContent

if TYPE_CHECKING:
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.sign.signers.pdf_byterange import SignatureObject

#: Room for a signature value and what names it, beside the certificates, in bytes of DER.
ROOM = 700
#: The key of a signature (ISO 32000-2, 12.8.1 and annex E) under which the statement travels that it states, in
#: pieces that every reader takes.
STATED = "/TNTH_Stated"
PIECE = 16_000
#: Further room for a time stamp with its authority's certificates.
STAMP_ROOM = 9_000


class Statement(StrEnum):
    """What a signature states; a field is named by it."""

    INSPECTOR = "inspector"
    LEAD = "lead"
    FIRST_ARTICLE = "first-article"
    RELEASE = "release"


#: The field that each kind of statement is signed in.
FIELD_OF = {
    StatementKind.APPROVED: Statement.LEAD,
    StatementKind.COMPLETE: Statement.FIRST_ARTICLE,
    StatementKind.NOT_COMPLETE: Statement.FIRST_ARTICLE,
    StatementKind.RELEASED: Statement.RELEASE,
}


class SignatureField(Struct, frozen=True):
    """Where a signature stands: ``page`` from 0 (negative: from the end), ``box`` as left, bottom, right, top in
    points from the page's lower left corner; ``number`` where several people make the same statement."""

    statement: Statement
    page: int
    box: tuple[float, float, float, float]
    number: int = 1

    @property
    def name(self) -> str:
        """The field's name in the file."""
        return self.statement.value if self.number == 1 else f"{self.statement.value}-{self.number}"


def prepare_pdf(
    pdf: bytes, data: bytes, fields: tuple[SignatureField, ...], at: int, certificates: tuple[str, ...] = ()
) -> bytes:
    """A printed sheet with its data file inside and its signature fields empty; the same bytes for the same sheet.

    ``at`` is the book's now in UTC microseconds; ``certificates`` (PEM) of further signers travel with those of the
    seals. Raises Refused for a field outside its page or named twice, and if ``data`` is no data file.
    """
    files = attachments(data, certificates)
    writer = _writer(pdf)
    from pyhanko.sign.fields import SigFieldSpec, append_signature_field

    attach(writer, files, _moment(at))
    names: set[str] = set()
    for field in fields:
        _refuse_misplaced(writer, field, names)
        names.add(field.name)
        append_signature_field(writer, SigFieldSpec(field.name, on_page=field.page, box=_whole(field.box)))
    return _written(writer, pdf + data)


def sign_pdf(
    pdf: bytes,
    field: str,
    said: Said,
    person: Person,
    sign: Sign,
    at: int,
    *,
    stated: SignedContent | None = None,
    chain: tuple[str, ...] = (),
    room_for_stamp: bool = False,
) -> bytes:
    """The prepared PDF with one more signature in the empty ``field``, appended to its bytes as they are.

    ``sign`` is what ``keys.unlock`` gives for ``person``; ``at`` is the book's now in UTC microseconds; ``stated`` is
    the statement that the signature states, which travels in it; ``chain`` (PEM) are the certificates above the
    person's, in any order, up to one signed by its own key; ``room_for_stamp`` leaves room for a time stamp
    (``pdf_stamp``).

    Raises Refused for a field that is missing or signed, a certificate out of its time, and a chain that does not
    lead from the person to a root.
    """
    certificates = _certificates(person, chain, _moment(at))
    writer = _writer(pdf)
    first = _refuse_unready(writer, field)
    from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
    from pyhanko.sign.signers.cms_embedder import PdfCMSEmbedder, SigIOSetup, SigMDPSetup, SigObjSetup
    from pyhanko.sign.signers.pdf_byterange import SignatureObject

    steps = PdfCMSEmbedder().write_cms(field, writer, existing_fields_only=True)
    _show(writer, next(steps).get_object(), said)
    room = ROOM + sum(len(der) + 48 for der in certificates) + (STAMP_ROOM if room_for_stamp else 0)
    held = SignatureObject(
        _moment(at),
        subfilter=SigSeedSubFilter.PADES,
        name=said.person,
        reason=said.statement,
        bytes_reserved=2 * room,
    )
    if stated is not None:
        _carry(held, stated)
    # the first one certifies: from then on a reader may fill signature fields and nothing else (ISO 32000-2, 12.8.2.2)
    allowed = SigMDPSetup("sha256", certify=True, docmdp_perms=MDPPerm.FILL_FORMS) if first else None
    steps.send(SigObjSetup(held, allowed))
    _name_revision(writer, pdf + said.statement.encode() + (dumps(stated) if stated is not None else b""))
    digest, out = steps.send(SigIOSetup("sha256"))
    value = sign(signed_attributes(certificates, digest.document_digest))
    steps.send(envelope(Envelope(certificates, b64decode(value.value)), digest.document_digest))
    return bytes(out.getvalue())


def empty_fields(pdf: bytes) -> tuple[str, ...]:
    """The names of the signature fields that nobody signed yet, in their order. Raises Refused for what is no PDF."""
    from pyhanko.sign.fields import enumerate_sig_fields

    return tuple(name for name, _, _ in enumerate_sig_fields(_writer(pdf), filled_status=False))


def _carry(held: SignatureObject, stated: SignedContent) -> None:
    from pyhanko.pdf_utils.generic import ArrayObject, ByteStringObject, pdf_name

    content = dumps(stated)
    pieces = [content[at : at + PIECE] for at in range(0, len(content), PIECE)]
    held[pdf_name(STATED)] = ArrayObject(map(ByteStringObject, pieces))


def _certificates(person: Person, chain: tuple[str, ...], moment: datetime) -> tuple[bytes, ...]:
    try:
        leaf, others = der_of(person.certificate), tuple(der_of(pem) for pem in chain)
        ordered = in_order(leaf, others)
    except ValueError:
        raise Refused(Reason("seal.no_key", {"person": person.name})) from None
    if chain and len(ordered) == 1 and others != (leaf,):
        raise Refused(Reason("signed_pdf.chain_open", {"person": person.name}))
    certificate = certificate_of(leaf)
    if not good_at(certificate, moment):
        raise Refused(
            Reason(
                "signed_pdf.certificate_out_of_time",
                {
                    "person": person.name,
                    "first": certificate.not_valid_before_utc.date().isoformat(),
                    "last": certificate.not_valid_after_utc.date().isoformat(),
                    "today": moment.date().isoformat(),
                },
            )
        )
    return ordered


def _refuse_unready(writer: IncrementalPdfFileWriter, field: str) -> bool:
    """Refuse a field that is not there or not empty; returns whether no field is signed yet."""
    from pyhanko.sign.fields import enumerate_sig_fields

    held = {name: value is not None for name, value, _ in enumerate_sig_fields(writer)}
    if field not in held:
        raise Refused(Reason("signed_pdf.no_field", {"field": field}))
    if held[field]:
        raise Refused(Reason("signed_pdf.field_signed", {"field": field}))
    return not any(held.values())


def _refuse_misplaced(writer: IncrementalPdfFileWriter, field: SignatureField, names: set[str]) -> None:
    from pyhanko.pdf_utils.misc import PdfError

    if field.name in names:
        raise Refused(Reason("signed_pdf.field_twice", {"field": field.name}))
    try:
        page = writer.find_page_for_modification(field.page)[0].get_object()
    except PdfError:
        raise Refused(Reason("signed_pdf.field_outside", {"field": field.name})) from None
    while "/MediaBox" not in page:
        page = page["/Parent"]
    low_x, low_y, high_x, high_y = (float(edge) for edge in page["/MediaBox"])
    left, bottom, right, top = field.box
    if not (low_x <= left < right <= high_x and low_y <= bottom < top <= high_y):
        raise Refused(Reason("signed_pdf.field_outside", {"field": field.name}))


def _show(writer: IncrementalPdfFileWriter, field: Any, said: Said) -> None:
    from pyhanko.pdf_utils.generic import DictionaryObject, pdf_name
    from pyhanko.pdf_utils.reader import PdfFileReader

    left, bottom, right, top = (float(edge) for edge in field["/Rect"])
    drawn = PdfFileReader(BytesIO(appearance(said, right - left, top - bottom)))
    field["/AP"] = DictionaryObject({pdf_name("/N"): writer.import_page_as_xobject(drawn)})


def _writer(pdf: bytes) -> IncrementalPdfFileWriter:
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.pdf_utils.misc import PdfError

    class Writer(IncrementalPdfFileWriter):  # type: ignore[misc, unused-ignore]
        def _update_meta(self) -> None:
            """Note no time of the machine's clock, nor the maker of the update: the signature's time is the book's."""

    try:
        return Writer(BytesIO(pdf))
    except (PdfError, ValueError):
        raise Refused(Reason("signed_pdf.unreadable")) from None


def _name_revision(writer: IncrementalPdfFileWriter, made_of: bytes) -> None:
    """Name the revision by what it is made of (ISO 32000-2, 14.4) instead of by chance."""
    from pyhanko.pdf_utils.generic import ByteStringObject

    writer._document_id[1] = ByteStringObject(sha256(made_of).digest()[:16])


def _written(writer: IncrementalPdfFileWriter, made_of: bytes) -> bytes:
    _name_revision(writer, made_of)
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def _whole(box: tuple[float, float, float, float]) -> tuple[int, int, int, int]:
    left, bottom, right, top = box
    return round(left), round(bottom), round(right), round(top)


def _moment(at: int) -> datetime:
    return datetime.fromtimestamp(at // 1_000_000, UTC)
