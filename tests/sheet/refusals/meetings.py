"""Where each refusal is noted by its code, with what meets it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.reasons import Reason

GUARDED = DecisionRule(RuleKind.GUARDED)
Meet = Callable[[Any], Iterable[Reason]]
MEETINGS: dict[str, Meet] = {}


def meets(code: str) -> Callable[[Meet], Meet]:
    """Note what meets a refusal: a function of a life, which says what was refused."""

    def note(meet: Meet) -> Meet:
        assert code not in MEETINGS
        MEETINGS[code] = meet
        return meet

    return note
