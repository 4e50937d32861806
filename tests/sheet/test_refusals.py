"""Every refusal of the rules of life can be met, says what it is about in words, and changes nothing.

What meets each stands in ``refusals``, a file a subject.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest

from inspection.words.catalogue import entries, files
from inspection.words.say import say
from tests.sheet.refusals import of_proofs, of_readings, of_review, of_sheets, of_shop
from tests.sheet.refusals.meetings import MEETINGS

#: The files of meetings: each notes its own when it is read.
SUBJECTS = (of_shop, of_sheets, of_readings, of_proofs, of_review)
#: Sentences of the same file that are no refusal.
OTHERS = {"reading.correction_taken_back"}


def codes_of_life() -> set[str]:
    text = dict(files("en"))["life.toml"]
    return {code for code, _ in entries(tomllib.loads(text)) if not code.startswith(("duties.", "duty."))} - OTHERS


def test_every_refusal_is_met() -> None:
    assert set(MEETINGS) == codes_of_life()


@pytest.mark.parametrize("code", sorted(codes_of_life()))
def test_a_refusal_says_what_it_is_about(code: str, life: Any) -> None:
    reasons = {reason.code: reason for reason in MEETINGS[code](life)}
    assert say(reasons[code]).endswith((".", ":"))
    for reason in reasons.values():
        told = say(reason)
        assert not re.search(r"[\[\]{}@]|\b(act|verdict|observed|role|duties)\.\w", told), told
