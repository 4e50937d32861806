"""Keys brought along: what is taken, what is refused and why."""

from __future__ import annotations

import base64
import shutil
import subprocess

import pytest
from cryptography.hazmat.primitives.asymmetric import ec, ed25519, rsa
from cryptography.hazmat.primitives.serialization import NoEncryption, pkcs12

from inspection.reasons import Refused
from inspection.sheet.people import Person
from inspection.words.say import say
from storage.seals.brought_keys import BroughtKey, bring_key
from storage.seals.check import check_signature
from storage.seals.container import ROUNDS
from storage.seals.keys import change_passphrase, unlock, unlocked
from tests.seals.pdf_bench import NOON, PASSPHRASE, certificate, chain_of_three, container, pem

MIRA = "Mira Oduya"
OPENSSL = shutil.which("openssl")


def person_of(brought: BroughtKey) -> Person:
    return Person("mira", MIRA, certificate=brought.key.certificate, locked_key=brought.key.locked_key)


def own(**named):
    key = ec.generate_private_key(ec.SECP256R1())
    return key, certificate(MIRA, key, **named)


def refused(content: bytes, opens="file", passphrase=PASSPHRASE, name=MIRA) -> str:
    with pytest.raises(Refused) as caught:
        bring_key(name, content, opens, passphrase, NOON)
    (reason,) = caught.value.reasons
    assert "[" not in say(reason) and "{" not in say(reason)
    return reason.code


def test_a_self_signed_key_signs_under_the_persons_own_passphrase():
    key, made = own()
    person = person_of(bring_key(MIRA, container(key, made), "file", PASSPHRASE, NOON))
    assert person.certificate == pem(made)
    assert check_signature(b"content", unlock(person, PASSPHRASE)(b"content"), NOON) == ()
    with pytest.raises(Refused):
        unlock(person, "file")
    assert unlocked(person, PASSPHRASE).chain == ()


def test_the_chain_stays_with_the_key_in_its_order():
    key, made, above = chain_of_three()
    brought = bring_key(MIRA, container(key, made, reversed(above)), "file", PASSPHRASE, NOON)
    assert brought.chain == tuple(pem(one) for one in above)
    assert unlocked(person_of(brought), PASSPHRASE).chain == brought.chain
    assert unlock(person_of(brought), PASSPHRASE)(b"x").certificate == pem(made)


def test_a_new_passphrase_keeps_key_and_chain():
    key, made, above = chain_of_three()
    person = person_of(bring_key(MIRA, container(key, made, above), "file", PASSPHRASE, NOON))
    changed = person_of(BroughtKey(change_passphrase(person, PASSPHRASE, "five grey geese")))
    assert changed.certificate == person.certificate
    assert unlocked(changed, "five grey geese").chain == tuple(pem(one) for one in above)
    with pytest.raises(Refused):
        unlocked(changed, PASSPHRASE)


@pytest.mark.skipif(OPENSSL is None, reason="no openssl here to check by")
def test_openssl_finds_it_locked_as_a_key_made_here(tmp_path):
    key, made = own()
    brought = bring_key(MIRA, container(key, made), "file", PASSPHRASE, NOON)
    (tmp_path / "key.p12").write_bytes(base64.b64decode(brought.key.locked_key))
    command = [str(OPENSSL), "pkcs12", "-info", "-noout", "-in", "key.p12", "-passin", f"pass:{PASSPHRASE}"]
    told = subprocess.run(command, cwd=tmp_path, capture_output=True, check=True).stderr.decode()
    assert f"AES-256-CBC, Iteration {ROUNDS}, PRF hmacWithSHA256" in told


@pytest.mark.skipif(OPENSSL is None, reason="no openssl here to make a file by")
def test_a_file_of_openssls_is_taken(tmp_path):
    from cryptography.hazmat.primitives.serialization import Encoding, PrivateFormat

    key, made = own()
    (tmp_path / "key.pem").write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
    (tmp_path / "own.pem").write_text(pem(made))
    command = [str(OPENSSL), "pkcs12", "-export", "-inkey", "key.pem", "-in", "own.pem", "-out", "a.p12"]
    subprocess.run([*command, "-passout", "pass:Gänse"], cwd=tmp_path, capture_output=True, check=True)
    content = (tmp_path / "a.p12").read_bytes()
    assert bring_key(MIRA, content, "Ga\u0308nse", PASSPHRASE, NOON).key.certificate == pem(made)


def test_a_file_without_a_passphrase_is_taken():
    key, made = own()
    content = pkcs12.serialize_key_and_certificates(None, key, made, None, NoEncryption())
    assert bring_key(MIRA, content, "", PASSPHRASE, NOON).key.certificate == pem(made)


def test_what_is_refused():
    key, made = own()
    good = container(key, made)
    assert refused(good, opens="wrong") == refused(good, opens="") == "brought.wrong_passphrase"
    assert refused(good, passphrase="") == "seal.no_passphrase"
    assert refused(good, passphrase="short") == "seal.short_passphrase"
    assert refused(good, name="Ann Ames") == "brought.other_name"
    assert refused(container(None, None, [made])) == "brought.no_key"
    assert refused(container(key, None)) == "brought.no_certificate"
    for junk in (b"", b"junk", good[:200], pem(made).encode()):
        assert refused(junk) == "brought.unreadable"


def test_a_file_that_asks_for_endless_work_is_not_opened():
    """Whoever made it would have the program stand still."""
    from asn1crypto import pkcs12 as form

    altered = form.Pfx.load(container(*own()))
    altered["mac_data"]["iterations"] = 2**31 - 1
    assert refused(altered.dump(force=True)) == "brought.too_slow"


@pytest.mark.parametrize("days", [(-20, -10), (1, 10)])
def test_a_certificate_out_of_its_time_is_refused(days):
    assert refused(container(*own(days=days))) == "brought.out_of_time"


@pytest.mark.parametrize(
    ("usage", "code"),
    [((False, False), "brought.unfit_usage"), ((True, False), ""), ((False, True), ""), (None, "")],
)
def test_the_key_usage_must_let_it_sign(usage, code):
    content = container(*own(usage=usage))
    if code:
        assert refused(content) == code
    else:
        assert bring_key(MIRA, content, "file", PASSPHRASE, NOON).chain == ()


@pytest.mark.parametrize(
    ("make", "kind"),
    [
        (lambda: rsa.generate_private_key(65537, 2048), "RSA 2048"),
        (lambda: ec.generate_private_key(ec.SECP384R1()), "secp384r1"),
        (ed25519.Ed25519PrivateKey.generate, "of another kind"),
    ],
)
def test_only_p_256_is_taken(make, kind):
    issuer = ec.generate_private_key(ec.SECP256R1())
    key = make()
    content = container(key, certificate(MIRA, key, "Lantern Hill root", issuer))
    with pytest.raises(Refused) as caught:
        bring_key(MIRA, content, "file", PASSPHRASE, NOON)
    assert (caught.value.reasons[0].code, caught.value.reasons[0].parts["kind"]) == ("brought.unfit_kind", kind)


def test_a_chain_with_a_gap_is_refused():
    key, made, above = chain_of_three()
    assert refused(container(key, made, above[:1])) == refused(container(key, made)) == "brought.chain_open"
