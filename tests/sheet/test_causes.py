"""Why a first article is made: codes of the table and free words."""

from __future__ import annotations

import pytest

from inspection.sheet.causes import cause_text, causes, joined, parted, read_cause


def test_a_cause_is_codes_and_free_words() -> None:
    text = joined({"tooling", "new_part"}, " the mould was moved ")
    assert text == "new_part; tooling; the mould was moved"
    assert parted(text) == ({"new_part", "tooling"}, "the mould was moved")
    assert cause_text(text) == "new part; change of tooling; the mould was moved"
    assert cause_text("") == joined(set()) == ""


@pytest.mark.parametrize(
    ("written", "cause"),
    [
        ("new part", "new_part"),
        ("NEW PART", "new_part"),
        ("tooling; new_part", "new_part; tooling"),
        ("the mould was moved; Change of tooling", "tooling; the mould was moved"),
        ("", ""),
    ],
)
def test_a_cause_is_read_by_code_or_words(written: str, cause: str) -> None:
    assert read_cause(written) == cause
    assert read_cause(cause) == cause


@pytest.mark.parametrize("code", causes())
def test_every_cause_has_words(code: str) -> None:
    assert "[" not in cause_text(code)
    assert parted(code) == ({code}, "")
