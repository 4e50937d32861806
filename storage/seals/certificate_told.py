"""What a person's certificate says of itself: whose it is, who issued it, and from when to when it is good."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.sheet.certificates import fingerprint
from storage.seals.check import certificate_in

if TYPE_CHECKING:
    from cryptography.x509 import Name


class CertificateTold(Struct, frozen=True):
    """A certificate: the names it was made for and issued by (the same where it is its own), the first and last moment
    at which it is good (UTC microseconds), and its fingerprint (SHA-256 in hex)."""

    name: str
    issuer: str
    first: int
    last: int
    fingerprint: str


def told_of(certificate: str) -> CertificateTold | None:
    """What a PEM certificate says; None if it cannot be read."""
    found = certificate_in(certificate)
    if found is None:
        return None
    first, last = found.not_valid_before_utc, found.not_valid_after_utc
    return CertificateTold(
        named(found.subject),
        named(found.issuer),
        int(first.timestamp()) * 1_000_000,
        int(last.timestamp()) * 1_000_000,
        fingerprint(certificate),
    )


def named(name: Name) -> str:
    """The common name in a certificate's name, or the whole name where it has none."""
    from cryptography.x509.oid import NameOID

    found = name.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(found[0].value) if found else name.rfc4514_string()
