"""What a file is, by its bytes, where its name or its beginning promises a workbook."""

from __future__ import annotations

import re

from inspection.reasons import Reason
from storage.intake.faults import whole_refused

ZIP = b"PK"
_COMPOUND = b"\xd0\xcf\x11\xe0"
_TEXT_NAMES = (".csv", ".tsv", ".txt")
_WORKBOOK_NAMES = (".xlsx", ".xlsm", ".xltx", ".xltm", ".xlsb", ".xls", ".ods", ".ots")
_WEB_PAGE = re.compile(rb"<(!doctype\s+html|html|head|body|table|meta)\b", re.IGNORECASE)
_FLAT_OPEN_DOCUMENT = b"urn:oasis:names:tc:opendocument"


def is_workbook(data: bytes, ending: str, name: str) -> bool:
    """Whether the bytes are those of a workbook as this program reads them; ``ending`` is that of the file's name.

    Raises ``FileRefused`` for a workbook of another format or with a password, and where bytes and ending differ.
    """
    if data.startswith(_COMPOUND):
        raise whole_refused(name, _compound(data))
    if data.startswith(ZIP):
        if ending.casefold() in _TEXT_NAMES:
            raise whole_refused(name, Reason("intake.is_workbook", {"ending": ending}))
        return True
    if ending.casefold() in _WORKBOOK_NAMES:
        raise whole_refused(name, _misnamed(data, ending))
    return False


def _compound(data: bytes) -> Reason:
    """The older container: of workbooks before 2007, and of newer ones that a password locks."""
    if "EncryptedPackage".encode("utf-16-le") in data or "EncryptionInfo".encode("utf-16-le") in data:
        return Reason("xlsx.password")
    if "Workbook".encode("utf-16-le") in data or "Book".encode("utf-16-le") in data:
        return Reason("xlsx.is_xls")
    return Reason("xlsx.is_compound")


def _misnamed(data: bytes, ending: str) -> Reason:
    if b"urn:schemas-microsoft-com:office:spreadsheet" in data[:4096]:
        return Reason("xlsx.is_flat_xml", {"ending": ending})
    if _FLAT_OPEN_DOCUMENT in data[:4096]:
        return Reason("xlsx.is_ods")
    if _WEB_PAGE.search(data[:1024]):
        return Reason("xlsx.is_html", {"ending": ending})
    if b"\0" in data:
        return Reason("xlsx.is_nothing", {"ending": ending})
    return Reason("xlsx.is_text", {"ending": ending})
