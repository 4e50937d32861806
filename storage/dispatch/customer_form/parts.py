"""The parts of a customer's workbook: read within limits, and written again with every untouched one copied raw.

A part that is not changed keeps its packed bytes, so that nothing of it can be altered by being read.
"""

from __future__ import annotations

import struct
import zipfile
from copy import copy
from io import BytesIO

from lxml import etree

from inspection.reasons import Reason
from storage.dispatch.repeatable import NO_MOMENT
from storage.intake.workbook.kinds import is_workbook
from storage.intake.workbook.package import Package, relations_of, target

#: A local file header: its fixed size, and where the lengths of name and extra field stand (APPNOTE 6.3.10, 4.3.7).
_LOCAL, _LENGTHS = 30, slice(26, 30)
#: Sizes and checksum stand behind the data instead of in front of it (4.4.4, bit 3).
_SIZES_BEHIND = 0x08
_RELATIONSHIP = "{http://schemas.openxmlformats.org/package/2006/relationships}Relationship"
TYPES = "[Content_Types].xml"
_CONTENT_TYPES = "{http://schemas.openxmlformats.org/package/2006/content-types}"


class Parts:
    """The parts of one workbook; what was changed, added and dropped is kept beside until ``written``."""

    def __init__(self, data: bytes, name: str) -> None:
        """Raises ``FileRefused`` for what is no workbook of this kind, is locked by a password, or is broken."""
        if not is_workbook(data, ".xlsx", name):
            raise Package(data, name).refused(Reason("xlsx.is_archive"))
        self.name = name
        self._data = data
        self._package = Package(data, name)
        self._trees: dict[str, etree._Element] = {}
        self._changed: dict[str, etree._Element | bytes] = {}
        self._dropped: set[str] = set()
        with zipfile.ZipFile(BytesIO(data)) as held:
            self._entries = {entry.filename: entry for entry in held.infolist()}

    @property
    def changed(self) -> tuple[str, ...]:
        """The names of the parts that are written anew, new ones among them."""
        return tuple(sorted(self._changed))

    @property
    def dropped(self) -> tuple[str, ...]:
        """The names of the parts that are left out."""
        return tuple(sorted(self._dropped))

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all parts as they will be."""
        return tuple(name for name in (*self._entries, *self.added) if name not in self._dropped)

    @property
    def added(self) -> tuple[str, ...]:
        """The names of the new parts."""
        return tuple(name for name in self._changed if name not in self._entries)

    def has(self, part: str) -> bool:
        """Whether there is such a part."""
        return part in self._changed or (self._package.has(part) and part not in self._dropped)

    def content(self, part: str) -> bytes:
        """The bytes of a part. Raises ``FileRefused`` if it is missing or broken."""
        held = self._changed.get(part)
        if isinstance(held, bytes):
            return held
        if held is not None:
            return _bytes_of(held)
        return b"".join(self._package.pieces(part))

    def tree(self, part: str) -> etree._Element:
        """The markup of a part, without document types. Raises ``FileRefused`` for what is no markup."""
        if part not in self._trees:
            self._trees[part] = self._parsed(part, self.content(part))
        return self._trees[part]

    def _parsed(self, part: str, content: bytes) -> etree._Element:
        reader = etree.XMLParser(resolve_entities=False, no_network=True, remove_blank_text=False)
        try:
            root = etree.fromstring(content, reader)
        except etree.XMLSyntaxError:
            raise self._package.refused(Reason("xlsx.part_broken", {"part": part[:80]})) from None
        if root.getroottree().docinfo.doctype:
            raise self._package.refused(Reason("xlsx.doctype"))
        return root

    def change(self, part: str) -> etree._Element:
        """The markup of a part that will be written anew."""
        tree = self.tree(part)
        self._changed[part] = tree
        return tree

    def add(self, part: str, content: bytes) -> None:
        """A new part."""
        self._changed[part] = content
        self._trees.pop(part, None)

    def drop(self, part: str) -> None:
        """Leave a part out, with its content type and the relations of the workbook to it."""
        self._dropped.add(part)
        for override in self.tree(TYPES).findall(f"{_CONTENT_TYPES}Override"):
            if override.get("PartName", "").casefold() == f"/{part}".casefold():
                self.change(TYPES).remove(override)

    def relations(self, part: str) -> dict[str, tuple[str, str]]:
        """The relations of a part by identity: the end of its type, and the part that it names."""
        held = relations_of(part)
        if not self.has(held):
            return {}
        return {
            one.get("Id", ""): (one.get("Type", "").rpartition("/")[2], target(part, one.get("Target", "")))
            for one in self.tree(held).iter(_RELATIONSHIP)
            if one.get("TargetMode") != "External"
        }

    def refused(self, reason: Reason) -> Exception:
        """The refusal of this workbook as a whole."""
        return self._package.refused(reason)

    # --- writing ------------------------------------------------------------------------------------------------

    def written(self) -> bytes:
        """The workbook: parts in their old order, untouched ones with their packed bytes, then new ones."""
        out = BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
            for name, entry in self._entries.items():
                if name in self._dropped:
                    continue
                held = self._changed.get(name)
                if held is None:
                    _copy(self._data, entry, made)
                else:
                    made.writestr(_entry(name), _packed(held))
            for name in self.added:
                made.writestr(_entry(name), _packed(self._changed[name]))
        return out.getvalue()


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, NO_MOMENT)
    entry.compress_type = zipfile.ZIP_DEFLATED
    return entry


def _packed(held: etree._Element | bytes) -> bytes:
    return held if isinstance(held, bytes) else _bytes_of(held)


def _bytes_of(tree: etree._Element) -> bytes:
    found: bytes = etree.tostring(tree, xml_declaration=True, encoding="UTF-8", standalone=True)
    return found


def _copy(data: bytes, entry: zipfile.ZipInfo, made: zipfile.ZipFile) -> None:
    """Copy an entry's packed bytes. The library packs anew whatever it is given, so that the header is written by its
    own writer and the entry put on its list."""
    at = entry.header_offset
    name, extra = struct.unpack("<2H", data[at:][_LENGTHS])
    begin = at + _LOCAL + name + extra
    kept = copy(entry)
    kept.flag_bits &= ~_SIZES_BEHIND
    kept.extra = b""
    assert made.fp is not None
    kept.header_offset = made.fp.tell()
    made.fp.write(kept.FileHeader(zip64=False))
    made.fp.write(data[begin : begin + entry.compress_size])
    made.start_dir = made.fp.tell()
    made.filelist.append(kept)
    made.NameToInfo[kept.filename] = kept
    made._didModify = True  # type: ignore[attr-defined]


def content_type(parts: Parts, part: str) -> str:
    """The content type of a part, by its own entry or its ending; empty if it has none."""
    ending = part.rpartition(".")[2].casefold()
    default = ""
    for each in parts.tree(TYPES):
        if each.get("PartName", "").casefold() == f"/{part}".casefold():
            return str(each.get("ContentType", ""))
        if each.get("Extension", "").casefold() == ending and each.tag == f"{_CONTENT_TYPES}Default":
            default = each.get("ContentType", "")
    return default


def give_type(parts: Parts, part: str, kind: str) -> None:
    """Enter the content type of a new part."""
    etree.SubElement(parts.change(TYPES), f"{_CONTENT_TYPES}Override", PartName=f"/{part}", ContentType=kind)
