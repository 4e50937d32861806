"""The customer's form and packages, written as the person asks for it: what is asked first, done behind, told after."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from app.desk import form_asking, form_work, questions
from app.desk.one_at_a_time import OneAtATime
from app.jobs.sending import proposed_name
from inspection.words.say import word

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.desk.form import FormFace
    from app.jobs.customer_form import FilledForm
    from app.jobs.packing import Packed
    from inspection.layout.layout import Layout


class Packer(OneAtATime):
    """Writes the customer's form, and everything of a sheet as one package."""

    def send_form(self, face: FormFace) -> None:
        """Write the customer's form that is shown, once its layout is kept."""
        if self._at_hand is None or self._job is not None or face.seen is None:
            return
        if not face.kept():
            self._house.notice(word("desk.form.keep_first"))
            return
        layout, sheet = face.seen.proposed.layout, self._at_hand.sheet
        title = word("desk.form.export_title", part=sheet.plan.part.number)
        ending = Path(layout.workbook.name).suffix or ".xlsx"
        path = self._place(title, f"{proposed_name(sheet)}_{layout.name}", ending)
        if path is None or self._house.foreseen is None:
            return
        task = form_work.SendingForm(sheet.identity, layout, path, self._house.person, self._house.foreseen)
        self._begin(task.run, self._form_sent(path), word("desk.sending", names=path.name))

    def _form_sent(self, path: Path) -> Callable[[FilledForm], None]:
        def told(_done: FilledForm) -> None:
            self._end()
            self._house.notice(word("desk.form.sent", name=path.name, folder=str(path.parent)))

        return told

    def send(self, layout: Layout | None, paper: str) -> None:
        """Ask where everything of the sheet goes, and write it there as one package."""
        if self._at_hand is None or self._job is not None:
            return
        sheet, lacks = self._at_hand.sheet, self._at_hand.lacks
        title = word("desk.package.title", part=sheet.plan.part.number)
        if any(lack.stops for lack in lacks) and not questions.ask_despite(self._room, lacks, title):
            return
        beside: list[Path] = []
        path = self._place(title, proposed_name(sheet), ".zip", beside)
        if path is None or self._house.foreseen is None:
            return
        task = form_work.Packing(
            sheet.identity, layout, path, tuple(beside), paper, self._house.person, self._house.foreseen
        )
        self._begin(task.run, self._packed(path), word("desk.package.making", name=path.name))

    def _packed(self, path: Path) -> Callable[[Packed], None]:
        def told(packed: Packed) -> None:
            self._end()
            n, folder = len(packed.files) - 1, str(path.parent)
            self._house.notice(word("desk.package.done", name=path.name, folder=folder, n=n))

        return told

    def again(self, digest: str, name: str) -> None:
        """Write a package that was kept once more."""
        if self._at_hand is None or self._job is not None or self._house.foreseen is None:
            return
        path = self._place(word("desk.package.again_title", name=name), Path(name).stem, ".zip")
        if path is not None:
            house, sheet = self._house, self._at_hand.sheet.identity
            assert house.foreseen is not None
            task = form_work.PackingAgain(sheet, digest, path, house.person, house.foreseen)
            self._begin(task.run, self._written_again(path), word("desk.package.making", name=path.name))

    def _written_again(self, path: Path) -> Callable[[str], None]:
        def told(_digest: str) -> None:
            self._end()
            self._house.notice(word("desk.package.again_done", name=path.name))

        return told

    def _place(self, title: str, name: str, ending: str, beside: list[Path] | None = None) -> Path | None:
        """Where a file goes; a file that is there is replaced only when that is agreed to."""
        answer = form_asking.ask_place(self._room, title, self._folder(), name, beside=beside is not None)
        if answer is None:
            return None
        if beside is not None and answer.get("beside", "").strip():
            beside.append(Path(answer["beside"].strip()).expanduser())
        whole = answer["name"].strip()
        whole = whole if whole.lower().endswith(ending) else whole + ending
        path = Path(answer["folder"].strip()).expanduser() / whole
        if path.exists() and not questions.ask_replace(self._room, [path]):
            return None
        self._house.folder = str(path.parent)
        return path
