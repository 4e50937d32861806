"""The files attached to a sheet's materials, processes and tests: attached, saved out again, left out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QObject

from app.desk import record_asking as asking
from app.desk.record_work import DrawingBefore, ReadFile, WriteOut
from inspection.attached import Attached
from inspection.sheet.evidence import EvidenceKind
from inspection.words.say import word

if TYPE_CHECKING:
    from app.desk.record import RecordPanel


class RecordFiles(QObject):
    """What is done with the files of the entry at hand."""

    def __init__(self, panel: RecordPanel) -> None:
        super().__init__(panel)
        self._panel = panel

    def drawing(self) -> None:
        """Open the sheet's drawing; a new entry has what an earlier sheet of the same drawing kept."""
        panel = self._panel
        if panel.sheet is None or panel.house.worker is None or not panel.leave_entry():
            return
        own = [each for each in panel.sheet.evidence.values() if each.kind is EvidenceKind.DRAWING]
        if own:
            panel.begin(own[0])
        else:
            panel.house.worker.long(DrawingBefore(panel.sheet).run, panel.begin, panel.refused)

    def attach(self) -> None:
        """Ask for a file and attach it to the entry at hand."""
        panel = self._panel
        chosen = panel.list.chosen()
        if chosen is None or panel.house.worker is None or not panel.leave_entry():
            return
        file = asking.ask_attach(panel, chosen.name, panel.house.folder)
        if file is not None:
            panel.house.folder = str(file.parent)

            def read(found: tuple[Attached, bytes]) -> None:
                self._attached(chosen.identity, *found)

            panel.house.worker.long(ReadFile(file).run, read, panel.refused)

    def _attached(self, identity: str, named: Attached, content: bytes) -> None:
        panel = self._panel
        evidence = panel.sheet.evidence.get(identity) if panel.sheet is not None else None
        if evidence is None:
            return
        if named.digest in (file.digest for file in evidence.files):
            panel.tell_problem(word("record.attached_already", file=named.name, name=evidence.name))
            return
        panel.enter(replace(evidence, files=(*evidence.files, named)), {named.digest: content})

    def save(self) -> None:
        """Ask where to, and write a file of the entry at hand out of the book."""
        panel = self._panel
        chosen = panel.list.chosen()
        if chosen is None or not chosen.files or panel.house.worker is None:
            return
        answer = asking.ask_save(panel, chosen.files, panel.house.folder)
        if answer is not None:
            named, path = answer
            panel.house.folder = str(path.parent)
            panel.house.worker.long(WriteOut(named, path).run, self._saved, panel.refused)

    def _saved(self, name: str) -> None:
        self._panel.house.notice(word("record.saved", file=name))

    def drop(self) -> None:
        """Ask which file no longer belongs to the entry at hand."""
        panel = self._panel
        chosen = panel.list.chosen()
        named = asking.ask_drop(panel, chosen.files) if chosen is not None and chosen.files else None
        if chosen is not None and named is not None:
            panel.enter(replace(chosen, files=tuple(file for file in chosen.files if file != named)))
