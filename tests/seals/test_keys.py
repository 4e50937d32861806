"""Keys: what the container is made of, who opens it, and what an outside tool says of a signature."""

from __future__ import annotations

import base64
import hmac
import shutil
import subprocess
from datetime import UTC, datetime

import pytest
from asn1crypto import pkcs12 as asn1
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import PrivateFormat, pkcs12
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from inspection.reasons import Refused
from inspection.sheet.certificates import fingerprint
from inspection.sheet.people import Person
from inspection.words.say import say
from storage.seals.certificate_told import told_of
from storage.seals.check import check_signature, name_on
from storage.seals.container import ROUNDS, checksum_key
from storage.seals.keys import LIFE, SHORTEST_PASSPHRASE, change_passphrase, make_key, require_in_time, unlock
from storage.seals.sign import ALGORITHM
from tests.seals.pdf_bench import certificate, pem

NOON = 1_772_452_800_000_000
PASSPHRASE = "four grey geese"
OPENSSL = shutil.which("openssl")
needs_openssl = pytest.mark.skipif(OPENSSL is None, reason="no openssl here to check by")


def openssl(*arguments: str, given: bytes = b"") -> str:
    done = subprocess.run([OPENSSL, *arguments], input=given, capture_output=True, check=True)
    return (done.stdout + done.stderr).decode()


def test_the_certificate_is_the_persons_own(person):
    certificate = x509.load_pem_x509_certificate(person.certificate.encode())
    assert certificate.subject == certificate.issuer
    assert name_on(person.certificate) == "Ann Ames"
    key = certificate.public_key()
    assert isinstance(key, ec.EllipticCurvePublicKey) and isinstance(key.curve, ec.SECP256R1)
    assert certificate.not_valid_before_utc == datetime(2026, 3, 2, 12, tzinfo=UTC)
    assert (certificate.not_valid_after_utc - certificate.not_valid_before_utc).days == LIFE
    certificate.verify_directly_issued_by(certificate)


def test_the_right_passphrase_signs(person):
    signature = unlock(person, PASSPHRASE)(b"content")
    assert (signature.algorithm, signature.certificate) == (ALGORITHM, person.certificate)
    assert check_signature(b"content", signature, NOON) == ()


@pytest.mark.parametrize("wrong", ["", "four grey goose", "Four grey geese", PASSPHRASE + " "])
def test_a_wrong_passphrase_signs_nothing(person, wrong):
    with pytest.raises(Refused) as refused:
        unlock(person, wrong)
    assert refused.value.reasons[0].code == "seal.wrong_passphrase"
    assert "Ann Ames" in say(refused.value.reasons[0])
    assert wrong == "" or wrong not in say(refused.value.reasons[0])


def test_a_damaged_container_signs_nothing(person):
    container = bytearray(base64.b64decode(person.locked_key))
    container[len(container) // 2] ^= 1
    damaged = replace(person, locked_key=base64.b64encode(container).decode())
    with pytest.raises(Refused):
        unlock(damaged, PASSPHRASE)
    with pytest.raises(Refused):
        unlock(replace(person, locked_key="no base64 ÷"), PASSPHRASE)


def test_a_person_without_a_key(person):
    with pytest.raises(Refused) as refused:
        unlock(Person("bo", "Bo"), PASSPHRASE)
    assert refused.value.reasons[0].code == "seal.no_key"


def test_an_empty_passphrase_makes_no_key():
    with pytest.raises(Refused) as refused:
        make_key("Ann", "", NOON)
    assert refused.value.reasons[0].code == "seal.no_passphrase"


def test_a_passphrase_is_the_same_however_its_letters_were_composed():
    key = make_key("Jörg", "grüne Gänse", NOON)
    person = Person("j", "Jörg", certificate=key.certificate, locked_key=key.locked_key)
    assert unlock(person, "gru\u0308ne Ga\u0308nse")(b"x").certificate == key.certificate


def test_a_long_name_fits_the_certificate():
    key = make_key("Ann " * 40, PASSPHRASE, NOON)
    assert name_on(key.certificate) == ("Ann " * 40)[:64]


def test_a_passphrase_that_is_short_makes_no_key():
    """Eight characters at least (NIST SP 800-63B, 5.1.1.1); counted as they are read, however they were composed."""
    for short in ("geheim!", "gru\u0308ne A"):
        with pytest.raises(Refused) as refused:
            make_key("Ann", short, NOON)
        assert refused.value.reasons[0].code == "seal.short_passphrase"
        assert f"at least {SHORTEST_PASSPHRASE}" in say(refused.value.reasons[0])
    assert make_key("Ann", "grüne Aa", NOON).locked_key


def test_a_new_passphrase_opens_the_same_key(person):
    before = unlock(person, PASSPHRASE)(b"content")
    key = change_passphrase(person, PASSPHRASE, "five grey geese")
    changed = replace(person, locked_key=key.locked_key)
    assert key.certificate == person.certificate
    with pytest.raises(Refused):
        unlock(changed, PASSPHRASE)
    after = unlock(changed, "five grey geese")(b"content")
    public = x509.load_pem_x509_certificate(person.certificate.encode()).public_key()
    for signature in (before, after):
        public.verify(base64.b64decode(signature.value), b"content", ec.ECDSA(hashes.SHA256()))


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("wrong one", "five grey geese", "seal.wrong_passphrase"),
        (PASSPHRASE, "", "seal.no_passphrase"),
        (PASSPHRASE, "short", "seal.short_passphrase"),
        (PASSPHRASE, PASSPHRASE, "seal.same_passphrase"),
    ],
)
def test_a_passphrase_that_stays(person, old, new, code):
    with pytest.raises(Refused) as refused:
        change_passphrase(person, old, new)
    assert refused.value.reasons[0].code == code
    assert "[" not in say(refused.value.reasons[0])


DAY = 86_400_000_000


@pytest.mark.parametrize(
    ("at", "code"),
    [
        (NOON - 1_000_000, "seal.too_early"),
        (NOON, ""),
        (NOON + LIFE * DAY, ""),
        (NOON + LIFE * DAY + 1_000_000, "seal.expired"),
    ],
)
def test_a_certificate_has_its_time(person, at, code):
    """What is let through is what a check of the signature then finds good."""
    held = check_signature(b"content", unlock(person, PASSPHRASE)(b"content"), at)
    if not code:
        require_in_time(person, at)
        assert held == ()
        return
    with pytest.raises(Refused) as refused:
        require_in_time(person, at)
    assert refused.value.reasons[0].code == code
    assert [reason.code for reason in held] == ["seal.out_of_time"]
    told = say(refused.value.reasons[0])
    assert ("2036-03-09" if code == "seal.expired" else "2026-03-02") in told and "[" not in told


def test_without_a_key_there_is_no_time_either():
    with pytest.raises(Refused) as refused:
        require_in_time(Person("bo", "Bo"), NOON)
    assert refused.value.reasons[0].code == "seal.no_key"


def test_what_a_certificate_says_of_itself(person):
    told = told_of(person.certificate)
    assert told is not None
    assert (told.name, told.issuer, told.fingerprint) == ("Ann Ames", "Ann Ames", fingerprint(person.certificate))
    assert (told.first, told.last) == (NOON, NOON + LIFE * DAY)
    assert told_of("no certificate") is None


@needs_openssl
def test_openssl_finds_the_container_locked_as_promised(person, tmp_path):
    """PBES2 with PBKDF2, HMAC-SHA-256, 600,000 rounds, AES-256-CBC (RFC 8018), and a SHA-256 MAC."""
    (tmp_path / "key.p12").write_bytes(base64.b64decode(person.locked_key))
    told = openssl("pkcs12", "-info", "-noout", "-in", str(tmp_path / "key.p12"), "-passin", f"pass:{PASSPHRASE}")
    assert "PBES2, PBKDF2, AES-256-CBC" in told
    assert f"Iteration {ROUNDS}, PRF hmacWithSHA256" in told
    assert f"MAC: sha256, Iteration {ROUNDS}" in told, "a guess is tried against the checksum first"


def test_the_checksum_s_key_is_derived_as_the_library_derives_it():
    """RFC 7292, appendix B, checked by the checksum that the library makes of a container of its own."""
    key = ec.generate_private_key(ec.SECP256R1())
    for passphrase in ("four grey geese", "grüne Gänse", "long " * 40, "𝛼 astral"):
        locking = PrivateFormat.PKCS12.encryption_builder().kdf_rounds(2_000).hmac_hash(hashes.SHA256())
        made = pkcs12.serialize_key_and_certificates(b"a", key, None, None, locking.build(passphrase.encode()))
        found = asn1.Pfx.load(made)
        mac = found["mac_data"]
        with_key = checksum_key(passphrase, mac["mac_salt"].native, mac["iterations"].native)
        digest = hmac.digest(with_key, found["auth_safe"]["content"].contents, "sha256")
        assert digest == mac["mac"]["digest"].native


@needs_openssl
def test_openssl_says_the_same_of_a_signature(person, sign, tmp_path):
    signature = sign("0.5000 ±.005 ⌀".encode())
    (tmp_path / "certificate.pem").write_text(person.certificate)
    key = openssl("x509", "-in", str(tmp_path / "certificate.pem"), "-pubkey", "-noout")
    (tmp_path / "key.pem").write_text(key)
    (tmp_path / "signature").write_bytes(base64.b64decode(signature.value))
    check = ("dgst", "-sha256", "-verify", str(tmp_path / "key.pem"), "-signature", str(tmp_path / "signature"))
    assert "Verified OK" in openssl(*check, given="0.5000 ±.005 ⌀".encode())
    with pytest.raises(subprocess.CalledProcessError):
        openssl(*check, given="0.5001 ±.005 ⌀".encode())


@needs_openssl
def test_openssl_reads_the_same_fingerprint(person, tmp_path):
    (tmp_path / "certificate.pem").write_text(person.certificate)
    told = openssl("x509", "-in", str(tmp_path / "certificate.pem"), "-noout", "-fingerprint", "-sha256")
    assert told.partition("=")[2].strip().replace(":", "").lower() == fingerprint(person.certificate)


@settings(max_examples=50)
@given(content=st.binary(max_size=200), at=st.integers(0, 199), bit=st.integers(0, 7))
def test_one_bit_of_the_content_breaks_the_signature(sign, content, at, bit):
    signature = sign(content)
    assert check_signature(content, signature, NOON) == ()
    altered = bytearray(content or b"\x00")
    altered[at % len(altered)] ^= 1 << bit
    assert [reason.code for reason in check_signature(bytes(altered), signature, NOON)] == ["seal.broken"]


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("algorithm", "none", "seal.unknown_algorithm"),
        ("certificate", "", "seal.unreadable_certificate"),
        (
            "certificate",
            "-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n",
            "seal.unreadable_certificate",
        ),
        ("value", "AAAA", "seal.broken"),
        ("value", "not base64 ÷", "seal.unreadable_certificate"),
    ],
)
def test_an_altered_signature_is_named(sign, field, value, code):
    signature = replace(sign(b"content"), **{field: value})
    (reason,) = check_signature(b"content", signature, NOON)
    assert reason.code == code
    assert "[" not in say(reason)


def test_a_signature_by_another_key_is_broken(sign):
    other = make_key("Ann Ames", PASSPHRASE, NOON).certificate
    (reason,) = check_signature(b"content", replace(sign(b"content"), certificate=other), NOON)
    assert reason.code == "seal.broken"


@pytest.mark.parametrize(("days", "holds"), [(-1, False), (0, True), (LIFE, True), (LIFE + 1, False)])
def test_the_certificate_must_have_been_good_when_it_signed(sign, days, holds):
    found = check_signature(b"content", sign(b"content"), NOON + days * 86_400_000_000)
    assert [reason.code for reason in found] == ([] if holds else ["seal.out_of_time"])


def test_a_key_under_the_library_s_own_checksum_still_opens(person):
    """As keys were locked before the checksum had as many rounds as the encryption; their next passphrase mends it."""
    key = ec.generate_private_key(ec.SECP256R1())
    issued = certificate("Ann Ames", key)
    locking = PrivateFormat.PKCS12.encryption_builder().kdf_rounds(2_000).hmac_hash(hashes.SHA256())
    made = pkcs12.serialize_key_and_certificates(b"Ann", key, issued, None, locking.build(PASSPHRASE.encode()))
    before = replace(person, certificate=pem(issued), locked_key=base64.b64encode(made).decode())
    assert asn1.Pfx.load(made)["mac_data"]["iterations"].native < ROUNDS
    assert unlock(before, PASSPHRASE)(b"x").certificate == pem(issued)
    after = base64.b64decode(change_passphrase(before, PASSPHRASE, "five grey geese").locked_key)
    assert asn1.Pfx.load(after)["mac_data"]["iterations"].native == ROUNDS
