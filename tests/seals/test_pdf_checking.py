"""Hostile PDFs: whatever is done to a signed file, the check refuses or names it, and nothing ends the check."""

from __future__ import annotations

import os
import re
from io import BytesIO

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.generic import pdf_name

from inspection.sheet.certificates import fingerprint
from inspection.sheet.people import Person
from storage.seals import pdf_attachments, pdf_signing
from storage.seals.data_file import verify_data, write_data
from storage.seals.keys import LIFE, make_key, unlock
from storage.seals.pdf_attachments import attach, data_in_pdf
from storage.seals.pdf_checking import check_pdf
from storage.seals.pdf_signing import SignatureField, Statement, prepare_pdf, sign_pdf
from tests.seals.pdf_bench import (
    DAY,
    INSPECTOR_SAID,
    NOON,
    PASSPHRASE,
    SECOND,
    blank,
    certificate,
    codes,
    fields,
    pem,
    signed_pdf,
)


@pytest.fixture(scope="module")
def signed(sealed, person, sign) -> bytes:
    return signed_pdf(sealed, person, sign)


@pytest.fixture(scope="module")
def once(sealed, person, sign) -> bytes:
    return signed_pdf(sealed, person, sign, ("inspector",))


@pytest.fixture(scope="module")
def other() -> Person:
    key = make_key("Ann Ames", PASSPHRASE, NOON)
    return Person("x", "Ann Ames", certificate=key.certificate, locked_key=key.locked_key)


def flipped(pdf: bytes, at: int, bit: int) -> bytes:
    return pdf[:at] + bytes([pdf[at] ^ 1 << bit]) + pdf[at + 1 :]


def updated(pdf: bytes, change) -> bytes:
    """The PDF with what ``change`` does to a writer appended as one more revision."""
    writer = pdf_signing._writer(pdf)  # a changed file that looks as ours do but for the change
    change(writer)
    out = BytesIO()
    writer.write(out)
    assert out.getvalue().startswith(pdf) and len(out.getvalue()) > len(pdf)
    return out.getvalue()


def gaps(pdf: bytes) -> list[tuple[int, int]]:
    """Where the envelopes stand, with their angle brackets."""
    ranges = re.findall(rb"/ByteRange ?\[ ?0 +(\d+) +(\d+) +\d+", pdf)
    return [(int(before), int(after)) for before, after in ranges]


def test_an_untouched_file_is_whole(signed, once):
    assert codes(signed) == codes(once) == []


def test_every_digit_of_the_last_envelope_counts(once):
    """The one place that the signature itself does not cover: one bit of every other digit; the filling sampled."""
    before, after = gaps(once)[-1]
    used = len(once[before:after].rstrip(b"0>"))
    for at in (*range(before, before + used, 2), *range(before + used, after, 41), after - 1):
        assert codes(flipped(once, at, at % 8)), at


@pytest.mark.parametrize("bit", [0, 5])
def test_a_flipped_byte_anywhere_is_found(signed, bit):
    for at in (*range(0, len(signed), 631), *range(len(signed) - 60, len(signed), 3)):
        assert codes(flipped(signed, at, bit)), at


#: Every byte takes minutes: one of so many in the usual run, all of them with TENTHWRIGHT_EVERY_BYTE=1.
STEP = 1 if os.environ.get("TENTHWRIGHT_EVERY_BYTE") else 61


@pytest.mark.slow
def test_each_single_byte_of_a_file_is_found(once):
    for at in range(0, len(once), STEP):
        assert not check_pdf(flipped(once, at, (at * 5) % 8)).whole, at


@settings(max_examples=60)
@given(at=st.integers(0, 10**6), length=st.integers(1, 40), put=st.binary(max_size=40))
def test_whatever_is_put_in_place_of_something_is_found(signed, at, length, put):
    at %= len(signed)
    if signed[at : at + length] != put:
        assert not check_pdf(signed[:at] + put + signed[at + length :]).whole


def test_small_hex_digits_in_the_envelope_are_not_ours(once):
    before, after = gaps(once)[-1]
    assert codes(once[:before] + once[before:after].lower() + once[after:]) == ["signed_pdf.broken"]


@pytest.mark.parametrize(
    "junk",
    [b"\n", b" ", b"\x00", b"% a comment\n", b"%%EOF\n", b"startxref\n0\n%%EOF\n", b"x" * 5000, b"%%EOF\r\n%%EOF"],
)
def test_anything_after_the_end_is_found(signed, junk):
    assert codes(signed + junk)


def test_anything_before_the_start_is_found(signed):
    assert codes(b"\n" + signed) and codes(b"%PDF-1.4\n" + signed)


def test_a_truncated_file_is_found(signed):
    for length in (*range(0, len(signed), 1500), len(signed) - 1, len(signed) - 7):
        assert codes(signed[:length]), length


def test_an_earlier_revision_says_only_what_it_holds(signed):
    """A file cut to an earlier signature is that earlier file: whole, and without the later statements."""
    ends = [match.end() for match in re.finditer(rb"%%EOF\n", signed)]
    found = check_pdf(signed[: ends[-2]])
    assert found.whole
    assert [r.parts["field"] for r in found.statements if r.code == "signed_pdf.holds"] == ["inspector", "lead"]


def test_a_page_changed_afterwards_is_found(signed):
    def change(writer):
        writer.add_stream_to_page(0, writer.add_object(generic.StreamObject(stream_data=b"0 0 9 9 re f")))

    found = codes(updated(signed, change))
    assert "signed_pdf.unsigned_revision" in found and "signed_pdf.more_after" in found


def test_a_catalogue_key_added_afterwards_is_found(signed):
    def change(writer):
        writer.root["/PageMode"] = pdf_name("/UseAttachments")
        writer.update_root()

    assert "signed_pdf.more_after" in codes(updated(signed, change))


def test_in_a_faulty_file_no_signature_is_said_to_hold(signed, sealed):
    found = check_pdf(signed + b"\n")
    assert {reason.code for reason in found.statements} == {"seal.holds"}
    assert found.statements == verify_data(write_data(sealed)).statements


def swap_data(data: bytes):
    def change(writer):
        tree = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
        stream = tree[1]["/EF"]["/F"]
        stream._data, stream._encoded_data = data, None
        writer.mark_update(tree[1]["/EF"].raw_get("/F"))

    return change


def test_a_swapped_attachment_is_found(signed):
    swapped = updated(signed, swap_data(b"{}"))
    assert {"signed_pdf.more_after", "signed_pdf.unsigned_revision"} <= set(codes(swapped))


def test_attachments_that_disagree_are_found_though_signed(sealed, person, sign):
    """The signer's own program could lie: the sealed bytes beside the data file must be those that it names."""
    prepared = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    pdf = sign_pdf(updated(prepared, swap_data(b"{}")), "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert "signed_pdf.attachment_differs" in codes(pdf) or "seal.not_a_data_file" in codes(pdf)

    extra = updated(prepared, lambda writer: attach(writer, {"extra.json": b"{}"}, sealed_day()))
    pdf = sign_pdf(extra, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.attachment_differs"]

    twice = updated(prepared, lambda writer: attach(writer, {"data.json": b"{}"}, sealed_day()))
    pdf = sign_pdf(twice, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.unreadable"]


def test_a_file_inside_that_unpacks_without_end_is_not_unpacked(sealed, person, sign, monkeypatch):
    monkeypatch.setattr(pdf_attachments, "LARGEST", 100_000)
    prepared = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    huge = updated(prepared, lambda writer: attach(writer, {"certificate-9.pem": bytes(100_001)}, sealed_day()))
    assert codes(sign_pdf(huge, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)) == ["signed_pdf.unreadable"]


def sealed_day():
    from datetime import UTC, datetime

    return datetime.fromtimestamp(NOON // SECOND, UTC)


def test_a_pdf_whose_sealed_data_was_altered_before_signing_is_found(sealed, person, sign):
    false = replace(sealed.seals[0], content=sealed.seals[0].content.replace("HB-7", "HB-8"))
    data = write_data(replace(sealed, seals=(false, *sealed.seals[1:])))
    pdf = prepare_pdf(blank(), data, fields(), NOON)
    assert "seal.digest_differs" in codes(sign_pdf(pdf, "inspector", INSPECTOR_SAID, person, sign, NOON + SECOND))


def test_a_stripped_signature_is_found(signed, once):
    def strip(writer):
        for held in writer.root["/AcroForm"]["/Fields"]:
            field = held.get_object()
            if "/V" in field:
                del field["/V"]
                writer.update_container(field)

    assert codes(updated(once, strip)) == ["signed_pdf.none"]
    assert (codes(blank()), codes(b"")) == (["signed_pdf.none"], ["signed_pdf.unreadable"])

    def strip_last(writer):
        field = writer.root["/AcroForm"]["/Fields"][2]
        del field["/V"]
        writer.update_container(field)

    assert codes(updated(signed, strip_last))


def test_an_emptied_envelope_is_found(once):
    before, after = gaps(once)[-1]
    assert codes(once[: before + 1] + b"0" * (after - before - 2) + once[after - 1 :]) == ["signed_pdf.unreadable"]


def hide(pdf: bytes) -> bytes:
    """A second page tree prepared inside the file before it is signed, shown by nothing."""

    def change(writer):
        page = generic.DictionaryObject(
            {
                pdf_name("/Type"): pdf_name("/Page"),
                pdf_name("/MediaBox"): generic.ArrayObject([generic.NumberObject(n) for n in (0, 0, 400, 300)]),
                pdf_name("/Contents"): writer.add_object(generic.StreamObject(stream_data=b"0 0 400 300 re f")),
                pdf_name("/Resources"): generic.DictionaryObject(),
            }
        )
        held = writer.add_object(page)
        pages = {pdf_name("/Type"): pdf_name("/Pages"), pdf_name("/Kids"): generic.ArrayObject([held])}
        tree = writer.add_object(generic.DictionaryObject({**pages, pdf_name("/Count"): generic.NumberObject(1)}))
        page["/Parent"] = tree

    return updated(pdf, change)


def show_hidden(writer) -> None:
    for number in range(1, int(writer.prev.trailer["/Size"])):
        reference = generic.IndirectObject(number, 0, writer.prev)
        try:
            found = reference.get_object()
        except Exception:
            continue
        if isinstance(found, generic.DictionaryObject) and found.get("/Type") == "/Pages":
            last = reference
    assert last.reference != writer.root.get_value_as_reference("/Pages")
    writer.root["/Pages"] = generic.IndirectObject(last.idnum, 0, writer)
    writer.update_root()


def test_content_hidden_before_signing_and_shown_after_is_found(sealed, person, sign, other):
    """A shadow attack: replacing the page tree by one that lay in the signed bytes all along."""
    prepared = hide(prepare_pdf(blank(), write_data(sealed), fields(), NOON))
    pdf = sign_pdf(prepared, "inspector", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == []
    shown = updated(pdf, show_hidden)
    assert {"signed_pdf.more_after", "signed_pdf.unsigned_revision"} <= set(codes(shown))
    # and with a further signature over the change, by whoever has a key
    again = sign_pdf(shown, "lead", INSPECTOR_SAID, other, unlock(other, PASSPHRASE), NOON + 2 * SECOND)
    assert "signed_pdf.unsigned_revision" in codes(again)


def in_one_revision(pdf: bytes, monkeypatch, change, person) -> bytes:
    """A signature by a signer who changes the file in the very revision that the signature covers."""
    whole = pdf_signing._show

    def show(writer, field, said):
        whole(writer, field, said)
        change(writer)

    monkeypatch.setattr(pdf_signing, "_show", show)
    return sign_pdf(pdf, "lead", INSPECTOR_SAID, person, unlock(person, PASSPHRASE), NOON + DAY)


def widen(writer) -> None:
    field = writer.root["/AcroForm"]["/Fields"][0]
    field["/Rect"] = generic.ArrayObject([generic.NumberObject(n) for n in (0, 0, 400, 300)])
    writer.update_container(field)


def another_file(writer) -> None:
    attach(writer, {"certificate-9.pem": b"x"}, sealed_day())


def more_on_the_page(writer) -> None:
    writer.add_stream_to_page(0, writer.add_object(generic.StreamObject(stream_data=b"0 0 9 9 re f")))


@pytest.mark.parametrize("change", [show_hidden, widen, another_file, more_on_the_page, swap_data(b"{}")])
def test_a_later_signer_changes_nothing_but_a_signature(sealed, person, sign, other, monkeypatch, change):
    prepared = hide(prepare_pdf(blank(), write_data(sealed), fields(), NOON))
    pdf = sign_pdf(prepared, "inspector", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert "signed_pdf.changed_after" in codes(in_one_revision(pdf, monkeypatch, change, other))


def test_another_key_is_told(sealed, person, other, sign):
    pdf = signed_pdf(sealed, other, unlock(other, PASSPHRASE), ("inspector",))
    assert codes(pdf) == ["signed_pdf.not_the_sealer"]
    theirs, known = fingerprint(other.certificate), fingerprint(person.certificate)
    assert codes(pdf, {known}) == ["signed_pdf.other_signer"]
    assert codes(pdf, {known, theirs}) == []
    lead = sign_pdf(
        signed_pdf(sealed, person, sign, ("inspector",)),
        "lead",
        INSPECTOR_SAID,
        other,
        unlock(other, PASSPHRASE),
        NOON + DAY,
    )
    assert codes(lead) == []
    assert codes(lead, {known}) == ["signed_pdf.other_signer"]
    assert theirs in [r.parts.get("fingerprint") for r in check_pdf(lead).statements]


def test_a_certificate_with_another_key_does_not_fit(sealed, person, other):
    """The certificate of one and the key of another."""
    pdf = signed_pdf(sealed, person, unlock(other, PASSPHRASE), ("inspector",))
    assert codes(pdf) == ["signed_pdf.broken"]


@pytest.mark.parametrize("days", [-1, LIFE + 1])
def test_a_signing_time_outside_the_certificates_is_told(sealed, person, sign, monkeypatch, days):
    monkeypatch.setattr(pdf_signing, "good_at", lambda *_: True)
    pdf = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    pdf = sign_pdf(pdf, "inspector", INSPECTOR_SAID, person, sign, NOON + days * DAY)
    assert codes(pdf) == ["seal.out_of_time"]


def test_a_clock_set_back_between_two_signatures_is_told(once, person, sign):
    pdf = sign_pdf(once, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.time_backwards"]


def test_a_certificate_that_names_no_use_may_sign(sealed):
    """RFC 5280, 4.2.1.3: without a key usage its key is bound to none."""
    private = ec.generate_private_key(ec.SECP256R1())
    person = Person("ann", "Ann Ames", certificate=pem(certificate("Ann Ames", private, usage=None)))
    from storage.seals.sign import signer

    pdf = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    pdf = sign_pdf(pdf, "lead", INSPECTOR_SAID, person, signer(private, person.certificate), NOON + SECOND)
    assert codes(pdf) == []


@pytest.mark.parametrize("key", [ec.SECP384R1(), None])
def test_a_key_for_another_use_or_of_another_kind_is_refused(sealed, key):
    private = ec.generate_private_key(key or ec.SECP256R1())
    own = certificate("Ann Ames", private, usage=(True, True) if key else (False, False))
    person = Person("ann", "Ann Ames", certificate=pem(own))
    from storage.seals.sign import signer

    pdf = prepare_pdf(blank(), write_data(sealed), fields(), NOON)
    pdf = sign_pdf(pdf, "lead", INSPECTOR_SAID, person, signer(private, person.certificate), NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.broken" if key else "signed_pdf.unfit_usage"]


def test_a_form_field_of_another_kind_is_found(sealed, person, sign):
    def change(writer):
        text = generic.DictionaryObject(
            {
                pdf_name("/FT"): pdf_name("/Tx"),
                pdf_name("/T"): generic.pdf_string("size"),
                pdf_name("/V"): generic.pdf_string("0.5"),
            }
        )
        form = writer.root["/AcroForm"]
        form["/Fields"].append(writer.add_object(text))
        writer.update_container(form["/Fields"])

    prepared = updated(prepare_pdf(blank(), write_data(sealed), fields(), NOON), change)
    pdf = sign_pdf(prepared, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.other_field"]


def script(writer) -> None:
    writer.root["/OpenAction"] = generic.DictionaryObject(
        {pdf_name("/S"): pdf_name("/JavaScript"), pdf_name("/JS"): generic.pdf_string("app.alert(1)")}
    )
    writer.update_root()


def layers(writer) -> None:
    writer.root["/OCProperties"] = generic.DictionaryObject()
    writer.update_root()


def note(writer) -> None:
    page = writer.root["/Pages"]["/Kids"][0].get_object()
    kind = {pdf_name("/Type"): pdf_name("/Annot"), pdf_name("/Subtype"): pdf_name("/FreeText")}
    page["/Annots"].append(writer.add_object(generic.DictionaryObject(kind)))
    writer.update_container(page["/Annots"])


def page_action(writer) -> None:
    page = writer.root["/Pages"]["/Kids"][0].get_object()
    page["/AA"] = generic.DictionaryObject()
    writer.update_container(page)


def field_action(writer) -> None:
    field = writer.root["/AcroForm"]["/Fields"][1].get_object()
    field["/AA"] = generic.DictionaryObject()
    writer.update_container(field)


@pytest.mark.parametrize(
    ("change", "entry"),
    [(script, "OpenAction"), (layers, "OCProperties"), (note, "Annots"), (page_action, "AA"), (field_action, "AA")],
)
def test_what_could_show_itself_otherwise_later_is_found_though_signed(sealed, person, sign, change, entry):
    """Shadow attacks that need no later update: the signed bytes themselves act, or hide."""
    prepared = updated(prepare_pdf(blank(), write_data(sealed), fields(), NOON), change)
    pdf = sign_pdf(prepared, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.active"]
    assert check_pdf(pdf).faults[0].parts["entry"] == entry


def test_a_signature_over_a_pdf_without_data_says_so(person, sign, sealed):
    def change(writer):
        del writer.root["/Names"]
        writer.update_root()

    prepared = updated(prepare_pdf(blank(), write_data(sealed), fields(), NOON), change)
    pdf = sign_pdf(prepared, "lead", INSPECTOR_SAID, person, sign, NOON + SECOND)
    assert codes(pdf) == ["signed_pdf.no_data"]


@settings(max_examples=100)
@given(content=st.binary(max_size=300))
def test_no_bytes_end_a_check(content):
    assert check_pdf(content).faults
    assert check_pdf(b"%PDF-1.7\n" + content).faults


def test_a_field_is_named_by_its_statement():
    assert SignatureField(Statement.LEAD, 0, (0, 0, 9, 9)).name == "lead"
    assert SignatureField(Statement.LEAD, 0, (0, 0, 9, 9), number=3).name == "lead-3"


def test_data_is_read_back_unchecked_from_a_tampered_file(signed):
    assert data_in_pdf(signed + b"junk") == data_in_pdf(signed)
