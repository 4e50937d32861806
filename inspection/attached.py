"""A file kept with a record: a certificate, a test report, a photograph of a mark."""

from __future__ import annotations

from msgspec import Struct


class Attached(Struct, frozen=True):
    """A file by its name then and the SHA-256 of its bytes (hex); the bytes lie in the book, ``size`` of them."""

    name: str
    digest: str
    size: int
