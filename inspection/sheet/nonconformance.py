"""A nonconformance: what does not conform on a piece, what is done about it, who decided and on whose word."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.measuring.verdict import Judgement


class Disposition(StrEnum):
    """What is done about something that does not conform."""

    REWORK = "rework"  # made to conform, and measured again
    REPAIR = "repair"  # made usable, not conforming, by the customer's leave
    USE_AS_IS = "use as is"  # by the customer's leave
    RETURN = "return to supplier"
    SCRAP = "scrap"

    @property
    def by_leave(self) -> bool:
        """Whether it needs the customer's document."""
        return self in (Disposition.REPAIR, Disposition.USE_AS_IS)

    @property
    def measured_again(self) -> bool:
        """Whether the piece is worked on, and its rows measured again."""
        return self in (Disposition.REWORK, Disposition.REPAIR)

    @property
    def leaves(self) -> bool:
        """Whether the piece leaves the sheet: nothing more is asked of it."""
        return self in (Disposition.RETURN, Disposition.SCRAP)


class Leave(Struct, frozen=True):
    """The customer's leave: the ``document`` by its number, its ``day`` (ISO) and the ``scope`` it gives (which pieces,
    which characteristics, how far)."""

    document: str
    day: str
    scope: str


class Before(Struct, frozen=True):
    """What a row had come to before its piece was worked on: its judgement, and the readings it rested on. It stays
    printed."""

    characteristic: str
    judgement: Judgement
    readings: tuple[str, ...]
    round: int  # the piece was "reworked n" after this


class Nonconformance(Struct, frozen=True):
    """One nonconformance of one piece.

    ``number`` is the shop's, as written; ``rows`` are the characteristics that do not conform, with their judgements
    then (``found``, in the same order); ``affected`` those that the disposition marks to be measured again beside them.
    ``decided_by`` is a person's identity, ``decided_at`` UTC microseconds; both empty (0) while it waits.
    """

    identity: str
    number: str
    piece: str
    rows: tuple[str, ...]
    found: tuple[Judgement, ...]
    what: str
    by: str
    at: int
    disposition: Disposition | None = None
    decided_by: str = ""
    decided_at: int = 0
    words: str = ""
    affected: tuple[str, ...] = ()
    leave: Leave | None = None
