"""A signing key that a person brings along in a PKCS#12 file (RFC 7292).

Only elliptic curve P-256 is taken. Every seal of a book is checked by one algorithm (``seals.sign``), by programs that
may be written in fifty years; a second one would double what each of them must know, and RSA of the same strength
(3072 bits, NIST SP 800-57 part 1 rev. 5, table 2) takes about ten times as long to sign.
"""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from msgspec import Struct

from inspection.reasons import Reason, Refused
from storage.seals.certificate_told import CertificateTold, named, told_of
from storage.seals.keys import Key, fit_passphrase, key_of
from storage.seals.pdf_envelope import certificate_of, in_order, issued, may_sign, pem_of

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization.pkcs12 import PKCS12KeyAndCertificates
    from cryptography.x509 import Certificate


#: Rounds of a passphrase's digest beyond which a file is not opened: several seconds' work, and nobody asks as many.
MOST_ROUNDS = 10_000_000


class BroughtKey(Struct, frozen=True):
    """A key as the book keeps it, and the certificates above its own (PEM), each after the one it signed."""

    key: Key
    chain: tuple[str, ...] = ()


class FoundKey(NamedTuple):
    """What lies in a PKCS#12 file and may sign for the person ``name``: the key, open, its certificate, and those above
    it, each after the one it signed."""

    name: str
    private: EllipticCurvePrivateKey
    certificate: Certificate
    chain: tuple[Certificate, ...]

    def told(self) -> tuple[CertificateTold, ...]:
        """What the certificates say of themselves, the key's own first."""
        told = (told_of(pem_of(_der(one))) for one in (self.certificate, *self.chain))
        return tuple(each for each in told if each is not None)


def find_key(name: str, container: bytes, opens: str, at: int) -> FoundKey:
    """The key of a PKCS#12 file for the person ``name``, as long as nothing stands against it.

    ``opens`` is the passphrase of the file, ``at`` is the book's now in UTC microseconds. Raises Refused for a file
    that cannot be read or opened, holds no key, no certificate for it or no whole chain, a key of another kind, and a
    certificate out of its time, for another use or in another name.
    """
    found = _opened(container, opens)
    private, certificate = _fit(found)
    _refuse_unfit(certificate, name, datetime.fromtimestamp(at // 1_000_000, UTC))
    chain = _chain(certificate, tuple(extra.certificate for extra in found.additional_certs))
    return FoundKey(name, private, certificate, chain)


def keep_key(found: FoundKey, passphrase: str) -> BroughtKey:
    """A key that was found, locked anew under the person's own ``passphrase``; the chain stays with it in its
    container. Raises Refused for a passphrase that is none or too short."""
    fit_passphrase(found.name, passphrase)
    key = key_of(found.name, found.private, found.certificate, found.chain, passphrase)
    return BroughtKey(key, tuple(pem_of(_der(one)) for one in found.chain))


def bring_key(name: str, container: bytes, opens: str, passphrase: str, at: int) -> BroughtKey:
    """``find_key`` and ``keep_key`` in one. Raises Refused as they do."""
    fit_passphrase(name, passphrase)
    return keep_key(find_key(name, container, opens, at), passphrase)


def _opened(container: bytes, opens: str) -> PKCS12KeyAndCertificates:
    """The file opened. The passphrase is tried as typed and in its composed form."""
    from asn1crypto import pkcs12 as form
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.serialization import pkcs12

    try:
        rounds = _rounds(form.Pfx.load(container, strict=True))
    except (ValueError, TypeError, KeyError):
        raise Refused(Reason("brought.unreadable")) from None
    if rounds > MOST_ROUNDS:
        raise Refused(Reason("brought.too_slow", {"rounds": rounds, "most": MOST_ROUNDS}))
    for written in dict.fromkeys((opens, unicodedata.normalize("NFC", opens))):
        for secret in (written.encode(),) if written else (b"", None):
            try:
                return pkcs12.load_pkcs12(container, secret)
            except UnsupportedAlgorithm:
                raise Refused(Reason("brought.unreadable")) from None
            except (ValueError, TypeError):
                continue
    raise Refused(Reason("brought.wrong_passphrase"))


def _rounds(file: Any) -> int:
    """The rounds that opening the file takes at most, as far as it says so in the open. Raises ValueError, TypeError or
    KeyError for what is no such file."""
    from asn1crypto import pkcs12 as form

    mac = file["mac_data"]
    rounds = [mac["iterations"].native if mac.native else 0]
    for part in file.authenticated_safe:
        if part["content_type"].native == "encrypted_data":
            rounds.append(part["content"]["encrypted_content_info"]["content_encryption_algorithm"].kdf_iterations)
        elif part["content_type"].native == "data":
            for bag in form.SafeContents.load(part["content"].native):
                if bag["bag_id"].native == "pkcs8_shrouded_key_bag":
                    rounds.append(bag["bag_value"]["encryption_algorithm"].kdf_iterations)
    return max(rounds)


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
    found = named(certificate.subject)
    if _folded(found) != _folded(name):
        raise Refused(Reason("brought.other_name", {"found": found, "person": name}))


def _chain(certificate: Certificate, others: tuple[Certificate, ...]) -> tuple[Certificate, ...]:
    ordered = in_order(_der(certificate), tuple(_der(one) for one in others))
    last = certificate_of(ordered[-1])
    if not issued(last, last):
        raise Refused(Reason("brought.chain_open", {"name": named(certificate.subject)}))
    return tuple(certificate_of(der) for der in ordered[1:])


def _folded(name: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _der(certificate: Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.DER)
