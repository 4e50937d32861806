"""The same workbook gives the same file: what a zip and its properties tell of the moment is left out.

An opened package names no moment then (ECMA-376 part 2, core properties: ``created`` and ``modified`` are optional);
when the sheet was read and signed stands in its cells.
"""

from __future__ import annotations

import xml.etree.ElementTree as Tree
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

PROPERTIES = "docProps/core.xml"
#: The earliest moment that a zip entry can name, and the one it names where it means none (APPNOTE 6.3.10, 4.4.6).
NO_MOMENT = (1980, 1, 1, 0, 0, 0)
TERMS = "{http://purl.org/dc/terms/}"


def repeatable(package: bytes) -> bytes:
    """The same package without the moment it was written at."""
    out = BytesIO()
    with ZipFile(BytesIO(package)) as written, ZipFile(out, "w", ZIP_DEFLATED) as kept:
        for name in written.namelist():
            content = written.read(name)
            kept.writestr(_entry(name), _timeless(content) if name == PROPERTIES else content)
    return out.getvalue()


def _entry(name: str) -> ZipInfo:
    entry = ZipInfo(name, NO_MOMENT)
    entry.compress_type = ZIP_DEFLATED
    return entry


def _timeless(properties: bytes) -> bytes:
    tree = Tree.fromstring(properties)
    for name in ("created", "modified"):
        for moment in tree.findall(TERMS + name):
            tree.remove(moment)
    kept: bytes = Tree.tostring(tree, encoding="utf-8", xml_declaration=True)
    return kept
