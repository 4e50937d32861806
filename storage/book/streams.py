"""Checking what is told apart by stream: rows against the journal they follow from, seals against the sheet then."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import select

from inspection.attached import Attached
from inspection.drawing.plan import Plan
from inspection.reasons import Part, Reason, Refused
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.canonical.forms import read_content, said_by
from inspection.sheet.evolve import Step, fold_sheet, fold_shop, fold_study
from inspection.sheet.state import Sheet, Shop
from inspection.studies.conducted import Conducted
from storage.book.attached import attached_of
from storage.book.chain import read_row, rows_in_order
from storage.book.engines import Engines
from storage.book.glance import SHOP
from storage.book.held import plans_in
from storage.book.projection import Row, Where, rows_of
from storage.book.tables import PROJECTION, journal
from storage.book.tally import Tally, tally_after
from storage.seals.check import check_signature

_Key = tuple[str, int, int]


class Replay(Struct):
    """One stream gone through from its first entry: the rows it should have, the sheet or gauge study it came to, the
    files it names by digest, and what was found on the way."""

    rows: list[Row] = []
    sheet: Sheet | None = None
    study: Conducted | None = None
    files: dict[str, Attached] = {}
    statements: list[Reason] = []
    faults: list[Reason] = []


class Stories:
    """The streams of a book, replayed one at a time; the shop's is kept, for seals name people as they were."""

    def __init__(self, engines: Engines) -> None:
        self._engines = engines
        self._shop = list(self._records(SHOP))

    def check(self, stream: str) -> Replay:
        """Replay one stream and compare its rows, as values, with those in the tables."""
        replay = Replay()
        try:
            self._play(stream, replay)
        except (KeyError, ValueError, StopIteration):
            replay.faults.append(Reason("verify.stream_unfoldable", {"stream": stream}))
            return replay
        replay.faults += _compared(replay, self._stored(stream), self._names(replay))
        return replay

    def shop_at(self, sequence: int) -> Shop:
        """The shop as it stood before this entry."""
        return fold_shop(Shop(), [step for place, record in self._shop if place < sequence for step in _steps(record)])

    def _records(self, stream: str) -> Iterator[tuple[int, Record]]:
        for row in rows_in_order(self._engines, stream):
            record = read_row(row)
            if record is not None:
                yield row["sequence"], record

    def _play(self, stream: str, replay: Replay) -> None:
        tally: Tally | None = None
        plans: Mapping[str, Plan] = {}
        for sequence, record in self._records(stream):
            before, stood = replay.sheet, tally
            made = next((event for event in record.events if isinstance(event, ev.SheetMade)), None)
            if made is not None:
                plans = self._plans(made.part_identity)
            if before is not None or made is not None:
                replay.sheet = fold_sheet(before, _steps(record), plans)
                tally = tally_after(tally, before, replay.sheet, record.events)
            if replay.study is not None or any(isinstance(each, ev.GaugeStudyStarted) for each in record.events):
                replay.study = fold_study(replay.study, _steps(record))
            part = replay.sheet.plan.part_identity if replay.sheet else ""
            replay.rows += rows_of(record.events, Where(sequence, record.entry, stream, part), tally, stood)
            replay.files |= {one.digest: one for one in attached_of(record.act)}
            for event in record.events:
                if isinstance(event, ev.SheetSealed) and before is not None:
                    self._check_seal(event, record.entry, before, self.shop_at(sequence), replay)
                if isinstance(event, ev.StatementSigned) and before is not None:
                    self._check_statement(event, record.entry, before, self.shop_at(sequence), replay)

    def _plans(self, part: str) -> dict[str, Plan]:
        return {name: plan for _, record in self._records(part) for name, plan in plans_in(record.events).items()}

    def _check_statement(
        self, event: ev.StatementSigned, entry: ev.Entry, sheet: Sheet, shop: Shop, replay: Replay
    ) -> None:
        """A statement's digest and signature over its bytes, its signer, and its content against the sheet then."""
        about: dict[str, Part] = {
            **self._about(event.round, entry, sheet, shop),
            "statement": f"statement.{event.kind.name.lower()}",
        }
        faults = [*self._signed(event.content, event.digest, event.signature, entry, shop, about)]
        try:
            held = form_4.read_statement(event.content)
            now = form_4.statement_of(shop, sheet, entry, held.program, event.kind, held.words, held.baseline)
        except (msgspec.DecodeError, KeyError, IndexError):
            faults.append(Reason("seal.unreadable_content", {"digest": event.digest[:16]}))
        else:
            said = (name for name in held.__struct_fields__ if name != "form")  # a later form only adds to it
            names = (name for name in said if getattr(held, name) != getattr(now, name))
            faults += [Reason("verify.statement_differs", {**about, "field": name}) for name in names]
        replay.faults += faults
        if not faults:
            replay.statements.append(Reason("verify.statement_holds", {**about, "digest": event.digest}))

    def _about(self, of_round: int, entry: ev.Entry, sheet: Sheet, shop: Shop) -> dict[str, Part]:
        person = shop.people.get(entry.person)
        name = person.name if person else entry.person
        return {"person": name, "round": of_round, "number": sheet.plan.part.number}

    def _signed(
        self, text: str, kept: str, signature: ev.Signature, entry: ev.Entry, shop: Shop, about: dict[str, Part]
    ) -> Iterator[Reason]:
        """What stands against a signature in the journal: over the bytes, by the person's own certificate then."""
        content, person = text.encode("utf-8", "surrogatepass"), shop.people.get(entry.person)
        own = person is not None and signature.certificate == person.certificate
        against = [*check_signature(content, signature, entry.at, named=own)]
        if digest(content) != kept:
            against.append(Reason("seal.digest_differs", {"digest": kept[:16]}))
        yield from against
        if against:  # these speak of a signature alone; a reader wants to know of which sheet
            yield Reason("verify.signature_fails", about)
        if not own:
            yield Reason("verify.other_certificate", about)

    def _check_seal(self, event: ev.SheetSealed, entry: ev.Entry, sheet: Sheet, shop: Shop, replay: Replay) -> None:
        """The seal's digest and signature over its bytes, its signer, and its content against the sheet then."""
        about = self._about(event.round, entry, sheet, shop)
        faults = [*self._signed(event.content, event.digest, event.signature, entry, shop, about)]
        faults += _content_faults(event, entry, sheet, shop, about)
        replay.faults += faults
        if not faults:
            replay.statements.append(Reason("verify.seal_holds", {**about, "digest": event.digest}))

    def _stored(self, stream: str) -> dict[_Key, dict[str, Any]]:
        found: dict[_Key, dict[str, Any]] = {}
        for name, table in PROJECTION.items():
            mine = select(journal.c.sequence).where(journal.c.stream == stream)
            query = select(table).where(table.c.sequence.in_(mine))
            with self._engines.reading.begin() as connection:
                rows = connection.execute(query).mappings().all()
            found |= {(name, row["sequence"], row["place"]): dict(row) for row in rows}
        return found

    def _names(self, replay: Replay) -> _Names:
        sheet = replay.sheet
        if sheet is None:
            return _Names()
        numbers = {row.identity: row.number for row in sheet.plan.characteristics}
        serials = {piece.identity: piece.serial for piece in sheet.pieces}
        cells = {reading.identity: reading for reading in sheet.readings.values()}
        return _Names(sheet.plan.part.number, numbers, serials, cells)


def _steps(record: Record) -> list[Step]:
    return [(event, record.entry) for event in record.events]


def _content_faults(
    event: ev.SheetSealed, entry: ev.Entry, sheet: Sheet, shop: Shop, about: dict[str, Part]
) -> list[Reason]:
    try:
        sealed = read_content(event.content)
    except (msgspec.DecodeError, UnicodeDecodeError, Refused):
        return [Reason("seal.unreadable_content", {"digest": event.digest[:16]})]
    expected = form_4.content_of(shop, sheet, entry, sealed.program, event.incomplete)
    differing = [name for name in said_by(sealed) if getattr(sealed, name) != getattr(expected, name)]
    faults = [Reason("verify.seal_differs", {**about, "field": name}) for name in differing]
    return faults + _rows_differing(sealed, expected, differing, sheet, about)


def _rows_differing(
    sealed: form_4.Content, expected: form_4.Content, differing: list[str], sheet: Sheet, about: dict[str, Part]
) -> list[Reason]:
    """The rows and pieces whose readings, verdicts or notes are not those that were signed."""
    numbers = {row.identity: row.number for row in sheet.plan.characteristics}
    serials = {piece.identity: piece.serial for piece in sheet.pieces}
    touched: dict[tuple[str, str], None] = {}
    for name in ("readings", "cells", "notes", "questions"):
        if name in differing:
            signed, now = getattr(sealed, name), getattr(expected, name)
            odd = [one for one in (*signed, *now) if one not in signed or one not in now]
            touched |= {(one.characteristic, one.piece): None for one in odd}
    return [
        Reason(
            "verify.sealed_row_differs",
            {**about, "row": numbers.get(characteristic, "-"), "serial": serials.get(piece, "-")},
        )
        for characteristic, piece in touched
        if characteristic
    ]


# --- rows -----------------------------------------------------------------------------------------------------


class _Names(Struct, frozen=True):
    """What rows are called by on their sheet: part number, balloon numbers, serials, and readings by identity."""

    part: str = ""
    numbers: Mapping[str, str] = {}
    serials: Mapping[str, str] = {}
    readings: Mapping[str, Any] = {}

    def place(self, row: dict[str, Any]) -> tuple[str, dict[str, Part]]:
        """How a row's place is told: "row" (with number and serial), "sheet" or "book"; and its parts."""
        parts: dict[str, Part] = {"entry": row["sequence"], "part": self.part}
        of = self.readings.get(row.get("reading", ""))
        characteristic = row.get("characteristic") or (of.characteristic if of else "")
        piece = row.get("piece") or (of.piece if of else "")
        if self.part and characteristic in self.numbers:
            return "row", {**parts, "number": self.numbers[characteristic], "serial": self.serials.get(piece, "-")}
        return ("sheet" if self.part else "book"), parts


def _compared(replay: Replay, stored: dict[_Key, dict[str, Any]], names: _Names) -> list[Reason]:
    expected = {(name, row["sequence"], row["place"]): row for name, row in replay.rows}
    faults = [_fault("missing", key, expected[key], names) for key in expected.keys() - stored.keys()]
    faults += [_fault("added", key, stored[key], names) for key in stored.keys() - expected.keys()]
    for key in expected.keys() & stored.keys():
        for column, value in expected[key].items():
            if stored[key][column] != value:
                told = {"column": column, "stored": str(stored[key][column]), "expected": str(value)}
                faults.append(_fault("changed", key, expected[key], names, **told))
    return sorted(faults, key=lambda fault: (fault.parts["entry"], fault.code))


def _fault(kind: str, key: _Key, row: dict[str, Any], names: _Names, **told: str) -> Reason:
    scope, parts = names.place(row)
    return Reason(f"verify.{kind}.{scope}", {"what": f"book.table.{key[0]}", **parts, **told})
