"""Acts on readings that are there: they decide what the next key belongs to, so that keys are held until they are on
disk, and the entry then stands where they lead."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from app.background.worker import Failure
from app.bench.under_way import At, UnderWay
from inspection.sheet import acts
from inspection.sheet.state import Cell

if TYPE_CHECKING:
    from app.bench.flow import Flow
    from storage.book.outcome import Outcome


class Leading:
    """Hands such acts over for the flow; true while one is on its way."""

    def __init__(self, flow: Flow) -> None:
        self._flow = flow
        self._ways: set[UnderWay] = set()

    def __bool__(self) -> bool:
        return bool(self._ways)

    def forget(self) -> None:
        """Another sheet is at hand: nothing on its way leads anywhere on it."""
        self._ways.clear()

    def do_and_go(self, act: acts.OnSheet, cell: Cell, said: str) -> None:
        """Hand over an act on readings that are there; once it is on disk, stand at its cell and say what was done."""
        self._lead(act, At(*cell), said, self._gone_to)

    def do_here(self, act: acts.OnSheet) -> None:
        """Hand over an act on the row at hand, which then may wait for something else."""
        self._lead(act, self._flow.at, "", self._done_here)

    def _lead(self, act: acts.OnSheet, at: At, said: str, done: Callable[[UnderWay, Outcome], None]) -> None:
        """What is typed before the act is on disk is held, for it belongs to where the act leads."""
        flow = self._flow
        way = UnderWay(flow, at, said, act)
        way.when_kept, way.when_refused, way.when_back = done, self._not_done, self._not_written
        self._ways.add(way)
        flow.entry.close_up()
        if flow.house.do(act, kept=way.kept, refused=way.refused, back=way.back) is None:
            self._led(way)

    def _led(self, way: UnderWay) -> None:
        """The act came back: a person may type again."""
        self._ways.discard(way)
        if not self._ways:
            self._flow.entry.open_up()

    def _gone_to(self, way: UnderWay, outcome: Outcome) -> None:
        self._led(way)
        self._flow.plainly_kept(way, outcome)
        if self._flow.is_of_sheet(outcome):
            self._flow.stand_at(way.at.cell, way.text)
        self._flow.free()

    def _done_here(self, way: UnderWay, outcome: Outcome) -> None:
        self._led(way)
        self._flow.plainly_kept(way, outcome)
        self._flow.look_again()
        self._flow.free()

    def _not_done(self, way: UnderWay, failure: Failure) -> None:
        self._flow.house.fail(failure)
        self._not_written(way, failure)

    def _not_written(self, way: UnderWay, failure: Failure) -> None:
        """What was held was meant for where the act would have led: it is shown, and the person decides."""
        self._led(way)
        if self._flow.entry.held():
            self._flow.turn_down_plainly(self._flow.house.sentence(failure))
        else:
            self._flow.free()
