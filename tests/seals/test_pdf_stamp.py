"""Time stamps carried as files: asked for, answered by another tool's authority, put in and checked."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from datetime import UTC, datetime
from hashlib import sha256

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

from inspection.reasons import Refused
from inspection.sheet.certificates import fingerprint
from inspection.words.say import say
from storage.seals.pdf_checking import check_pdf
from storage.seals.pdf_envelope import Envelope, der_at_start, envelope, opened
from storage.seals.pdf_signing import sign_pdf
from storage.seals.pdf_stamp import put_stamp, stamp_request
from tests.seals.pdf_bench import DAY, INSPECTOR_SAID, NOON, blank, certificate, codes, pem, signed_pdf

OPENSSL = shutil.which("openssl")
pytestmark = pytest.mark.skipif(OPENSSL is None, reason="no openssl here to stamp by")

CONFIGURATION = """
[tsa]
default_tsa = it
[it]
serial = ./serial
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
accuracy = secs:1
ess_cert_id_chain = no
ess_cert_id_alg = sha256
"""


class Authority:
    """A time stamp authority that openssl plays, with files in a folder."""

    def __init__(self, folder, days=(-10, 10), stamps=True):
        self.folder = folder
        key = ec.generate_private_key(ec.SECP256R1())
        # openssl stamps by the wall's clock, so the certificate is good around the wall's now
        offset = (datetime.now(UTC) - datetime.fromtimestamp(NOON // 1_000_000, UTC)).days
        own = certificate("Stamps", key, days=(offset + days[0], offset + days[1]), stamps=stamps)
        self.certificate = pem(own)
        (folder / "tsa.pem").write_text(self.certificate)
        (folder / "tsa.key").write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
        (folder / "tsa.cnf").write_text(CONFIGURATION)
        (folder / "serial").write_text("01")

    def answer(self, request: bytes, *more: str) -> bytes:
        (self.folder / "request").write_bytes(request)
        self.run("-reply", "-queryfile", "request", "-inkey", "tsa.key", "-signer", "tsa.pem", "-out", "answer", *more)
        return (self.folder / "answer").read_bytes()

    def run(self, *arguments: str) -> str:
        command = [str(OPENSSL), "ts", *arguments]
        if "-reply" in arguments:
            command += ["-config", "tsa.cnf"]
        return subprocess.run(command, cwd=self.folder, capture_output=True, check=True).stdout.decode()


@pytest.fixture(scope="module")
def authority(tmp_path_factory):
    return Authority(tmp_path_factory.mktemp("authority"))


@pytest.fixture(scope="module")
def roomy(sealed, person, sign) -> bytes:
    return signed_pdf(sealed, person, sign, ("inspector",), room_for_stamp=True)


@pytest.fixture(scope="module")
def stamped(roomy, authority) -> bytes:
    return put_stamp(roomy, authority.answer(stamp_request(roomy)))


def refused(call, *arguments) -> str:
    with pytest.raises(Refused) as caught:
        call(*arguments)
    (reason,) = caught.value.reasons
    assert "[" not in say(reason)
    return reason.code


def test_the_request_is_one(roomy, authority):
    (authority.folder / "own").write_bytes(stamp_request(roomy))
    told = authority.run("-query", "-in", "own", "-text")
    assert "Hash Algorithm: sha256" in told and "Certificate required: yes" in told


def test_a_stamp_states_when_and_by_whom(roomy, stamped, authority):
    assert len(stamped) == len(roomy)
    assert codes(roomy) == codes(stamped) == []
    (told,) = [reason for reason in check_pdf(stamped).statements if reason.code == "signed_pdf.stamped"]
    assert told.parts["fingerprint"] == fingerprint(authority.certificate)
    assert str(told.parts["moment"]).startswith(str(datetime.now(UTC).year))
    assert "Stamps" in str(told.parts["authority"])


def test_the_bare_token_will_do(roomy, authority):
    assert codes(put_stamp(roomy, authority.answer(stamp_request(roomy), "-token_out"))) == []


def test_openssl_verifies_the_stamp_as_it_stands_in_the_pdf(roomy, stamped, authority):
    """What the signature does not cover is written anew; that must change nothing for another tool."""
    before, after = envelope_in(stamped)
    token = opened(der_at_start(bytes.fromhex(stamped[before + 1 : after - 1].decode()))).token
    (authority.folder / "token").write_bytes(token)
    (authority.folder / "own").write_bytes(stamp_request(roomy))
    files = ("-in", "token", "-token_in", "-queryfile", "own", "-CAfile", "tsa.pem")
    assert "Verification: OK" in authority.run("-verify", *files)


def test_a_further_signature_after_the_stamp(stamped, person, sign):
    assert codes(sign_pdf(stamped, "lead", INSPECTOR_SAID, person, sign, NOON + DAY)) == []


@pytest.mark.skipif(shutil.which("pdfsig") is None, reason="no pdfsig here to check by")
def test_pdfsig_still_calls_it_valid(stamped, tmp_path):
    (tmp_path / "stamped.pdf").write_bytes(stamped)
    command = [str(shutil.which("pdfsig")), "-nocert", "stamped.pdf"]
    told = subprocess.run(command, cwd=tmp_path, capture_output=True, check=True).stdout.decode()
    assert "Signature is Valid" in told and "  - Total document signed" in told


def test_a_stamp_for_other_bytes_is_refused(sealed, person, sign, roomy, authority):
    another = signed_pdf(sealed, person, sign, ("inspector",), room_for_stamp=True)
    answer = authority.answer(stamp_request(another))
    assert refused(put_stamp, roomy, answer) == "signed_pdf.stamp_unfit"
    for junk in (b"", b"junk", answer[:-9], stamp_request(roomy)):
        assert refused(put_stamp, another, junk) == "signed_pdf.stamp_unfit"


def test_without_room_there_is_no_stamp(sealed, person, sign, authority):
    tight = signed_pdf(sealed, person, sign, ("inspector",))
    assert refused(put_stamp, tight, authority.answer(stamp_request(tight))) == "signed_pdf.stamp_no_room"
    assert refused(stamp_request, blank()) == "signed_pdf.none"


def test_an_authority_out_of_its_time_is_refused(roomy, tmp_path):
    late = Authority(tmp_path, days=(-20, -10))
    assert refused(put_stamp, roomy, late.answer(stamp_request(roomy))) == "signed_pdf.stamp_unfit"


def envelope_in(pdf: bytes) -> tuple[int, int]:
    found = re.search(rb"/ByteRange ?\[ ?0 +(\d+) +(\d+)", pdf)
    assert found
    return int(found[1]), int(found[2])


def altered(pdf: bytes, at: int, bit: int) -> bytes:
    return pdf[:at] + bytes([pdf[at] ^ 1 << bit]) + pdf[at + 1 :]


def test_a_flipped_digit_of_the_stamp_is_found(stamped):
    before, after = envelope_in(stamped)
    used = len(stamped[before:after].rstrip(b"0>"))
    for at in (*range(before, before + used, 37), *range(before + used, after, 997)):
        assert not check_pdf(altered(stamped, at, 0)).whole, at


def test_a_stamp_of_another_signature_is_named(stamped, sealed, person, sign):
    """The token of one signature written into the envelope of another, by somebody who can write envelopes."""
    another = signed_pdf(sealed, person, sign, ("inspector",), room_for_stamp=True)
    before, after = envelope_in(another)
    parts = opened(der_at_start(bytes.fromhex(another[before + 1 : after - 1].decode())))
    start, end = envelope_in(stamped)
    token = opened(der_at_start(bytes.fromhex(stamped[start + 1 : end - 1].decode()))).token
    digest = sha256(another[:before] + another[after:]).digest()
    filled = envelope(Envelope(parts.certificates, parts.value, token), digest).hex().upper().encode()
    swapped = another[: before + 1] + filled.ljust(after - before - 2, b"0") + another[after - 1 :]
    assert codes(another) == [] and codes(swapped) == ["signed_pdf.stamp_broken"]


@pytest.mark.slow
def test_each_digit_of_the_stamp_counts(stamped):
    before, after = envelope_in(stamped)
    step = 1 if os.environ.get("TENTHWRIGHT_EVERY_BYTE") else 23
    for at in range(before, before + len(stamped[before:after].rstrip(b"0>")), step):
        assert not check_pdf(altered(stamped, at, at % 3)).whole, at


def test_the_certificate_of_the_authority_is_for_stamping(authority):
    found = x509.load_pem_x509_certificate(authority.certificate.encode())
    assert found.extensions.get_extension_for_class(x509.ExtendedKeyUsage).critical
