"""The sheet chosen in the Ledger, as it is read beside the list: itself, its journal, or its part in time."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from app.ledger import detail, work
from app.ledger.line import Line
from app.ledger.side import Face, Side
from app.window.house import House
from inspection.words.say import word


class Chosen(QObject):
    """Reads the sheet that ``line`` tells and shows it on the ``side``; ``seen`` follows each reading of a sheet."""

    seen = Signal()

    def __init__(self, house: House, side: Side, line: Callable[[], Line | None], parent: QObject) -> None:
        super().__init__(parent)
        self._house, self._side, self._line = house, side, line
        self.looked: work.Looked | None = None
        self.journal: list[work.Told] = []
        self.part, self.part_title = "", ""
        self._part_looked: work.PartLooked | None = None
        self._reading_on = False
        side.ran_low.connect(self._read_older)

    @property
    def here(self) -> work.Looked | None:
        """The sheet chosen, once it was read."""
        looked, line = self.looked, self._line()
        return looked if looked is not None and line is not None and looked.sheet.identity == line.sheet else None

    def look(self) -> None:
        """Read the sheet chosen, and its journal if that is shown."""
        line, worker = self._line(), self._house.worker
        if line is None or worker is None:
            self.looked, self.journal = None, []
            self.show()
            return
        worker.read(work.Look(line.sheet).run, self._take, self._house.fail)
        if self._side.face is Face.JOURNAL:
            self._read_journal(line.sheet, 0)

    def _take(self, looked: work.Looked) -> None:
        line = self._line()
        if line is None or looked.sheet.identity != line.sheet:
            return
        again = self.looked is not None and self.looked.sheet.identity == looked.sheet.identity
        self.looked = looked
        self.seen.emit()
        if not again:
            self.journal = [told for told in self.journal if told.sheet == looked.sheet.identity]
        self.show(from_top=not again)

    # --- its part in time -------------------------------------------------------------------------------------------

    def of_part(self, part: str, title: str) -> None:
        """Show this part in time; "" shows the sheet again."""
        self.part, self.part_title, self._part_looked = part, title, None
        self._side.face = Face.PART if part else Face.SHEET

    def look_at_part(self) -> None:
        """Read the part in time, if one is shown."""
        if self.part and self._house.worker is not None:
            self._house.worker.read(work.PartInTime(self.part).run, self._take_part, self._house.fail)

    def _take_part(self, looked: work.PartLooked) -> None:
        if looked.part == self.part:
            self._part_looked = looked
            self.show()

    # --- its journal ------------------------------------------------------------------------------------------------

    def turn_to(self, face: Face) -> None:
        """Show this face; the one shown already goes back to the sheet."""
        self._side.face = face if self._side.face is not face else Face.SHEET
        if self._side.face is Face.JOURNAL:
            self.journal = []

    def _read_journal(self, sheet: str, before: int) -> None:
        if self._house.worker is not None:
            self._reading_on = True
            self._house.worker.read(work.Journal(sheet, before).run, self._take_journal, self._house.fail)

    def _take_journal(self, told: work.Told) -> None:
        self._reading_on = False
        line = self._line()
        if line is None or told.sheet != line.sheet:
            return
        kept = self.journal if told.before else []
        self.journal = [*kept, told]
        self.show(from_top=not kept and not told.before)

    def _read_older(self) -> None:
        """The end of the journal read so far is in sight."""
        if self._side.face is not Face.JOURNAL or self._reading_on or not self.journal:
            return
        last = self.journal[-1]
        if last.more and last.lines:
            self._read_journal(last.sheet, last.lines[-1].sequence)

    # --- showing ----------------------------------------------------------------------------------------------------

    def show(self, *, from_top: bool = False) -> None:
        """Show what is read by now."""
        looked, theme, html = self.looked, self._house.theme, ""
        if self._side.face is Face.PART and self._part_looked is not None:
            html = detail.part_page(word("ledger.part.title", part=self.part_title), self._part_looked, theme)
        elif looked is not None and self._side.face is Face.JOURNAL:
            part = looked.sheet.plan.part
            serials = ", ".join(piece.serial for piece in looked.sheet.pieces)
            title = word("ledger.of_part", part=part.number, revision=part.revision)
            pages = [told for told in self.journal if told.sheet == looked.sheet.identity]
            html = detail.journal_page(f"{title}   {serials}", pages, theme)
        elif looked is not None:
            html = detail.sheet_page(looked, theme)
        self._side.show_page(html, from_top=from_top)
