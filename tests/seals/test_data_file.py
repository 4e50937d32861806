"""The data file: whole by itself, and any change of it is found."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest, dumps
from inspection.sheet.certificates import fingerprint
from inspection.words.say import say
from storage.seals.data_file import FORMAT, NEWEST, DataFile, read_data, verify_data, write_data
from storage.seals.stated import SignedContent


def codes(content: bytes) -> list[str]:
    found = verify_data(content)
    assert not any("[" in say(reason) for reason in (*found.statements, *found.faults))
    return [reason.code for reason in found.faults]


def test_it_holds_every_seal_and_says_what_is_sealed(sealed):
    content = write_data(sealed)
    assert codes(content) == []
    data = read_data(content)
    assert [seal.digest for seal in data.seals] == [seal.digest for seal in sealed.seals]
    first, second = verify_data(content).statements
    assert (first.parts["number"], first.parts["serials"], first.parts["person"]) == ("HB-7", "001", "Ann Ames")
    assert (first.parts["round"], second.parts["round"]) == (1, 2)


def test_the_same_sheet_gives_the_same_bytes(sealed):
    assert write_data(sealed) == write_data(sealed)
    assert json.loads(write_data(sealed))["format"] == "tenthwright data file"


def test_a_sheet_that_was_never_sealed_has_none(sealed):
    with pytest.raises(Refused) as refused:
        write_data(replace(sealed, seals=()))
    assert refused.value.reasons[0].code == "seal.none"


@pytest.mark.parametrize("content", [b"", b"{}", b"\xff\xfe", b'{"format":"other","seals":[]}', b"1;0.5\n"])
def test_anything_else_is_no_data_file(content):
    with pytest.raises(Refused) as refused:
        read_data(content)
    assert refused.value.reasons[0].code == "seal.not_a_data_file"


def test_a_later_form_is_told(sealed):
    later = replace(read_data(write_data(sealed)), version=NEWEST + 1)
    with pytest.raises(Refused) as refused:
        read_data(dumps(later))
    assert refused.value.reasons[0].code == "seal.later_data_file"


def altered(sealed, **fields) -> bytes:
    data = read_data(write_data(sealed))
    return dumps(replace(data, seals=(replace(data.seals[0], **fields), *data.seals[1:])))


def test_altered_content_is_found_even_with_a_fresh_digest(sealed):
    content = sealed.seals[0].content.replace("HB-7", "HB-8")
    assert codes(altered(sealed, content=content)) == ["seal.digest_differs"]
    fresh = digest(content.encode())
    found = codes(altered(sealed, content=content, digest=fresh))
    assert found[0] == "seal.broken"
    assert "seal.earlier_missing" in found  # the second seal names the first one's digest


def test_content_that_is_no_sheet_is_found(sealed, sign):
    content = b'{"form":1}'
    seal = SignedContent(content.decode(), digest(content), sign(content))
    assert codes(dumps(DataFile(format=FORMAT, version=1, seals=(seal,)))) == ["seal.unreadable_content"]


def test_a_certificate_altered_where_only_its_own_signature_lies_is_found(sealed):
    """The seal's signature still holds, for name and key are as they were; the fingerprint is another one's."""
    signature = sealed.seals[0].signature
    lines = signature.certificate.splitlines()
    at = len(lines[-2]) // 2
    lines[-2] = lines[-2][:at] + ("A" if lines[-2][at] != "A" else "B") + lines[-2][at + 1 :]
    changed = replace(signature, certificate="\n".join(lines) + "\n")
    assert codes(altered(sealed, signature=changed)) == ["seal.unproven_certificate"]


def test_a_seal_taken_out_is_found(sealed):
    data = read_data(write_data(sealed))
    assert codes(dumps(replace(data, seals=data.seals[1:]))) == ["seal.earlier_missing"]
    assert codes(dumps(replace(data, seals=data.seals[:1]))) == []  # the file as it was after the first round


def test_seals_in_another_order_are_found(sealed):
    data = read_data(write_data(sealed))
    assert "seal.earlier_missing" in codes(dumps(replace(data, seals=data.seals[::-1])))


@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_any_one_byte_altered_is_found(whole, data):
    """A byte of the file itself: it is then no data file, or a fault is found, or nothing that it says has changed."""
    at = data.draw(st.integers(0, len(whole) - 1))
    content = whole[:at] + bytes([whole[at] ^ (1 << data.draw(st.integers(0, 6)))]) + whole[at + 1 :]
    try:
        faults = verify_data(content).faults
    except Refused:
        return
    assert faults or read_data(content) == read_data(whole) or said(content) == said(whole)


@pytest.mark.slow
def test_every_bit_altered_is_found(whole):
    for at in range(len(whole)):
        for bit in range(7):
            content = whole[:at] + bytes([whole[at] ^ (1 << bit)]) + whole[at + 1 :]
            try:
                faults = verify_data(content).faults
            except Refused:
                continue
            assert faults or read_data(content) == read_data(whole) or said(content) == said(whole), (at, bit)


def said(content: bytes):
    """What the file says: every sealed content and the certificate of who signed it."""
    return [
        (form_4.read_content(seal.content), fingerprint(seal.signature.certificate))
        for seal in read_data(content).seals
    ]


@pytest.fixture(scope="module")
def whole(sealed):
    return write_data(sealed)


def test_another_certificate_of_the_same_key_is_told(sealed, person):
    """The content names the certificate it was signed with: one made anew for the same key cannot stand in for it."""
    from base64 import b64decode

    from cryptography.hazmat.primitives.serialization import Encoding, pkcs12

    from storage.seals.keys import _certificate

    key = pkcs12.load_key_and_certificates(b64decode(person.locked_key), b"four grey geese")[0]
    other = _certificate(person.name, key, sealed.made_at).public_bytes(Encoding.PEM).decode()
    first = replace(sealed.seals[0], signature=replace(sealed.seals[0].signature, certificate=other))
    found = verify_data(write_data(replace(sealed, seals=(first, *sealed.seals[1:]))))
    assert [fault.code for fault in found.faults] == ["seal.other_certificate"]
