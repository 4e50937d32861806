"""The parts of a customer's workbook that filling may change, told before anything is; every other keeps its bytes."""

from __future__ import annotations

from collections.abc import Mapping

from inspection.layout.filling import Filling
from storage.dispatch.customer_form.form import Workbook
from storage.dispatch.customer_form.growth import linked
from storage.dispatch.customer_form.parts import TYPES
from storage.dispatch.customer_form.radios import parts_of, radio_groups
from storage.dispatch.customer_form.recalculation import relations_part
from storage.dispatch.customer_form.sheet import Cells


def may_change(data: bytes, name: str, filling: Filling) -> dict[str, str]:
    """The parts that filling may change or add to, each with why (a code of the catalogue).

    A folder ending in a stroke stands for new parts in it. Raises ``FileRefused`` for what cannot be filled.
    """
    book = Workbook(data, name)
    return allowed_changes(book, filling, cells_of(book))


def cells_of(book: Workbook) -> dict[str, Cells]:
    """The cells of every worksheet, by its name without capitals."""
    return {each.name.casefold(): Cells(book, each.name, each.part) for each in book.worksheets}


def allowed_changes(book: Workbook, filling: Filling, held: Mapping[str, Cells]) -> dict[str, str]:
    """The same of an open workbook."""
    found: dict[str, str] = {}
    layout, sheets = filling.layout, {each.name.casefold(): each for each in book.worksheets}
    growing = {layout.tables[place].sheet.casefold() for place in filling.more}
    repeated = {sheet for sheet, times in filling.copies.items() if times}
    for each in book.worksheets:
        if any(True for _ in held[each.name.casefold()].formulas()):
            found |= {each.part: "form.part.formulas", book.main: "form.part.workbook"}
    for name in (*(place.sheet for place in layout.heads), *(table.sheet for table in layout.tables)):
        found[book.worksheet(name).part] = "form.part.cells"
    placed = {(place.sheet.casefold(), place.row, place.column) for place in layout.heads}
    for group in (each for worksheet in book.worksheets for each in radio_groups(book, worksheet)):
        if group.linked and (group.linked.sheet.casefold(), group.linked.top, group.linked.left) in placed:
            found |= dict.fromkeys(parts_of(group), "form.part.buttons")
    if growing or repeated:
        chain = book.part_of("calcChain")
        found |= {book.main: "form.part.workbook"}
        found |= {TYPES: "form.part.packing", relations_part(book.main): "form.part.packing"}
        found |= {chain: "form.part.chain"} if chain else {}
    for name in growing & sheets.keys():
        found |= dict.fromkeys(linked(book, sheets[name].part), "form.part.moves_down")
    if growing:
        charts = [part for part in book.parts.names if part.startswith("xl/charts/") and part.endswith(".xml")]
        found |= dict.fromkeys(charts, "form.part.moves_down")
    if repeated:
        found["xl/"] = "form.part.copies"
    return found


def held_to(book: Workbook, allowed: Mapping[str, str]) -> None:
    """What was changed is what was said beforehand; anything else is a fault of ours."""
    beyond = [part for part in (*book.parts.changed, *book.parts.dropped) if part not in allowed]
    beyond = [part for part in beyond if part not in book.parts.added or "xl/" not in allowed]
    if beyond:
        raise AssertionError(f"changed beyond the list: {', '.join(beyond)}")
