"""Certificates as the core knows them: PEM text with a fingerprint."""

from __future__ import annotations

from base64 import b64decode
from binascii import Error as NotBase64
from hashlib import sha256


def fingerprint(certificate: str) -> str:
    """SHA-256 of a certificate's DER bytes in hex, as certificate tools print it; empty if the PEM holds none."""
    lines = certificate.strip().splitlines()
    body = "".join(line.strip() for line in lines if not line.startswith("-----"))
    try:
        der = b64decode(body, validate=True)
    except NotBase64:
        return ""
    return sha256(der).hexdigest() if der else ""
