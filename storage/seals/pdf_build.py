"""How a signed PDF is built: pages, files inside and signature fields, and nothing that acts or hides.

Whoever signs can only have meant what every reader shows alike; so a file with scripts, layers or other fields is
refused even where each signature fits.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from inspection.reasons import Reason
from storage.seals.pdf_signing import Statement

if TYPE_CHECKING:
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

FIELD = re.compile(rf"({'|'.join(Statement)})(-[1-9][0-9]*)?")
#: What the catalogue of such a file has (ISO 32000-2, 7.7.2); layers, actions and scripts would stand beside them.
CATALOGUE = {"/Type", "/Pages", "/PageMode", "/Names", "/AF", "/AcroForm", "/Version", "/Perms", "/Lang", "/Outlines"}
NAMES = {"/EmbeddedFiles"}
FORM = {"/Fields", "/SigFlags", "/DA", "/DR"}
#: What a field of ours has (ISO 32000-2, 12.5.2, 12.5.6.19 and 12.7.4); an action would stand beside it.
WIDGET = {"/Type", "/Subtype", "/FT", "/T", "/V", "/Rect", "/P", "/F", "/AP", "/Parent"}


def against_build(reader: PdfFileReader, signatures: list[EmbeddedPdfSignature]) -> list[Reason]:
    """What stands against the file's build; ``signatures`` in their order. Raises what the reader raises for a
    damaged file."""
    return [*_active(reader), *_other_fields(reader), *_unsigned(reader, signatures)]


def _active(reader: PdfFileReader) -> list[Reason]:
    root = reader.root
    entries = set(root) - CATALOGUE
    entries |= set(_under(root, "/Names")) - NAMES
    entries |= set(root["/AcroForm"]) - FORM
    fields = {field.reference for field in root["/AcroForm"]["/Fields"]}
    for field in root["/AcroForm"]["/Fields"]:
        entries |= set(field.get_object()) - WIDGET
    for page in _pages(root["/Pages"]):
        entries |= {"/AA"} & set(page)
        if any(noted.reference not in fields for noted in _under(page, "/Annots")):
            entries.add("/Annots")
    return [Reason("signed_pdf.active", {"entry": entry.removeprefix("/")}) for entry in sorted(entries)]


def _under(held: Any, name: str) -> Any:
    """An entry with its reference followed, which a dictionary's ``get`` does not; nothing where there is none."""
    return held[name] if name in held else ()  # noqa: SIM401


def _pages(node: Any, depth: int = 0) -> list[Any]:
    """Every page under a node of the page tree. Raises ValueError for a tree deeper than any of ours."""
    if depth > 8:
        raise ValueError("page tree")
    if "/Kids" not in node:
        return [node]
    return [page for kid in node["/Kids"] for page in _pages(kid.get_object(), depth + 1)]


def _other_fields(reader: PdfFileReader) -> list[Reason]:
    fields = [field.get_object() for field in reader.root["/AcroForm"]["/Fields"]]
    names = [str(field["/T"]) for field in fields]
    return [
        Reason("signed_pdf.other_field", {"field": name})
        for name, field in zip(names, fields, strict=True)
        if field["/FT"] != "/Sig" or not FIELD.fullmatch(name) or names.count(name) > 1
    ]


def _unsigned(reader: PdfFileReader, signatures: list[EmbeddedPdfSignature]) -> list[Reason]:
    """Revisions after the first signature that nobody signed."""
    newest = reader.xrefs.total_revisions - 1
    for back, signature in enumerate(reversed(signatures)):
        if signature.signed_revision != newest - back:
            return [Reason("signed_pdf.unsigned_revision", {"field": signature.field_name})]
    return []
