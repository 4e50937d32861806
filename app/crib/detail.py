"""One instrument as a page: every field, its permissible errors, its members with the missing ones struck, its files
and the history of its issues."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from typing import NamedTuple

from app.crib.behaving import NOTHING_TOLD, Behaving
from app.crib.lines import MARKS, state_text
from app.parts.marks import color_of
from app.parts.paper import SIGNS, Paper
from app.window.theme import HEAD, SMALL, TEXT, Theme
from inspection.instruments.as_written import length_unit, unsaid, written_cells
from inspection.instruments.certificate_table import error_text, expanded_text
from inspection.instruments.keeping import BARRED, keeping_of
from inspection.instruments.record import Instrument
from inspection.instruments.sets import missing_text
from inspection.instruments.spelling import amount_text
from inspection.words.say import word

#: What every instrument shows, filled or not; the others only where there is something to say.
ALWAYS = (
    "range",
    "resolution",
    "due",
    "interval",
    "certificate",
    "certified",
    "laboratory",
    "standing",
    "place",
    "holder",
)
THEN = (
    "kelvin", "other", "unit", "gauge_class", "class_tolerance", "direction", "thread", "read_over", "smallest_bore",
    "reach", "relief", "width", "jaws", "soft", "repeatability", "zero", "tilt", "askew", "rock", "parallax",
    "expansion", "as_calibrated", "handling_seconds", "note",
)  # fmt: skip
NOTHING = "–"
#: Issues that the history shows; older ones are counted.
MOST_ISSUES = 12
#: What is on record of checks and mishaps that the page tells one by one; older ones are counted.
MOST_REMEMBERED = 12
#: The name under which a page asks for the plot of its checks.
PLOT = "checks.plot"
#: And for that of its certificates.
DRIFT_PLOT = "drift.plot"


class Issued(NamedTuple):
    """One issue of a record: its number, the day and the person's name, and what it changed, as sentences."""

    issue: int
    day: str
    person: str
    changes: tuple[str, ...]


def detail_page(
    instrument: Instrument, history: tuple[Issued, ...], day: str, theme: Theme, behaving: Behaving = NOTHING_TOLD
) -> str:
    """The page as rich text in this theme; ``day`` is today (ISO), empty for a template, which stands nowhere yet.
    Where there is a plot of its checks, the page asks for it by the name ``PLOT``."""
    page = _Page(theme)
    cells = written_cells(instrument)
    return "".join(
        (
            page.head(instrument, day, behaving),
            page.plot(behaving),
            page.fields((field, cells[field]) for field in ALWAYS if field not in unsaid(instrument.kind)),
            page.behaviour(behaving),
            page.permissible(instrument),
            page.points(instrument),
            page.drift(behaving),
            page.members(instrument),
            page.fields((field, cells[field]) for field in THEN if cells[field]),
            page.files(instrument),
            page.history(history),
        )
    )


def text_page(title: str, lines: Iterable[tuple[str, tuple[str, ...]]], end: str, theme: Theme) -> str:
    """A page of headed paragraphs: what a file would change, for instance."""
    page = Paper(theme)
    told = "".join(_headed(page, head, texts) for head, texts in lines)
    return f"{page.title(title)}{told}<p>{escape(end)}</p>"


def _headed(page: Paper, head: str, texts: Iterable[str]) -> str:
    told = "".join(f"<br>{page.sized(text)}" for text in texts)
    return f'<p style="margin:{page.theme.px(10)}px 0 0 0">{page.sized(head, bold=True)}{told}</p>'


class _Page(Paper):
    """Pieces of a page in one theme."""

    def head(self, instrument: Instrument, day: str, behaving: Behaving) -> str:
        kind = "" if instrument.kind.value == instrument.name else instrument.kind.value
        tag = self.sized(f"{instrument.tag}  ", HEAD, "accent", bold=True)
        told = [tag + self.sized(instrument.name, HEAD, bold=True)]
        told += [self.sized(kind, TEXT, "quiet")] if kind else []
        if day:
            told += self._state(instrument, day, behaving)
            told += self._proven(behaving)
        return f'<p style="margin:0">{"<br>".join(told)}</p>'

    def _state(self, instrument: Instrument, day: str, behaving: Behaving) -> Iterator[str]:
        """Where it stands, and what follows from that for whoever wants to measure with it."""
        ahead, used = behaving.ahead, behaving.used_up
        keeping = keeping_of(instrument, day, ahead, used=used)
        mark, state = MARKS[keeping], state_text(instrument, day, ahead, used=used)
        yield self.sized(f"{SIGNS[mark]} {state}", TEXT, color_of(mark), bold=True)
        if keeping in BARRED:
            yield self.sized(word("crib.barred"), TEXT, color_of(mark))

    def _proven(self, behaving: Behaving) -> Iterator[str]:
        """Whether its check serves now: a sign, a word, and until when or why not."""
        if not behaving.stands:
            return
        color = color_of(behaving.mark)
        first, *more = behaving.stands
        yield self.sized(f"{SIGNS[behaving.mark]} {first}", TEXT, color) + "".join(
            f" {self.sized(text)}" for text in more
        )

    def plot(self, behaving: Behaving) -> str:
        """Room for the plot of its checks."""
        return f'<p style="margin:{self.theme.px(8)}px 0 0 0"><img src="{PLOT}"></p>' if behaving.plot else ""

    def drift(self, behaving: Behaving) -> str:
        """How the error moved over the certificates, with room for its plot, and what is advised of the interval."""
        drift = behaving.drift
        if drift is None:
            return ""
        plot = f'<p style="margin:{self.theme.px(8)}px 0 0 0"><img src="{DRIFT_PLOT}"></p>' if drift.plot else ""
        first, *more = drift.said or ("",)
        head = f'<a name="{DRIFT_PLOT}"></a>' + self._section("crib.section.drift")
        return head + self.line(first) + plot + "".join(map(self.line, more))

    def behaviour(self, behaving: Behaving) -> str:
        """What checks and studies say of it together, and what is on record, newest first."""
        if not behaving.evidence and not behaving.records:
            return ""
        told = [self._section("crib.section.behaviour"), *map(self.line, behaving.evidence)]
        for one in behaving.records[:MOST_REMEMBERED]:
            head = word("crib.remembered", when=one.when, person=one.person, what=one.what)
            sign = f"{SIGNS[one.mark]} " if one.mark is not None else ""
            color = color_of(one.mark) if one.mark is not None else "quiet"
            told.append(self.paragraph(f"{sign}{head}", one.said, color=color))
        if len(behaving.records) > MOST_REMEMBERED:
            more = word("crib.remembered.more", n=len(behaving.records) - MOST_REMEMBERED)
            told.append(f"<p>{self.sized(more, SMALL, 'quiet')}</p>")
        return "".join(told)

    def _section(self, code: str) -> str:
        return self.section(word(code))

    def fields(self, pairs: Iterable[tuple[str, str]]) -> str:
        rows = "".join(self._row(word(f"crib.field.{field}"), text or NOTHING) for field, text in pairs)
        return self._rows(rows)

    def _row(self, name: str, *values: str) -> str:
        pad = f"padding:{self.theme.px(2)}px {self.theme.px(12)}px {self.theme.px(2)}px 0"
        cells = "".join(f'<td style="{pad}">{self.sized(value, TEXT)}</td>' for value in values)
        return f'<tr><td width="{self.theme.px(150)}" style="{pad}">{self.sized(name, TEXT, "quiet")}</td>{cells}</tr>'

    def _rows(self, rows: str) -> str:
        top = self.theme.px(8)
        return f'<table cellspacing="0" style="margin-top:{top}px">{rows}</table>' if rows else ""

    def permissible(self, instrument: Instrument) -> str:
        if not instrument.permissible:
            return ""
        unit = instrument.unit
        rows = "".join(
            self._row(
                line.use.value,
                word("crib.up_to", size=amount_text(line.up_to, unit)),
                f"±{amount_text(line.error, unit)}",
            )
            for line in instrument.permissible
        )
        return self._section("crib.section.permissible") + self._rows(rows)

    def points(self, instrument: Instrument) -> str:
        """The certificate's table: use, size, error and its uncertainty."""
        if not instrument.points:
            return ""
        unit = instrument.unit
        rows = "".join(
            self._row(
                word("crib.at", use=point.use.value, size=amount_text(point.size, unit)),
                error_text(point.error, unit),
                expanded_text(point, unit),
            )
            for point in instrument.points
        )
        head = word("crib.section.points", number=instrument.certificate, day=instrument.certified)
        note = self.sized(word("crib.section.points.note"), SMALL, "quiet")
        return self.section(head) + f'<p style="margin:0">{note}</p>' + self._rows(rows)

    def members(self, instrument: Instrument) -> str:
        if not instrument.members:
            return ""
        text = written_cells(instrument)["members"]
        told = [self.sized(word("crib.members", n=len(instrument.members)), TEXT, "quiet"), self.sized(text, TEXT)]
        if instrument.missing:
            said = missing_text(instrument.missing, instrument.members, length_unit(instrument.unit))
            n = sum(member.size in instrument.missing for member in instrument.members)
            struck = " &nbsp; ".join(f"<s>{self.sized(part, TEXT, 'out')}</s>" for part in said.split("; "))
            told += [self.sized(word("crib.missing", n=n), TEXT, "out", bold=True) + f" &nbsp; {struck}"]
        return self._section("crib.section.members") + f'<p style="margin:0">{"<br>".join(told)}</p>'

    def files(self, instrument: Instrument) -> str:
        if not instrument.files:
            return ""
        lines = "<br>".join(
            self.sized(word("crib.file", name=one.name, size=size_text(one.size)), TEXT) for one in instrument.files
        )
        return self._section("crib.section.files") + f'<p style="margin:0">{lines}</p>'

    def history(self, history: tuple[Issued, ...]) -> str:
        if not history:
            return ""
        return self._section("crib.section.history") + "".join(self._issued(history))

    def _issued(self, history: tuple[Issued, ...]) -> Iterator[str]:
        for one in history[:MOST_ISSUES]:
            head = word("crib.issued", n=one.issue, day=one.day, person=one.person)
            told = "".join(f"<br>{self.sized(text, TEXT)}" for text in one.changes)
            yield f'<p style="margin:{self.theme.px(4)}px 0 0 0">{self.sized(head, SMALL, "quiet")}{told}</p>'
        if len(history) > MOST_ISSUES:
            yield f"<p>{self.sized(word('crib.issued.more', n=len(history) - MOST_ISSUES), SMALL, 'quiet')}</p>"


def size_text(size: int) -> str:
    """A file's size in whole kilobytes, one at least."""
    return word("crib.kilobytes", n=max(1, round(size / 1000)))
