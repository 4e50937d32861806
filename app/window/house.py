"""What every room is given: the worker, the theme, who is at the bench, how lengths are shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.background.worker import Failure, Ticket, Worker
from app.window.theme import Theme

if TYPE_CHECKING:
    from pathlib import Path

    from app.jobs.hand import Foreseen
    from inspection.reasons import Reason
    from inspection.sheet.acts import Act
    from inspection.sheet.state import Shop


class House(QObject):
    """Shared by all rooms; changes are told by signals, so no room knows another.

    ``units`` is how lengths are shown ("in" or "mm", or "" for each row's own unit); it never changes what is kept.
    ``shop`` is the book's shop as last read, None until the book is open; ``book`` is the file that it lies in.
    ``at_hand`` is the sheet open at the Bench. ``papers`` is the paper each customer gets ("letter" or "a4"), under ""
    the usual one; ``folder`` is where files went last. ``stamps`` is whether signatures made here leave room for a time
    stamp. ``left_off`` is what was begun on a panel and left, until it is taken up again in this sitting.
    """

    theme_changed = Signal(object)
    units_changed = Signal(str)
    person_changed = Signal(str)
    shop_changed = Signal(object)
    noticed = Signal(str, bool)  # a sentence, and whether it is a failure
    sheet_wanted = Signal(str)  # open this sheet at the Bench
    row_wanted = Signal(str, str, str)  # open this sheet at the Bench, at this balloon number and serial
    desk_wanted = Signal(str)  # prepare this sheet at the Desk
    rules_wanted = Signal()  # show the shop's rules
    warmed = Signal()  # what verdicts are reckoned with is loaded
    leaving = Signal()  # the book is about to be closed: hand in what was typed and is not written

    def __init__(self, theme: Theme, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.theme = theme
        self.units = ""
        self.person = ""
        self.shop: Shop | None = None
        self.worker: Worker | None = None
        self.foreseen: Foreseen | None = None
        self.book: Path | None = None
        self.at_hand = ""
        self.papers: dict[str, str] = {}
        self.folder = ""
        self.stamps = False
        self.left_off: dict[object, object] = {}

    def set_theme(self, theme: Theme) -> None:
        """Change palette or scale everywhere."""
        self.theme = theme
        self.theme_changed.emit(theme)

    def set_units(self, units: str) -> None:
        """Show lengths in this unit, "" for each row's own."""
        self.units = units
        self.units_changed.emit(units)

    def set_person(self, person: str) -> None:
        """Another person is at the bench (their identity)."""
        self.person = person
        self.person_changed.emit(person)

    def set_shop(self, shop: Shop) -> None:
        """The shop was read anew."""
        self.shop = shop
        self.shop_changed.emit(shop)

    def do(
        self,
        act: Act,
        *,
        based_on: str = "",
        sign: Any = None,
        kept: Callable[[Any], None] | None = None,
        refused: Callable[[Failure], None] | None = None,
        back: Callable[[Failure], None] | None = None,
        files: Mapping[str, bytes] | None = None,
    ) -> Ticket | None:
        """Hand an act in, in the name of the person at the bench. Without ``refused`` a refusal becomes a notice.
        ``back`` is called if it could not be written; that the book failed is told by the frame. ``files`` holds the
        bytes of the files that the act names, by SHA-256 in hex."""
        if self.worker is None:
            return None
        return self.worker.act(
            act,
            person=self.person,
            based_on=based_on,
            sign=sign,
            kept=kept,
            refused=refused or self.fail,
            back=back,
            files=files,
        )

    def notice(self, sentence: str) -> None:
        """Show a sentence in the calm strip."""
        self.noticed.emit(sentence, False)

    def fail(self, failure: Failure) -> None:
        """Show what went wrong in the calm strip."""
        self.noticed.emit(self.sentence(failure), True)

    def sentence(self, failure: Failure) -> str:
        """A failure in words."""
        if not failure.reasons:
            from app.window.words import word

            return word("fault.own")
        return self.say(*failure.reasons)

    def say(self, *reasons: Reason) -> str:
        """Reasons in words, in the units shown."""
        from inspection.words.say import say

        return " ".join(say(reason, units=self.units) for reason in reasons)


class Room(QWidget):
    """A room of the window. Rooms are imported and built when first entered."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.house = house
        house.theme_changed.connect(self.take_theme)

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self.update()

    def arrive(self) -> None:
        """The room was entered: put the focus where keys belong."""
        self.setFocus()

    def keys_go_to(self) -> QWidget:
        """Where keys that were typed before the room stood are delivered, in order."""
        return self
