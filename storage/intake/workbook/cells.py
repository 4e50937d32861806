"""A stored cell as the text that is taken, or the reason why it is not."""

from __future__ import annotations

from collections.abc import Sequence

from inspection.reasons import Reason
from storage.intake.lines import Line
from storage.intake.workbook.formats import Sense, masks_text, number_of, shown
from storage.intake.workbook.styles import Style
from storage.intake.workbook.texts import Text, under, unescaped
from storage.intake.workbook.worksheet import Stored, StoredRow

_OF_SENSE = {
    Sense.GENERAL: "xlsx.number_general",
    Sense.DATE: "xlsx.date",
    Sense.TEXT: "xlsx.number_as_text",
    Sense.FRACTION: "xlsx.fraction",
    Sense.OTHER: "xlsx.number_format",
}


class Cells:
    """Turns rows as stored into lines, by the texts and styles of their workbook."""

    def __init__(self, texts: Sequence[Text], styles: Sequence[Style]) -> None:
        self.texts = texts
        self.styles = styles

    def line(self, row: StoredRow, sheet: str = "") -> Line:
        """The row with every cell's text or problem; ``sheet`` for a row of another sheet than the table's."""
        cells: dict[int, str] = {}
        problems: dict[int, Reason] = {}
        for stored in row.cells:
            found = self.taken(stored)
            if isinstance(found, Reason):
                problems[stored.column] = found
            elif text := found.strip():
                cells[stored.column] = text
        if row.broken:
            problems.setdefault(min((one.column for one in row.cells), default=0), Reason("xlsx.row_broken"))
        width = max((one.column for one in row.cells), default=0) + 1
        return Line(row.number, cells, problems, width, row.hidden, sheet)

    def taken(self, stored: Stored) -> str | Reason:
        """The text that a cell shows, or why it may not be taken."""
        if stored.computed:
            return Reason("xlsx.formula")
        if stored.kind == "b":
            return Reason("xlsx.boolean")
        if stored.kind == "e":
            return Reason("xlsx.error", {"error": stored.raw[:20]})
        if stored.kind == "d":
            return Reason("xlsx.date")
        style = self.styles[stored.style] if 0 <= stored.style < len(self.styles) else Style()
        if stored.kind == "n":
            return self._number(stored.raw.strip(), style)
        return self._text(stored, style)

    def _number(self, raw: str, style: Style) -> str | Reason:
        if not raw:
            return ""
        if number_of(raw) is None:
            return Reason("xlsx.no_number", {"raw": raw[:40]})
        if style.look.struck:
            return Reason("xlsx.struck")
        if style.look.symbols:
            return Reason("xlsx.symbol_font", {"font": style.look.symbols[:40]})
        text = shown(style.code, raw)
        if text is None:
            return Reason("xlsx.rounded", {"value": raw[:40], "format": style.code[:40]})
        if isinstance(text, Sense):
            return Reason(_OF_SENSE[text], {"value": raw[:40], "format": style.code[:40]})
        return text

    def _text(self, stored: Stored, style: Style) -> str | Reason:
        text = self._stored_text(stored)
        if text is None:
            return Reason("xlsx.text_missing")
        text = under(text, style.look)
        if text.problem:
            return text.problem
        if text.text.strip() and masks_text(style.code):
            return Reason("xlsx.text_masked", {"format": style.code[:40]})
        return text.text

    def _stored_text(self, stored: Stored) -> Text | None:
        if stored.kind == "s":
            place = int(stored.raw) if stored.raw.strip().isdecimal() and len(stored.raw) < 10 else -1
            return self.texts[place] if 0 <= place < len(self.texts) else None
        if stored.kind == "inlineStr":
            return stored.text or Text(stored.raw)
        return Text(unescaped(stored.raw)) if stored.kind == "str" else None
