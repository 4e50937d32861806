"""The Desk: which sheet at the left with what it lacks, and the very files that would go out. Everything by key."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QGuiApplication, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from app.background.worker import Failure, Ticket
from app.desk import questions, work
from app.desk.column import Column
from app.desk.form import FormFace
from app.desk.keys import FACES, FORM_OF, KEYS, ON_FACE
from app.desk.packing import Packer
from app.desk.pages import PagesView
from app.desk.plain import PlainFace
from app.desk.previews import Previews
from app.desk.record import RecordPanel
from app.desk.sender import Sender
from app.desk.sent import SentFace
from app.desk.stamping import Stamping
from app.desk.strip import FaceStrip
from app.desk.workbook import WorkbookFace
from app.jobs.document import document_of
from app.parts import signing
from app.parts.doing import Doing
from app.parts.fitted import Fitted
from app.parts.lacking import Lack
from app.window.house import House, Room
from app.window.keys import actions_of
from app.window.theme import Theme
from inspection.words.say import word

if TYPE_CHECKING:
    from app.desk.finding import Found

#: The part of the room that the left side takes, and its least and most width; narrower rooms show one side at a time.
LEFT, LEFT_LEAST, LEFT_MOST = 0.27, 240, 340
NARROW = 640


class DeskRoom(Room):
    """Prepares one sheet: shows its files as they would go out, writes them, and lists what was sent."""

    def __init__(self, house: House, parent: QWidget | None = None) -> None:
        super().__init__(house, parent)
        self.setObjectName("page")
        self.at_hand: work.AtHand | None = None
        self._wanted = self._seen_at_bench = ""
        self._lacks: tuple[Lack, ...] = ()
        self.column = Column(house, self)
        self.doing = Doing(house.theme, self)
        self.previews = Previews(house, self.doing, self)
        self.sending = Sender(house, self.doing, self.previews, self)
        self.packing = Packer(house, self.doing, self)
        self.faces = self._make_faces()
        self.strip = FaceStrip(house.theme, self)
        self.face = "pages"
        self._printed = False
        self.stamping = Stamping(house, self, self._look_soon)
        self.actions_by_name = self._make_actions()
        self._again = QTimer(self)
        self._again.setSingleShot(True)
        self._again.setInterval(150)
        self._again.timeout.connect(self._look)
        self._lay_out()
        self._connect()
        self.take_theme(house.theme)
        self.show_face("pages")

    # --- building ---------------------------------------------------------------------------------------------------

    def _make_faces(self) -> dict[str, QWidget]:
        self.record = RecordPanel(self.house, self)
        self.pages = PagesView(self.house, self)
        self.workbook = WorkbookFace(self.house, self)
        self.table, self.data = PlainFace("table", self.house, self), PlainFace("data", self.house, self)
        self.sent = SentFace(self.house, self)
        self.form = FormFace(self.house, self.doing, self)
        made = (self.record, self.pages, self.workbook, self.table, self.data, self.sent, self.form)
        return dict(zip(FACES, made, strict=True))

    def _make_actions(self) -> dict[str, QAction]:
        does: dict[str, Callable[[], object]] = {
            "find": self._find,
            "lacking": self._to_lacking,
            "page_before": self.pages.before,
            "page_after": self.pages.after,
            "page_first": self.pages.first,
            "page_last": self.pages.last,
            "closer": self.pages.closer,
            "farther": self.pages.farther,
            "whole": self.pages.whole,
            "tab_before": self._tab_before,
            "tab_after": self._tab_after,
            "paper": self._other_paper,
            "signed": self._other_pages,
            "sign": self._sign_pdf,
            "stamp_room": self.stamping.switch_room,
            "stamp_ask": lambda: self.stamping.ask(self.at_hand),
            "stamp_put": lambda: self.stamping.put(self.at_hand),
            "anew": self._anew,
            "export": self._export,
            "export_all": self._export_all,
            "package": self._package,
            "again": self._package_again,
            "digest": self.sent.switch_digest,
            "copy": self._copy_digest,
            "check": self.sending.check,
            "bench": self._to_bench,
            **dict.fromkeys(self.faces, self._face_from_action),
        }
        made = actions_of(self, KEYS, does)
        for name, action in made.items():
            action.setData(name)
        return made

    def _lay_out(self) -> None:
        self._title, self._about = Fitted("head", self), Fitted("soft", self)
        self._place, self._hint = QLabel(self), Fitted("quiet", self)
        self._place.setProperty("look", "quiet")
        self._told = QLabel(self)
        self._told.setWordWrap(True)
        self._told.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._told.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._stack = QStackedWidget(self)
        self._stack.addWidget(self._told)
        for face in self.faces.values():
            self._stack.addWidget(face)
        self._head, self._foot, self._right = QHBoxLayout(), QHBoxLayout(), QVBoxLayout()
        self._head.addWidget(self._title)
        self._head.addWidget(self._about, 1)
        self._foot.addWidget(self._hint, 1)
        self._foot.addWidget(self._place)
        self._right.addLayout(self._head)
        self._right.addWidget(self.strip)
        self._right.addWidget(self._stack, 1)
        self._right.addLayout(self._foot)
        self._right.addWidget(self.doing)
        self._side = QWidget(self)
        self._side.setLayout(self._right)
        self._right.setContentsMargins(0, 0, 0, 0)
        self._layout = QHBoxLayout(self)
        self._layout.addWidget(self.column)
        self._layout.addWidget(self._side, 1)

    def _connect(self) -> None:
        self.column.chosen.connect(self._choose)
        self.column.wanted.connect(self._go)
        self.strip.chosen.connect(self._point_at_face)
        self.sending.busy.connect(self._busy)
        self.sending.ended.connect(self._look)
        self.packing.busy.connect(self._busy)
        self.packing.ended.connect(self._look)
        self.form.changed.connect(self._look_soon)
        self.previews.ready.connect(self._ready)
        self.previews.failed.connect(self._not_made)
        self.pages.turned.connect(self._turned)
        self.record.changed.connect(self._look_soon)
        self.house.shop_changed.connect(self._shop_changed)
        if self.house.worker is not None:
            self.house.worker.acted.connect(self._acted)

    def actions(self) -> list[QAction]:
        """The keys of the room, for the list of keys; those of the record while it is looked at."""
        own = super().actions()
        if self.face == "form":
            return [*own, *self.form.actions()]
        return [*own, *self.record.actions()] if self.face == "record" else own

    # --- the sheet --------------------------------------------------------------------------------------------------

    def arrive(self) -> None:
        """Read the list anew, and the sheet: the one asked for, the one at the Bench if that is another now, the one
        before, or the newest."""
        if self.house.at_hand != self._seen_at_bench:
            self._seen_at_bench = self._wanted = self.house.at_hand
        self._read_recent()
        self._look()
        self._fold()
        self._focus_face()

    def prepare(self, sheet: str) -> None:
        """Prepare the sheet of this identity."""
        self._seen_at_bench = self.house.at_hand
        self._wanted = sheet
        self.column.field.clear()

    def _choose(self, sheet: str) -> None:
        self._wanted = sheet
        self._look()
        self._focus_face()

    def _read_recent(self) -> None:
        if self.house.worker is not None:
            self.house.worker.read(work.recent, self._show_recent, self.house.fail)

    def _show_recent(self, sheets: tuple[Found, ...]) -> None:
        self.column.show_sheets(sheets)
        if not self._wanted and sheets:
            self._wanted = sheets[0].sheet
            self._look()
        elif not sheets:
            self._tell(f"{word('desk.empty')}\n\n{word('desk.empty.next')}")

    def _look(self) -> None:
        if self._wanted and self.house.worker is not None:
            self.house.worker.read(work.Look(self._wanted).run, self._show, self._not_there)

    def _not_there(self, failure: Failure) -> None:
        self._wanted = ""
        self.house.fail(failure)
        self._read_recent()

    def _show(self, at_hand: work.AtHand) -> None:
        if at_hand.sheet.identity != self._wanted:
            return
        self.at_hand = at_hand
        self._seen_at_bench = self.house.at_hand
        self._lacks = at_hand.lacks
        self.column.show_chosen(self._wanted)
        self.column.show_lacks(self._lacks)
        self.sent.show_lines(at_hand.sent)
        self.record.show_sheet(at_hand.sheet)
        self._show_head()
        self.sending.take(at_hand)
        self.packing.take(at_hand)
        self.form.take(at_hand)
        self.previews.take(at_hand.sheet, at_hand.shop, self.sending.paper())
        self._show_content()

    def _show_head(self) -> None:
        assert self.at_hand is not None
        sheet = self.at_hand.sheet
        part = sheet.plan.part
        revision = word("desk.revision", revision=part.revision) if part.revision else ""
        self._title.show_text(" ".join(filter(None, (part.number, revision))))
        state = word("desk.head.signed", round=sheet.round) if sheet.sealed else word("desk.head.unsigned")
        serials = ", ".join(piece.serial for piece in sheet.pieces)
        about = (part.name, serials, sheet.head.customer or part.customer, state)
        self._about.show_text("   ·   ".join(filter(None, about)))

    def _acted(self, ticket: Ticket, _outcome: Any) -> None:
        """Something was done: if to this sheet, look at it again in a moment."""
        if getattr(ticket.act, "sheet", "") == self._wanted:
            self._look_soon()

    def _shop_changed(self, _shop: object) -> None:
        self._look_soon()

    def _look_soon(self) -> None:
        if self.isVisible():
            self._again.start()

    # --- faces ------------------------------------------------------------------------------------------------------

    def show_face(self, face: str) -> None:
        """Look at another face."""
        self.face = face
        self.strip.show_face(face)
        for name, faces in ON_FACE.items():
            self.actions_by_name[name].setEnabled(face in faces)
        self._hint.show_text(word(f"desk.hint.{face}"))
        self._show_content()

    def _face_from_action(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self._point_at_face(action.data())

    def _point_at_face(self, face: str) -> None:
        self.show_face(face)
        self._focus_face()

    def _show_content(self) -> None:
        """Show the face at hand if it can be shown; else what stands in its way, or have its file made."""
        self._show_place()
        if self.at_hand is None:
            self._stack.setCurrentWidget(self._told)
        elif self.face not in FORM_OF:
            self._stack.setCurrentWidget(self.faces[self.face])
            if self.face == "form":
                self.form.look()
        elif self.face == "data" and not self.at_hand.sheet.seals:
            self._tell(word("desk.data.unsigned"))
        else:
            form = self._form_shown()
            if self._stack.currentWidget() is not self.faces[self.face]:
                self._tell(word(f"desk.making.{form}"))
            self.previews.want(form)

    def _form_shown(self) -> str:
        """The form that the face at hand shows a file of; the signed PDF where there is one and the printed sheet was
        not asked for."""
        signed = self.at_hand is not None and document_of(self.at_hand.sheet) is not None
        if self.face == "pages" and signed and not self._printed:
            return "signed-pdf"
        return FORM_OF.get(self.face, "")

    def _other_pages(self) -> None:
        """The signed PDF, or the sheet as it is printed now."""
        if self.at_hand is not None and document_of(self.at_hand.sheet) is None:
            self.house.notice(word("desk.pages.unsigned"))
            return
        self._printed = not self._printed
        self._show_content()

    def _sign_pdf(self) -> None:
        """Sign the PDF for what the person signed in the book alone."""
        if self.at_hand is None or not self._is_ready():
            return
        job = signing.sign_pdf(self, self.house, self.at_hand.sheet, self._pdf_signed, self._pdf_not_signed)
        if job is not None:
            self.doing.begin(word("sign.working"), job)

    def _pdf_signed(self, said: str) -> None:
        self.doing.over()
        self.house.notice(said)
        self._look_soon()

    def _pdf_not_signed(self, failure: Failure) -> None:
        self.doing.over()
        self.house.fail(failure)

    def _ready(self, form: str) -> None:
        if self._form_shown() != form:
            return
        made = self.previews.made[form]
        if self.face == "pages":
            self.pages.show_made(made)
        elif form == "xlsx":
            if self.workbook.grids is not self.previews.grids:
                self.workbook.show_grids(self.previews.grids)
        else:
            shown = self.table if form == "csv" else self.data
            shown.show_made(made)
        waiting = self._told.hasFocus()
        self._stack.setCurrentWidget(self.faces[self.face])
        self._show_place()
        if waiting:
            self._focus_face()

    def _not_made(self, form: str, said: str) -> None:
        if self._form_shown() == form:
            self._tell(said)

    def _tell(self, said: str) -> None:
        self._told.setText(said)
        self._stack.setCurrentWidget(self._told)

    def _turned(self, _page: int, _pages: int) -> None:
        self._show_place()

    def _show_place(self) -> None:
        """Which page, on what paper."""
        said = []
        if self.face == "pages" and self.pages.sizes:
            said.append(word("desk.page", page=self.pages.page + 1, pages=len(self.pages.sizes)))
        if self.face in ("pages", "workbook") and self.at_hand is not None:
            said.append(word("desk.form.signed-pdf") if self._form_shown() == "signed-pdf" else self.sending.paper())
        self._place.setText("   ".join(said))

    # --- making, sending --------------------------------------------------------------------------------------------

    def _other_paper(self) -> None:
        """The other paper, for this customer from now on."""
        self.sending.other_paper()
        if self.at_hand is not None:
            self.previews.take(self.at_hand.sheet, self.at_hand.shop, self.sending.paper())
            self._show_content()

    def _anew(self) -> None:
        """Make the file at hand once more, which was stopped or could not be made."""
        if self.at_hand is not None:
            self.previews.drop(self._form_shown())
            self._show_content()

    def _is_ready(self) -> bool:
        """Whether the sheet that was asked for is the one at hand: nothing of another goes out in its place."""
        ready = self.at_hand is not None and self.at_hand.sheet.identity == self._wanted
        if not ready:
            self.house.notice(word("desk.not_yet"))
        return ready

    def _export(self) -> None:
        """Write one file: the one at hand is offered."""
        if not self._is_ready():
            return
        if self.face == "form":
            self.packing.send_form(self.form)
            return
        self.sending.send(self._form_shown() or "pdf")

    def _package(self) -> None:
        """Write everything of the sheet as one package, with the customer's form if a layout is kept."""
        if self._is_ready():
            self.packing.send(self.form.kept_layout(), self.sending.paper())

    def _package_again(self) -> None:
        """Write the package at hand once more."""
        line = self.sent.line()
        if line is not None and self._is_ready():
            self.packing.again(line.digest, line.name)

    def _export_all(self) -> None:
        """Write every file that there can be."""
        if self._is_ready():
            self.sending.send(questions.ALL)

    def _busy(self, busy: bool) -> None:
        for name in ("export", "export_all", "check", "package", "again"):
            self.actions_by_name[name].setEnabled(not busy)

    def _copy_digest(self) -> None:
        line = self.sent.line()
        if line is not None:
            QGuiApplication.clipboard().setText(line.digest)
            self.house.notice(word("desk.copied", name=line.name))

    # --- going elsewhere --------------------------------------------------------------------------------------------

    def _to_bench(self) -> None:
        if self.at_hand is not None:
            self.house.sheet_wanted.emit(self.at_hand.sheet.identity)

    def _go(self, lack: Lack) -> None:
        """To where something that is missing is put right: its row at the Bench, the record, or the sheet."""
        if self.at_hand is None:
            return
        if lack.row:
            self.house.row_wanted.emit(self.at_hand.sheet.identity, lack.row, "")
        elif lack.evidence or lack.field:
            self._point_at_face("record")
            self.record.go_to_evidence(lack.evidence) if lack.evidence else self.record.go_to_head(lack.field)
        else:
            self._to_bench()

    def _find(self) -> None:
        self._show_side(self.column)
        self.column.field.setFocus()
        self.column.field.selectAll()

    def _to_lacking(self) -> None:
        self._show_side(self.column)
        (self.column.lacking if self._lacks else self.column.field).setFocus()

    def _tab_before(self) -> None:
        (self.form if self.face == "form" else self.workbook).turn(-1)

    def _tab_after(self) -> None:
        (self.form if self.face == "form" else self.workbook).turn(1)

    # --- keys, focus and look ---------------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc stops what is being done, else it leaves the left side."""
        if event.key() != Qt.Key.Key_Escape:
            super().keyPressEvent(event)
        elif self.doing.stop():
            pass
        elif self.column.isAncestorOf(self.focusWidget()) and self.at_hand is not None:
            self._focus_face()
        else:
            super().keyPressEvent(event)

    def _focus_face(self) -> None:
        """To what is shown; without a sheet there is nothing, and letters find one."""
        if not self._wanted:
            self._find()
            return
        self._show_side(self._side)
        shown = self._stack.currentWidget()
        if shown is not None:
            shown.setFocus()

    def _narrow(self) -> bool:
        return self.width() * 100 / self.house.theme.scale < NARROW

    def _show_side(self, side: QWidget) -> None:
        """In a narrow room, one side at a time."""
        narrow = self._narrow()
        self.column.setVisible(not narrow or side is self.column)
        self._side.setVisible(not narrow or side is self._side)

    def _fold(self) -> None:
        """What the room is too small for is left out."""
        theme = self.house.theme
        wide, high = (side * 100 / theme.scale for side in (self.width(), self.height()))
        narrow = wide < NARROW
        self._show_side(self.column if narrow and self.column.isAncestorOf(self.focusWidget()) else self._side)
        if narrow:
            self.column.setMinimumWidth(0)
            self.column.setMaximumWidth(16_777_215)
        else:
            self.column.setFixedWidth(theme.px(min(max(wide * LEFT, LEFT_LEAST), LEFT_MOST)))
        self._about.setVisible(wide >= NARROW)
        self._hint.setVisible(high >= 420)
        self._layout.setContentsMargins(
            *(theme.px(side) for side in ((24, 16, 24, 12) if high >= 420 else (12, 6, 12, 4)))
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def take_theme(self, theme: Theme) -> None:
        """Show another theme or scale."""
        self._layout.setSpacing(theme.px(22))
        self._right.setSpacing(theme.px(8))
        self._head.setSpacing(theme.px(14))
        for part in (self.column, self.strip, self.doing, *self.faces.values()):
            part.take_theme(theme)  # type: ignore[attr-defined]
        self._fold()
        self.update()
