"""A signing key that a person brings along in a PKCS#12 file (RFC 7292).

Only elliptic curve P-256 is taken. Every seal of a book is checked by one algorithm (``seals.sign``), by programs that
may be written in fifty years; a second one would double what each of them must know, and RSA of the same strength
(3072 bits, NIST SP 800-57 part 1 rev. 5, table 2) takes about ten times as long to sign.
"""

from __future__ import annotations

import unicodedata
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from msgspec import Struct

from inspection.reasons import Reason, Refused
from storage.seals.certificate_told import named
from storage.seals.keys import Key, fit_passphrase, key_of
from storage.seals.pdf_envelope import certificate_of, in_order, issued, may_sign, pem_of

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization.pkcs12 import PKCS12KeyAndCertificates
    from cryptography.x509 import Certificate


class BroughtKey(Struct, frozen=True):
    """A key as the book keeps it, and the certificates above its own (PEM), each after the one it signed."""

    key: Key
    chain: tuple[str, ...] = ()


def bring_key(name: str, container: bytes, opens: str, passphrase: str, at: int) -> BroughtKey:
    """The key of a PKCS#12 file for the person ``name``, locked anew under the person's own ``passphrase``.

    ``opens`` is the passphrase of the file, ``at`` is the book's now in UTC microseconds. The chain stays with the
    key in its container. Raises Refused for a file that cannot be read or opened, holds no key, no certificate for
    it or no whole chain, a key of another kind, a certificate out of its time, for another use or in another name,
    and a passphrase that is none or too short.
    """
    fit_passphrase(name, passphrase)
    found = _opened(container, opens)
    private, certificate = _fit(found)
    _refuse_unfit(certificate, name, datetime.fromtimestamp(at // 1_000_000, UTC))
    chain = _chain(certificate, tuple(extra.certificate for extra in found.additional_certs))
    return BroughtKey(key_of(name, private, certificate, chain, passphrase), tuple(pem_of(_der(one)) for one in chain))


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
