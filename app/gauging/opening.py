"""The one door to gauge studies, from the Bench and from the crib."""

from __future__ import annotations

from typing import NamedTuple

from PySide6.QtWidgets import QWidget

from app.window.asking import stay_with
from app.window.house import House


class AtHand(NamedTuple):
    """What a new study is proposed for: an instrument by its tag, and the row at hand, if there is one: part and
    characteristic by identity, its number, and what its band is (counts, 0 for none)."""

    tag: str = ""
    part: str = ""
    characteristic: str = ""
    number: str = ""
    written: str = ""
    band: int = 0


def open_studies(house: House, room: QWidget, at_hand: AtHand) -> None:
    """Open the list of studies over the window."""
    if house.worker is None or house.shop is None:
        return
    from app.gauging.list_dialog import StudiesDialog

    dialog = StudiesDialog(house, room.window(), at_hand)
    dialog.finished.connect(room.window().activateWindow)  # not every screen has a manager that does
    stay_with(dialog)
