"""The parts of a workbook as elements: streamed, without document types, within a number of elements.

Elements are told by their local names in the namespaces of ECMA-376 (transitional) and ISO/IEC 29500 (strict) alike;
any other namespace counts as none of ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Generic, TypeVar
from xml.parsers import expat

from inspection.reasons import Reason
from storage.intake.workbook.package import Package

#: Elements that the parts read of one workbook may hold together.
MOST_ELEMENTS = 1_500_000
#: Bytes of one tag, which are scanned again with every piece until it ends.
LONGEST_TAG = 1_000_000
_MAIN = (
    "http://schemas.openxmlformats.org/spreadsheetml/2006/main",
    "http://purl.oclc.org/ooxml/spreadsheetml/main",
    "http://schemas.openxmlformats.org/package/2006/content-types",
    "http://schemas.openxmlformats.org/package/2006/relationships",
)
_RELATED = (
    "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
    "http://purl.oclc.org/ooxml/officeDocument/relationships",
)
#: Different names of elements in one part; a spreadsheet program uses some hundred.
_MOST_NAMES = 2_000

Item = TypeVar("Item")
Attributes = dict[str, str]


class Handler(Generic[Item]):
    """What reads the elements of one part and makes items of them in ``ready``; ``text`` gathers the characters."""

    def __init__(self) -> None:
        self.ready: list[Item] = []

    def start(self, name: str, attributes: Attributes) -> None:
        """An element of ours begins."""

    def end(self, name: str) -> None:
        """An element of ours ends."""

    def text(self, text: str) -> None:
        """Characters inside whatever element is open."""


class Meter:
    """Counts the elements of one workbook over all its parts."""

    def __init__(self) -> None:
        self.elements = 0


def related(attributes: Attributes) -> str:
    """The relation that an element names by r:id."""
    return next((attributes[f"{space} id"] for space in _RELATED if f"{space} id" in attributes), "")


def items(package: Package, part: str, handler: Handler[Item], meter: Meter) -> Iterator[Item]:
    """What ``handler`` makes of a part, while it is unpacked.

    Raises ``FileRefused`` for markup that is broken or declares a document type (through which entities would multiply
    or other files be read), or that goes on beyond reason.
    """
    parser = _parser(package, part, handler, meter)
    fed = 0
    try:
        for piece in package.pieces(part):
            parser.Parse(piece, False)
            fed += len(piece)
            if fed - max(parser.CurrentByteIndex, 0) > LONGEST_TAG:
                raise package.refused(Reason("xlsx.bomb_of_elements", {"part": part[:80]}))
            yield from handler.ready
            handler.ready.clear()
        parser.Parse(b"", True)
    except (expat.ExpatError, UnicodeError, LookupError):
        raise package.refused(Reason("xlsx.part_broken", {"part": part[:80]})) from None
    yield from handler.ready


def _parser(package: Package, part: str, handler: Handler[Item], meter: Meter) -> expat.XMLParserType:
    names: dict[str, str] = {}

    def local(name: str) -> str:
        space, _, rest = name.rpartition(" ")
        if len(names) > _MOST_NAMES:
            raise package.refused(Reason("xlsx.part_broken", {"part": part[:80]}))
        names[name] = rest if space in _MAIN else ""
        return names[name]

    def start(name: str, attributes: Attributes) -> None:
        meter.elements += 1
        if meter.elements > MOST_ELEMENTS:
            raise package.refused(Reason("xlsx.bomb_of_elements", {"part": part[:80]}))
        short = names.get(name)
        if short is None:
            short = local(name)
        if short:
            handler.start(short, attributes)

    def end(name: str) -> None:
        if short := names.get(name):
            handler.end(short)

    def doctype(*_: object) -> None:
        raise package.refused(Reason("xlsx.doctype"))

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.buffer_size = 65_536
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = handler.text
    parser.StartDoctypeDeclHandler = doctype
    return parser
