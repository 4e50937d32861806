"""The look as one frozen value: palette, scale and typeface, handed to whatever paints."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette

import resources

#: Sizes of text in logical pixels at 100 %. Nothing is smaller than SMALL; a table uses ROW and SMALL only.
SMALL = 12
TEXT = 14
ROW = 16
HEAD = 20
TITLE = 24
ENTRY = 46

#: The program's own scale in per cent, on top of what the screen itself is set to.
SCALES = (100, 125, 150, 175, 200, 225, 250)
NAMES = ("light", "dark")

_STYLE = Path(resources.__path__[0]) / "style"


class Palette(NamedTuple):
    """Colours by what they are for, as ``#rrggbb``.

    Grounds: ``paper``, ``rail``, ``card``, ``field`` (what is typed into), ``row`` (the current row), ``band`` (the
    zone between limits). ``rule`` is a hairline between rows, ``edge`` the outline of something that can be used.
    Text and marks: ``ink``, ``quiet``, ``accent``, ``good``, ``out``, ``doubt``; ``on_accent`` stands on ``accent``.
    """

    paper: str
    rail: str
    card: str
    field: str
    row: str
    band: str
    rule: str
    edge: str
    ink: str
    quiet: str
    accent: str
    on_accent: str
    good: str
    out: str
    doubt: str


class Theme(NamedTuple):
    """Palette, scale in per cent and font family. Painting functions take it as an argument; nothing is global."""

    name: str
    palette: Palette
    scale: int = 100
    family: str = ""

    def px(self, logical: float) -> int:
        """Logical pixels at 100 % as pixels at this scale, never less than one for a positive length."""
        return max(1, round(logical * self.scale / 100)) if logical > 0 else 0

    def color(self, name: str) -> QColor:
        """The colour of this name in the palette."""
        return _color(getattr(self.palette, name))

    def font(self, size: float = TEXT, *, bold: bool = False) -> QFont:
        """The typeface at ``size`` logical pixels, with tabular figures. The font is shared: copy before changing."""
        return _font(self.family, self.px(max(size, SMALL)), bold)

    def scaled(self, scale: int) -> Theme:
        """The same look at another scale, kept within 100 … 250 %."""
        return self._replace(scale=min(max(scale, SCALES[0]), SCALES[-1]))

    def named(self, name: str) -> Theme:
        """The other palette at the same scale and in the same typeface."""
        return self._replace(name=name, palette=palette(name))


@lru_cache(maxsize=64)
def _color(text: str) -> QColor:
    return QColor(text)


@lru_cache(maxsize=64)
def _font(family: str, pixels: int, bold: bool) -> QFont:
    font = QFont(family) if family else QFont()
    font.setPixelSize(pixels)
    font.setBold(bold)
    font.setFeature(QFont.Tag("tnum"), 1)
    return font


@lru_cache(maxsize=len(NAMES))
def palette(name: str) -> Palette:
    """The palette of this name, read from ``resources/style``."""
    return Palette(**tomllib.loads((_STYLE / f"{name}.toml").read_text(encoding="utf-8")))


def load(name: str = "light", scale: int = 100, family: str = "") -> Theme:
    """The theme of this name; an unknown name or a scale out of range falls back rather than fails."""
    known = name if name in NAMES else NAMES[0]
    return Theme(known, palette(known), 100, family).scaled(scale)


def add_typeface(*files: Path) -> str:
    """Add font files to the application and return their family, empty if none could be read."""
    family = ""
    for file in files:
        number = QFontDatabase.addApplicationFont(str(file))
        family = next(iter(QFontDatabase.applicationFontFamilies(number)), family) if number >= 0 else family
    return family


def qt_palette(theme: Theme) -> QPalette:
    """The theme as the palette of Qt's own widgets, so that no dialog or table falls back to black on black."""
    roles = {
        QPalette.ColorRole.Window: "paper",
        QPalette.ColorRole.WindowText: "ink",
        QPalette.ColorRole.Base: "card",
        QPalette.ColorRole.AlternateBase: "row",
        QPalette.ColorRole.Text: "ink",
        QPalette.ColorRole.Button: "card",
        QPalette.ColorRole.ButtonText: "ink",
        QPalette.ColorRole.BrightText: "out",
        QPalette.ColorRole.Highlight: "accent",
        QPalette.ColorRole.HighlightedText: "on_accent",
        QPalette.ColorRole.Link: "accent",
        QPalette.ColorRole.ToolTipBase: "card",
        QPalette.ColorRole.ToolTipText: "ink",
        QPalette.ColorRole.PlaceholderText: "quiet",
    }
    made = QPalette()
    for role, name in roles.items():
        made.setColor(role, theme.color(name))
        if role in (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
            made.setColor(QPalette.ColorGroup.Disabled, role, theme.color("quiet"))
    return made
