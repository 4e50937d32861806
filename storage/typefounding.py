"""Founding the program's own typeface: digits of one width, and the symbols of resources/symbols as glyphs.

The base is Atkinson Hyperlegible (SIL Open Font License 1.1). As the licence asks, the modified family has a name of
its own, keeps the copyright and licence records and stays under the same licence; the records of maker and vendor
are left out, so that nobody takes the changes for theirs.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from io import BytesIO
from typing import Any

from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

from storage.outlines import Contour, contours

#: Thickness of the strokes of symbols, thousandths of an em, a little under the face's own minus sign.
PENS = {"Regular": 68.0, "Bold": 112.0}
#: Name records that stay: copyright, designers, licence, licence address.
KEPT_NAMES = (0, 9, 13, 14)
#: Set on the first point of a glyph whose contours overlap, so that rasterisers fill it whole (OpenType, glyf table).
OVERLAP = 0x40


def found_face(base: bytes, symbols: str, family: str, style: str, version: str) -> tuple[bytes, str]:
    """Derive one face and return its file and the characters it has, in order of their code points.

    ``base`` is the file of the face to start from, ``symbols`` the text of symbols.toml, ``style`` "Regular" or
    "Bold". The same input gives the same bytes.
    """
    font = TTFont(BytesIO(base), recalcTimestamp=False)
    face = _Face(font, PENS[style])
    face.set_figures()
    _draw_symbols(face, tomllib.loads(symbols))
    _rename(font, family, style, version)
    if "DSIG" in font:
        del font["DSIG"]
    out = BytesIO()
    font.save(out, reorderTables=True)
    return out.getvalue(), "".join(map(chr, sorted(face.characters)))


#: A scaled letter inside a symbol: character, scale, x and y of its left foot.
Letter = tuple[str, float, float, float]


class _Face:
    """A face under construction: its glyphs, widths and characters."""

    def __init__(self, font: TTFont, pen: float) -> None:
        self.font = font
        self.pen = pen
        self.glyphs = font.getGlyphSet()
        self.characters: dict[int, str] = dict(font.getBestCmap())
        self.order: list[str] = list(font.getGlyphOrder())

    def set_figures(self) -> None:
        """Let the digits' characters mean the figures of one width."""
        for digit in "0123456789":
            self.point(digit, f"{self.characters[ord(digit)]}.tf")

    def point(self, character: str, glyph: str) -> None:
        """Let a character mean a glyph, in every table that maps characters."""
        self.characters[ord(character)] = glyph
        for table in self.font["cmap"].tables:
            if table.isUnicode():
                table.cmap[ord(character)] = glyph

    def width(self, character: str) -> int:
        """Advance of a character in thousandths of an em."""
        return int(self.font["hmtx"][self.characters[ord(character)]][0])

    def add(self, character: str, advance: int, drawn: list[Contour], letters: list[Letter]) -> None:
        """Add a glyph made of contours and of scaled letters."""
        pen = TTGlyphPen(None)
        for contour in drawn:
            _trace(pen, contour)
        for letter, scale, x, y in letters:
            recording = DecomposingRecordingPen(self.glyphs)
            self.glyphs[self.characters[ord(letter)]].draw(recording)
            recording.replay(TransformPen(pen, (scale, 0, 0, scale, x, y)))
        glyph = pen.glyph(dropImpliedOnCurves=False)
        if len(drawn) + len(letters) > 1:
            glyph.flags[0] |= OVERLAP
        name = f"uni{ord(character):04X}"
        self.font["glyf"][name] = glyph
        glyph.recalcBounds(self.font["glyf"])
        self.font["hmtx"][name] = (advance, getattr(glyph, "xMin", 0))
        if name not in self.order:
            self.order.append(name)
            self.font.setGlyphOrder(self.order)
        self.point(character, name)


def _trace(pen: TTGlyphPen, contour: Contour) -> None:
    points = [((round(x), round(y)), on) for x, y, on in contour]
    while not points[0][1]:
        points = points[1:] + points[:1]
    pen.moveTo(points[0][0])
    held: list[tuple[int, int]] = []
    for point, on in points[1:]:
        if not on:
            held.append(point)
        elif held:
            pen.qCurveTo(*held, point)
            held = []
        else:
            pen.lineTo(point)
    if held:
        pen.qCurveTo(*held, points[0][0])
    pen.closePath()


def _draw_symbols(face: _Face, data: dict[str, Any]) -> None:
    """Add every symbol of symbols.toml that the face does not have."""
    for symbol in (*data["symbol"], *_circled(data["circled"])):
        pen = face.pen * symbol.get("pen", 1.0)
        parts = [*symbol.get("stroke", ()), *symbol.get("fill", ())]
        drawn = [
            contour for part in parts for kind, numbers in part.items() for contour in contours(kind, numbers, pen)
        ]
        face.add(symbol["character"], symbol["advance"], drawn, _placed(face, symbol))
    for group in (data["raised"], data["lowered"]):
        for character, letter in zip(group["characters"], group["letters"], strict=True):
            advance = round(face.width(letter) * group["scale"])
            face.add(character, advance, [], [(letter, group["scale"], 0, group["y"])])
    for character, upper, lower in zip(*(data["fractions"][key] for key in FRACTION_KEYS), strict=True):
        _fraction(face, character, upper, lower, data["fractions"])
    for character, width in data["spaces"].items():
        face.add(character, face.width(width) if isinstance(width, str) else width, [], [])
    for character, like in data["same"].items():
        face.point(character, face.characters[ord(like)])


FRACTION_KEYS = ("characters", "numerators", "denominators")


def _circled(group: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """The letters in a circle as single symbols."""
    for character, letter in zip(group["characters"], group["letters"], strict=True):
        yield {
            "character": character,
            "advance": group["advance"],
            "stroke": group["stroke"],
            "pen": group["pen"],
            "letters": [[letter, group["scale"], "centre", group["foot"]]],
        }


def _placed(face: _Face, symbol: dict[str, Any]) -> list[Letter]:
    """The letters of a symbol with their places worked out."""
    placed = []
    for letter, scale, x, y in symbol.get("letters", ()):
        left = (symbol["advance"] - face.width(letter) * scale) / 2 if x == "centre" else x
        placed.append((letter, scale, left, y))
    return placed


def _fraction(face: _Face, character: str, upper: str, lower: str, data: dict[str, Any]) -> None:
    """Set a small figure, a slash and a small figure, each tucked under the one before."""
    scale, tuck, slash = data["scale"], data["tuck"], "⁄"
    slash_at = face.width(upper) * scale - tuck
    lower_at = slash_at + face.width(slash) - tuck
    letters = [(upper, scale, 0, data["y"]), (slash, 1.0, slash_at, 0), (lower, scale, lower_at, 0)]
    face.add(character, round(lower_at + face.width(lower) * scale), [], letters)


def _rename(font: TTFont, family: str, style: str, version: str) -> None:
    names = font["name"]
    names.names = [record for record in names.names if record.nameID in KEPT_NAMES]
    plain = family.replace(" ", "")
    said = {
        1: family,
        2: style,
        3: f"{version};{plain}-{style}",
        4: f"{family} {style}",
        5: f"Version {version}",
        6: f"{plain}-{style}",
        10: "Modified from Atkinson Hyperlegible 1.006: figures of one width, symbols of the drawing office added.",
    }
    for number, text in said.items():
        names.setName(text, number, 3, 1, 0x409)
    names.names.sort()
