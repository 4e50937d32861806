"""The envelope of a signature in a PDF: CMS SignedData (RFC 5652) as PAdES asks for it (ETSI EN 319 142-1, 6.3).

There is one way only to write it. What a signature does not cover (the envelope is the one gap in the signed bytes)
is held by writing the envelope again from its parts and comparing the bytes.
"""

from __future__ import annotations

import base64
import logging
import warnings
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from msgspec import Struct

if TYPE_CHECKING:
    from cryptography.x509 import Certificate


class Envelope(Struct, frozen=True):
    """The parts of an envelope: certificates as DER, the signer's first; the signature value; a time stamp or b""."""

    certificates: tuple[bytes, ...]
    value: bytes
    token: bytes = b""


def signed_attributes(certificates: tuple[bytes, ...], digest: bytes) -> bytes:
    """The DER bytes that the key signs: the SHA-256 ``digest`` of the file's signed bytes, and every certificate
    (ESS signing-certificate-v2, RFC 5035), so that none can stand in for another made for the same key."""
    return bytes(_attributes(certificates, digest).dump())


def envelope(parts: Envelope, digest: bytes) -> bytes:
    """The envelope as DER."""
    from asn1crypto import cms, x509

    certificates = [x509.Certificate.load(der) for der in parts.certificates]
    signer = {
        "version": "v1",
        "sid": {
            "issuer_and_serial_number": {
                "issuer": certificates[0].issuer,
                "serial_number": certificates[0].serial_number,
            }
        },
        "digest_algorithm": {"algorithm": "sha256"},
        "signed_attrs": _attributes(parts.certificates, digest),
        "signature_algorithm": {"algorithm": "sha256_ecdsa"},
        "signature": parts.value,
    }
    if parts.token:
        token = cms.ContentInfo.load(parts.token)
        signer["unsigned_attrs"] = [{"type": "signature_time_stamp_token", "values": [token]}]
    content = {
        "version": "v1",
        "digest_algorithms": [{"algorithm": "sha256"}],
        "encap_content_info": {"content_type": "data"},
        "certificates": [cms.CertificateChoices("certificate", found) for found in certificates],
        "signer_infos": [signer],
    }
    whole = cms.ContentInfo({"content_type": "signed_data", "content": cms.SignedData(content)})
    return bytes(whole.dump())


def opened(der: bytes) -> Envelope:
    """The parts of an envelope. Raises ValueError, KeyError or TypeError if it is none."""
    from asn1crypto import cms

    data = cms.ContentInfo.load(der, strict=True)["content"]
    (signer,) = data["signer_infos"]
    chosen = {one.chosen.dump() for one in data["certificates"]}
    leaf = next(one.chosen for one in data["certificates"] if _is_signers(one.chosen, signer["sid"].chosen))
    ordered = in_order(leaf.dump(), tuple(chosen))
    if set(ordered) != chosen:
        raise ValueError("certificates that lead nowhere")
    unsigned = signer["unsigned_attrs"]
    token = unsigned[0]["values"][0].dump() if len(unsigned) else b""
    return Envelope(ordered, signer["signature"].native, token)


def in_order(leaf: bytes, others: tuple[bytes, ...]) -> tuple[bytes, ...]:
    """The signer's certificate and those that issued it, each after the one it signed (all DER); the rest left out.

    A chain that does not end in a certificate signed by its own key is left out but for the signer's.
    """
    found = [certificate_of(leaf)]
    known = [certificate_of(der) for der in others]
    while not issued(found[-1], found[-1]):
        above = [one for one in known if one not in found and issued(found[-1], one)]
        if not above:
            return (leaf,)
        found.append(above[0])
    return tuple(_der(one) for one in found)


def issued(certificate: Certificate, by: Certificate) -> bool:
    """Whether ``certificate`` was signed by the key of ``by``."""
    from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm

    try:
        certificate.verify_directly_issued_by(by)
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        return False
    return True


def certificate_of(der: bytes) -> Certificate:
    """A certificate from DER. Raises ValueError if it is none."""
    from cryptography import x509
    from cryptography.utils import CryptographyDeprecationWarning

    with warnings.catch_warnings():  # of what an altered one would be: its signature tells that it is
        warnings.simplefilter("ignore", CryptographyDeprecationWarning)
        return x509.load_der_x509_certificate(der)


def der_of(pem: str) -> bytes:
    """The DER bytes of a PEM certificate. Raises ValueError if it is none."""
    from cryptography import x509

    return _der(x509.load_pem_x509_certificate(pem.encode()))


def pem_of(der: bytes) -> str:
    """The PEM text of a DER certificate."""
    body = base64.encodebytes(der).decode().replace("\n", "")
    lines = [body[at : at + 64] for at in range(0, len(body), 64)]
    return "\n".join(("-----BEGIN CERTIFICATE-----", *lines, "-----END CERTIFICATE-----", ""))


def fits(parts: Envelope, digest: bytes) -> bool:
    """Whether the signature value is the signer's, by ECDSA on P-256 with SHA-256, over a file of this digest."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    key = certificate_of(parts.certificates[0]).public_key()
    if not isinstance(key, ec.EllipticCurvePublicKey) or not isinstance(key.curve, ec.SECP256R1):
        return False
    try:
        key.verify(parts.value, signed_attributes(parts.certificates, digest), ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        return False
    return True


def good_at(certificate: Certificate, moment: datetime) -> bool:
    """Whether a certificate is in its time at ``moment`` (with a time zone)."""
    return certificate.not_valid_before_utc <= moment <= certificate.not_valid_after_utc


def der_at_start(held: bytes) -> bytes:
    """The DER value that these bytes begin with (X.690, 8.1.3)."""
    first = held[1]
    if first < 0x80:
        return held[: 2 + first]
    size = first & 0x7F
    return held[: 2 + size + int.from_bytes(held[2 : 2 + size], "big")]


def hush() -> None:
    """Keep pyHanko's log, which tells of every damaged file with a traceback, from the people's console."""
    for name in ("pyhanko", "pyhanko_certvalidator"):
        log = logging.getLogger(name)
        log.propagate = False
        if not log.handlers:
            log.addHandler(logging.NullHandler())


def may_sign(certificate: Certificate) -> bool:
    """Whether the key usage (RFC 5280, 4.2.1.3) lets it sign; a certificate without one may be used for anything."""
    from cryptography import x509

    try:
        usage = certificate.extensions.get_extension_for_class(x509.KeyUsage).value
    except x509.ExtensionNotFound:
        return True
    except ValueError:
        return False
    return usage.digital_signature or usage.content_commitment


def _attributes(certificates: tuple[bytes, ...], digest: bytes) -> Any:
    from asn1crypto import cms, tsp

    named = tsp.SigningCertificateV2({"certs": [{"cert_hash": sha256(der).digest()} for der in certificates]})
    return cms.CMSAttributes(
        [
            cms.CMSAttribute({"type": "content_type", "values": ["data"]}),
            cms.CMSAttribute({"type": "message_digest", "values": [digest]}),
            cms.CMSAttribute({"type": "signing_certificate_v2", "values": [named]}),
        ]
    )


def _is_signers(certificate: Any, sid: Any) -> bool:
    return bool(
        certificate.serial_number == sid["serial_number"].native and certificate.issuer.dump() == sid["issuer"].dump()
    )


def _der(certificate: Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.DER)
