"""The data file: every seal of a sheet, and every statement made of it, with canonical bytes, signature and
certificate, in one JSON file that verifies without the book."""

from __future__ import annotations

import msgspec
from msgspec import Struct

from inspection.reasons import Reason, Refused
from inspection.sheet.canonical.canonical import digest, dumps
from inspection.sheet.canonical.forms import read_content
from inspection.sheet.certificates import fingerprint
from inspection.sheet.chain_head import ChainHead
from inspection.sheet.state import Sheet
from storage.seals.check import Verified, check_signature, name_on, which_stand
from storage.seals.stated import SignedContent, against_stated, carried, said

FORMAT = "tenthwright data file"


#: Statements came with the second version; a file without any is written as the first.
NEWEST = 2


class DataFile(Struct, frozen=True, kw_only=True, omit_defaults=True):
    """A whole data file; ``seals`` and ``statements`` in the order they were made, ``chain`` the head of the book's
    chain."""

    format: str
    version: int
    seals: tuple[SignedContent, ...]
    statements: tuple[SignedContent, ...] = ()
    chain: str = ""


_decoder = msgspec.json.Decoder(DataFile)


def write_data(sheet: Sheet, chain: ChainHead | None = None) -> bytes:
    """The data file of a sealed sheet. Raises Refused for one that was never sealed."""
    if not sheet.seals:
        raise Refused(Reason("seal.none", {"number": sheet.plan.part.number}))
    seals = tuple(SignedContent(seal.content, seal.digest, seal.signature) for seal in sheet.seals)
    statements = tuple(map(carried, sheet.statements))
    version = NEWEST if statements else 1
    told = chain.written if chain is not None else ""
    return dumps(DataFile(format=FORMAT, version=version, seals=seals, statements=statements, chain=told)) + b"\n"


def read_data(content: bytes) -> DataFile:
    """The data file in these bytes. Raises Refused if they hold none, or one of a later version."""
    try:
        found = _decoder.decode(content)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise Refused(Reason("seal.not_a_data_file")) from None
    if found.format != FORMAT or not found.seals:
        raise Refused(Reason("seal.not_a_data_file"))
    if found.version not in range(1, NEWEST + 1):
        raise Refused(Reason("seal.later_data_file", {"version": found.version}))
    return found


def verify_data(content: bytes) -> Verified:
    """Check a data file by itself: each seal's digest, form, signature and time, and that the seals follow each other;
    the same of each statement, and that it speaks of a seal inside.

    Without the book a certificate is as good as the trust in its fingerprint, which the statement names. Raises
    Refused if the bytes hold no data file.
    """
    statements: list[Reason] = []
    faults: list[Reason] = []
    earlier: list[str] = []
    read = read_data(content)
    for seal in read.seals:
        found = _against(seal, tuple(earlier))
        faults += found
        earlier.append(seal.digest)
        if not found:
            statements.append(_statement(seal))
    digests = {seal.digest for seal in read.seals}
    for place, stated in enumerate(read.statements):
        found = against_stated(stated, digests, tuple(each.digest for each in read.statements[:place]))
        faults += found
        statements += () if found else (said(stated),)
    return Verified(which_stand(statements), tuple(faults))


def _against(seal: SignedContent, earlier: tuple[str, ...]) -> list[Reason]:
    content = seal.content.encode("utf-8", "surrogatepass")
    if digest(content) != seal.digest:
        return [Reason("seal.digest_differs", {"digest": seal.digest[:16]})]
    try:
        sealed = read_content(content)
    except Refused as later:
        return list(later.reasons)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return [Reason("seal.unreadable_content", {"digest": seal.digest[:16]})]
    own = fingerprint(seal.signature.certificate)
    named = bool(own) and sealed.certificate == own
    faults = list(check_signature(content, seal.signature, sealed.signed_at, named=named))
    if not faults and sealed.certificate and not named:
        faults.append(Reason("seal.other_certificate", {"round": sealed.round}))
    if sealed.earlier != earlier:
        faults.append(Reason("seal.earlier_missing", {"round": sealed.round}))
    return faults


def _statement(seal: SignedContent) -> Reason:
    sealed = read_content(seal.content)
    return Reason(
        "seal.holds",
        {
            "number": sealed.plan.part.number,
            "revision": sealed.plan.part.revision,
            "serials": ", ".join(piece.serial for piece in sealed.pieces),
            "round": sealed.round,
            "person": name_on(seal.signature.certificate),
            "fingerprint": fingerprint(seal.signature.certificate),
            "digest": seal.digest,
        },
    )
