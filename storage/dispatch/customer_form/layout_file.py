"""A layout written out as a file, with its blank workbook, and taken in again elsewhere."""

from __future__ import annotations

import base64
import binascii

import msgspec
from msgspec import Struct

from inspection.layout.layout import Layout, check_layout
from inspection.reasons import Reason, Refused
from inspection.sheet.canonical.canonical import digest, dumps

FORMAT = "tenthwright customer layout"


class LayoutFile(Struct, frozen=True, kw_only=True):
    """The whole file; ``workbook`` is the blank form's bytes in base64."""

    format: str = FORMAT
    version: int = 1
    layout: Layout
    workbook: str


_decoder = msgspec.json.Decoder(LayoutFile)


def write_layout(layout: Layout, workbook: bytes) -> bytes:
    """A layout as a file of its own. It has no identity there: whoever takes it in gives it one."""
    bare = msgspec.structs.replace(layout, identity="", issue=0)
    return dumps(LayoutFile(layout=bare, workbook=base64.b64encode(workbook).decode("ascii"))) + b"\n"


def read_layout(content: bytes) -> tuple[Layout, bytes]:
    """The layout in a file, and its blank workbook. Raises Refused if it is none, is of a later version, or if its
    workbook is not the one that the layout names."""
    try:
        found = _decoder.decode(content)
        workbook = base64.b64decode(found.workbook, validate=True)
    except (msgspec.DecodeError, UnicodeDecodeError, binascii.Error):
        raise Refused(Reason("layout.not_a_file")) from None
    if found.format != FORMAT or digest(workbook) != found.layout.workbook.digest:
        raise Refused(Reason("layout.not_a_file"))
    if found.version != 1:
        raise Refused(Reason("layout.later_file", {"version": found.version}))
    check_layout(found.layout)
    return msgspec.structs.replace(found.layout, identity="", issue=0), workbook
