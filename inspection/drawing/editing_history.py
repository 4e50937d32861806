"""What was done to a plan under way, step by step, to be undone and done again."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from inspection.drawing.editing import Draft
from inspection.reasons import Reason

#: More steps than a person goes back.
MOST_STEPS = 500


class Step(Struct, frozen=True):
    """One step: its name as people read it, and the draft before it (done) or after it (undone)."""

    name: Reason
    draft: Draft


class History(Struct, frozen=True):
    """The present draft with the steps behind it and those that were undone, the nearest last."""

    present: Draft = Draft()
    past: tuple[Step, ...] = ()
    future: tuple[Step, ...] = ()

    def did(self, name: Reason, draft: Draft) -> History:
        """A step was made; what was undone before it is gone. A step that changes nothing is none."""
        if draft == self.present:
            return self
        return History(draft, (*self.past[1 - MOST_STEPS :], Step(name, self.present)))

    def undone(self) -> History:
        """The last step taken back; the same history if there is none."""
        if not self.past:
            return self
        last = self.past[-1]
        return History(last.draft, self.past[:-1], (*self.future, replace(last, draft=self.present)))

    def redone(self) -> History:
        """The last step that was taken back made again; the same history if there is none."""
        if not self.future:
            return self
        last = self.future[-1]
        return History(last.draft, (*self.past, replace(last, draft=self.present)), self.future[:-1])
