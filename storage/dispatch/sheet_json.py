"""A sheet as JSON: the whole of what a seal covers, by a published schema (``resources/schemas/sheet.json``).

Nothing is left out and nothing rounded: counts are whole numbers of their step (picometres, micro-arcseconds), beside
each stands what was written. Of a signed sheet it is the very content that was sealed, with its digest.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec
from msgspec import Struct

from inspection.sheet.canonical.canonical import dumps
from inspection.sheet.canonical.form_4 import Content, StatementContent, content_of, read_statement
from inspection.sheet.canonical.forms import read_content
from inspection.sheet.chain_head import ChainHead
from inspection.sheet.edition import PROGRAM
from inspection.sheet.events import Entry
from inspection.sheet.state import Sheet, Shop

FORMAT = "tenthwright sheet"
SCHEMA_NAME = "https://json-schema.org/draft/2020-12/schema"


class StatedJson(Struct, frozen=True):
    """One statement: the SHA-256 in hex of the canonical bytes that were signed, and what they say. ``replaced_by`` is
    the digest of the later one that stands in its place; empty for one that holds."""

    digest: str
    statement: StatementContent
    replaced_by: str = ""


class SheetJson(Struct, frozen=True, kw_only=True):
    """The whole file. ``seal`` is the SHA-256 in hex of the canonical bytes that were signed; empty for a sheet that is
    not signed, whose content then names nobody as its signer. ``statements`` are those made of the sheet, each the very
    content that was signed; ``chain`` is the head of the book's chain."""

    format: str = FORMAT
    version: int = 1
    seal: str = ""
    sheet: Content
    statements: tuple[StatedJson, ...] = ()
    chain: str = ""


def json_bytes(sheet: Sheet, shop: Shop, chain: ChainHead | None = None) -> bytes:
    """The file's bytes, the same for the same sheet and head."""
    seal = sheet.seals[-1] if sheet.sealed else None
    whole = SheetJson(
        seal=seal.digest if seal else "",
        sheet=read_content(seal.content) if seal else _as_it_stands(sheet, shop),
        statements=tuple(_stated(sheet)),
        chain=chain.written if chain is not None else "",
    )
    return dumps(whole) + b"\n"


def _stated(sheet: Sheet) -> Iterator[StatedJson]:
    later = sheet.in_place_of()
    for each in sheet.statements:
        replaced_by = later[each.digest].digest if each.digest in later else ""
        yield StatedJson(each.digest, read_statement(each.content), replaced_by)


def _as_it_stands(sheet: Sheet, shop: Shop) -> Content:
    nobody = Entry(identity="", person="", at=sheet.made_at, day="", station="")
    return content_of(shop, sheet, nobody, PROGRAM, "")


def schema() -> dict[str, Any]:
    """The schema of the file, as it is published."""
    made = msgspec.json.schema(SheetJson, ref_template="#/$defs/{name}")
    return {"$schema": SCHEMA_NAME, "title": FORMAT, **made}
