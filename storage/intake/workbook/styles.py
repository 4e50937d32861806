"""The styles of a workbook as far as they bear on what a cell shows: its number format, a symbol font, a strike."""

from __future__ import annotations

from msgspec import Struct

from storage.intake.workbook.formats import BUILT_IN, UNKNOWN
from storage.intake.workbook.markup import Attributes, Handler

#: Charset of symbol fonts (ECMA-376 part 1, 18.4.1).
SYMBOL_CHARSET = "2"
_OFF = ("0", "false", "off")


class Look(Struct, frozen=True):
    """How letters look: in a font whose letters stand for other signs (its name), struck out, raised or lowered."""

    symbols: str = ""
    struck: bool = False
    shifted: bool = False


class Style(Struct, frozen=True):
    """What a cell's style makes of it."""

    code: str = "General"
    look: Look = Look()


def on(attributes: Attributes, name: str = "val") -> bool:
    """Whether a switch is on; an element without the value means that it is."""
    return attributes.get(name, "1") not in _OFF


class FontReader:
    """Gathers the look of one font or run from its elements."""

    def __init__(self) -> None:
        self.clear()

    def clear(self) -> None:
        """Begin a new font."""
        self.name = ""
        self.charset = ""
        self.struck = False
        self.shifted = False

    def element(self, name: str, attributes: Attributes) -> None:
        """An element inside a font or the properties of a run."""
        if name in ("name", "rFont"):
            self.name = attributes.get("val", "")
        elif name == "charset":
            self.charset = attributes.get("val", "")
        elif name == "strike":
            self.struck = on(attributes)
        elif name == "vertAlign":
            self.shifted = attributes.get("val", "") in ("superscript", "subscript")

    def look(self) -> Look:
        """The look as gathered."""
        named = self.name.strip().casefold()
        symbols = self.charset == SYMBOL_CHARSET or named == "symbol" or named.rstrip(" 0123456789").endswith("dings")
        return Look(self.name or "?" if symbols else "", self.struck, self.shifted)


class StyleReader(Handler[Style]):
    """Reads styles.xml into the styles that cells number."""

    def __init__(self) -> None:
        super().__init__()
        self._codes: dict[str, str] = {str(number): code for number, code in BUILT_IN.items()}
        self._fonts: list[Look] = []
        self._font = FontReader()
        self._group = ""

    def start(self, name: str, attributes: Attributes) -> None:
        """Formats and fonts come before the styles that name them."""
        if name in ("numFmts", "fonts", "cellXfs", "cellStyleXfs", "dxfs"):
            self._group = name
        elif self._group == "numFmts" and name == "numFmt":
            self._codes[attributes.get("numFmtId", "")] = attributes.get("formatCode", UNKNOWN)
        elif self._group == "fonts" and name == "font":
            self._font.clear()
        elif self._group == "fonts":
            self._font.element(name, attributes)
        elif self._group == "cellXfs" and name == "xf":
            font = attributes.get("fontId", "0")
            look = self._fonts[int(font)] if font.isdecimal() and int(font) < len(self._fonts) else Look()
            self.ready.append(Style(self._codes.get(attributes.get("numFmtId", "0"), UNKNOWN), look))

    def end(self, name: str) -> None:
        """A font is whole."""
        if name == self._group:
            self._group = ""
        elif self._group == "fonts" and name == "font":
            self._fonts.append(self._font.look())
