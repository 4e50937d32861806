"""A record of the crib written: anew from a template, as a copy, or changed, until it is handed in."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QObject

from app.background.worker import Failure
from app.crib import questions
from app.window.house import House
from inspection.instruments.changes import older_certificate, same_table_of_another
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.templates import copied, from_template, in_series, templates
from inspection.words.say import word
from storage.book.clock import wall_clock

if TYPE_CHECKING:
    from app.crib.room import CribRoom


class Writing(QObject):
    """Opens the form beside the list on a record, and hands in what it holds."""

    def __init__(self, house: House, room: CribRoom) -> None:
        super().__init__(room)
        self._house, self._room = house, room

    def edit(self) -> None:
        """Take the template that is chosen, or edit the record."""
        room, line = self._room, self._room.line()
        if room.side.fills_in():
            return
        if line is None:
            room.none_chosen()
        elif room.picking:
            self._fill_from(templates_by_tag()[line.identity])
        elif (instrument := room.instrument()) is not None:
            title = word("crib.form.edit", tag=instrument.tag)
            self._open(instrument, title, base=instrument, at="due" if instrument.due else "name")

    def copy(self) -> None:
        """Begin a record as a copy of the one that is chosen."""
        instrument = self._room.instrument()
        if instrument is None:
            self._room.none_chosen()
        elif self.may_leave():
            title = word("crib.form.copy", tag=instrument.tag)
            self._open(copied(instrument, self._taken()), title, base=None, at="tag")

    def enter_whole(self) -> None:
        """Enter all templates at once."""
        if self.may_leave():
            self._room.doing.enter_whole_crib(wall_clock().day)
            if self._room.picking:
                self._room.pick_or_not(picking=False)

    def _fill_from(self, template: Instrument) -> None:
        made = from_template(template, tag=in_series(template.tag, self._taken()))
        title = word("crib.form.new", name=template.name)
        self._open(made, title, base=None, at="tag")

    def _taken(self) -> set[str]:
        shop = self._house.shop
        return {one.tag for one in shop.crib.values()} if shop is not None else set()

    def _open(self, record: Instrument, title: str, *, base: Instrument | None, at: str) -> None:
        side = self._room.side
        side.turn_to(side.form)
        side.form.show_record(record, title, base=base, at=at)

    # --- handed in ------------------------------------------------------------------------------------------------

    def keep(self) -> None:
        """Keep what the form holds, if it is open."""
        if self._room.side.fills_in():
            self._room.side.form.keep()

    def hand_in(self, record: Instrument) -> None:
        """Issue a record, after what may have been overlooked was asked."""
        shop, room = self._house.shop, self._room
        held = shop.crib.get(record.identity) if shop is not None else None
        if held is not None and record == held:
            self._house.notice(word("crib.form.same", tag=record.tag))
            room.back_to_list()
            return
        if field := self._looked_at_again(record, held):
            room.side.form.stand_at(field)
            return
        said = word("crib.form.kept" if record.identity else "crib.form.entered", tag=record.tag)
        room.doing.issue(record, said, refused=self._not_kept, then=room.show_kept)

    def _looked_at_again(self, record: Instrument, held: Instrument | None) -> str:
        """The field that the person goes back to, asked about what may have been overlooked; "" for none."""
        lost_due = not record.due and (held is None or bool(held.due)) and record.kind in _calibrated()
        if lost_due and not questions.ask_without_due(self._room, record):
            return "due"
        if held is not None and older_certificate(held, record) and not questions.ask_older(self._room, held, record):
            return "certified"
        if held is None or not same_table_of_another(held, record):
            return ""
        return "" if questions.ask_same_points(self._room, held, record) else "points"

    def _not_kept(self, failure: Failure) -> None:
        if failure.reasons:
            self._room.side.form.refuse(failure.reasons)
        else:
            self._house.fail(failure)

    # --- left -----------------------------------------------------------------------------------------------------

    def may_leave(self) -> bool:
        """Whether the form may be put away; asked if something was typed into it."""
        side = self._room.side
        if not side.fills_in():
            return True
        if side.form.is_changed() and not questions.ask_leaving(self._room):
            return False
        side.turn_to(side.record)
        return True

    def leave(self) -> None:
        """Put the form away, and go back to the list."""
        if self.may_leave():
            self._room.back_to_list()


@cache
def templates_by_tag() -> Mapping[str, Instrument]:
    """Templates by tag, which stands for their identity in the list."""
    return {one.tag: replace(from_template(one, tag=one.tag), identity=one.tag) for one in templates()}


@cache
def _calibrated() -> frozenset[InstrumentKind]:
    """Kinds that need a due date, as the templates have it."""
    return frozenset(one.kind for one in templates() if one.due)
