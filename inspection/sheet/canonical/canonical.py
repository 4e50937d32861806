"""Canonical bytes: JSON as RFC 8785 asks, of values that hold no floats."""

from __future__ import annotations

import hashlib

import msgspec

from inspection.quantity.units import LARGEST_COUNT

_encoder = msgspec.json.Encoder(order="sorted")


def dumps(value: object) -> bytes:
    """The canonical UTF-8 bytes of a Struct or of plain values (RFC 8785, sections 3.2.1 to 3.2.3).

    Keys are ASCII here, so that sorting by code point is the sorting by UTF-16 units that the RFC asks for. Raises
    ValueError for a float, an integer beyond 2**53 or a key that is not ASCII: none of them may be signed.
    """
    plain = msgspec.to_builtins(value, str_keys=True)
    _guard(plain)
    return _encoder.encode(plain)


def digest(content: bytes) -> str:
    """SHA-256 of ``content`` in hex."""
    return hashlib.sha256(content).hexdigest()


def _guard(plain: object) -> None:
    if isinstance(plain, dict):
        for key, item in plain.items():
            if not key.isascii():
                raise ValueError(f"key {key!r} is not ASCII")
            _guard(item)
    elif isinstance(plain, list | tuple):
        for item in plain:
            _guard(item)
    elif isinstance(plain, float):
        raise ValueError("a float cannot be signed; write a decimal string")
    elif isinstance(plain, int) and abs(plain) > LARGEST_COUNT:
        raise ValueError("an integer beyond 2**53 cannot be signed as a number")
