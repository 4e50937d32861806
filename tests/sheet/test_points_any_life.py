"""Whatever was done on a sheet, in whatever order, its list can be made and read."""

from __future__ import annotations

import re
from typing import Any

from hypothesis import settings
from hypothesis.stateful import invariant, run_state_machine_as_test

from inspection.sheet.points import points
from inspection.sheet.points_table import grades
from inspection.words.say import say
from tests.sheet.points_bench import DAY
from tests.sheet.test_any_life import AnyLife


class AnyLifeLookedAt(AnyLife):
    """A life with somebody looking at its list after every act."""

    @invariant()
    def the_list_stands(self) -> None:
        if not hasattr(self, "life"):
            return
        life: Any = self.life
        found = points(life.shop, life.sheet, {}, DAY)
        assert len({point.key for point in found}) == len(found)
        assert [point.weight for point in found] == sorted((point.weight for point in found), reverse=True)
        for point in found:
            assert point.weight == grades()[point.code].weight
            assert set(point.readings) <= set(life.sheet.readings)
            for reason in (point.reason, *point.why):
                assert not re.search(r"[\[\]{}]", say(reason)), say(reason)


def test_the_list_of_any_life(life_kind: Any) -> None:
    AnyLifeLookedAt.life_kind = life_kind
    run_state_machine_as_test(
        AnyLifeLookedAt, settings=settings(max_examples=12, stateful_step_count=20, deadline=None)
    )
