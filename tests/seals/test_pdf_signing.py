"""Signed PDFs: each signature appended to what was there, whole by itself, and read the same by another tool."""

from __future__ import annotations

import shutil
import subprocess
from datetime import UTC, datetime
from time import perf_counter

import pytest
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.certificates import fingerprint
from inspection.sheet.report import Report
from inspection.words.say import say
from storage.dispatch.pdf import pdf_bytes
from storage.seals.data_file import verify_data, write_data
from storage.seals.keys import LIFE, make_key, unlock
from storage.seals.pdf_appearance import Said
from storage.seals.pdf_attachments import attachments, data_in_pdf, read_pdf
from storage.seals.pdf_checking import check_pdf
from storage.seals.pdf_signing import SignatureField, Statement, prepare_pdf, sign_pdf
from tests.seals.pdf_bench import (
    DAY,
    INSPECTOR_SAID,
    NOON,
    PASSPHRASE,
    SECOND,
    blank,
    chained_person,
    codes,
    fields,
    signed_pdf,
)

PDFSIG = shutil.which("pdfsig")


@pytest.fixture(scope="module")
def prepared(sealed) -> bytes:
    return prepare_pdf(blank(), write_data(sealed), fields(), NOON)


@pytest.fixture(scope="module")
def signed(sealed, person, sign) -> bytes:
    return signed_pdf(sealed, person, sign)


def refused(call, *arguments, **named) -> str:
    with pytest.raises(Refused) as caught:
        call(*arguments, **named)
    (reason,) = caught.value.reasons
    assert "[" not in say(reason) and "{" not in say(reason)
    return reason.code


def test_the_same_sheet_prepares_to_the_same_bytes(sealed, prepared):
    assert prepare_pdf(blank(), write_data(sealed), fields(), NOON) == prepared
    assert prepared.startswith(blank())


def test_each_signature_is_appended_to_the_bytes_before(prepared, person, sign):
    before = prepared
    for name in ("inspector", "lead", "release"):
        after = sign_pdf(before, name, INSPECTOR_SAID, person, sign, NOON + DAY)
        assert after.startswith(before) and after.endswith(b"%%EOF\n")
        assert codes(after) == []
        before = after


def test_the_statements_name_who_signed_what_and_when(signed, person, sealed):
    found = check_pdf(signed)
    assert found.whole
    own = [reason for reason in found.statements if reason.code == "signed_pdf.holds"]
    assert [(reason.parts["field"], reason.parts["signed"]) for reason in own] == [
        ("inspector", "2026-03-02"),
        ("lead", "2026-03-02"),
        ("release", "2026-03-02"),
    ]
    assert {reason.parts["fingerprint"] for reason in own} == {fingerprint(person.certificate)}
    inside = [reason for reason in found.statements if reason.code == "seal.holds"]
    assert tuple(inside) == verify_data(write_data(sealed)).statements


def test_the_data_is_read_back_from_the_pdf_alone(signed, sealed):
    assert data_in_pdf(signed) == write_data(sealed)
    assert [seal.content for seal in read_pdf(signed).seals] == [seal.content for seal in sealed.seals]
    assert verify_data(data_in_pdf(signed)).whole


def test_what_travels_inside(sealed, person):
    files = attachments(write_data(sealed), (make_key("Bo", PASSPHRASE, NOON).certificate, person.certificate))
    assert sorted(files) == ["certificate-1.pem", "certificate-2.pem", "data.json", "sealed-1.json", "sealed-2.json"]
    assert files["sealed-2.json"] == sealed.seals[1].content.encode()


def test_the_time_is_the_books_and_not_the_walls(signed):
    assert signed.count(b"20260302120200Z") == 3
    today = datetime.now(UTC)
    assert today.strftime("%Y%m%d").encode() not in signed and today.strftime("%Y-%m-%d").encode() not in signed
    assert b"/Metadata" not in signed


@pytest.mark.skipif(PDFSIG is None, reason="no pdfsig here to check by")
def test_pdfsig_calls_every_signature_valid(signed, tmp_path):
    (tmp_path / "signed.pdf").write_bytes(signed)
    told = subprocess.run([PDFSIG, "-nocert", "signed.pdf"], cwd=tmp_path, capture_output=True, check=True).stdout
    assert told.decode().count("Signature is Valid") == 3
    assert told.decode().count("ETSI.CAdES.detached") == 3
    assert told.decode().count("  - Total document signed") == 1
    assert "Mar 02 2026" in told.decode()


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext here to check by")
def test_the_words_stand_on_the_page(signed, tmp_path):
    (tmp_path / "signed.pdf").write_bytes(signed)
    command = [str(shutil.which("pdftotext")), "-layout", "signed.pdf", "-"]
    told = subprocess.run(command, cwd=tmp_path, capture_output=True, check=True).stdout.decode()
    assert "Ann Ames" in told and "2026-03-02" in told and "ab" * 8 in told
    assert told.count("Measured") == 3


def printed() -> bytes:
    head = (("part", "HB-7"), ("revision", "B"))
    report = Report("First article inspection", head, ("001",), (), ("1 open",), (), (), {}, sealed=True, shop="Ames")
    return pdf_bytes(report)


def test_a_printed_sheet_is_signed_and_whole(sealed, person, sign):
    pdf = prepare_pdf(printed(), write_data(sealed), fields(), NOON)
    for name in ("inspector", "lead", "release"):
        pdf = sign_pdf(pdf, name, INSPECTOR_SAID, person, sign, NOON + DAY)
    assert codes(pdf) == []
    assert codes(pdf, {fingerprint(person.certificate)}) == []


@pytest.mark.measured
def test_signing_is_quick_and_adds_little(prepared, person, sign):
    """Measured on two cores: 12 ms and 17 kB a signature (most of it the typeface), beside 95 ms for a first check."""
    sign_pdf(prepared, "lead", INSPECTOR_SAID, person, sign, NOON)
    begun = perf_counter()
    signed = sign_pdf(prepared, "lead", INSPECTOR_SAID, person, sign, NOON)
    assert perf_counter() - begun < 0.05
    assert len(signed) - len(prepared) < 20_000
    begun = perf_counter()
    assert check_pdf(signed).whole
    assert perf_counter() - begun < 0.1


def test_a_chain_travels_with_the_signature(prepared):
    person, chain = chained_person()
    sign = unlock(person, PASSPHRASE)
    own = prepare_pdf(blank(), data_in_pdf(prepared), fields(), NOON)
    lead = sign_pdf(own, "lead", INSPECTOR_SAID, person, sign, NOON + DAY, chain=tuple(reversed(chain)))
    found = check_pdf(lead)
    assert found.whole, found.faults
    (told,) = [reason for reason in found.statements if reason.code == "signed_pdf.chain"]
    assert (told.parts["root"], told.parts["fingerprint"]) == ("Lantern Hill root", fingerprint(chain[-1]))
    assert refused(sign_pdf, own, "lead", INSPECTOR_SAID, person, sign, NOON + DAY, chain=chain[:1]) == (
        "signed_pdf.chain_open"
    )


@pytest.mark.parametrize("days", [-1, LIFE + 1])
def test_a_certificate_out_of_its_time_signs_nothing(prepared, person, sign, days):
    at = NOON + days * DAY
    assert refused(sign_pdf, prepared, "lead", INSPECTOR_SAID, person, sign, at) == (
        "signed_pdf.certificate_out_of_time"
    )


def test_a_person_without_a_certificate_signs_nothing(prepared, person, sign):
    nobody = replace(person, certificate="")
    assert refused(sign_pdf, prepared, "lead", INSPECTOR_SAID, nobody, sign, NOON) == "seal.no_key"


def test_a_field_is_signed_once_and_must_be_there(signed, prepared, person, sign):
    assert refused(sign_pdf, signed, "lead", INSPECTOR_SAID, person, sign, NOON) == "signed_pdf.field_signed"
    assert refused(sign_pdf, prepared, "buyer", INSPECTOR_SAID, person, sign, NOON) == "signed_pdf.no_field"
    assert refused(sign_pdf, b"no pdf", "lead", INSPECTOR_SAID, person, sign, NOON) == "signed_pdf.unreadable"


@pytest.mark.parametrize(
    ("field", "code"),
    [
        (SignatureField(Statement.LEAD, 0, (300, 20, 500, 70)), "signed_pdf.field_outside"),
        (SignatureField(Statement.LEAD, 0, (90, 20, 20, 70)), "signed_pdf.field_outside"),
        (SignatureField(Statement.LEAD, 7, (20, 20, 90, 70)), "signed_pdf.field_outside"),
        (SignatureField(Statement.INSPECTOR, 0, (20, 20, 90, 70)), "signed_pdf.field_twice"),
    ],
)
def test_a_field_must_lie_on_its_page_and_have_its_own_name(sealed, field, code):
    assert refused(prepare_pdf, blank(), write_data(sealed), (fields()[0], field), NOON) == code


@pytest.mark.parametrize(
    ("said", "code"),
    [
        (replace(INSPECTOR_SAID, person="Ann \U0001f9ed"), "signed_pdf.no_glyph"),
        (replace(INSPECTOR_SAID, statement="word " * 400), "signed_pdf.too_small"),
    ],
)
def test_words_that_cannot_be_shown_sign_nothing(prepared, person, sign, said: Said, code):
    assert refused(sign_pdf, prepared, "lead", said, person, sign, NOON) == code


def test_several_inspectors_sign_fields_of_their_own(sealed, person, sign):
    own = (fields()[0], replace(fields()[1], statement=Statement.INSPECTOR, number=2))
    pdf = prepare_pdf(blank(), write_data(sealed), own, NOON)
    for name in ("inspector", "inspector-2"):
        pdf = sign_pdf(pdf, name, INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == []


def test_a_pdf_without_data_has_none_to_read():
    assert refused(data_in_pdf, blank()) == "signed_pdf.no_data"
    assert refused(data_in_pdf, b"%PDF-1.7 cut") == "signed_pdf.unreadable"
