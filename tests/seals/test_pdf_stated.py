"""A statement that travels in a signature of a PDF: it must hold by itself, be the signer's, and belong there."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.review import StatementKind
from storage.seals.data_file import write_data
from storage.seals.keys import unlock
from storage.seals.pdf_signing import prepare_pdf, sign_pdf
from storage.seals.stated import SignedContent
from tests.seals.pdf_bench import INSPECTOR_SAID, NOON, PASSPHRASE, SECOND, blank, chained_person, codes, fields

WORDS = "seen on the part ⌀"


def stated(sealed: Any, person: Any, sign: Any, kind: StatementKind = StatementKind.APPROVED, **more: Any) -> Any:
    """What ``person`` states of the sheet's last seal, signed by ``sign``; ``more`` fields are other than they are."""
    from inspection.sheet.certificates import fingerprint

    made = form_4.StatementContent(
        program="Tenthwright test",
        kind=kind,
        sheet=sealed.identity,
        round=2,
        shop="Ames & Daughter",
        seal=sealed.seals[-1].digest,
        chain="0" * 64,
        words=WORDS,
        own=False,
        answers=(),
        read_again=(),
        nonconformances=(),
        earlier=(),
        by=form_4.Named(person.identity, person.name),
        at=NOON + 60 * SECOND,
        certificate=fingerprint(person.certificate),
    )
    content = form_4.write_statement(replace(made, **more))
    return SignedContent(content.decode(), digest(content), sign(content))


def signed(sealed: Any, person: Any, sign: Any, carried: Any, field: str = "lead") -> bytes:
    pdf = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    return sign_pdf(pdf, field, INSPECTOR_SAID, person, sign, NOON + 120 * SECOND, stated=carried)


def test_a_statement_travels_in_its_signature(sealed: Any, person: Any, sign: Any) -> None:
    from storage.seals.pdf_checking import check_pdf

    found = check_pdf(signed(sealed, person, sign, stated(sealed, person, sign)))
    assert found.whole
    (told,) = [each for each in found.statements if each.code.startswith("stated.")]
    assert told.parts["words"] == WORDS and told.parts["statement"] == "statement.approved"


def test_a_long_statement_travels_in_pieces(sealed: Any, person: Any, sign: Any) -> None:
    long = stated(sealed, person, sign, words="⌀ " * 30_000)
    assert codes(signed(sealed, person, sign, long)) == []


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ("of another seal", "stated.other_seal"),
        ("in another field", "stated.other_field"),
        ("of another signer", "stated.other_signer"),
        ("altered", "seal.digest_differs"),
        ("altered with its digest", "seal.broken"),
        ("no statement", "seal.unreadable_content"),
        ("another certificate", "stated.other_certificate"),
    ],
)
def test_a_statement_that_does_not_belong_is_told_though_signed(
    sealed: Any, person: Any, sign: Any, change: str, code: str
) -> None:
    carried = stated(sealed, person, sign)
    other, _ = chained_person()
    match change:
        case "of another seal":
            carried = stated(sealed, person, sign, seal="ab" * 32)
        case "in another field":
            carried = stated(sealed, person, sign, StatementKind.RELEASED)
        case "of another signer":
            carried = stated(sealed, other, unlock(other, PASSPHRASE))
        case "altered":
            carried = replace(carried, content=carried.content.replace("seen", "said"))
        case "altered with its digest":
            content = carried.content.replace("seen", "said")
            carried = replace(carried, content=content, digest=digest(content.encode()))
        case "no statement":
            carried = SignedContent("{}", digest(b"{}"), sign(b"{}"))
        case _:
            carried = stated(sealed, person, sign, certificate="cd" * 32)
    assert code in codes(signed(sealed, person, sign, carried))
