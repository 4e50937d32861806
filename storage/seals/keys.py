"""A person's signing key: elliptic curve P-256 (FIPS 186-4, section D.1.2.3) with a certificate, its own or one that
was brought along, locked under the person's own passphrase."""

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
from storage.seals.container import locked, secret_of

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import Certificate

#: For how long a certificate is good, in days (ten years and a bit).
LIFE = 3_660
#: Characters that a passphrase has at least (NIST SP 800-63B, 5.1.1.1).
SHORTEST_PASSPHRASE = 8

Sign = Callable[[bytes], Signature]


class Key(Struct, frozen=True):
    """What the book keeps with the person: the certificate as PEM, and the container in base64."""

    certificate: str
    locked_key: str


class _Opened(Struct, frozen=True):
    """What lies in a container: the key, its certificate, and those above that."""

    private: EllipticCurvePrivateKey
    certificate: Certificate
    chain: tuple[Certificate, ...]


def fit_passphrase(name: str, passphrase: str) -> None:
    """Raise Refused for a passphrase that is none, or too short, for the person of this name."""
    if not passphrase:
        raise Refused(Reason("seal.no_passphrase", {"person": name}))
    if len(unicodedata.normalize("NFC", passphrase)) < SHORTEST_PASSPHRASE:
        raise Refused(Reason("seal.short_passphrase", {"n": SHORTEST_PASSPHRASE}))


def make_key(name: str, passphrase: str, at: int) -> Key:
    """A new key for the person of this name, locked under ``passphrase``; ``at`` is now in UTC microseconds.

    Raises Refused for a passphrase that is none or too short.
    """
    fit_passphrase(name, passphrase)
    from cryptography.hazmat.primitives.asymmetric import ec

    private = ec.generate_private_key(ec.SECP256R1())
    return key_of(name, private, _certificate(name, private, at), (), passphrase)


def key_of(
    name: str,
    private: EllipticCurvePrivateKey,
    certificate: Certificate,
    chain: tuple[Certificate, ...],
    passphrase: str,
) -> Key:
    """A key as the book keeps it, under ``passphrase``."""
    from cryptography.hazmat.primitives.serialization import Encoding

    container = locked(name, private, certificate, chain, passphrase)
    return Key(certificate.public_bytes(Encoding.PEM).decode(), base64.b64encode(container).decode())


class Unlocked(Struct, frozen=True):
    """A key that is open: what signs bytes with it, and the certificates above its own (PEM), as they lie in the locked
    container; none for a key made here."""

    sign: Sign
    chain: tuple[str, ...] = ()


def unlocked(person: Person, passphrase: str) -> Unlocked:
    """A person's key opened. Raises Refused if the person has no key, or the passphrase does not open it."""
    from cryptography.hazmat.primitives.serialization import Encoding

    from storage.seals.sign import signer

    found = _opened(person, passphrase)
    chain = tuple(one.public_bytes(Encoding.PEM).decode() for one in found.chain)
    return Unlocked(signer(found.private, person.certificate), chain)


def unlock(person: Person, passphrase: str) -> Sign:
    """What signs canonical bytes with this person's key. Raises Refused as ``unlocked`` does."""
    return unlocked(person, passphrase).sign


def change_passphrase(person: Person, old: str, new: str) -> Key:
    """The same key, certificate and chain under a new passphrase.

    Raises Refused if ``old`` does not open it, or ``new`` is none, too short, or the old one.
    """
    fit_passphrase(person.name, new)
    found = _opened(person, old)
    if secret_of(new) == secret_of(old):
        raise Refused(Reason("seal.same_passphrase", {"person": person.name}))
    return key_of(person.name, found.private, found.certificate, found.chain, new)


def require_in_time(person: Person, at: int) -> None:
    """Raise Refused where there is no key, or its certificate is not good at ``at`` (UTC microseconds): what it signed
    then would not hold. A certificate that cannot be read is told by whoever checks the signature."""
    from storage.seals.certificate_told import told_of

    if not person.locked_key:
        raise Refused(Reason("seal.no_key", {"person": person.name}))
    told = told_of(person.certificate)
    if told is None or told.first <= at <= told.last:
        return
    first, last, today = (datetime.fromtimestamp(each // 1_000_000, UTC).date() for each in (told.first, told.last, at))
    parts = {"person": person.name, "first": str(first), "last": str(last), "today": str(today)}
    raise Refused(Reason("seal.expired" if at > told.last else "seal.too_early", {**parts}))


def _opened(person: Person, passphrase: str) -> _Opened:
    if not person.locked_key:
        raise Refused(Reason("seal.no_key", {"person": person.name}))
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import pkcs12

    try:
        container = base64.b64decode(person.locked_key, validate=True)
        private, certificate, chain = pkcs12.load_key_and_certificates(container, secret_of(passphrase))
    except ValueError:
        raise Refused(Reason("seal.wrong_passphrase", {"person": person.name})) from None
    if not isinstance(private, ec.EllipticCurvePrivateKey) or certificate is None:
        raise Refused(Reason("seal.no_key", {"person": person.name}))
    return _Opened(private, certificate, tuple(chain))


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
