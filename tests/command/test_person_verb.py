"""People and their keys by command line: entered, duties, a key made anew or brought along, another passphrase, waiting
after wrong ones, a certificate that is over; and what was signed before stays valid through all of it."""

from __future__ import annotations

import io
import itertools
import json
import shutil
import subprocess
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from app.command.main import run
from app.command.outcome import Exit
from storage.book.clock import Moment
from storage.book.door import Book
from storage.seals.keys import LIFE
from tests.seals.pdf_bench import NOON, chain_of_three, container, pem

OPENSSL = shutil.which("openssl")
MIRA, BO, SECRET = "Mira Oduya", "Bo Tran", "four grey geese"
SECOND, DAY = 1_000_000, 86_400_000_000
FEATURES = '# part,QF-11\n# revision,A\n# serials,"A1"\nnumber,kind,requirement\n1,note,DEBURR ALL EDGES\n'
READINGS = "number,reading\n1,as required\n"


class Shop:
    """A book asked by command lines; a second passes with every look at the clock. ``typed`` answers prompts."""

    def __init__(self, folder: Path, first: int = 0) -> None:
        self.folder, self.book = folder, folder / "shop.tenthwright"
        self.now = NOON + first * SECOND
        self.numbers = itertools.count(1 + first)
        self.environ: dict[str, str] = {"TENTHWRIGHT_PASSPHRASE": SECRET}
        self.asked: list[str] = []

    def clock(self) -> Moment:
        self.now += SECOND
        return Moment(self.now, "2026-03-02")

    def file(self, name: str, content: str | bytes) -> str:
        path = self.folder / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return str(path)

    def say(self, *argv: str, typed: Iterator[str] | None = None) -> tuple[int, str, str]:
        out, err = io.StringIO(), io.StringIO()

        def ask(prompt: str) -> str:
            self.asked.append(prompt)
            return next(typed or iter(()))

        code = run(
            [*argv, "--book", str(self.book)],
            clock=self.clock,
            identities=lambda: str(uuid.UUID(int=next(self.numbers), version=4)),
            environ={} if typed else self.environ,
            out=out,
            err=err,
            ask=ask if typed else None,
        )
        assert "Traceback" not in out.getvalue() + err.getvalue()
        assert "[" not in out.getvalue().replace('": [', "") or "--json" in argv
        assert "[" not in err.getvalue() or code == Exit.USAGE
        return code, out.getvalue(), err.getvalue()

    def does(self, *argv: str, typed: Iterator[str] | None = None) -> str:
        code, out, err = self.say(*argv, typed=typed)
        assert (code, err) == (Exit.DONE, "")
        return out

    def told(self, *argv: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.does(*argv, "--json"))
        return found

    def refused(self, *argv: str, typed: Iterator[str] | None = None, exit_code: Exit = Exit.REFUSED) -> str:
        """What is said of a line that is refused; nothing in the book has changed."""
        before = self.book.read_bytes()
        code, out, err = self.say(*argv, typed=typed)
        assert (code, out) == (exit_code, "")
        assert self.book.read_bytes() == before
        return err

    def sign(self, person: str, secret: str) -> tuple[int, str]:
        self.environ["TENTHWRIGHT_PASSPHRASE"] = secret
        code, out, err = self.say("sign", "--as", person)
        return code, out + err

    def seal_verifies(self, person: str) -> str:
        """The fingerprint that the seal vouches for, once book and data file verify."""
        data = str(self.folder / "sheet.json")
        self.does("export", "data", data, "--as", person)
        self.does("verify")
        return self.does("verify", data).strip().rpartition(" ")[2]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    shop = Shop(tmp_path_factory.mktemp("made"))
    shop.does("new", "--shop", "Quillfeather", "--person", MIRA, "--starter-crib")
    shop.does("person", BO, "--enter", "--duty", "inspector", "--as", MIRA)
    shop.does("take-in", shop.file("f.csv", FEATURES), "--as", MIRA)
    shop.does("read", shop.file("r.csv", READINGS), "--as", BO)
    return shop.book


@pytest.fixture
def shop(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    shop = Shop(tmp_path, 1_000)
    shutil.copy(made, shop.book)
    return shop


def signed(shop: Shop) -> Shop:
    assert shop.sign(BO, SECRET)[0] == Exit.DONE
    return shop


# --- entering and duties ----------------------------------------------------------------------------------------------


def test_a_person_is_shown_with_key_and_fingerprint(shop: Shop) -> None:
    before = shop.book.read_bytes()
    out = shop.does("person", "bo tran")
    assert out.startswith(f"{BO}\n  Duties        inspector\n  Key           made here\n")
    assert "from 2026-03-02 until 2036-03-09" in out
    assert shop.told("person", BO)["fingerprint"] in out
    assert shop.book.read_bytes() == before
    listed = shop.does("list", "people")
    assert "Key good until" in listed and listed.count("2036-03-09") == 2
    assert "knows nobody named Cy" in shop.refused("person", "Cy")


def test_a_person_is_entered_by_who_may(shop: Shop) -> None:
    typed = iter(["five blue herons", "five blue herons"])
    out = shop.does("person", "Lea Lund", "--enter", "--duty", "lead", "--duty", "office", "--as", MIRA, typed=typed)
    assert "Lea Lund was entered" in out and "lead, office" in out
    assert shop.asked == ["New passphrase of Lea Lund: ", "Once more: "]
    assert shop.told("person", "Lea Lund")["issues"][0]["by"] == MIRA
    for name in (BO, "bo TRAN"):
        assert f"{BO} is already entered" in shop.refused("person", name, "--enter", "--as", MIRA)
    asked = list(shop.asked)
    assert "may not enter a person" in shop.refused("person", "Cy", "--enter", "--as", BO, typed=iter(["never asked"]))
    assert shop.asked == asked


def test_duties_are_changed_by_who_may(shop: Shop) -> None:
    assert f"{BO} is from now on: inspector, lead." in shop.does(
        "person", BO, "--duty", "lead", "--duty", "inspector", "--as", MIRA
    )
    again = shop.refused("person", BO, "--duty", "inspector", "--duty", "lead", "--as", MIRA)
    assert "has these duties already: inspector, lead" in again
    assert "nobody would be left" not in shop.does("person", MIRA, "--duty", "inspector", "--as", BO)
    assert "may not enter a person" in shop.refused("person", MIRA, "--duty", "lead", "--as", MIRA)
    assert "nobody would be left who may enter people" in shop.refused("person", BO, "--duty", "office", "--as", BO)
    told = shop.told("person", MIRA)["issues"]
    assert [issue["by"] for issue in told] == ["", BO]
    assert told[0]["fingerprint"] == told[1]["fingerprint"]


@pytest.mark.parametrize(
    "options",
    [("--enter", "--new-key"), ("--enter", "--change-passphrase"), ("--duty", "lead", "--new-key")],
)
def test_what_does_not_go_together(shop: Shop, options: tuple[str, ...]) -> None:
    assert "One change at a time" in shop.refused("person", BO, *options, "--as", MIRA)


def test_one_change_of_the_key_at_a_time(shop: Shop) -> None:
    err = shop.refused("person", BO, "--new-key", "--change-passphrase", exit_code=Exit.USAGE)
    assert "do not go together" in err


# --- another passphrase -----------------------------------------------------------------------------------------------


def test_anybody_changes_their_own_passphrase_and_keeps_the_key(shop: Shop) -> None:
    before = shop.told("person", BO)
    out = shop.does("person", BO, "--change-passphrase", typed=iter([SECRET, "five blue herons", "five blue herons"]))
    assert shop.asked == [f"Passphrase of {BO}: ", f"New passphrase of {BO}: ", "Once more: "]
    assert "another passphrase from now on" in out and "--new-key" in out
    after = shop.told("person", BO)
    assert after["fingerprint"] == before["fingerprint"]
    assert [issue["by"] for issue in after["issues"]] == [MIRA, BO]
    code, said = shop.sign(BO, SECRET)
    assert (code, "not the passphrase" in said) == (Exit.REFUSED, True)
    assert shop.sign(BO, "five blue herons")[0] == Exit.DONE


def test_a_passphrase_is_changed_by_files_and_variables_too(shop: Shop) -> None:
    old, new = shop.file("old", f"{SECRET}\n"), shop.file("new", "five blue herons\n")
    shop.environ.clear()
    assert "--new-passphrase-file or set TENTHWRIGHT_NEW_PASSPHRASE" in shop.refused(
        "person", BO, "--change-passphrase", "--passphrase-file", old
    )
    shop.does("person", BO, "--change-passphrase", "--passphrase-file", old, "--new-passphrase-file", new)
    shop.environ |= {"TENTHWRIGHT_PASSPHRASE": "five blue herons", "TENTHWRIGHT_NEW_PASSPHRASE": "six red kites"}
    shop.does("person", BO, "--change-passphrase")
    assert shop.sign(BO, "six red kites")[0] == Exit.DONE


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (["not this one", "five blue herons", "five blue herons"], "not the passphrase"),
        ([SECRET, "five blue herons", "five blue heron"], "differ"),
        ([SECRET, "short", "short"], "at least 8 characters"),
        ([SECRET, SECRET, SECRET], "already"),
        ([SECRET, ""], "No passphrase was typed"),
    ],
)
def test_a_passphrase_that_is_not_changed(shop: Shop, typed: list[str], said: str) -> None:
    assert said in shop.refused("person", BO, "--change-passphrase", typed=iter(typed))


def test_nobody_changes_the_passphrase_of_another(shop: Shop) -> None:
    said = shop.refused("person", BO, "--change-passphrase", "--as", MIRA, typed=iter([SECRET]))
    assert "changed by whose it is" in said and shop.asked == []


# --- a lost key -------------------------------------------------------------------------------------------------------


def test_a_lost_key_is_made_anew_and_old_seals_hold(shop: Shop) -> None:
    signed(shop)
    before = shop.told("person", BO)["fingerprint"]
    typed = iter(["five blue herons", "five blue herons"])
    out = shop.does("person", BO, "--new-key", "--as", MIRA, typed=typed)
    assert "signs with a new key" in out
    after = shop.told("person", BO)
    assert after["fingerprint"] != before
    assert [issue["fingerprint"] for issue in after["issues"]] == [before, after["fingerprint"]]
    with Book.open(shop.book) as book:
        (sheet,) = {row[0] for row in book.ask(lambda c: c.exec_driver_sql("SELECT sheet FROM seal").fetchall())}
        assert book.sheet(sheet).seals[0].signature.certificate != book.shop().people[after["person"]].certificate
    assert shop.seal_verifies(BO) == before


def test_a_new_key_is_for_who_may(shop: Shop) -> None:
    assert "may not enter a person" in shop.refused("person", BO, "--new-key", "--as", BO, typed=iter([SECRET]))
    assert shop.asked == [], "and nobody is asked for a passphrase in vain"
    assert "at least 8" in shop.refused("person", BO, "--new-key", "--as", MIRA, typed=iter(["short", "short"]))


# --- a key brought along ----------------------------------------------------------------------------------------------


def brought(shop: Shop, name: str = BO, without: int = 0) -> tuple[str, str]:
    """A file with a key, and the certificate in it."""
    key, own, above = chain_of_three(name)
    return shop.file("key.p12", container(key, own, above[: len(above) - without])), pem(own)


def test_a_key_brought_along_signs_with_its_chain(shop: Shop) -> None:
    path, certificate = brought(shop)
    typed = iter(["file", "five blue herons", "five blue herons"])
    shop.does("person", BO, "--key", path, "--as", MIRA, typed=typed)
    assert shop.asked[0] == "Passphrase of the file key.p12 (Enter if it has none): "
    told = shop.told("person", BO)
    assert (told["issuer"], len(told["issues"])) == ("Lantern Hill people", 2)
    assert "brought along, issued by Lantern Hill people" in shop.does("person", BO)
    assert shop.sign(BO, "five blue herons")[0] == Exit.DONE
    assert shop.seal_verifies(BO) == told["fingerprint"]
    with Book.open(shop.book) as book:
        assert book.shop().people[told["person"]].certificate == certificate


def test_who_is_entered_may_bring_a_key_at_once(shop: Shop) -> None:
    path, _ = brought(shop, "Lea Lund")
    shop.environ["TENTHWRIGHT_KEY_PASSPHRASE"] = "file"
    shop.does("person", "Lea Lund", "--enter", "--duty", "lead", "--key", path, "--as", MIRA)
    assert shop.told("person", "Lea Lund")["issuer"] == "Lantern Hill people"


def test_keys_that_are_not_taken(shop: Shop) -> None:
    shop.environ["TENTHWRIGHT_KEY_PASSPHRASE"] = "file"

    def bring(path: str) -> str:
        return shop.refused("person", BO, "--key", path, "--as", MIRA)

    assert "lacks a certificate above" in bring(brought(shop, without=1)[0])
    assert f"in the name of Mira Oduya, not of {BO}" in bring(brought(shop, MIRA)[0])
    assert "no file with a key" in bring(shop.file("junk.p12", b"junk"))
    path, _ = brought(shop)
    shop.environ["TENTHWRIGHT_KEY_PASSPHRASE"] = ""
    assert "not the passphrase of the file" in bring(path)
    assert "nowhere.p12" in shop.refused("person", BO, "--key", "nowhere.p12", "--as", MIRA, exit_code=Exit.WORLD)


@pytest.mark.skipif(OPENSSL is None, reason="no openssl here to make a key by")
def test_a_key_made_by_another_program_is_brought_along(shop: Shop) -> None:
    """A certificate authority and a key under it, by openssl alone; its times are those of this computer's clock."""
    from storage.book.clock import wall_clock

    def openssl(*argv: str) -> None:
        subprocess.run([str(OPENSSL), *argv], cwd=shop.folder, capture_output=True, check=True)

    curve = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes")
    openssl("req", "-x509", *curve, "-keyout", "ca.key", "-out", "ca.pem", "-subj", "/CN=Lantern Hill", "-days", "9")
    openssl("req", *curve, "-keyout", "bo.key", "-out", "bo.csr", "-subj", f"/CN={BO}")
    openssl("x509", "-req", "-in", "bo.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-out", "bo.pem", "-days", "8")
    openssl(
        *("pkcs12", "-export", "-inkey", "bo.key", "-in", "bo.pem", "-certfile", "ca.pem", "-out", "bo.p12"),
        *("-passout", "pass:opens it"),
    )
    shop.now = wall_clock().at + 60 * SECOND
    shop.environ |= {"TENTHWRIGHT_KEY_PASSPHRASE": "opens it", "TENTHWRIGHT_PASSPHRASE": "five blue herons"}
    shop.does("person", BO, "--key", str(shop.folder / "bo.p12"), "--as", MIRA)
    told = shop.told("person", BO)
    assert told["issuer"] == "Lantern Hill"
    assert shop.sign(BO, "five blue herons")[0] == Exit.DONE
    assert shop.seal_verifies(BO) == told["fingerprint"]


# --- a certificate that is over ---------------------------------------------------------------------------------------


def test_a_certificate_that_is_over_signs_nothing_and_says_how_to_get_another(shop: Shop) -> None:
    shop.now += (LIFE + 1) * DAY
    said = shop.refused("sign", "--as", BO, typed=iter([SECRET]))
    assert "good until 2036-03-09, and today is 2036-03-1" in said
    assert "new key" in said and "tenthwright person" in said
    assert shop.asked == []
    assert "not now: it signs nothing" in shop.does("person", BO)
    shop.does("person", BO, "--new-key", "--as", MIRA)
    assert shop.sign(BO, SECRET)[0] == Exit.DONE


def test_a_clock_before_the_key_was_made_signs_nothing(shop: Shop) -> None:
    shop.now -= 30 * DAY
    said = shop.refused("sign", "--as", BO, typed=iter([SECRET]))
    assert "good from 2026-03-02 on" in said and "Set the clock right" in said


# --- waiting ----------------------------------------------------------------------------------------------------------


def test_the_fourth_wrong_passphrase_waits_and_so_does_every_way_to_try_it(shop: Shop) -> None:
    for _ in range(2):
        assert "next try" not in shop.sign(BO, "not this one")[1]
    assert "The next try is in 2 seconds." in shop.sign(BO, "not this one")[1]
    said = shop.refused("person", BO, "--change-passphrase", typed=iter([SECRET, "a new one now", "a new one now"]))
    assert "Too many wrong passphrases" in said and shop.asked == []
    shop.now += 2 * SECOND
    assert "The next try is in 4 seconds." in shop.sign(BO, "not this one")[1]
    code, said = shop.sign(BO, SECRET)
    assert (code, "Nothing was tried" in said) == (Exit.REFUSED, True), "the right one waits as well"
    assert shop.told("person", MIRA)["wait"] == 0, "and nobody else"
    shop.now += 4 * SECOND
    assert shop.sign(BO, SECRET)[0] == Exit.DONE
    assert shop.told("person", BO)["wait"] == 0


def test_a_clock_set_back_does_not_shorten_the_wait(shop: Shop) -> None:
    for _ in range(3):
        shop.sign(BO, "not this one")
    shop.now -= 600 * SECOND
    code, said = shop.sign(BO, SECRET)
    assert (code, "The next try is in" in said) == (Exit.REFUSED, True)
    shop.now += 3 * SECOND
    assert shop.sign(BO, SECRET)[0] == Exit.DONE
