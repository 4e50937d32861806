"""A statement by itself: what was stated of which seal, in canonical bytes, with its signature and certificate."""

from __future__ import annotations

from collections.abc import Collection

import msgspec
from msgspec import Struct

from inspection.reasons import Part, Reason
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.certificates import fingerprint
from inspection.sheet.events import Signature
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Statement
from storage.seals.check import check_signature, name_on


class SignedContent(Struct, frozen=True):
    """What was signed: canonical content as text, its SHA-256 in hex, and the signature over its bytes."""

    content: str
    digest: str
    signature: Signature


_decoder = msgspec.json.Decoder(SignedContent)


def carried(statement: Statement) -> SignedContent:
    """A statement as it travels outside the book."""
    return SignedContent(statement.content, statement.digest, statement.signature)


def read_carried(content: bytes) -> SignedContent:
    """What ``carried`` wrote as JSON. Raises msgspec.DecodeError or UnicodeDecodeError for anything else."""
    return _decoder.decode(content)


def kind_of(one: SignedContent) -> StatementKind:
    """What kind of statement it is. Raises msgspec.DecodeError for content that is no statement."""
    return form_4.read_statement(one.content).kind


def against_stated(one: SignedContent, seals: Collection[str], earlier: tuple[str, ...] | None = None) -> list[Reason]:
    """What stands against a statement; ``seals`` are the digests of those it may speak of, ``earlier`` those of the
    statements before it, where all of them are there."""
    content = one.content.encode("utf-8", "surrogatepass")
    if digest(content) != one.digest:
        return [Reason("seal.digest_differs", {"digest": one.digest[:16]})]
    try:
        held = form_4.read_statement(content)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return [Reason("seal.unreadable_content", {"digest": one.digest[:16]})]
    told: dict[str, Part] = {"statement": f"statement.{held.kind.name.lower()}", "round": held.round}
    own = fingerprint(one.signature.certificate)
    named = bool(own) and held.certificate == own
    faults = list(check_signature(content, one.signature, held.at, named=named))
    if not faults and not named:
        faults.append(Reason("stated.other_certificate", told))
    if held.seal not in seals:
        faults.append(Reason("stated.other_seal", told))
    if earlier is not None and held.earlier != earlier:
        faults.append(Reason("stated.earlier_missing", told))
    return faults


def said(one: SignedContent) -> Reason:
    """What a statement that holds says."""
    held = form_4.read_statement(one.content)
    parts: dict[str, Part] = {
        "statement": f"statement.{held.kind.name.lower()}",
        "round": held.round,
        "words": held.words,
        "person": name_on(one.signature.certificate),
        "digest": one.digest,
        "fingerprint": fingerprint(one.signature.certificate),
    }
    return Reason("stated.holds_with_words" if held.words else "stated.holds", parts)
