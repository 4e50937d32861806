"""A signing key that a person brings along in a PKCS#12 file (RFC 7292), and the waiting time after wrong tries.

Only elliptic curve P-256 is taken. Every seal of a book is checked by one algorithm (``seals.sign``), by programs that
may be written in fifty years; a second one would double what each of them must know, and RSA of the same strength
(3072 bits, NIST SP 800-57 part 1 rev. 5, table 2) takes about ten times as long to sign.
"""

from __future__ import annotations

import base64
import unicodedata
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.sheet.people import Person
from storage.seals.keys import ROUNDS, Key, unlock
from storage.seals.pdf_envelope import certificate_of, in_order, issued, may_sign, pem_of

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization.pkcs12 import PKCS12KeyAndCertificates
    from cryptography.x509 import Certificate

#: Wrong tries that cost nothing: a slip of the hand, twice.
FREE_TRIES = 3
#: What the first try after them costs, in seconds; it doubles with each.
FIRST_WAIT = 2
#: No wait is longer, in seconds: a person who remembers in the end is not locked out for the day.
LONGEST_WAIT = 300
#: So long after the last wrong try it is forgotten, in seconds.
FORGOTTEN = 3_600


class BroughtKey(Struct, frozen=True):
    """A key as the book keeps it, and the certificates above its own (PEM), each after the one it signed."""

    key: Key
    chain: tuple[str, ...] = ()


def bring_key(name: str, container: bytes, opens: str, passphrase: str, at: int) -> BroughtKey:
    """The key of a PKCS#12 file for the person ``name``, locked anew under the person's own ``passphrase``.

    ``opens`` is the passphrase of the file, ``at`` is the book's now in UTC microseconds. The chain stays with the
    key in its container. Raises Refused for a file that cannot be read or opened, holds no key, no certificate for
    it or no whole chain, a key of another kind, a certificate out of its time, for another use or in another name,
    and an empty passphrase.
    """
    if not passphrase:
        raise Refused(Reason("seal.no_passphrase", {"person": name}))
    found = _opened(container, opens)
    private, certificate = _fit(found)
    _refuse_unfit(certificate, name, datetime.fromtimestamp(at // 1_000_000, UTC))
    chain = _chain(certificate, tuple(extra.certificate for extra in found.additional_certs))
    return BroughtKey(_locked(name, private, certificate, chain, passphrase), tuple(pem_of(_der(one)) for one in chain))


def chain_of(person: Person, passphrase: str) -> tuple[str, ...]:
    """The certificates above the person's own (PEM), as they lie in the locked container; none for a key made here.

    Raises Refused if the person has no key, or the passphrase does not open it.
    """
    return tuple(pem_of(_der(one)) for one in _unlocked(person, passphrase)[2])


def relock(person: Person, old: str, new: str) -> Key:
    """The same key, certificate and chain under a new passphrase: a key that was brought along is not made anew, as
    ``keys.change_passphrase`` does. Raises Refused if ``old`` does not open it or ``new`` is empty."""
    if not new:
        raise Refused(Reason("seal.no_passphrase", {"person": person.name}))
    return _locked(person.name, *_unlocked(person, old), new)


def wait_after(tries: int, times: tuple[int, ...], now: int) -> int:
    """How many seconds to wait before the next passphrase is tried.

    ``tries`` is how many wrong ones followed each other, ``times`` when they were (UTC microseconds, the last one
    last), ``now`` the present time. A clock that was set back shortens no wait: it then counts from now.
    """
    if tries < FREE_TRIES or not times:
        return 0
    passed = max(0, now - times[-1]) // 1_000_000
    if passed >= FORGOTTEN:
        return 0
    whole = min(LONGEST_WAIT, FIRST_WAIT << min(tries - FREE_TRIES, 16))
    return max(0, whole - passed)


def _opened(container: bytes, opens: str) -> PKCS12KeyAndCertificates:
    """The file opened. The passphrase is tried as typed and in its composed form."""
    from asn1crypto import pkcs12 as form
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.serialization import pkcs12

    try:
        form.Pfx.load(container, strict=True)["auth_safe"]["content_type"].native  # noqa: B018
    except (ValueError, TypeError):
        raise Refused(Reason("brought.unreadable")) from None
    for written in dict.fromkeys((opens, unicodedata.normalize("NFC", opens))):
        for secret in (written.encode(),) if written else (b"", None):
            try:
                return pkcs12.load_pkcs12(container, secret)
            except UnsupportedAlgorithm:
                raise Refused(Reason("brought.unreadable")) from None
            except (ValueError, TypeError):
                continue
    raise Refused(Reason("brought.wrong_passphrase"))


def _unlocked(person: Person, passphrase: str) -> tuple[EllipticCurvePrivateKey, Certificate, tuple[Certificate, ...]]:
    unlock(person, passphrase)  # tells apart what can be wrong
    container = base64.b64decode(person.locked_key)
    found = _opened(container, unicodedata.normalize("NFC", passphrase))
    private, certificate = _fit(found)
    return private, certificate, tuple(extra.certificate for extra in found.additional_certs)


def _fit(found: PKCS12KeyAndCertificates) -> tuple[EllipticCurvePrivateKey, Certificate]:
    from cryptography.hazmat.primitives.asymmetric import ec

    if found.key is None:
        raise Refused(Reason("brought.no_key"))
    if not isinstance(found.key, ec.EllipticCurvePrivateKey) or not isinstance(found.key.curve, ec.SECP256R1):
        raise Refused(Reason("brought.unfit_kind", {"kind": _kind(found.key)}))
    if found.cert is None or found.cert.certificate.public_key() != found.key.public_key():
        raise Refused(Reason("brought.no_certificate"))
    return found.key, found.cert.certificate


def _kind(key: object) -> str:
    from cryptography.hazmat.primitives.asymmetric import ec, rsa

    if isinstance(key, ec.EllipticCurvePrivateKey):
        return key.curve.name
    return f"RSA {key.key_size}" if isinstance(key, rsa.RSAPrivateKey) else "of another kind"


def _refuse_unfit(certificate: Certificate, name: str, moment: datetime) -> None:
    first, last = certificate.not_valid_before_utc, certificate.not_valid_after_utc
    if not first <= moment <= last:
        days = {"first": first.date().isoformat(), "last": last.date().isoformat(), "today": moment.date().isoformat()}
        raise Refused(Reason("brought.out_of_time", {**days}))
    if not may_sign(certificate):
        raise Refused(Reason("brought.unfit_usage"))
    found = _name(certificate)
    if _folded(found) != _folded(name):
        raise Refused(Reason("brought.other_name", {"found": found, "person": name}))


def _chain(certificate: Certificate, others: tuple[Certificate, ...]) -> tuple[Certificate, ...]:
    ordered = in_order(_der(certificate), tuple(_der(one) for one in others))
    last = certificate_of(ordered[-1])
    if not issued(last, last):
        raise Refused(Reason("brought.chain_open", {"name": _name(certificate)}))
    return tuple(certificate_of(der) for der in ordered[1:])


def _locked(
    name: str,
    private: EllipticCurvePrivateKey,
    certificate: Certificate,
    chain: tuple[Certificate, ...],
    passphrase: str,
) -> Key:
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import Encoding, PrivateFormat, pkcs12

    locking = (
        PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(hashes.SHA256())
        .build(unicodedata.normalize("NFC", passphrase).encode())
    )
    container = pkcs12.serialize_key_and_certificates(name.encode(), private, certificate, chain or None, locking)
    return Key(certificate.public_bytes(Encoding.PEM).decode(), base64.b64encode(container).decode())


def _name(certificate: Certificate) -> str:
    from cryptography.x509.oid import NameOID

    found = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(found[0].value) if found else certificate.subject.rfc4514_string()


def _folded(name: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _der(certificate: Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.DER)
