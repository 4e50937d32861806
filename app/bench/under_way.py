"""A reading that was handed over and is not yet on disk."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from PySide6.QtCore import QObject

from app.background.worker import Failure
from inspection.measuring.reading import Reading, Slot
from inspection.sheet.state import Cell

if TYPE_CHECKING:
    from storage.book.outcome import Outcome


class At(NamedTuple):
    """Where the entry stands: row and piece, the slot that waits there (None: none does), and the reading that is
    being corrected, if one is."""

    row: str
    piece: str
    slot: Slot | None = None
    corrects: str = ""

    @property
    def cell(self) -> Cell:
        """Row and piece."""
        return self.row, self.piece


class UnderWay(QObject):
    """One act on its way, with where its text belongs. It lives until the book has answered.

    ``ahead`` is the reading as it is expected, for looking at slips before it is on disk. ``saw`` is
    the entry that the person had seen last.
    """

    def __init__(
        self,
        parent: QObject,
        at: At,
        text: str,
        act: Any,
        *,
        ahead: Reading | None = None,
        saw: str = "",
    ) -> None:
        super().__init__(parent)
        self.at, self.text, self.act, self.ahead, self.saw = at, text, act, ahead, saw
        self.when_kept: Callable[[UnderWay, Outcome], None] | None = None
        self.when_refused: Callable[[UnderWay, Failure], None] | None = None
        self.when_back: Callable[[UnderWay, Failure], None] | None = None

    def kept(self, outcome: Outcome) -> None:
        """It is on disk."""
        if self.when_kept is not None:
            self.when_kept(self, outcome)
        self.deleteLater()

    def refused(self, failure: Failure) -> None:
        """The rules said no."""
        if self.when_refused is not None:
            self.when_refused(self, failure)
        self.deleteLater()

    def back(self, failure: Failure) -> None:
        """It, or one before it, could not be written."""
        if self.when_back is not None:
            self.when_back(self, failure)
        self.deleteLater()
