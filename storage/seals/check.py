"""Checking a signature: over the bytes, by the key of the certificate, within the certificate's time.

Whom an authority's certificate names is the authority's word, and no chain to it is asked for: what a seal vouches for
is the very certificate, whose fingerprint is under it. Only where nothing names the certificate has it to prove by its
own key that not a bit of it was changed.
"""

from __future__ import annotations

import base64
import warnings
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from inspection.reasons import Reason
from inspection.sheet.events import Signature
from inspection.sheet.review import StatementKind, replacing
from storage.seals.pdf_envelope import good_at, issued, may_sign
from storage.seals.sign import ALGORITHM

if TYPE_CHECKING:
    from cryptography.x509 import Certificate


class OnSheet(Reason, frozen=True):
    """A finding about one ``sheet`` of a book, by its identity, so that whoever reads it can go there."""

    sheet: str = ""


class Verified(Struct, frozen=True):
    """What a check found: ``statements`` say what holds, ``faults`` what does not. Whole if there is no fault."""

    statements: tuple[Reason, ...] = ()
    faults: tuple[Reason, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether nothing stands against it."""
        return not self.faults


#: What is told of a statement that holds by its signature and was made again or to the contrary later, by what is told
#: of one that stands.
_REPLACED = {
    "verify.statement_holds": "verify.statement_replaced",
    "stated.holds": "stated.replaced",
    "stated.holds_with_words": "stated.replaced_with_words",
}


def which_stand(found: Iterable[Reason]) -> tuple[Reason, ...]:
    """What was found of one sheet, in the order in which it was signed, with the statements that a later one stands in
    place of told as such: unchanged, and yet not what is stated of the first article."""
    told = list(found)
    places = [place for place, each in enumerate(told) if each.code in _REPLACED]
    for at in replacing([_stated(told[place]) for place in places]):
        told[places[at]] = replace(told[places[at]], code=_REPLACED[told[places[at]].code])
    return tuple(told)


def _stated(told: Reason) -> tuple[StatementKind, int]:
    of_round = told.parts["round"]
    assert isinstance(of_round, int)
    return StatementKind[str(told.parts["statement"]).partition(".")[2].upper()], of_round


def check_signature(content: bytes, signature: Signature, at: int, *, named: bool = False) -> tuple[Reason, ...]:
    """What stands against this signature over ``content``, made at ``at`` (UTC microseconds); nothing if it holds.

    ``named`` says that something trusted names this very certificate, by its fingerprint or whole; any other must be
    signed by its own key (RFC 5280, 3.2)."""
    if signature.algorithm != ALGORITHM:
        return (Reason("seal.unknown_algorithm", {"algorithm": signature.algorithm}),)
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    certificate = certificate_in(signature.certificate)
    if certificate is None:
        return (Reason("seal.unreadable_certificate"),)
    if not named and not issued(certificate, certificate):
        return (Reason("seal.unproven_certificate"),)
    key = certificate.public_key()
    try:
        value = base64.b64decode(signature.value, validate=True)
    except ValueError:
        return (Reason("seal.unreadable_certificate"),)
    name = _name(certificate)
    if not isinstance(key, ec.EllipticCurvePublicKey) or not isinstance(key.curve, ec.SECP256R1):
        return (Reason("seal.unreadable_certificate"),)
    try:
        key.verify(value, content, ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        return (Reason("seal.broken", {"person": name}),)
    unfit = () if may_sign(certificate) else (Reason("seal.unfit_usage", {"person": name}),)
    return (*_out_of_time(certificate, name, at), *unfit)


def _out_of_time(certificate: Certificate, name: str, at: int) -> tuple[Reason, ...]:
    signed = datetime.fromtimestamp(at // 1_000_000, UTC)
    if good_at(certificate, signed):
        return ()
    first, last = certificate.not_valid_before_utc.date(), certificate.not_valid_after_utc.date()
    parts = {"person": name, "first": first.isoformat(), "last": last.isoformat(), "signed": signed.date().isoformat()}
    return (Reason("seal.out_of_time", {**parts}),)


def name_on(certificate: str) -> str:
    """The name that a PEM certificate was made for; empty if it cannot be read."""
    found = certificate_in(certificate)
    return _name(found) if found is not None else ""


def certificate_in(pem: str) -> Certificate | None:
    """The certificate in a PEM text; None for anything else."""
    from cryptography import x509
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.utils import CryptographyDeprecationWarning

    try:
        with warnings.catch_warnings():  # of what an altered one would be: its fingerprint or signature tells it
            warnings.simplefilter("ignore", CryptographyDeprecationWarning)
            found = x509.load_pem_x509_certificate(pem.encode())
            found.public_key()
            found.subject  # noqa: B018 - read now, for an altered one may fail at either
    except (ValueError, TypeError, UnsupportedAlgorithm, x509.InvalidVersion):
        return None
    return found


def _name(certificate: Certificate) -> str:
    from cryptography.x509.oid import NameOID

    found = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return str(found[0].value) if found else ""
