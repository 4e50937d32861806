"""Reasons, refusals and questions as data: a code and the parts it was decided by.

Nothing here is a sentence. ``inspection.words`` turns a reason into one, in the language and units asked for.
"""

from __future__ import annotations

from msgspec import Struct

from inspection.quantity.units import Kind


class Amount(Struct, frozen=True, tag="amount"):
    """An exact amount inside a reason: ``count`` steps of ``kind``, to be shown in ``unit`` with ``decimals``.

    ``decimals`` of None lets the speaker show as many as the value needs.
    """

    count: int
    kind: Kind
    unit: str
    decimals: int | None = None


class Figure(Struct, frozen=True, tag="figure"):
    """A computed number at stated digits, as a decimal string (floats never enter a reason)."""

    text: str


Part = str | int | Amount | Figure


class Reason(Struct, frozen=True):
    """What was decided (``code``, a key of the catalogue) and by which parts.

    ``resolution.short`` with parts ``needed`` and ``got`` is one example.
    """

    code: str
    parts: dict[str, Part] = {}


class Refused(Exception):
    """Something could not be read or may not be done; ``reasons`` say what, where and what is allowed.

    Several faults of one file or form are carried together.
    """

    def __init__(self, *reasons: Reason) -> None:
        super().__init__(", ".join(reason.code for reason in reasons))
        self.reasons = reasons
