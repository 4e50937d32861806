"""What a person may do to a row beside entering a reading; each asks for its reason where one is needed."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.background.worker import Failure
from app.bench import pulling, questions, showing, told, undoing, weighing
from app.bench.checks import Checks
from app.bench.flow import Flow
from app.bench.line import is_blind
from app.bench.seen import Seen
from app.bench.times import now_at
from app.bench.under_way import At
from app.bench.why_told import why_of
from app.window.asking import stay_with
from app.window.house import House
from inspection.measuring.reading import Reading
from inspection.sheet import acts
from inspection.sheet.proof_life import closing_checks_missing
from inspection.sheet.returned import to_read_anew, words_for
from inspection.words.say import word

if TYPE_CHECKING:
    from storage.book.outcome import Outcome


class Asking(QObject):
    """Correct, take back, put back, another instrument, note, order of the run."""

    def __init__(self, house: House, flow: Flow, checks: Checks, room: QWidget) -> None:
        super().__init__(room)
        self._house, self._flow, self._checks, self._room = house, flow, checks, room
        flow.ask_reason = self._ask_correction

    @property
    def _seen(self) -> Seen | None:
        return self._flow.seen

    def _named(self, reading: Reading) -> dict[str, str]:
        """A reading's row, piece and text, for a sentence."""
        assert self._seen is not None
        row = self._seen.row(reading.characteristic)
        written = reading.written or told.reading(reading, row.requirement)
        return {"number": row.number, "serial": self._seen.serial(reading.piece), "written": written}

    # --- readings ---------------------------------------------------------------------------------------------------

    def correct(self) -> None:
        """Correct a reading, once all are on disk."""
        self._flow.when_settled(self._flow.correct)

    def _ask_correction(self, at: At, text: str) -> str:
        assert self._seen is not None
        named = self._named(self._seen.sheet.readings[at.corrects])
        title = word("bench.correct.title", written=named["written"], text=text)
        about = word("bench.correct.text", number=named["number"], serial=named["serial"])
        cell = (at.row, at.piece)
        given = words_for(self._seen.sheet, cell) if cell in to_read_anew(self._seen.sheet) else ""
        return questions.ask_reason(self._room, title, about, given and word("bench.correct.returned", words=given))

    def take_back(self) -> None:
        """Take this person's last reading back, once all are on disk."""
        if self._seen is not None:
            self._flow.when_settled(self._take_back)

    def _take_back(self) -> None:
        assert self._seen is not None
        sheet, person = self._seen.sheet, self._house.person
        reading = undoing.to_take_back(sheet, person)
        if reading is None:
            self._flow.say_plainly(word("bench.take_back.none"))
            return
        named, reason = self._named(reading), ""
        if not undoing.is_last_entry(sheet, reading, person):
            about = word("bench.take_back.text", number=named["number"], serial=named["serial"])
            reason = questions.ask_reason(self._room, word("bench.take_back.title", written=named["written"]), about)
            if not reason:
                return
        act = acts.TakeBack(sheet=sheet.identity, reading=reading.identity, reason=reason)
        self._do_and_go(act, reading, word("bench.take_back.done", number=named["number"], written=named["written"]))

    def put_back(self) -> None:
        """Put back what was taken back last, once all are on disk."""
        if self._seen is not None:
            self._flow.when_settled(self._put_back)

    def _put_back(self) -> None:
        assert self._seen is not None
        sheet, person = self._seen.sheet, self._house.person
        reading = undoing.to_put_back(sheet, person)
        if reading is None:
            self._flow.say_plainly(word("bench.put_back.none"))
            return
        named, reason = self._named(reading), ""
        if sheet.withdrawn[reading.identity].by != person:
            about = word("bench.take_back.text", number=named["number"], serial=named["serial"])
            reason = questions.ask_reason(self._room, word("bench.put_back.title", written=named["written"]), about)
            if not reason:
                return
        act = acts.PutBack(sheet=sheet.identity, reading=reading.identity, reason=reason)
        self._do_and_go(act, reading, word("bench.put_back.done", number=named["number"], written=named["written"]))

    def _do_and_go(self, act: acts.OnSheet, reading: Reading, said: str) -> None:
        """Hand the act over and, once it is on disk, stand at the row and say what was done."""
        self._flow.leading.do_and_go(act, (reading.characteristic, reading.piece), said)

    # --- the row ----------------------------------------------------------------------------------------------------

    def note(self) -> None:
        """Write a note to the row, on this piece."""
        if self._seen is None:
            return
        at = self._flow.at
        text = questions.ask_note(self._room, self._seen.row(at.row).number, self._seen.serial(at.piece))
        if text:
            self._house.do(
                acts.WriteNote(sheet=self._seen.sheet.identity, characteristic=at.row, piece=at.piece, text=text)
            )

    def nonconformance(self) -> None:
        """Raise a nonconformance on rows that are out or in doubt, once everything is on disk."""
        if self._seen is not None:
            self._flow.when_settled(self._raise)

    def _raise(self) -> None:
        from app.parts.raising import raise_nonconformance  # not with the first sheet

        assert self._seen is not None
        raise_nonconformance(self._house, self._room, self._seen.sheet, self._flow.at.cell)

    def run_by(self) -> None:
        """Run by piece, or by feature over all pieces."""
        if self._seen is None:
            return
        order = "feature" if self._seen.sheet.order == "piece" else "piece"
        act = acts.RunBy(sheet=self._seen.sheet.identity, order=order)
        self._house.do(act, kept=partial(self._house_told, word(f"bench.run.{order}")))

    def _house_told(self, said: str, _outcome: Outcome) -> None:
        self._flow.say_plainly(said)

    def fetch(self) -> None:
        """What to fetch from the crib for this sheet, in pick-up order; the page of it is written if wanted."""
        worker, foreseen = self._house.worker, self._house.foreseen
        if self._seen is None or worker is None or foreseen is None:
            return
        from inspection.sheet.pull_page import pull_page

        page = pull_page(self._seen.sheet, self._seen.shop, foreseen.now().day)
        file = questions.ask_fetch(self._room, page)
        if file is not None:
            work = pulling.Fetching(self._seen.sheet.identity, file, self._house.person, foreseen, self._house.papers)
            worker.long(work.run, self._house.notice, self._house.fail)

    def sign(self) -> None:
        """Sign the sheet, once everything is on disk."""
        if self._seen is not None and not self._seen.sheet.sealed:
            self._flow.when_settled(self._sign)

    def _sign(self) -> None:
        """First the checks after use that are asked for, if the person will make them now."""
        assert self._seen is not None
        missing = closing_checks_missing(self._seen.shop, self._seen.sheet)
        if not missing or not self._checks.close(missing, self.sign):
            self._ask_and_sign()

    def _ask_and_sign(self) -> None:
        from app.parts import signing

        assert self._seen is not None
        wanted = signing.to_sign(self._seen.shop, self._seen.sheet)
        if signing.sign(self._room, self._house, wanted, self._signed, self._not_signed) is not None:
            self._flow.say_plainly(word("sign.working"))

    def _not_signed(self, failure: Failure) -> None:
        """The rules said no: a check after use that is asked for since the question was put can be made at once."""
        tags = [str(reason.parts["tag"]) for reason in failure.reasons if reason.code == "sign.closing_check"]
        if not tags or not self._checks.close(tuple(tags), self.sign):
            self._house.fail(failure)

    def _signed(self, said: str) -> None:
        """The sheet is sealed: show it so."""
        self._flow.say_plainly("")
        self._house.notice(said)
        if self._seen is not None:
            self._house.sheet_wanted.emit(self._seen.sheet.identity)

    # --- instruments ------------------------------------------------------------------------------------------------

    def instrument(self) -> None:
        """Offer the fit and the marginal methods for the row, with the others and their reasons beside."""
        if self._seen is not None:
            self._offer(weighing.weigh(self._seen, self._flow.at.row))

    def _offer(self, weighed: tuple[weighing.Weighed, ...], wanted: str = "") -> None:
        assert self._seen is not None
        at, units = self._flow.at, self._house.units
        number = self._seen.row(at.row).number
        choices = {each.method.key: each for each in weighed if each.choosable}
        barred = showing.barred_of(self._seen, at, units)
        if not choices:
            questions.tell_barred(self._room, word("bench.other.none", number=number), barred)
            return
        tell = weighing.plain_label if is_blind(self._seen, at.cell) else weighing.label
        labels = [(key, tell(each)) for key, each in choices.items()]
        asked = questions.ask_instrument(self._room, number, labels, barred, wanted or next(iter(choices)))
        if asked is not None:
            method = choices[asked[0]].method
            sheet, reason = self._seen.sheet.identity, asked[1]
            self._flow.leading.do_here(
                acts.ChooseInstrument(sheet=sheet, characteristic=at.row, method=method, reason=reason)
            )

    def scanned(self, text: str) -> None:
        """A mark was scanned: it offers that instrument for the row, or says why it cannot."""
        assert self._seen is not None
        at, shop = self._flow.at, self._seen.shop
        tagged = next((item for item in shop.crib.values() if item.tag.casefold() == text.casefold()), None)
        if tagged is None:
            self._flow.turn_down_plainly(word("bench.scan.unknown", text=text))
            return
        self._flow.entry.clear()
        here = self._seen.instrument(at.row)
        if here is not None and here.identity == tagged.identity:
            self._flow.say_plainly(word("bench.scan.in_hand", instrument=f"{here.tag} {here.name}"))
            return
        weighed = weighing.weigh(self._seen, at.row)
        own = [each for each in weighed if any(part.identity == tagged.identity for part in each.parts)]
        if not own:
            self._flow.say_plainly(word("bench.scan.not_for", tag=tagged.tag))
            return
        self._offer(weighed, wanted=own[0].method.key if own[0].choosable else "")

    def why(self) -> None:
        """Why this instrument, how far it can be trusted and what would help; all methods not chosen and why."""
        if self._seen is not None:
            from app.bench.why_dialog import WhyDialog

            told = why_of(self._seen, self._flow.at, self._house.units, now_at(self._house))
            stay_with(WhyDialog(self._room.window(), self._house.theme, told))
