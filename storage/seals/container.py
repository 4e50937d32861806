"""The container in which a key is locked: PKCS#12 (RFC 7292), encrypted by PBES2 with PBKDF2 (RFC 8018).

The library that writes it gives its checksum 2,048 rounds whatever the encryption has, and a guess of the passphrase
costs no more than the checksum does. So the checksum is made anew, with as many rounds as the encryption.
"""

from __future__ import annotations

import hmac
import secrets
import unicodedata
from collections.abc import Sequence
from hashlib import sha256
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import Certificate

#: Rounds of the key derivations: what a guess of the passphrase costs.
ROUNDS = 600_000
_SALT = 16
_BLOCK = 64  # of SHA-256, in bytes: v in RFC 7292, appendix B.2
_FOR_A_CHECKSUM = 3  # the diversifier, RFC 7292, appendix B.3


def secret_of(passphrase: str) -> bytes:
    """The passphrase as bytes: the same however the keyboard composed its letters."""
    return unicodedata.normalize("NFC", passphrase).encode()


def locked(
    name: str,
    private: EllipticCurvePrivateKey,
    certificate: Certificate,
    chain: Sequence[Certificate],
    passphrase: str,
) -> bytes:
    """The container's bytes: key, certificate and those above it under ``passphrase``, with ``name`` as a label."""
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import PrivateFormat, pkcs12

    locking = (
        PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(hashes.SHA256())
        .build(secret_of(passphrase))
    )
    made = pkcs12.serialize_key_and_certificates(name.encode(), private, certificate, chain or None, locking)
    return _with_checksum(made, passphrase, secrets.token_bytes(_SALT))


def _with_checksum(container: bytes, passphrase: str, salt: bytes) -> bytes:
    """The container with its checksum made by ROUNDS (RFC 7292, section 5.1 and appendix B)."""
    from asn1crypto import pkcs12

    found = pkcs12.Pfx.load(container, strict=True)
    key = checksum_key(passphrase, salt, ROUNDS)
    digest = hmac.digest(key, found["auth_safe"]["content"].contents, "sha256")
    found["mac_data"] = {
        "mac": {"digest_algorithm": {"algorithm": "sha256"}, "digest": digest},
        "mac_salt": salt,
        "iterations": ROUNDS,
    }
    return bytes(found.dump())


def checksum_key(passphrase: str, salt: bytes, rounds: int) -> bytes:
    """The key of a checksum by SHA-256: one block of the derivation in RFC 7292, appendix B.2."""
    password = (secret_of(passphrase).decode() + "\0").encode("utf-16-be")
    found = bytes([_FOR_A_CHECKSUM]) * _BLOCK + _filled(salt) + _filled(password)
    for _ in range(rounds):
        found = sha256(found).digest()
    return found


def _filled(text: bytes) -> bytes:
    """A text again and again up to a whole number of blocks; nothing stays nothing."""
    size = -(-len(text) // _BLOCK) * _BLOCK
    return (text * (size // len(text) + 1))[:size] if text else b""
