"""A sheet as JSON: the whole of what a seal covers, by a published schema (``resources/schemas/sheet.json``).

Nothing is left out and nothing rounded: counts are whole numbers of their step (picometres, micro-arcseconds), beside
each stands what was written. Of a signed sheet it is the very content that was sealed, with its digest.
"""

from __future__ import annotations

from typing import Any

import msgspec
from msgspec import Struct

from inspection.sheet.canonical.canonical import dumps
from inspection.sheet.canonical.form_4 import Content, content_of
from inspection.sheet.canonical.forms import read_content
from inspection.sheet.edition import PROGRAM
from inspection.sheet.events import Entry
from inspection.sheet.state import Sheet, Shop

FORMAT = "tenthwright sheet"
SCHEMA_NAME = "https://json-schema.org/draft/2020-12/schema"


class SheetJson(Struct, frozen=True, kw_only=True):
    """The whole file. ``seal`` is the SHA-256 in hex of the canonical bytes that were signed; empty for a sheet that is
    not signed, whose content then names nobody as its signer."""

    format: str = FORMAT
    version: int = 1
    seal: str = ""
    sheet: Content


def json_bytes(sheet: Sheet, shop: Shop) -> bytes:
    """The file's bytes, the same for the same sheet."""
    if sheet.sealed:
        seal = sheet.seals[-1]
        return dumps(SheetJson(seal=seal.digest, sheet=read_content(seal.content))) + b"\n"
    return dumps(SheetJson(sheet=_as_it_stands(sheet, shop))) + b"\n"


def _as_it_stands(sheet: Sheet, shop: Shop) -> Content:
    nobody = Entry(identity="", person="", at=sheet.made_at, day="", station="")
    return content_of(shop, sheet, nobody, PROGRAM, "")


def schema() -> dict[str, Any]:
    """The schema of the file, as it is published."""
    made = msgspec.json.schema(SheetJson, ref_template="#/$defs/{name}")
    return {"$schema": SCHEMA_NAME, "title": FORMAT, **made}
