"""Signing canonical bytes: ECDSA on P-256 with SHA-256 (FIPS 186-4, section 6), as DER."""

from __future__ import annotations

import base64
from collections.abc import Callable
from typing import TYPE_CHECKING

from inspection.sheet.events import Signature

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

ALGORITHM = "ECDSA-P256-SHA256"


def signer(private: EllipticCurvePrivateKey, certificate: str) -> Callable[[bytes], Signature]:
    """What signs bytes with this key; ``certificate`` (PEM) goes with each signature."""
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    def sign(content: bytes) -> Signature:
        value = private.sign(content, ec.ECDSA(hashes.SHA256()))
        return Signature(ALGORITHM, base64.b64encode(value).decode(), certificate)

    return sign
