"""A person's signing key: elliptic curve P-256 (FIPS 186-4, section D.1.2.3) with a self-signed certificate, locked
in a PKCS#12 container (RFC 7292) under the person's own passphrase."""

from __future__ import annotations

import base64
import unicodedata
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.sheet.events import Signature
from inspection.sheet.people import Person

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import Certificate

#: Rounds of the key derivation: what a guess of the passphrase costs.
ROUNDS = 600_000
#: For how long a certificate is good, in days (ten years and a bit).
LIFE = 3_660

Sign = Callable[[bytes], Signature]


class Key(Struct, frozen=True):
    """What the book keeps with the person: the certificate as PEM, and the container in base64."""

    certificate: str
    locked_key: str


def make_key(name: str, passphrase: str, at: int) -> Key:
    """A new key for the person of this name, locked under ``passphrase``; ``at`` is now in UTC microseconds.

    Raises Refused for an empty passphrase.
    """
    if not passphrase:
        raise Refused(Reason("seal.no_passphrase", {"person": name}))
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding, PrivateFormat, pkcs12

    private = ec.generate_private_key(ec.SECP256R1())
    certificate = _certificate(name, private, at)
    locking = (
        PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(hashes.SHA256())
        .build(_secret(passphrase))
    )
    container = pkcs12.serialize_key_and_certificates(name.encode(), private, certificate, None, locking)
    return Key(certificate.public_bytes(Encoding.PEM).decode(), base64.b64encode(container).decode())


def unlock(person: Person, passphrase: str) -> Sign:
    """What signs canonical bytes with this person's key.

    Raises Refused if the person has no key, or the passphrase does not open it.
    """
    if not person.locked_key:
        raise Refused(Reason("seal.no_key", {"person": person.name}))
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import pkcs12

    from storage.seals.sign import signer

    try:
        container = base64.b64decode(person.locked_key, validate=True)
        private, _, _ = pkcs12.load_key_and_certificates(container, _secret(passphrase))
    except ValueError:
        raise Refused(Reason("seal.wrong_passphrase", {"person": person.name})) from None
    if not isinstance(private, ec.EllipticCurvePrivateKey):
        raise Refused(Reason("seal.no_key", {"person": person.name}))
    return signer(private, person.certificate)


def change_passphrase(person: Person, old: str, new: str, at: int) -> Key:
    """A new key under a new passphrase; the old passphrase must open the old key. Raises Refused.

    Earlier signatures keep the certificate they were made with, so they go on verifying.
    """
    unlock(person, old)
    return make_key(person.name, new, at)


def _secret(passphrase: str) -> bytes:
    """The passphrase as bytes: the same however the keyboard composed its letters."""
    return unicodedata.normalize("NFC", passphrase).encode()


def _certificate(name: str, private: EllipticCurvePrivateKey, at: int) -> Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import NameOID

    # X.520 allows 64 characters of a common name (upper bound ub-common-name).
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])
    now = datetime.fromtimestamp(at // 1_000_000, UTC)
    usage = x509.KeyUsage(True, True, False, False, False, False, False, False, False)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now)
        .not_valid_after(now + timedelta(days=LIFE))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .sign(private, hashes.SHA256())
    )
