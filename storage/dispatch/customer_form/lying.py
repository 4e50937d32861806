"""Boxes and radio buttons that lie above the cells of a filled workbook, as they are seen: ticked, chosen, or not."""

from __future__ import annotations

from storage.dispatch.customer_form.controls import RADIO, Control, controls_on
from storage.dispatch.customer_form.drawn import Corner, Drawn
from storage.dispatch.customer_form.form import Workbook
from storage.dispatch.customer_form.radios import radio_groups
from storage.dispatch.customer_form.references import Area
from storage.dispatch.customer_form.sheet import Cells


def boxes_lying(content: bytes, name: str) -> dict[str, tuple[Drawn, ...]]:
    """The boxes and buttons above each worksheet, by the worksheet's name."""
    book, found = Workbook(content, name), {}
    for worksheet in book.worksheets:
        controls = [each for each in controls_on(book, worksheet) if each.ticks or each.kind == RADIO]
        chosen = [
            each.members[int(text) - 1]
            for each in (radio_groups(book, worksheet) if controls else ())
            if (text := _text(book, each.linked)).isdecimal() and 0 < int(text) <= len(each.members)
        ]
        lying = [_seen(book, each, each in chosen, *each.corners) for each in controls if each.corners is not None]
        if lying:
            found[worksheet.name] = tuple(lying)
    return found


def _seen(book: Workbook, control: Control, chosen: bool, start: Corner, end: Corner) -> Drawn:
    if control.ticks:
        sign = "☒" if _text(book, control.linked, truth=True) in ("1", "true") else "☐"
    else:
        sign = "●" if chosen else "○"
    return Drawn("box", start, end, 0.0, 0.0, f"{sign} {control.words}".strip())


def _text(book: Workbook, linked: Area | None, *, truth: bool = False) -> str:
    """The text of a linked cell; of one for a box only where it holds true or false."""
    sheet = next((each for each in book.worksheets if linked and each.name == linked.sheet), None)
    if sheet is None or linked is None:
        return ""
    cells = Cells(book, sheet.name, sheet.part)
    return "" if truth and not cells.holds_truth(linked.top, linked.left) else cells.text(linked.top, linked.left)
