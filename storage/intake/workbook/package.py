"""The container of a workbook: a zip whose parts are unpacked in pieces, within limits, and never onto the disk.

ECMA-376 part 2 (open packaging conventions) says how parts name each other.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator

from inspection.reasons import Reason
from storage.intake.faults import FileRefused, whole_refused

MOST_PARTS = 2_000
#: Bytes that all parts may unpack to together, pictures apart.
MOST_UNPACKED = 80_000_000
PIECE = 65_536
_PICTURES = "xl/media/"
_ENTRY = b"PK\x01\x02"
_PACKED_AS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_LOCKED = 0x1


class Package:
    """The parts of a workbook, by name in any case; ``name`` is the file's, for the sentences."""

    def __init__(self, data: bytes, name: str) -> None:
        """Raises ``FileRefused`` for bytes that are no zip, a broken one, or one that no spreadsheet would write."""
        self.name = name
        self.unpacked = 0
        if data.count(_ENTRY) > MOST_PARTS:
            raise self.refused(Reason("xlsx.too_many_parts", {"most": MOST_PARTS}))
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(data))
            entries = self._zip.infolist()
        except (zipfile.BadZipFile, ValueError, OverflowError, EOFError, NotImplementedError):
            raise self.refused(Reason("xlsx.cut_short")) from None
        self._check(entries)
        self._parts = {entry.filename.casefold(): entry for entry in entries}

    def refused(self, reason: Reason) -> FileRefused:
        """The refusal of this workbook as a whole."""
        return whole_refused(self.name, reason)

    def has(self, part: str) -> bool:
        """Whether there is such a part."""
        return part.casefold() in self._parts

    def under(self, folder: str) -> tuple[str, ...]:
        """The names of the parts in a folder, as written."""
        return tuple(entry.filename for key, entry in self._parts.items() if key.startswith(folder))

    def pieces(self, part: str) -> Iterator[bytes]:
        """A part unpacked piece by piece. Raises ``FileRefused`` if it is missing or broken, or grows too large."""
        entry = self._parts.get(part.casefold())
        if entry is None:
            raise self.refused(Reason("xlsx.part_missing", {"part": part[:80]}))
        try:
            with self._zip.open(entry) as stream:
                while piece := stream.read(PIECE):
                    self.unpacked += len(piece)
                    if self.unpacked > MOST_UNPACKED:
                        raise self.refused(Reason("xlsx.bomb", {"most": MOST_UNPACKED // 1_000_000}))
                    yield piece
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError):
            raise self.refused(Reason("xlsx.part_broken", {"part": part[:80]})) from None

    def _check(self, entries: list[zipfile.ZipInfo]) -> None:
        """Refuse what would never come from a spreadsheet program, before anything is unpacked."""
        if any(entry.flag_bits & _LOCKED for entry in entries):
            raise self.refused(Reason("xlsx.password"))
        twice = [key for key, n in Counter(entry.filename.casefold() for entry in entries).items() if n > 1]
        if twice:
            raise self.refused(Reason("xlsx.part_twice", {"part": twice[0][:80]}))
        for entry in entries:
            if _leads_out(entry.orig_filename):
                raise self.refused(Reason("xlsx.part_leads_out", {"part": entry.orig_filename[:80]}))
            if entry.compress_type not in _PACKED_AS:
                raise self.refused(Reason("xlsx.part_broken", {"part": entry.filename[:80]}))
        stated = sum(entry.file_size for entry in entries if not entry.filename.casefold().startswith(_PICTURES))
        if stated > MOST_UNPACKED:
            raise self.refused(Reason("xlsx.bomb", {"most": MOST_UNPACKED // 1_000_000}))


def _leads_out(part: str) -> bool:
    """Whether a part's name would leave the folder that it is unpacked in."""
    return part.startswith("/") or "\\" in part or ":" in part or "\0" in part or ".." in part.split("/")


def target(source: str, given: str) -> str:
    """The part that ``given`` names in the relations of the part ``source``."""
    if given.startswith("/"):
        return posixpath.normpath(given).lstrip("/")
    return posixpath.normpath(posixpath.join(posixpath.dirname(source), given))


def relations_of(part: str) -> str:
    """The part that holds the relations of ``part`` ("" is the package's own)."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")
