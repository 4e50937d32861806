"""Checking a signature: over the bytes, by the key of the certificate, within the certificate's time."""

from __future__ import annotations

import base64
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Reason
from inspection.sheet.events import Signature
from storage.seals.sign import ALGORITHM

if TYPE_CHECKING:
    from cryptography.x509 import Certificate


class Verified(Struct, frozen=True):
    """What a check found: ``statements`` say what holds, ``faults`` what does not. Whole if there is no fault."""

    statements: tuple[Reason, ...] = ()
    faults: tuple[Reason, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether nothing stands against it."""
        return not self.faults


def check_signature(content: bytes, signature: Signature, at: int) -> tuple[Reason, ...]:
    """What stands against this signature over ``content``, made at ``at`` (UTC microseconds); nothing if it holds."""
    if signature.algorithm != ALGORITHM:
        return (Reason("seal.unknown_algorithm", {"algorithm": signature.algorithm}),)
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    try:
        certificate = x509.load_pem_x509_certificate(signature.certificate.encode())
        key = certificate.public_key()
        value = base64.b64decode(signature.value, validate=True)
    except ValueError:
        return (Reason("seal.unreadable_certificate"),)
    name = _name(certificate)
    if not isinstance(key, ec.EllipticCurvePublicKey) or not isinstance(key.curve, ec.SECP256R1):
        return (Reason("seal.unreadable_certificate"),)
    try:
        key.verify(value, content, ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        return (Reason("seal.broken", {"person": name}),)
    return _out_of_time(certificate, name, at)


def _out_of_time(certificate: Certificate, name: str, at: int) -> tuple[Reason, ...]:
    signed = datetime.fromtimestamp(at // 1_000_000, UTC)
    if certificate.not_valid_before_utc <= signed <= certificate.not_valid_after_utc:
        return ()
    first, last = certificate.not_valid_before_utc.date(), certificate.not_valid_after_utc.date()
    parts = {"person": name, "first": first.isoformat(), "last": last.isoformat(), "signed": signed.date().isoformat()}
    return (Reason("seal.out_of_time", {**parts}),)


def name_on(certificate: str) -> str:
    """The name that a PEM certificate was made for; empty if it cannot be read."""
    from cryptography import x509

    try:
        return _name(x509.load_pem_x509_certificate(certificate.encode()))
    except ValueError:
        return ""


def _name(certificate: Certificate) -> str:
    from cryptography.x509.oid import NameOID

    found = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(found[0].value) if found else ""
