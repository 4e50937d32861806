"""What a trial shows, as a page beside its plot: figures, findings, and the person's earlier trials."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from app.parts.marks import Mark, color_of
from app.parts.paper import SIGNS
from app.window.theme import SMALL, TEXT, Theme
from inspection.measuring.uncertainty_stated import about
from inspection.quantity.units import UNITS
from inspection.reasons import Amount
from inspection.studies.feel import Feel, Trial
from inspection.studies.feel_told import findings, rows, signed
from inspection.words.say import part_text, say, word

#: Earlier trials that are told one by one, the newest ones.
MOST_EARLIER = 6
_MARKS = {True: Mark.CONFORMING, False: Mark.OUT, None: Mark.NOT_JUDGED}


def feel_page(feel: Feel | None, earlier: Iterable[tuple[Trial, Feel]], tag: str, theme: Theme, units: str) -> str:
    """The page as rich text; ``earlier`` are the person's own trials with the same instrument, the newest first."""
    before = tuple(earlier)
    told = _figures(feel, theme, units) + _findings(feel, theme, units) if feel is not None else _how(theme)
    return told + (_earlier(before, tag, theme, units) if before else "")


def _sized(text: str, theme: Theme, color: str = "ink", size: int = TEXT, *, bold: bool = False) -> str:
    weight = "bold" if bold else "normal"
    style = f"font-size:{theme.px(size)}px;color:{theme.color(color).name()};font-weight:{weight}"
    return f'<span style="{style}">{escape(text)}</span>'


def _how(theme: Theme) -> str:
    """What is done, while nothing was read yet."""
    head = f'<p style="margin:0">{_sized(word("feel.how.title"), theme, bold=True)}</p>'
    lines = (word("feel.how.wipe"), word("feel.how.anew"), word("feel.how.three"), word("feel.how.bias"))
    return head + "".join(f'<p style="margin:{theme.px(8)}px 0 0 0">{_sized(line, theme)}</p>' for line in lines)


def _figures(feel: Feel, theme: Theme, units: str) -> str:
    pad = f"padding:{theme.px(2)}px {theme.px(12)}px {theme.px(2)}px 0"

    def line(name: str, shown: str, should: str, *, bold: bool) -> str:
        cells = (_sized(name, theme, "quiet"), _sized(shown, theme, bold=bold), _sized(should, theme, "quiet"))
        return "<tr>" + "".join(f'<td style="{pad}">{cell}</td>' for cell in cells) + "</tr>"

    told = "".join(
        line(
            word(f"feel.row.{row.name}"),
            say(row.shown, units) if row.shown else "",
            say(row.should, units) if row.should else "",
            bold=True,
        )
        for row in rows(feel)
    )
    heads = line(word("feel.head.figure"), word("feel.head.shown"), word("feel.head.should"), bold=False)
    return f'<table cellspacing="0">{heads}{told}</table>'


def _findings(feel: Feel, theme: Theme, units: str) -> str:
    """One line each, its sign before it: none rests on colour."""
    told = []
    for one in findings(feel):
        mark = _MARKS[one.good]
        sign = _sized(f"{SIGNS[mark]} ", theme, color_of(mark), bold=True)
        told.append(f'<p style="margin:{theme.px(6)}px 0 0 0">{sign}{_sized(say(one.reason, units), theme)}</p>')
    return "".join(told)


def _earlier(before: tuple[tuple[Trial, Feel], ...], tag: str, theme: Theme, units: str) -> str:
    head = _sized(word("feel.earlier", tag=tag, n=len(before)), theme, bold=True)
    lines = "".join(
        f"<br>{_sized(_line(trial, feel, units), theme, 'quiet', SMALL)}" for trial, feel in before[:MOST_EARLIER]
    )
    return f'<p style="margin:{theme.px(14)}px 0 0 0">{head}{lines}</p>'


def _line(trial: Trial, feel: Feel, units: str) -> str:
    bias = part_text(signed(feel.read.bias, feel.unit), units)
    s = part_text(about(feel.spread.square, feel.unit), units) if feel.spread else word("feel.spread.equal")
    block = part_text(Amount(trial.size, UNITS[trial.unit].kind, trial.unit), units)
    return word("feel.earlier.line", day=trial.day, block=block, n=feel.read.n, bias=bias, s=s)
