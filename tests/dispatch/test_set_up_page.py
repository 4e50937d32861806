"""The set-up page as other programs read it: every instrument, size, check and stop is there, and nothing is cut."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from inspection.reasons import Refused
from inspection.sheet.pull_page import LABELS, LegLine, PullLine, PullPage, TakeLine
from inspection.words.say import word
from storage.dispatch.set_up_page import set_up_bytes, write_set_up_page

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext is not installed")


def page(pulls: int = 3, name: str = "outside micrometer 0–1 in") -> PullPage:
    lines = tuple(
        PullLine(
            f"{n}, {n + 40}", f"M-{n:03d}", name, f"cabinet {n}", "2027-03-01",
            ("0.134 in … 0.141 in (8 pins)",) if n == 1 else (), "4, 7.1 … 7.4",
            ("Wipe faces and reference surface.", f"Read a gauge block near 0.{n:03d} in."),
            ("M-002 is overdue since 2026-03-01: not for acceptance.",) if n == 2 else (),
            (TakeLine(f"3.{n:04d} in", "3 + 0.1", f"to check M-{n:03d}", "U = 12 µin", ""),) if n % 3 == 0 else (),
        )
        for n in range(1, pulls + 1)
    )  # fmt: skip
    legs = tuple(LegLine(str(n), "lathe", f"M-{n:03d} {name}", "4") for n in range(1, pulls + 1))
    labels = {code: word(f"pull.{code}") for code in LABELS}
    return PullPage(
        "Set-up page, HB-7 rev B", (("part", "HB-7"),), lines, legs, ("3 instruments", "3 stops"),
        (word("caution.machine"),), labels, "Harrow Lane Works", lacks=("The crib holds no gauge blocks.",),
    )  # fmt: skip


def text_of(path: Path) -> str:
    done = subprocess.run(["pdftotext", "-raw", str(path), "-"], check=True, capture_output=True, timeout=60)
    return " ".join(done.stdout.decode().split())


@needs_poppler
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_all_of_it_is_on_the_page(tmp_path: Path, paper: str) -> None:
    file = tmp_path / "page.pdf"
    write_set_up_page(page(60), file, paper=paper)
    text = text_of(file)
    for n in range(1, 61):
        assert f"M-{n:03d}" in text
        assert f"Read a gauge block near 0.{n:03d} in." in text
        assert (f"3.{n:04d} in 3 + 0.1 to check M-{n:03d} U = 12 µin" in text) is (n % 3 == 0)
    assert "The crib holds no gauge blocks." in text
    assert "0.134 in … 0.141 in" in text
    assert "M-002 is overdue" in text
    assert "page 1 of" in text
    assert word("caution.machine").split(".")[0] in text


def test_the_same_list_gives_the_same_bytes() -> None:
    assert set_up_bytes(page()) == set_up_bytes(page())


def test_a_character_without_a_glyph_is_named_and_nothing_is_made(tmp_path: Path) -> None:
    with pytest.raises(Refused) as caught:
        write_set_up_page(page(name="gauge 測"), tmp_path / "page.pdf")
    assert caught.value.reasons[0].parts["characters"] == "測"
    assert not list(tmp_path.iterdir())
