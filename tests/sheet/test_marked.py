"""Which marks for review a sheet takes: of readings that count, and an error again once its first mark was answered."""

from __future__ import annotations

from typing import Any

import pytest

from inspection.reasons import Refused
from inspection.sheet import acts
from tests.sheet.refusals.of_review import lead_of, marking
from tests.sheet.test_failed_checks import bench

__all__ = ["bench"]


@pytest.fixture
def marked(life_kind: Any) -> Any:
    life = life_kind().open()
    life.make(("1",), {"number": "1", "kind": "length", "requirement": ".500 ±.005"})
    return life


def test_an_error_is_marked_again_once_its_mark_was_answered(marked: Any) -> None:
    """It may be found once more at the next calibration; while the first mark waits, a second says nothing."""
    lead = lead_of(marked)
    act = marking(marked)
    first = marked.do(act, person=lead)[0].mark.identity
    with pytest.raises(Refused) as caught:
        marked.do(act, person=lead)
    assert [reason.code for reason in caught.value.reasons] == ["mark.known"]
    marked.do(acts.AnswerMark(sheet=marked.sheet_id, mark=first, words="read again, it holds"), person=lead)
    marked.do(act, person=lead)
    assert [held.waits for held in marked.sheet.marks.values()] == [False, True]


def test_a_reading_that_a_failed_check_reopened_is_not_marked(bench: Any) -> None:
    """It counts no longer, so that nobody has to look at it a second time."""
    bench.take("1", ".5005")
    act = marking(bench)
    bench.check("C-05", bad="wipe", closing=False)
    with pytest.raises(Refused) as caught:
        bench.do(act, person=lead_of(bench))
    assert [reason.code for reason in caught.value.reasons] == ["mark.other_readings"]
