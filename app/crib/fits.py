"""A search that asks what fits a feature: ``fits .5000 ±.0005 bore``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from app.background.worker import Failure
from app.crib.work import Fits
from app.window.house import House
from inspection.instruments.method import Fitness
from inspection.words.say import word

if TYPE_CHECKING:
    from inspection.instruments.fitting import Fitting

BEGINS = "fits "
#: Milliseconds after the last key until the question is asked.
PAUSE = 200


class Asking(QObject):
    """Holds the answer to the search's question; ``answered`` says that there is another."""

    answered = Signal()

    def __init__(self, house: House, parent: QObject) -> None:
        super().__init__(parent)
        self._house = house
        self._text = ""
        self.found: Mapping[str, Fitness] | None = None
        self.said = ""
        self._pause = QTimer(self, interval=PAUSE, singleShot=True)
        self._pause.timeout.connect(self._ask)

    def follow(self, search: str) -> None:
        """The search is this now. What is no question, or another one, has no answer yet."""
        text = search.strip()
        text = text[len(BEGINS) :].strip() if text.casefold().startswith(BEGINS) else ""
        if text != self._text:
            self._text, self.found, self.said = text, None, ""
        if text:
            self._pause.start()

    def _ask(self) -> None:
        if self._text and self._house.worker is not None:
            self._house.worker.read(Fits(self._text, self._house.units or "in").run, self._take, self._refused)

    def _take(self, answer: tuple[str, Fitting]) -> None:
        text, fitting = answer
        if text != self._text:
            return
        self.found = fitting.found
        fit = sum(one is Fitness.FIT for one in fitting.found.values())
        marginal = len(fitting.found) - fit
        callout = f"{fitting.asked.requirement.written} ({fitting.asked.kind})"
        self.said = word("crib.fits.told", fit=fit, marginal=marginal, callout=callout)
        self.answered.emit()

    def _refused(self, failure: Failure) -> None:
        self.found, self.said = None, self._house.sentence(failure)
        self.answered.emit()
