"""Drop-down lists of a worksheet: which cells take only certain values, and which those are."""

from __future__ import annotations

from lxml import etree
from msgspec import Struct

from storage.dispatch.customer_form.form import Workbook
from storage.dispatch.customer_form.references import Area, area_of
from storage.dispatch.customer_form.sheet import Cells

#: More values than this in a list are a table somewhere, not words to choose from.
MOST = 2_000


class Choice(Struct, frozen=True):
    """The values that some areas take."""

    areas: tuple[Area, ...]
    allowed: tuple[str, ...]

    def holds(self, row: int, column: int) -> bool:
        """Whether a cell is one of them."""
        return any(area.holds(row, column) for area in self.areas)

    def spelling(self, text: str) -> str | None:
        """A value as the list spells it; None for one that is not on it."""
        asked = " ".join(text.split()).casefold()
        return next((each for each in self.allowed if " ".join(each.split()).casefold() == asked), None)


def choices(book: Workbook, cells: Cells, sheets: dict[str, Cells]) -> list[Choice]:
    """The drop-down lists of a worksheet whose values can be told (18.3.1.32 dataValidation, type list; also those kept
    in an extension because their values stand on another worksheet)."""
    found = []
    for element in cells.root.iter("{*}dataValidation"):
        if element.get("type") != "list":
            continue
        formula, areas = "", element.get("sqref", "")
        for each in element.iter(etree.Element):
            name = etree.QName(each).localname
            if name in ("formula1", "f") and (each.text or "").strip() and not formula:
                formula = (each.text or "").strip()
            elif name == "sqref":
                areas = each.text or ""
        allowed = _allowed(book, formula, cells.name, sheets)
        if allowed:
            own = (area_of(each, cells.name) for each in areas.split())
            found.append(Choice(tuple(each for each in own if each is not None), allowed))
    return found


def _allowed(book: Workbook, formula: str, own: str, sheets: dict[str, Cells]) -> tuple[str, ...]:
    if formula.startswith('"') and formula.endswith('"'):
        return tuple(each.strip() for each in formula[1:-1].replace('""', '"').split(",") if each.strip())
    named = next((each for each in book.names if each.name.casefold() == formula.casefold()), None)
    area = area_of(named.text if named else formula, own)
    if area is None or area.sheet.casefold() not in sheets:
        return ()
    held = sheets[area.sheet.casefold()]
    texts = (
        held.text(row, column)
        for row in held.rows()
        if area.top <= row <= area.bottom
        for column in held.of_row(row)
        if area.left <= column <= area.right
    )
    return tuple(text for text in texts if text)[:MOST]
