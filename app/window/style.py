"""The style sheet of Qt's own widgets, filled in from the theme."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from string import Template

from PySide6.QtWidgets import QApplication

import resources
from app.window.theme import Theme, qt_palette

_SHEET = Path(resources.__path__[0]) / "style" / "window.qss"


@cache
def _template() -> Template:
    return Template(_SHEET.read_text(encoding="utf-8"))


class _Values(dict[str, str]):
    """The palette's colours by name, and ``sN``: N logical pixels at the theme's scale."""

    def __init__(self, theme: Theme) -> None:
        super().__init__(theme.palette._asdict(), family=theme.family)
        self._theme = theme

    def __missing__(self, name: str) -> str:
        return str(self._theme.px(int(name.removeprefix("s"))))


def style_sheet(theme: Theme) -> str:
    """The style sheet in this theme; KeyError or ValueError if the template names a colour that is not there."""
    return _template().substitute(_Values(theme))


def dress(app: QApplication, theme: Theme) -> None:
    """Dress the whole application."""
    app.setPalette(qt_palette(theme))
    app.setFont(theme.font())
    app.setStyleSheet(style_sheet(theme))
