"""One value on its way into one cell of a customer's workbook."""

from __future__ import annotations

from typing import Any

from msgspec import Struct

from inspection.layout.told import Said
from storage.dispatch.customer_form.sheet import Cells


class Write(Struct, gc=False):
    """One value for one cell, and the cell's markup if there is any; ``group`` are the cells that look alike; a box
    that is drawn above the cells may be ``linked`` to it, or radio
    ``buttons``, whose words these are."""

    cells: Cells
    cell: Any
    row: int
    column: int
    said: Said
    group: int
    field: str
    linked: bool = False
    buttons: tuple[str, ...] = ()
