"""Pieces of a page of text in one theme: headings, paragraphs, rows of facts, and tables of counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from app.parts.marks import Mark
from app.window.theme import HEAD, SMALL, TEXT, Theme

#: A sign of the typeface for each mark, since text holds no painted one.
SIGNS = {
    Mark.CONFORMING: "●", Mark.OUT: "▲", Mark.MARGINAL: "◐", Mark.DOUBT_INSIDE: "⊖", Mark.DOUBT_OUTSIDE: "⊗",
    Mark.NOT_JUDGED: "–", Mark.OPEN: "○", Mark.QUESTION: "?", Mark.WRITING: "…",
}  # fmt: skip


class Paper:
    """Writes rich text in a theme's sizes and colours."""

    def __init__(self, theme: Theme) -> None:
        self.theme = theme

    def sized(self, text: str, size: int = TEXT, color: str = "ink", *, bold: bool = False) -> str:
        """A text in this size and colour."""
        weight = "bold" if bold else "normal"
        style = f"font-size:{self.theme.px(size)}px;color:{self.theme.color(color).name()};font-weight:{weight}"
        return f'<span style="{style}">{escape(text)}</span>'

    def title(self, text: str, below: Iterable[str] = ()) -> str:
        """A heading, with what is said below it in quiet."""
        told = "".join(f"<br>{self.sized(line, TEXT, 'quiet')}" for line in below if line)
        return f'<p style="margin:0">{self.sized(text, HEAD, bold=True)}{told}</p>'

    def section(self, text: str) -> str:
        """The heading of a part of the page."""
        margin = f"margin:{self.theme.px(14)}px 0 {self.theme.px(3)}px 0"
        return f'<p style="{margin}">{self.sized(text, TEXT, bold=True)}</p>'

    def paragraph(self, head: str, texts: Iterable[str], *, color: str = "quiet") -> str:
        """A small head and the lines below it."""
        told = "".join(f"<br>{self.sized(text)}" for text in texts if text)
        return f'<p style="margin:{self.theme.px(7)}px 0 0 0">{self.sized(head, SMALL, color)}{told}</p>'

    def line(self, text: str, color: str = "ink", *, bold: bool = False) -> str:
        """One line."""
        return f'<p style="margin:{self.theme.px(2)}px 0 0 0">{self.sized(text, TEXT, color, bold=bold)}</p>'

    def facts(self, pairs: Iterable[tuple[str, str]]) -> str:
        """Names and what they say, in two columns; what says nothing is left out."""
        pad = f"padding:{self.theme.px(2)}px {self.theme.px(12)}px {self.theme.px(2)}px 0"
        wide = self.theme.px(130)
        rows = "".join(
            f'<tr><td width="{wide}" style="{pad}">{self.sized(name, TEXT, "quiet")}</td>'
            f'<td style="{pad}">{self.sized(text)}</td></tr>'
            for name, text in pairs
            if text
        )
        return f'<table cellspacing="0" style="margin-top:{self.theme.px(6)}px">{rows}</table>' if rows else ""

    def table(self, heads: Sequence[str], rows: Iterable[Sequence[tuple[str, str]]]) -> str:
        """A table; a cell is a text and its colour. All but the first column stand at the right."""
        pad = f"padding:{self.theme.px(3)}px {self.theme.px(14)}px {self.theme.px(3)}px 0"
        top = "".join(
            f'<td style="{pad}" align="{"right" if place else "left"}">{self.sized(head, SMALL, "quiet")}</td>'
            for place, head in enumerate(heads)
        )
        told = "".join(
            "<tr>"
            + "".join(
                f'<td style="{pad}" align="{"right" if place else "left"}">{self.sized(text, TEXT, color)}</td>'
                for place, (text, color) in enumerate(row)
            )
            + "</tr>"
            for row in rows
        )
        return f'<table cellspacing="0"><tr>{top}</tr>{told}</table>'
