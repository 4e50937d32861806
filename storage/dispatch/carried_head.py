"""The head of a book's chain read out of a file that went out: printed sheet, workbook, package, data, open data."""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import Path

import msgspec

from inspection.reasons import Reason, Refused
from inspection.sheet.chain_head import ChainHead, head_written
from storage.dispatch.package import MANIFEST
from storage.dispatch.repeatable import PROPERTIES
from storage.files import read_file

#: What is read of one member of a zip, so that none unpacks to more.
MOST_BYTES = 50_000_000


def head_in(path: Path) -> ChainHead:
    """The head that a file carries, a package also as a folder. Raises Refused for a file that carries none, and
    BookFailure for one that cannot be read."""
    content = read_file(path / MANIFEST if path.is_dir() else path)
    found = head_written(_told(content))
    if found is None:
        raise Refused(Reason("head.none_in_file", {"name": path.name}))
    return found


def _told(content: bytes) -> str:
    """The text of a file in which its head stands."""
    if content.startswith(b"%PDF"):
        return _keywords(content)
    if content.startswith(b"PK"):
        return _member(content)
    text = content.decode("utf-8", "replace")
    if text.lstrip("\ufeff \r\n\t").startswith("{"):
        return _named(content)
    return _of_qif(content)


def _of_qif(content: bytes) -> str:
    from storage.intake.qif import read_qif

    try:
        return read_qif(content, "").chain
    except Refused:
        return ""


def _keywords(content: bytes) -> str:
    from pypdfium2 import PdfDocument, PdfiumError

    try:
        with PdfDocument(content) as document:
            return str(document.get_metadata_value("Keywords"))
    except PdfiumError:
        return ""


def _member(content: bytes) -> str:
    """A package's manifest, or the properties of a workbook."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as held:
            name = PROPERTIES if PROPERTIES in held.namelist() else MANIFEST
            with held.open(name) as member:
                read = member.read(MOST_BYTES)
    except (zipfile.BadZipFile, KeyError, NotImplementedError, RuntimeError, EOFError, ValueError, zlib.error):
        return ""
    return _named(read) if name == MANIFEST else read.decode("utf-8", "replace")


def _named(content: bytes) -> str:
    """The value of a file's own field, so that no other text in it is taken for one."""
    try:
        found = msgspec.json.decode(content)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return ""
    return str(found.get("chain", "")) if isinstance(found, dict) else ""
