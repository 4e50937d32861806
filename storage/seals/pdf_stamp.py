"""A time stamp on the last signature of a PDF (RFC 3161), carried to the authority and back as files: this program
asks nothing of a network.

``stamp_request`` gives the file to send, ``put_stamp`` takes what came back. The token stands in the signature's
envelope as an unsigned attribute (RFC 3161, appendix A), in room left for it when the signature was made.
"""

from __future__ import annotations

from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING, Any

from inspection.reasons import Reason, Refused
from storage.seals.pdf_envelope import Envelope, certificate_of, der_at_start, envelope, good_at, hush, in_order, opened

if TYPE_CHECKING:
    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
    from pyhanko_certvalidator import ValidationContext


def stamp_request(pdf: bytes) -> bytes:
    """The time stamp request (DER) for the last signature of a PDF. Raises Refused for one without a signature."""
    from asn1crypto import tsp

    imprint = {"hash_algorithm": {"algorithm": "sha256"}, "hashed_message": _imprint(_last(pdf)[2])}
    return bytes(tsp.TimeStampReq({"version": "v1", "message_imprint": imprint, "cert_req": True}).dump())


def put_stamp(pdf: bytes, answer: bytes) -> bytes:
    """The PDF with the time stamp in its last signature; ``answer`` is the authority's response or the bare token.

    Raises Refused if it is neither, was made for other bytes, does not verify, or there is no room for it.
    """
    start, end, parts, digest = _last(pdf)
    try:
        token = _plain(_token(answer))
    except (ValueError, TypeError, KeyError, StopIteration):
        raise Refused(Reason("signed_pdf.stamp_unfit")) from None
    stamped_parts = Envelope(parts.certificates, parts.value, token)
    if against_stamp(stamped_parts, ""):
        raise Refused(Reason("signed_pdf.stamp_unfit"))
    filled = envelope(stamped_parts, digest).hex().upper().encode()
    if len(filled) > end - start:
        raise Refused(Reason("signed_pdf.stamp_no_room"))
    return pdf[:start] + filled.ljust(end - start, b"0") + pdf[end:]


def against_stamp(parts: Envelope, field: str) -> list[Reason]:
    """What stands against a signature's time stamp; nothing where there is none."""
    if not parts.token:
        return []
    hush()
    try:
        holds = _holds(parts)
    except Exception:  # an altered token can make its reader fail anyhow
        holds = False
    return [] if holds else [Reason("signed_pdf.stamp_broken", {"field": field})]


def stamp_context(parts: Envelope) -> ValidationContext | None:
    """What pyHanko is to trust in a signature's time stamp: the authority's certificate, which the statement names.
    None where there is no time stamp. Raises what the reader of a damaged token raises."""
    if not parts.token:
        return None
    from pyhanko_certvalidator import ValidationContext

    data = _data(parts.token)
    moment = data["encap_content_info"]["content"].parsed["gen_time"].native
    return ValidationContext(trust_roots=[_authority(data)], moment=moment, allow_fetching=False)


def stamped(parts: Envelope, field: str) -> list[Reason]:
    """What a signature's time stamp states: when, and by which authority."""
    if not parts.token:
        return []
    data = _data(parts.token)
    authority = _authority(data)
    moment = data["encap_content_info"]["content"].parsed["gen_time"].native
    said = {
        "field": field,
        "moment": moment.strftime("%Y-%m-%d %H:%M:%S"),
        "authority": str(authority.subject.human_friendly),
        "fingerprint": sha256(authority.dump()).hexdigest(),
    }
    return [Reason("signed_pdf.stamped", {**said})]


def _last(pdf: bytes) -> tuple[int, int, Envelope, bytes]:
    """Where the hex digits of the last envelope stand (start, end), its parts, and the digest it is made over."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    hush()
    try:
        signatures = PdfFileReader(BytesIO(pdf)).embedded_signatures
        last: EmbeddedPdfSignature = max(signatures, key=lambda one: int(one.byte_range[2]))
        _, before, after, length = (int(number) for number in last.byte_range)
        digest = sha256(pdf[:before] + pdf[after : after + length]).digest()
        held = bytes.fromhex(pdf[before + 1 : after - 1].decode())
        return before + 1, after - 1, opened(der_at_start(held)), digest
    except Exception:  # a damaged file can make its reader fail anyhow
        raise Refused(Reason("signed_pdf.none")) from None


def _imprint(parts: Envelope) -> bytes:
    return sha256(parts.value).digest()


def _token(answer: bytes) -> bytes:
    from asn1crypto import cms, tsp

    for form, inside in ((tsp.TimeStampResp, "time_stamp_token"), (cms.ContentInfo, "")):
        try:
            read = form.load(answer, strict=True)
            token = read[inside] if inside else read
            if token["content_type"].native == "signed_data":
                return bytes(token.dump())
        except (ValueError, TypeError, KeyError):
            continue
    raise Refused(Reason("signed_pdf.stamp_unfit"))


def _data(token: bytes) -> Any:
    from asn1crypto import cms

    return cms.ContentInfo.load(token, strict=True)["content"]


def _authority(data: Any) -> Any:
    (signer,) = data["signer_infos"]
    serial = signer["sid"].chosen["serial_number"].native
    return next(one.chosen for one in data["certificates"] if one.chosen.serial_number == serial)


def _plain(token: bytes) -> bytes:
    """The token with what its signature does not cover written in the one way: its versions and algorithms, and of
    the certificates the authority's with those above it, if they lead to a root. Raises ValueError, TypeError,
    KeyError or StopIteration for what is no token."""
    from asn1crypto import algos, cms, x509

    data = _data(token)
    (signer,) = data["signer_infos"]
    authority = _authority(data)
    ordered = in_order(authority.dump(), tuple(one.chosen.dump() for one in data["certificates"]))
    hashed = algos.DigestAlgorithm({"algorithm": signer["digest_algorithm"]["algorithm"].native})
    named = {"issuer": authority.issuer, "serial_number": authority.serial_number}
    written = {
        "version": "v1",
        "sid": {"issuer_and_serial_number": named},
        "digest_algorithm": hashed,
        "signed_attrs": signer["signed_attrs"],
        "signature_algorithm": _signing(signer["signature_algorithm"]),
        "signature": signer["signature"].native,
    }
    content = {
        "version": "v3",
        "digest_algorithms": [hashed],
        "encap_content_info": data["encap_content_info"],
        "certificates": [cms.CertificateChoices("certificate", x509.Certificate.load(der)) for der in ordered],
        "signer_infos": [written],
    }
    return bytes(cms.ContentInfo({"content_type": "signed_data", "content": cms.SignedData(content)}).dump())


def _signing(algorithm: Any) -> Any:
    from asn1crypto import algos, core

    name = algorithm["algorithm"].native
    if name == "rsassa_pss":  # its parameters say how to verify, so altered ones do not
        return algorithm
    parameters = {} if name.endswith("ecdsa") else {"parameters": core.Null()}
    return algos.SignedDigestAlgorithm({"algorithm": name, **parameters})


def _holds(parts: Envelope) -> bool:
    """Whether the token is for this signature value, made by its authority's key, by a certificate for stamping
    that was in its time, and written in one way only where its signature does not cover it."""
    import asyncio

    from pyhanko.sign.validation.generic_cms import validate_tst_signed_data

    if _plain(parts.token) != parts.token:
        return False
    data = _data(parts.token)
    told = data["encap_content_info"]["content"].parsed
    imprint = told["message_imprint"]
    if imprint["hash_algorithm"]["algorithm"].native != "sha256" or imprint["hashed_message"].native != _imprint(parts):
        return False
    authority, moment = _authority(data), told["gen_time"].native
    found = asyncio.run(validate_tst_signed_data(data, stamp_context(parts), lambda _: _imprint(parts)))
    return bool(
        found["valid"]
        and found["intact"]
        and found["trust_problem_indic"] is None
        and good_at(certificate_of(authority.dump()), moment)
    )
