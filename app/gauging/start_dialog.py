"""What a new gauge study is of: instrument, people, parts, how often."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.gauging.opening import AtHand
from app.jobs.studying import reader_named
from app.parts.act_dialog import ActDialog
from app.window.house import House
from inspection.instruments.record import Instrument
from inspection.measuring.checks import configured
from inspection.quantity.reader import read
from inspection.reasons import Refused
from inspection.sheet.acts import StartGaugeStudy
from inspection.sheet.study_entry import specimens_in
from inspection.studies.conducted import StudyKind
from inspection.words.say import word

#: How many parts and times a study of each kind is proposed with; common practice. Standards and parts that are known
#: to be good or bad are for the person to name.
PROPOSED = {StudyKind.CROSSED: ("10", "3"), StudyKind.STANDARDS: ("", "10"), StudyKind.ATTRIBUTE: ("", "3")}


class StartDialog(ActDialog):
    """Asks for all of it at once; what cannot be is said below, and everything typed stays."""

    def __init__(self, house: House, parent: QWidget, at_hand: AtHand) -> None:
        super().__init__(
            house, parent, word("gauge.start.title"), word("gauge.start.text"), yes=word("gauge.start.yes")
        )
        self._at_hand = at_hand
        shop = house.shop
        assert shop is not None
        kinds = [(kind.value, word(f"gauge.kind.{kind.value}")) for kind in StudyKind]
        me = shop.people[house.person].name if house.person in shop.people else ""
        self.title = self.add_line(word("gauge.start.name"), hint=word("gauge.start.name.like"))
        self.instrument = self.add_line(word("gauge.start.instrument"), at_hand.tag)
        self.fitted = self.add_line(word("gauge.start.fitted"))
        held = shop.by_tag(at_hand.tag)
        fixed = held is not None and not held.resolution and not held.read_over
        self.kind = self.add_choice(word("gauge.start.kind"), kinds, StudyKind.ATTRIBUTE if fixed else "")
        self.people = self.add_line(word("gauge.start.people"), me, hint=word("gauge.start.people.like"))
        self.parts = self.add_line(word("gauge.start.parts"))
        self.trials = self.add_line(word("gauge.start.trials"))
        self.band = self.add_line(word("gauge.start.band"), hint=word("gauge.start.band.like"))
        row = word("gauge.start.row.this", number=at_hand.number, written=at_hand.written)
        rows = [("this", row), ("", word("gauge.start.row.none"))]
        self.row = self.add_choice(word("gauge.start.row"), rows if at_hand.number else rows[1:], "this")
        self._propose()
        self.kind.currentIndexChanged.connect(lambda _index: self._propose())
        self.title.setFocus()

    def _propose(self) -> None:
        """What a study of this kind is usually made of, where nothing else was typed, and how its parts are written."""
        kind = StudyKind(self.kind.currentData())
        for place, line in enumerate((self.parts, self.trials)):
            if line.text() in {"", *(each[place] for each in PROPOSED.values())}:
                line.setText(PROPOSED[kind][place])
        self.row.setCurrentIndex(max(self.row.findData("" if kind is StudyKind.STANDARDS else "this"), 0))
        self.parts.setPlaceholderText(word(f"gauge.start.parts.like.{kind.value}"))
        self.parts.setToolTip(self.parts.placeholderText())

    def act(self) -> StartGaugeStudy | None:
        """The act as typed; None where something cannot be read, which is said."""
        if any(self.needs(line) for line in (self.title, self.instrument, self.people, self.parts)):
            return None
        shop, tag = self.house.shop, self.instrument.text().strip()
        assert shop is not None
        instrument = shop.by_tag_typed(tag)
        if instrument is None:
            self._wrong(word("command.tag_unknown", tag=tag[:60]), self.instrument)
            return None
        if not self.trials.text().strip().isdecimal():
            self._wrong(word("gauge.start.trials_no", text=self.trials.text()[:20]), self.trials)
            return None
        try:
            return self._made(instrument)
        except Refused as refused:
            self._wrong(self.house.say(*refused.reasons), None)
            return None

    def _made(self, instrument: Instrument) -> StartGaugeStudy:
        kind, unit = StudyKind(self.kind.currentData()), instrument.unit
        labels = [each.strip() for each in self.parts.text().replace(";", ",").split(",") if each.strip()]
        band, of = self.band.text().strip(), self._at_hand if self.row.currentData() else AtHand()
        return StartGaugeStudy(
            kind=kind,
            title=self.title.text(),
            instrument=instrument.identity,
            configuration=configured(instrument, unit, self.fitted.text()),
            people=self._readers(),
            specimens=specimens_in(kind, labels, instrument, unit),
            trials=int(self.trials.text()),
            band=read(band, unit=unit, kind=instrument.quantity).count if band else of.band,
            part=of.part,
            characteristic=of.characteristic,
            number=of.number,
        )

    def _readers(self) -> tuple[str, ...]:
        shop = self.house.shop
        assert shop is not None
        return tuple(reader_named(shop, name) for name in self.people.text().split(",") if name.strip())

    def _wrong(self, sentence: str, field: QWidget | None) -> None:
        self.say(sentence)
        if field is not None:
            field.setFocus()
