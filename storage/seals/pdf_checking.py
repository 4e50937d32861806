"""Checking a signed PDF by itself: nothing but what was signed, by whom, and nothing after it.

Every signature is checked twice: by this program over the bytes and the one way to write an envelope, and by pyHanko,
which also compares the revisions. A file that cannot be read is not whole.
"""

from __future__ import annotations

import re
from collections.abc import Set
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Part, Reason, Refused
from inspection.sheet.certificates import fingerprint
from storage.seals.check import Verified, name_on, which_stand
from storage.seals.data_file import read_data, verify_data
from storage.seals.pdf_attachments import DATA, against_files, files_in
from storage.seals.pdf_build import against_build
from storage.seals.pdf_envelope import (
    Envelope,
    certificate_of,
    der_at_start,
    envelope,
    fits,
    good_at,
    hush,
    may_sign,
    opened,
    pem_of,
)
from storage.seals.pdf_signing import FIELD_OF, STATED, Statement
from storage.seals.pdf_stamp import against_stamp, stamp_context, stamped
from storage.seals.stated import SignedContent, against_stated, kind_of, read_carried, said

if TYPE_CHECKING:
    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature


class Found(Struct, frozen=True):
    """One signature as read from the file: its field, the bytes it covers (from 0 to ``before``, from ``after`` to
    ``end``), the time it states, its envelope as DER and in parts, and the statement that it carries."""

    field: str
    before: int
    after: int
    end: int
    moment: datetime
    der: bytes
    parts: Envelope
    stated: SignedContent | None = None

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the signer's certificate in hex."""
        return sha256(self.parts.certificates[0]).hexdigest()

    @property
    def person(self) -> str:
        """The name in the signer's certificate."""
        return name_on(pem_of(self.parts.certificates[0])) or _common_name(self.parts.certificates[0])


def is_signed_pdf(content: bytes) -> bool:
    """Whether these bytes are a PDF in which a signature stands as this program writes it, in plain sight."""
    return content.startswith(b"%PDF") and b"/ByteRange" in content


def check_pdf(content: bytes, expected: Set[str] | None = None) -> Verified:
    """What holds and what does not in a signed PDF; never raises.

    ``expected`` are the fingerprints (SHA-256 of the certificate's DER, hex) of the people who may have signed;
    without them each statement names its fingerprint, to be compared by whoever reads it. An inspector's signature
    must be by the certificate of the last seal inside, unless its own fingerprint is expected.
    """
    hush()
    try:
        return _checked(content, expected)
    except Exception:  # a damaged file can make its readers fail anywhere and anyhow; it is one thing to people
        return Verified((), (Reason("signed_pdf.unreadable"),))


def stated_in(content: bytes) -> frozenset[str]:
    """The digests of the seals inside a signed PDF, and of the statements that its signatures carry. Raises Refused or
    ValueError for a PDF in which something does not hold: it is for one that was checked."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    reader = PdfFileReader(BytesIO(content), strict=True)
    seals = read_data(files_in(reader)[DATA]).seals
    carried = (_stated(signature) for signature in reader.embedded_signatures)
    return frozenset((*(seal.digest for seal in seals), *(each.digest for each in carried if each is not None)))


def _checked(content: bytes, expected: Set[str] | None) -> Verified:
    from pyhanko.pdf_utils.reader import PdfFileReader

    reader = PdfFileReader(BytesIO(content), strict=True)
    signatures = sorted(reader.embedded_signatures, key=lambda one: int(one.byte_range[2]))
    if not signatures:
        return Verified((), (Reason("signed_pdf.none"),))
    faults = against_build(reader, signatures)
    statements: list[Reason] = []
    files = files_in(reader)
    earlier: datetime | None = None
    for at, signature in enumerate(signatures):
        last = at == len(signatures) - 1
        try:
            found = _found(content, signature)
        except (ValueError, KeyError, TypeError, AttributeError, StopIteration):
            faults.append(Reason("signed_pdf.broken", {"field": signature.field_name}))
            continue
        against = _against(content, found, signature, last=last)
        against += _against_signer(found, files, expected)
        against += _against_statement(found, files)
        if earlier is not None and found.moment < earlier:
            against.append(Reason("signed_pdf.time_backwards", {"field": found.field}))
        earlier = found.moment
        faults += against
        if not against:
            statements += _statements(found)
            statements += () if found.stated is None else (said(found.stated),)
    inside = _inside(files)
    # one fault, and no signature's word "unchanged since" stands; the seals inside answer for themselves
    return Verified((*(() if faults else which_stand(statements)), *inside.statements), (*faults, *inside.faults))


def _found(content: bytes, signature: EmbeddedPdfSignature) -> Found:
    """A signature's parts. Raises ValueError where the gap in its bytes is not exactly the envelope's hex digits,
    capitals, filled up with zeros."""
    start, before, after, length = (int(number) for number in signature.byte_range)
    gap = content[before:after]
    if start != 0 or not re.fullmatch(rb"<[0-9A-F]+>", gap):
        raise ValueError("byte range")
    held = bytes.fromhex(gap[1:-1].decode())
    der = der_at_start(held)
    if held[len(der) :].strip(b"\x00") or signature.self_reported_timestamp is None:
        raise ValueError("filling")
    moment = signature.self_reported_timestamp
    stated = _stated(signature)
    return Found(signature.field_name, before, after, after + length, moment, der, opened(der), stated)


def _stated(signature: EmbeddedPdfSignature) -> SignedContent | None:
    """The statement that a signature carries. Raises ValueError (msgspec's included) or AttributeError for what is
    none."""
    if STATED not in signature.sig_object:
        return None
    return read_carried(b"".join(piece.original_bytes for piece in signature.sig_object[STATED]))


def _against(content: bytes, found: Found, signature: EmbeddedPdfSignature, *, last: bool) -> list[Reason]:
    named = {"field": found.field, "person": found.person}
    digest = sha256(content[: found.before] + content[found.after : found.end]).digest()
    if not fits(found.parts, digest) or envelope(found.parts, digest) != found.der:
        return [Reason("signed_pdf.broken", {"field": found.field})]
    faults: list[Reason] = []
    if last and found.end != len(content):
        faults.append(Reason("signed_pdf.more_after", {**named, "bytes": len(content) - found.end}))
    faults += _out_of_time(found)
    if not may_sign(certificate_of(found.parts.certificates[0])):
        faults.append(Reason("signed_pdf.unfit_usage", {**named}))
    faults += against_stamp(found.parts, found.field)
    if not faults and not _second_opinion(found, signature, last=last):
        faults.append(Reason("signed_pdf.changed_after", {**named}))
    return faults


def _second_opinion(found: Found, signature: EmbeddedPdfSignature, *, last: bool) -> bool:
    """Whether pyHanko calls the signature good and finds nothing but signature fields changed since."""
    from asn1crypto import x509
    from pyhanko.sign.diff_analysis import ModificationLevel
    from pyhanko.sign.validation import SignatureCoverageLevel, validate_pdf_signature
    from pyhanko.sign.validation.settings import KeyUsageConstraints
    from pyhanko_certvalidator import ValidationContext

    certificates = [x509.Certificate.load(der) for der in found.parts.certificates]
    context = ValidationContext(
        trust_roots=[certificates[-1]], other_certs=certificates[:-1], moment=found.moment, allow_fetching=False
    )
    # A certificate that names no use may be used for any (RFC 5280, 4.2.1.3).
    uses = {"digital_signature", "non_repudiation"} if certificates[0].key_usage_value is not None else set()
    usage = KeyUsageConstraints(key_usage=uses, match_all_key_usages=False)
    stamping = stamp_context(found.parts)
    status = validate_pdf_signature(signature, context, stamping, key_usage_settings=usage)
    covers = SignatureCoverageLevel.ENTIRE_FILE if last else SignatureCoverageLevel.ENTIRE_REVISION
    return bool(
        status.bottom_line
        and status.coverage == covers
        and status.docmdp_ok
        and status.modification_level is not None
        and status.modification_level <= (ModificationLevel.NONE if last else ModificationLevel.FORM_FILLING)
    )


def _out_of_time(found: Found) -> list[Reason]:
    certificates = [certificate_of(der) for der in found.parts.certificates]
    return [
        Reason(
            "seal.out_of_time",
            {
                "person": found.person,
                "first": one.not_valid_before_utc.date().isoformat(),
                "last": one.not_valid_after_utc.date().isoformat(),
                "signed": found.moment.date().isoformat(),
            },
        )
        for one in certificates
        if not good_at(one, found.moment)
    ]


def _against_signer(found: Found, files: dict[str, bytes], expected: Set[str] | None) -> list[Reason]:
    parts = {"field": found.field, "person": found.person, "fingerprint": found.fingerprint}
    if expected is not None:
        return [] if found.fingerprint in expected else [Reason("signed_pdf.other_signer", {**parts})]
    if not found.field.startswith(Statement.INSPECTOR) or DATA not in files:
        return []
    try:
        sealer = read_data(files[DATA]).seals[-1].signature.certificate
    except Refused:
        return []  # told of the file itself
    if sealer.strip() == pem_of(found.parts.certificates[0]).strip():
        return []
    return [Reason("signed_pdf.not_the_sealer", {**parts})]


def _against_statement(found: Found, files: dict[str, bytes]) -> list[Reason]:
    """What stands against the statement that a signature carries: it must hold by itself, speak of a seal inside,
    belong into this field, and be the signer's."""
    if found.stated is None:
        return []
    try:
        seals = {seal.digest for seal in read_data(files[DATA]).seals} if DATA in files else set()
    except Refused:
        return []  # told of the file itself
    faults = against_stated(found.stated, seals)
    if faults:
        return faults
    kind = kind_of(found.stated)
    told: dict[str, Part] = {"field": found.field, "statement": f"statement.{kind.name.lower()}"}
    if not re.fullmatch(rf"{FIELD_OF[kind]}(-\d+)?", found.field):
        faults.append(Reason("stated.other_field", told))
    if fingerprint(found.stated.signature.certificate) != found.fingerprint:
        faults.append(Reason("stated.other_signer", told))
    return faults


def _statements(found: Found) -> list[Reason]:
    root = found.parts.certificates[-1]
    parts = {
        "field": found.field,
        "person": found.person,
        "signed": found.moment.date().isoformat(),
        "fingerprint": found.fingerprint,
    }
    said = [Reason("signed_pdf.holds", {**parts})]
    if len(found.parts.certificates) > 1:
        chain = {"person": found.person, "root": _common_name(root), "fingerprint": sha256(root).hexdigest()}
        said.append(Reason("signed_pdf.chain", {**chain}))
    return said + stamped(found.parts, found.field)


def _inside(files: dict[str, bytes]) -> Verified:
    faults = against_files(files)
    if DATA not in files:
        return Verified((), tuple(faults))
    try:
        data = verify_data(files[DATA])
    except Refused as refused:
        return Verified((), (*faults, *refused.reasons))
    return Verified(data.statements, (*faults, *data.faults))


def _common_name(der: bytes) -> str:
    from cryptography.x509.oid import NameOID

    certificate = certificate_of(der)
    found = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(found[0].value) if found else certificate.subject.rfc4514_string()
