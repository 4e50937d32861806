"""One material, special process or functional test as a form. What a test's texts are read as is told while typing."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

from app.desk.record_fields import Block, Flow, choice_block, text_block
from app.window.theme import Theme
from inspection.reasons import Refused
from inspection.sheet.evidence import Approval, Evidence, EvidenceKind
from inspection.sheet.measured import limit_texts, measurement
from inspection.words.say import say, word

PAPERS = ("name", "number", "specification", "specification_revision", "code", "supplier")
MEASURED = ("required", "result")
OF_DRAWING = ("name", "specification_revision")
PASSED = ("", "yes", "no")


class EntryForm(QWidget):
    """The form of one entry; ``entered`` is sent by Enter in a field."""

    entered = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.evidence = Evidence("", EvidenceKind.MATERIAL, "")
        self.title = QLabel(self)
        self.title.setProperty("look", "head")
        self.blocks: dict[str, Block] = {name: text_block(word(f"record.field.{name}"), self) for name in PAPERS}
        approvals = [(each.value, word(f"report.approved.{each.name.lower()}")) for each in Approval]
        self.blocks["approved"] = choice_block(word("record.field.approved"), approvals, self)
        for name in ("certificate", "certified", *MEASURED):
            self.blocks[name] = text_block(word(f"record.field.{name}"), self)
        passed = [(value, word(f"record.passed.{value or 'open'}")) for value in PASSED]
        self.blocks["passed"] = choice_block(word("record.field.passed"), passed, self)
        self.blocks["note"] = text_block(word("record.field.note"), self)
        self.read = QLabel(self)
        self.read.setWordWrap(True)
        self.problem = QLabel(self)
        self.problem.setWordWrap(True)
        self.problem.setProperty("look", "problem")
        self.hint = QLabel(word("record.entry.keys"), self)
        self.hint.setProperty("look", "quiet")
        self.hint.setWordWrap(True)
        self._lay_out(theme)
        self.take_theme(theme)

    def _lay_out(self, theme: Theme) -> None:
        order = (*PAPERS, "approved", "certificate", "certified")
        self._fields = Flow([self.blocks[name] for name in order], 210, theme, self)
        self._tests = Flow([self.blocks[name] for name in (*MEASURED, "passed")], 210, theme, self)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        for widget in (self.title, self._fields, self._tests, self.read, self.blocks["note"], self.problem, self.hint):
            self._rows.addWidget(widget)
        self._rows.addStretch(1)
        for block in self.blocks.values():
            if isinstance(block.field, QLineEdit):
                block.field.returnPressed.connect(self.entered)
        for name in MEASURED:
            field = self.blocks[name].field
            assert isinstance(field, QLineEdit)
            field.textChanged.connect(self._tell_what_is_read)

    def show_evidence(self, evidence: Evidence) -> None:
        """Begin with these texts."""
        self.evidence = evidence
        new = "" if evidence.identity else "new."
        self.title.setText(word(f"record.title.{new}{evidence.kind.name.lower()}", name=evidence.name))
        test = evidence.kind is EvidenceKind.TEST
        self._tests.setVisible(test)
        self.read.setVisible(test)
        drawing = evidence.kind is EvidenceKind.DRAWING
        for name in (*PAPERS, "approved", "certificate", "certified"):
            self.blocks[name].setVisible(not drawing or name in OF_DRAWING)
        for name in (*PAPERS, "certificate", "certified", "note", "passed"):
            self.blocks[name].show_text(getattr(evidence, name))
        self.blocks["approved"].show_text(evidence.approved.value)
        measured = evidence.measurement
        self.blocks["required"].show_text(measured.required if measured else "")
        self.blocks["result"].show_text(measured.written if measured else "")
        self.tell_problem("")
        self._tell_what_is_read()
        self.blocks["name"].field.setFocus()

    def _tell_what_is_read(self, _text: str = "") -> None:
        """Limits while they are typed, or what stands in their way; a verdict only when it is written."""
        required, result = self.blocks["required"].text(), self.blocks["result"].text()
        self.blocks["passed"].setVisible(not required)
        said = word("record.read.how")
        if required:
            try:
                low, high = limit_texts(measurement(required, result))
                said = word(
                    "record.read.limits", low=low or word("record.read.open"), high=high or word("record.read.open")
                )
            except Refused as refused:
                said = " ".join(say(reason) for reason in refused.reasons)
        elif result:
            said = word("record.read.no_limits")
        self.read.setText(said)

    def told(self) -> Evidence:
        """The entry as it stands in the form. Raises Refused where requirement or result cannot be read."""
        texts = {name: self.blocks[name].text() for name in (*PAPERS, "certificate", "certified", "note")}
        test = self.evidence.kind is EvidenceKind.TEST
        required, result = self.blocks["required"].text(), self.blocks["result"].text()
        measured = measurement(required, result) if test and (required or result) else None
        return Evidence(
            self.evidence.identity,
            self.evidence.kind,
            **texts,
            approved=Approval(self.blocks["approved"].text()),
            measurement=measured,
            passed=self.blocks["passed"].text() if test and measured is None else "",
            files=self.evidence.files,
        )

    def changed(self) -> bool:
        """Whether anything was typed that is not written."""
        try:
            return self.told() != self.evidence
        except Refused:
            return True

    def tell_problem(self, sentence: str) -> None:
        """Say why it was not written."""
        self.problem.setText(sentence)
        self.problem.setVisible(bool(sentence))

    def take_theme(self, theme: Theme) -> None:
        """Keep the proportions at another scale."""
        self._rows.setSpacing(theme.px(12))
        self._fields.take_theme(theme)
        self._tests.take_theme(theme)
        self.blocks["note"].rows.setSpacing(theme.px(2))
