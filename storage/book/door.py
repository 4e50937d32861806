"""The door: the only writer of a book.

An act goes through it in one transaction: the lock is taken, entries that others wrote meanwhile are folded, the
rules decide, journal and rows are written, and only after the commit does the held state move on. It is synchronous
and knows no thread; a book belongs to one thread at a time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Connection, insert

from inspection.drawing.plan import Plan
from inspection.instruments.record import Instrument
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet import events as ev
from inspection.sheet.acts import Act, AnyAct
from inspection.sheet.canonical.form_4 import read_entry, write_entry
from inspection.sheet.chain_head import ChainHead
from inspection.sheet.events import Entry, Event
from inspection.sheet.life import decide, follow_ups, other_named
from inspection.sheet.sheet_life import Sign
from inspection.sheet.state import Sheet, Shop
from inspection.studies.conducted import Conducted
from storage.book import held as holding
from storage.book import journal
from storage.book.attached import attached_rows
from storage.book.backup import Between, back_up
from storage.book.clock import Clock, Identities, new_identity, wall_clock
from storage.book.counted_use import used_up_of, with_use
from storage.book.engines import driver_connection
from storage.book.failures import telling
from storage.book.glance import CHECKS, SHOP, Glance
from storage.book.held import Held
from storage.book.journal import Kept
from storage.book.meanwhile import second_hands
from storage.book.opening import Opened, make_book, may_be_written, open_book
from storage.book.outcome import Outcome, changes
from storage.book.projection import rows_of
from storage.book.queries.earlier_of_sheet import earlier_of_sheet
from storage.book.queries.gauge_studies import studies_of_title
from storage.book.queries.heads import head_now, head_to_carry
from storage.book.queries.instrument_uses import sheets_read_with, uses_by_others
from storage.book.rows import Where
from storage.book.tables import PROJECTION, attached_file

P = ParamSpec("P")
T = TypeVar("T")


class ActsRefused(Refused):
    """Several acts were handed in together and none was carried out; ``by_act`` maps the place of each refused one
    (counted from 0) to its reasons, ``reasons`` holds them all."""

    def __init__(self, by_act: Mapping[int, tuple[Reason, ...]]) -> None:
        super().__init__(*(reason for reasons in by_act.values() for reason in reasons))
        self.by_act = by_act


class _Sitting(Struct):
    """One transaction under way: the state as it would be, and what is to be written."""

    connection: Connection
    held: Held
    station_sequence: int
    files: Mapping[str, bytes]
    journal_rows: list[dict[str, Any]] = []
    rows: list[tuple[str, dict[str, Any]]] = []
    attached_rows: list[dict[str, Any]] = []


class Book:
    """A book that is open. ``notices`` are what is to be said about its opening (recovered, moved to a newer schema).

    ``clock`` gives the moment of each entry, ``identities`` its UUID; ``station`` names the place of work.
    """

    def __init__(
        self, path: Path, opened: Opened, clock: Clock, identities: Identities, station: str, look: Glance | None = None
    ) -> None:
        self.path = path
        self.notices = opened.notices
        self.station = station
        self._engines = opened.engines
        self._clock = clock
        self._identities = identities
        self._keep_head: Callable[[], None] | None = None
        with telling(path), self._engines.reading.begin() as connection:
            seen = holding.held_from(connection, look) if look is not None else None
            self._held = _counted(connection, seen or holding.first_held(connection, path))

    @classmethod
    def new(
        cls, path: Path, *, clock: Clock = wall_clock, identities: Identities = new_identity, station: str = ""
    ) -> Book:
        """Make an empty book and open it; OpenShop is then its first act. Raises BookFailure, and an existing file
        is never touched."""
        make_book(path)
        return cls.open(path, clock=clock, identities=identities, station=station)

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        clock: Clock = wall_clock,
        identities: Identities = new_identity,
        station: str = "",
        look: Glance | None = None,
        only_read: bool = False,
    ) -> Book:
        """Open the book at ``path``, going on from a first look at it if there was one. Where ``only_read`` says that
        nothing will be written, a book that may only be read is opened too; any other as always, brought up to date.

        Raises BookFailure with the reason; the file then keeps every byte.
        """
        opened = open_book(path, writable=not only_read or may_be_written(path))
        try:
            return cls(path, opened, clock, identities, station, look)
        except BaseException:
            opened.engines.close()
            raise

    def close(self) -> None:
        """Close the book; closing twice does nothing."""
        keep, self._keep_head = self._keep_head, None
        if keep is not None:
            keep()
        self._engines.close()

    def keep_head_by(self, keep: Callable[[], None]) -> None:
        """Call ``keep`` after each signature, statement and file, and before the book is closed: what keeps the head
        of the chain outside the book."""
        self._keep_head = keep

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # --- acts -----------------------------------------------------------------------------------------------------

    def do(
        self,
        act: AnyAct,
        *,
        person: str,
        based_on: str = "",
        sign: Sign | None = None,
        files: Mapping[str, bytes] | None = None,
    ) -> Outcome:
        """Carry out one act by ``person``; when this returns it is on disk.

        ``based_on`` is the journal entry the person saw last; ``sign`` signs canonical bytes where the act asks for
        it; ``files`` holds the bytes of the files that the act names, by SHA-256 in hex. Raises Refused (the rules)
        or BookFailure (the world); nothing was written then.
        """
        with telling(self.path):
            held, outcomes = self._carry_out([act], person, based_on, sign, files or {})
        self._held = held
        if self._keep_head is not None and isinstance(act, _KEPT_OUTSIDE):
            self._keep_head()
        return outcomes[0]

    def do_all(
        self,
        together: Sequence[AnyAct],
        *,
        person: str,
        based_on: str = "",
        sign: Sign | None = None,
        files: Mapping[str, bytes] | None = None,
    ) -> tuple[Outcome, ...]:
        """Carry out several acts in one transaction, each an entry of its own: all of them or none.

        Raises ActsRefused with the reasons of every refused act, or BookFailure; nothing was written then.
        """
        with telling(self.path):
            held, outcomes = self._carry_out(together, person, based_on, sign, files or {})
        self._held = held
        return outcomes

    def _carry_out(
        self,
        together: Sequence[AnyAct],
        person: str,
        based_on: str,
        sign: Sign | None,
        files: Mapping[str, bytes],
    ) -> tuple[Held, tuple[Outcome, ...]]:
        with self._engines.writing.begin() as connection:
            end = journal.head(connection, self.station)
            held = self._held
            if end.sequence != held.sequence:
                held = _counted(connection, holding.caught_up(connection, self.path, held))
            sitting = _Sitting(connection, held, end.station_sequence, files)
            outcomes = self._decide_all(sitting, together, person, based_on, sign)
            _write(sitting)
        return sitting.held, outcomes

    def _decide_all(
        self, sitting: _Sitting, together: Sequence[AnyAct], person: str, based_on: str, sign: Sign | None
    ) -> tuple[Outcome, ...]:
        outcomes = []
        refused: dict[int, tuple[Reason, ...]] = {}
        for place, act in enumerate(together):
            try:
                outcome = self._decide(sitting, act, person, based_on, sign)
                outcomes.append(replace(outcome, followed=self._follow(sitting, act, outcome, person)))
            except Refused as refusal:
                if len(together) == 1:
                    raise
                refused[place] = refusal.reasons
        if refused:
            raise ActsRefused(refused)
        return tuple(outcomes)

    def _decide(self, sitting: _Sitting, act: AnyAct, person: str, based_on: str, sign: Sign | None) -> Outcome:
        """Decide one act and note what is to be written; the sitting moves on as if it were on disk."""
        held, plans = self._what_it_needs(sitting, act)
        sheet = held.sheets.get(act.sheet) if isinstance(act, acts.OnSheet) else None
        moment = self._clock()
        entry = Entry(
            identity=self._identities(),
            person=person,
            at=moment.at,
            day=moment.day,
            station=self.station,
            based_on=based_on,
            previous=held.digest,
        )
        held, other = self._other(sitting, held, act, sheet)
        held, study = _study_named(sitting, self.path, held, act)
        elsewhere = partial(uses_by_others, sitting.connection)
        earlier = partial(earlier_of_sheet, sitting.connection)
        by_use = _by_use(held.shop, sheet, act)
        shop = _as_used(sitting, held.shop, by_use, act) if by_use else held.shop
        events = decide(shop, sheet, plans, act, entry, sign, elsewhere, other, earlier, study)
        waiting = [row["digest"] for row in sitting.attached_rows]
        sitting.attached_rows += attached_rows(sitting.connection, act, sitting.files, held.sequence + 1, waiting)
        notices = second_hands(sitting.connection, held.shop, sheet, act, entry) if sheet is not None else ()
        outcome = _noted_down(sitting, held, act, entry, events, notices)
        if not by_use and not isinstance(act, _ISSUING):
            return outcome
        _write(sitting)  # what was read just now counts
        sitting.held = _counted(sitting.connection, sitting.held)
        return replace(outcome, shop=sitting.held.shop)

    def _other(self, sitting: _Sitting, held: Held, act: Act, sheet: Sheet | None) -> tuple[Held, Sheet | None]:
        """The held state with the further sheet that an act speaks of, and that sheet."""
        name = other_named(act, sheet)
        if not name:
            return held, None
        if name not in held.sheets:
            _write(sitting)  # as for the act's own
        held = holding.with_sheet(sitting.connection, self.path, held, name)
        return held, held.sheets.get(name)

    def _follow(self, sitting: _Sitting, act: AnyAct, outcome: Outcome, person: str) -> tuple[Outcome, ...]:
        """What an act brings with it on sheets, in the same transaction and by the same person."""
        followed = []
        for each in follow_ups(act, outcome.events, partial(sheets_read_with, sitting.connection)):
            done = self._decide(sitting, each, person, "", None)
            if done.events:
                followed.append(done)
        return tuple(followed)

    def _what_it_needs(self, sitting: _Sitting, act: Act) -> tuple[Held, Mapping[str, Plan]]:
        """The held state with the sheet and part that an act is about, and that part's plan issues."""
        connection, held, part = sitting.connection, sitting.held, ""
        if isinstance(act, acts.OnSheet):
            if act.sheet not in held.sheets:
                _write(sitting)  # what this sitting made may have left memory, but must be found
            held = holding.with_sheet(connection, self.path, held, act.sheet)
            part = held.sheets[act.sheet].plan.part_identity if act.sheet in held.sheets else ""
        elif isinstance(act, acts.MakeSheet):
            part = _part_in_hand(held, act.plan) or holding.part_of_plan(connection, act.plan)
        elif isinstance(act, acts.IssuePlan):
            part = act.plan.part_identity
        elif isinstance(act, acts.StartGaugeStudy):
            part = act.part
        if not part:
            return held, {}
        held = holding.with_part(connection, self.path, held, part)
        return held, held.parts[part]

    # --- asking ---------------------------------------------------------------------------------------------------

    def shop(self) -> Shop:
        """The shop as it stands."""
        return self._current().shop

    def sheet(self, identity: str) -> Sheet:
        """The sheet of this identity as it stands. Raises Refused if there is none."""
        return self._with(holding.with_sheet, identity).sheets[identity]

    def study(self, identity: str) -> Conducted:
        """The gauge study of this identity as it stands. Raises Refused if there is none."""
        studies = self._with(holding.with_study, identity).studies
        if identity not in studies:
            raise Refused(Reason("gauge.refused.unknown"))
        return studies[identity]

    def plans_of(self, *parts: str) -> Mapping[str, Plan]:
        """Every plan issue of these parts, by identity; none for an unknown part."""
        held = self._current()
        if not held.parts.keys() >= set(parts):
            with telling(self.path), self._engines.reading.begin() as connection:
                for part in parts:
                    held = holding.with_part(connection, self.path, held, part)
            self._held = held
        return {name: plan for part in parts for name, plan in held.parts[part].items()}

    def plan(self, identity: str) -> Plan:
        """The plan issue of this identity. Raises Refused if there is none."""
        part = self.ask(holding.part_of_plan, identity)
        if not part:
            raise Refused(Reason("plan.unknown"))
        return self.plans_of(part)[identity]

    def head(self) -> ChainHead:
        """The end of the chain as it stands; position 0 of an empty book."""
        return self.ask(head_now)

    def head_to_carry(self) -> ChainHead:
        """The head of the chain that files carry outside the book."""
        return self.ask(head_to_carry)

    def ask(self, question: Callable[Concatenate[Connection, P], T], *parts: P.args, **named: P.kwargs) -> T:
        """Ask one of ``storage.book.queries``: ``book.ask(list_sheets, limit=50)``. Raises BookFailure."""
        with telling(self.path), self._engines.reading.begin() as connection:
            return question(connection, *parts, **named)

    def back_up(self, to: Path, between: Between | None = None) -> None:
        """Copy the book to a new file in small steps; ``between(done, total)`` is called after each and may carry out
        acts. Raises BookFailure; nothing is left at ``to`` then."""
        back_up(driver_connection(self._engines.reading), self.path, to, between)

    def _current(self) -> Held:
        with telling(self.path), self._engines.reading.begin() as connection:
            if journal.head(connection, self.station).sequence != self._held.sequence:
                self._held = _counted(connection, holding.caught_up(connection, self.path, self._held))
        return self._held

    def _with(self, load: Callable[[Connection, Path, Held, str], Held], identity: str) -> Held:
        self._current()
        with telling(self.path), self._engines.reading.begin() as connection:
            held = load(connection, self.path, self._held, identity)
        if load is holding.with_sheet and identity not in held.sheets:
            raise Refused(Reason("sheet.unknown"))
        self._held = held
        return held


def _counted(connection: Connection, held: Held) -> Held:
    """The held state with what of the crib was read as often as it may be."""
    shop = with_use(connection, held.shop)
    return held if shop is held.shop else replace(held, shop=shop)


def _by_use(shop: Shop, sheet: Sheet | None, act: Act) -> list[Instrument]:
    """The instruments of a reading that are calibrated by how often they are read; none for other acts."""
    if not isinstance(act, acts.TakeReading) or sheet is None:
        return []
    assignment = sheet.assignments.get(act.characteristic)
    assigned = assignment.assessment.method if assignment and assignment.assessment else None
    method = act.method or assigned
    held = (shop.crib.get(part.identity) for part in method.parts) if method is not None else ()
    return [one for one in held if one is not None and one.every_readings]


def _as_used(sitting: _Sitting, shop: Shop, by_use: Sequence[Instrument], act: Act) -> Shop:
    """The shop as it was for a reading: which of its instruments had been read as often as they may be by then."""
    _write(sitting)  # what this sitting read before counts too
    until = act.taken if isinstance(act, acts.TakeReading) else None
    return replace(shop, used_up=used_up_of(sitting.connection, by_use, until))


def _study_named(sitting: _Sitting, path: Path, held: Held, act: Act) -> tuple[Held, Conducted | None]:
    """The held state with the gauge study that an act is about, and that study."""
    if isinstance(act, acts.StartGaugeStudy):
        return _study_of_title(sitting, path, held, act.title)
    if not isinstance(act, acts.OnStudy | acts.TakeStudyIntoUse):
        return held, None
    if act.study not in held.studies:
        _write(sitting)  # as for sheets
    held = holding.with_study(sitting.connection, path, held, act.study)
    return held, held.studies.get(act.study)


def _study_of_title(sitting: _Sitting, path: Path, held: Held, title: str) -> tuple[Held, Conducted | None]:
    """The held state, and the study of a title that is still under way."""
    _write(sitting)  # what this sitting started counts
    for name in studies_of_title(sitting.connection, title):
        held = holding.with_study(sitting.connection, path, held, name)
        if not held.studies[name].is_told:
            return held, held.studies[name]
    return held, None


#: After these the head of the chain is kept outside the book.
_KEPT_OUTSIDE = (acts.SignSheet, acts.MakeStatement, acts.KeepDocument, acts.RecordSent)


def _part_in_hand(held: Held, plan: str) -> str:
    return next((part for part, plans in held.parts.items() if plan in plans), "")


#: After these an instrument may have a certificate or an interval of another kind.
_ISSUING = (acts.IssueInstrument, acts.IssueInstruments)
_PROVING = (acts.RecordCheck, acts.ReportUpset, acts.RecordStudy, acts.TakeStudyIntoUse, acts.WithdrawStudy)


def _stream_of(act: Act, events: Iterable[Event]) -> str:
    """What an entry belongs to: the sheet or gauge study it is on or makes, the part it plans, the checks, or the
    shop."""
    if isinstance(act, acts.OnSheet):
        return act.sheet
    if isinstance(act, acts.OnStudy):
        return act.study
    for event in events:
        if isinstance(event, ev.SheetMade):
            return event.sheet
        if isinstance(event, ev.PlanIssued):
            return event.plan.part_identity
        if isinstance(event, ev.GaugeStudyStarted):
            return event.study.identity
    return CHECKS if isinstance(act, _PROVING) else SHOP


def _noted_down(
    sitting: _Sitting, held: Held, act: AnyAct, entry: Entry, events: tuple[Event, ...], notices: tuple[Reason, ...]
) -> Outcome:
    """Note an entry's bytes and rows. What is held from now on is read from those very bytes.

    What followed from another entry and changes nothing is no entry.
    """
    if not events:
        return Outcome(entry.identity, held.sequence, entry.at, _stream_of(act, events), (), frozenset(), held.shop)
    stream, sequence, own = _stream_of(act, events), held.sequence + 1, sitting.station_sequence + 1
    content = write_entry(stream=stream, sequence=own, entry=entry, act=act, events=cast(Any, events))
    record = read_entry(content)
    row = journal.columns_of(record, sequence, content)
    if holding.plans_in(record.events) and stream not in held.parts:
        held = replace(held, parts={**held.parts, stream: {}})
    before = held.tallies.get(stream)
    held = holding.moved_on(held, Kept(sequence, row["digest"], record))
    sheet = held.sheets.get(stream)
    part = sheet.plan.part_identity if sheet else ""
    sitting.journal_rows.append(row)
    sitting.rows += rows_of(record.events, Where(sequence, entry, stream, part), held.tallies.get(stream), before)
    sitting.held, sitting.station_sequence = held, own
    changed = changes(record.events)
    return Outcome(entry.identity, sequence, entry.at, stream, record.events, changed, held.shop, sheet, notices)


def _write(sitting: _Sitting) -> None:
    """One statement for the journal and one for each table that has rows, however many."""
    if not sitting.journal_rows:
        return
    journal.append(sitting.connection, sitting.journal_rows)
    by_table: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for table, columns in sitting.rows:
        by_table[table].append(columns)
    for table, rows in by_table.items():
        sitting.connection.execute(insert(PROJECTION[table]), rows)
    if sitting.attached_rows:
        sitting.connection.execute(insert(attached_file), sitting.attached_rows)
    sitting.journal_rows, sitting.rows, sitting.attached_rows = [], [], []
