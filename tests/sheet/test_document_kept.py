"""The signed PDF of a sheet only grows: a further signature, or a time stamp in the last one, behind the same bytes."""

from __future__ import annotations

from typing import Any

import pytest

from inspection.attached import Attached
from inspection.sheet import acts
from inspection.sheet.document_life import to_be_signed
from inspection.sheet.review import StatementKind
from tests.sheet.test_review import measured, shop, state

__all__ = ["shop"]
ONE, TWO, OTHER = (Attached(f"{name}.pdf", name * 64, 9) for name in "abc")


def keeping(life: Any, signs: str, *files: Attached, stamped: bool = False) -> acts.KeepDocument:
    return acts.KeepDocument(sheet=life.sheet_id, signs=signs, files=files, stamped=stamped)


@pytest.fixture
def signed_twice(shop: Any) -> tuple[Any, str, str]:
    """A sheet signed and approved, its PDF with both signatures; the digests of what they state."""
    seal = measured(shop).sign().digest
    shop.do(keeping(shop, seal, ONE))
    state(shop, StatementKind.APPROVED)
    (approved,) = to_be_signed(shop.sheet, shop.lead)
    assert to_be_signed(shop.sheet, shop.person) == ()
    return shop, seal, approved.digest


def test_a_further_signature_comes_behind_the_very_bytes_before(signed_twice: tuple[Any, str, str]) -> None:
    life, _seal, approved = signed_twice
    for files in ((OTHER, TWO), (TWO,), (TWO, ONE), (ONE, TWO, OTHER)):
        assert life.codes(keeping(life, approved, *files), person=life.lead) == ["document.not_appended"]
    life.do(keeping(life, approved, ONE, TWO), person=life.lead)
    assert life.sheet.documents[1].files == (ONE, TWO)


def test_a_time_stamp_goes_into_the_last_signature_only(signed_twice: tuple[Any, str, str]) -> None:
    life, seal, approved = signed_twice
    life.do(keeping(life, approved, ONE, TWO), person=life.lead)
    assert life.codes(keeping(life, seal, ONE, OTHER, stamped=True)) == ["document.not_the_last"]
    life.do(keeping(life, approved, ONE, OTHER, stamped=True))
    assert life.sheet.documents[1].files == (ONE, OTHER)
