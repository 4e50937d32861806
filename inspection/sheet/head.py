"""What a sheet says at its head beside the part and drawing of its plan."""

from __future__ import annotations

from msgspec import Struct


class Piece(Struct, frozen=True):
    """One piece of the lot; ``serial`` is what is marked on the part, or its number in the lot."""

    identity: str
    serial: str


class SubItem(Struct, frozen=True):
    """One item that goes into an assembly, with the first article sheet or other proof that covers it."""

    number: str
    revision: str = ""
    name: str = ""
    serial: str = ""
    sheet: str = ""


class Head(Struct, frozen=True):
    """The head of a sheet; every field as the customer's papers write it, empty if unknown."""

    customer: str = ""
    order: str = ""
    order_line: str = ""
    supplier_code: str = ""
    lot: str = ""
    process: str = ""
    machine: str = ""
    detail: str = ""  # "detail" or "assembly"
    extent: str = "full"  # "full" or "partial"
    baseline: str = ""  # baseline part and sheet of a partial first article
    cause: str = ""  # why a first article is due
    temperature: str = ""  # as written, with its unit
    sub_items: tuple[SubItem, ...] = ()  # of an assembly
