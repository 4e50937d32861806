"""Checking what the journal tells: rows against the entries they follow from, seals against the sheet then."""

from __future__ import annotations

import sqlite3
from collections.abc import Container, Iterator, Mapping

from msgspec import Struct

from inspection.attached import Attached
from inspection.drawing.plan import Plan
from inspection.reasons import Reason
from inspection.sheet import events as ev
from inspection.sheet.canonical.form_4 import Record
from inspection.sheet.evolve import SheetFold, Step, fold_shop, fold_study
from inspection.sheet.head import Piece
from inspection.sheet.state import Sheet, Shop
from inspection.studies.conducted import Conducted
from storage.book.attached import attached_of
from storage.book.chain import SIGNED, Chain, Progress, read_line, stream_of
from storage.book.collecting import no_collecting
from storage.book.compared import Names, differing
from storage.book.glance import CHECKS, SHOP
from storage.book.held import plans_in
from storage.book.passages import COLUMNS, Passage, digest_at, last_entry, lines_before, passages
from storage.book.projection import Values, values_of
from storage.book.rows import Where
from storage.book.signed import check_seal, check_statement
from storage.book.tally import Tally, earlier, tally_after
from storage.seals.check import OnSheet

#: So many entries of sheets under way are held folded, and so many parts' plans: those longest not met are let go, and
#: read again if they come up once more.
HELD, PARTS_HELD = 8_000, 100
_BEGINNING = frozenset((ev.SheetMade, ev.GaugeStudyStarted))


class Told(Struct):
    """What was found of one stream: the part number and pieces of the sheet it came to, if it did, the files it names
    by digest, what holds, and what does not. ``followed`` says that a sheet or a gauge study begins it."""

    number: str = ""
    pieces: tuple[Piece, ...] = ()
    followed: bool = False
    files: dict[str, Attached] = {}
    statements: list[Reason] = []
    faults: list[Reason] = []

    @property
    def called(self) -> str:
        """How people name the sheet, once it is known which it is; empty for a stream that is none."""
        serials = ", ".join(piece.serial for piece in self.pieces)
        return f"{self.number} ({serials})" if self.number else ""

    def joined(self, then: Told) -> Told:
        """With what was found of the same stream in the stretch that follows."""
        faults = [*self.faults, *(fault for fault in then.faults if fault not in self.faults)]
        return Told(
            then.number or self.number,
            then.pieces or self.pieces,
            self.followed or then.followed,
            {**self.files, **then.files},
            self.statements + then.statements,
            faults,
        )


class Through(Struct):
    """A stretch of a book gone through: its chain, and its streams in the order of their first entries there."""

    chain: Chain
    told: dict[str, Told]
    unreadable: bool

    @property
    def faults(self) -> list[Reason]:
        """All that does not hold, what is about a sheet with the sheet's identity."""
        on_sheets = (
            OnSheet(fault.code, fault.parts, sheet=stream) if told.number else fault
            for stream, told in self.told.items()
            for fault in told.faults
        )
        return [*self.chain.faults, *on_sheets]

    def joined(self, then: Through) -> Through:
        """With the stretch that follows on this one."""
        told = dict(self.told)
        for stream, later in then.told.items():
            told[stream] = told[stream].joined(later) if stream in told else later
        return Through(self.chain.joined(then.chain), told, self.unreadable or then.unreadable)


def go_through(
    connection: sqlite3.Connection,
    progress: Progress | None = None,
    only: Container[str] | None = None,
    stretch: tuple[int, int] | None = None,
) -> Through:
    """Read a book once: every entry against its digest, the chain and the columns beside it; every row against the
    entry it follows from; every seal against its sheet then.

    ``only`` names the streams of which more than the entries is checked, None for all; ``stretch`` is the entries after
    which one and up to which one, None for all there are. What is held meanwhile does not grow with the book.
    ``progress`` is called while nothing is locked, with the entries of the stretch done and in all.
    """
    after, last = stretch or (0, last_entry(connection))
    chain = Chain([], place=after, last=digest_at(connection, after))
    stories = Stories(connection, after)
    read = passages(connection, after, last)
    while True:
        with no_collecting():
            passage = next(read, None)
            if passage is None:
                break
            _check(passage, chain, stories, only)
        if progress is not None:
            progress(chain.entries, max(last - after, chain.entries))
    return Through(chain, stories.told, bool(stories.unreadable))


def _check(passage: Passage, chain: Chain, stories: Stories, only: Container[str] | None) -> None:
    due: dict[str, list[Values]] = {name: [] for name in COLUMNS}
    streams: dict[int, str] = {}
    for line in passage.lines:
        record = chain.link(line)
        if record is None:
            stories.lose(stream_of(line), unreadable=True)
        elif only is None or record.stream in only:
            streams[line[0]] = record.stream
            for table, row in stories.tell(line[0], record):
                due[table].append(row)
        else:
            stories.pass_over(line[0], record)
    for table, rows in due.items():
        if rows != passage.rows.get(table, []):
            _tell_differences(table, rows, passage.rows.get(table, []), streams, stories)
    stories.let_go()


def _tell_differences(
    table: str, due: list[Values], stored: list[Values], streams: Mapping[int, str], stories: Stories
) -> None:
    def names(sequence: int) -> Names | None:
        return stories.names(streams[sequence]) if sequence in streams else None

    for sequence, fault in differing(table, due, stored, names):
        stories.told[streams[sequence]].faults.append(fault)


class _Story(Struct):
    """A sheet with its tally, or a gauge study, as far as it was told."""

    fold: SheetFold
    sheet: Sheet | None = None
    tally: Tally | None = None
    study: Conducted | None = None
    entries: int = 0

    def go_on(self, record: Record, plans: Mapping[str, Plan]) -> None:
        """Fold a further entry."""
        steps, events = _steps(record), record.events
        self.entries += 1
        if self.sheet is None and (self.study is not None or ev.GaugeStudyStarted in map(type, events)):
            self.study = fold_study(self.study, steps)
            return
        before = None if self.sheet is None else earlier(self.sheet, events)
        self.sheet = self.fold.on(steps, plans)
        self.tally = tally_after(self.tally, before, self.sheet, events)


class Stories:
    """The streams of a book, told entry by entry in the order of the journal."""

    def __init__(self, connection: sqlite3.Connection, after: int = 0) -> None:
        """``after`` is the entry that the telling begins behind; what came before is read where it is needed."""
        self._after = after
        self.told: dict[str, Told] = {}
        self.unreadable: set[str] = set()
        self._lost: set[str] = set()
        self._connection = connection
        self._shop = fold_shop(Shop(), (step for record in self._before(SHOP, after + 1) for step in _steps(record)))
        self._plans: dict[str, dict[str, Plan]] = {}
        self._held: dict[str, _Story] = {}

    def tell(self, sequence: int, record: Record) -> list[tuple[str, Values]]:
        """The rows that follow from the next entry; of a stream that cannot be followed any more there are none."""
        stream = record.stream
        told = self.told.get(stream)
        if told is None:
            told = self.told[stream] = Told(followed=self._begun(stream))
        if stream in self._lost:
            return []
        try:
            return self._rows(sequence, record, told)
        except (KeyError, ValueError, StopIteration):
            told.faults.append(Reason("verify.stream_unfoldable", {"stream": told.called or stream}))
            self.lose(stream)
            return []

    def pass_over(self, sequence: int, record: Record) -> None:
        """An entry of which no more is asked than what other streams have to know of it."""
        if record.stream == SHOP or record.stream in self._plans:
            self._note(sequence, record)

    def lose(self, stream: str, *, unreadable: bool = False) -> None:
        """Follow this stream no more: an entry of it cannot be read or folded."""
        self._lost.add(stream)
        self._held.pop(stream, None)
        if unreadable:
            self.unreadable.add(stream)
            self.told.setdefault(stream, Told())

    def names(self, stream: str) -> Names | None:
        """What rows of this stream are called by; None for one that is not followed."""
        if stream in self._lost:
            return None
        return Names.of(self._held[stream].sheet if stream in self._held else None)

    def let_go(self) -> None:
        """Hold no more than is allowed; the one met last stays."""
        held = sum(story.entries for story in self._held.values())
        while held > HELD and len(self._held) > 1:
            held -= self._held.pop(next(iter(self._held))).entries
        while len(self._plans) > PARTS_HELD:
            del self._plans[next(iter(self._plans))]

    def _rows(self, sequence: int, record: Record, told: Told) -> list[tuple[str, Values]]:
        for one in attached_of(record.act):
            told.files[one.digest] = one
        if not told.followed and _BEGINNING.isdisjoint(map(type, record.events)):
            self._note(sequence, record)
            return values_of(record.events, Where(sequence, record.entry, record.stream))
        story = self._story(record.stream, sequence, told.followed)
        told.followed = True
        if story.sheet is not None and not SIGNED.isdisjoint(map(type, record.events)):
            self._check_signed(record, story.sheet, told)
        stood = story.tally
        story.go_on(record, self._plans_for(story, record, sequence))
        if story.sheet is None:
            return values_of(record.events, Where(sequence, record.entry, record.stream))
        plan = story.sheet.plan
        told.number, told.pieces = plan.part.number, story.sheet.pieces
        where = Where(sequence, record.entry, record.stream, plan.part_identity)
        return values_of(record.events, where, story.tally, stood)

    def _note(self, sequence: int, record: Record) -> None:
        """What sheets have to know of an entry that is on none."""
        if record.stream == SHOP:
            self._shop = fold_shop(self._shop, _steps(record))
        elif issued := plans_in(record.events):
            self._plans[record.stream] = {**self._plans_of(record.stream, sequence), **issued}

    def _check_signed(self, record: Record, sheet: Sheet, told: Told) -> None:
        for event in record.events:
            if isinstance(event, ev.SheetSealed):
                found = check_seal(event, record.entry, sheet, self._shop)
            elif isinstance(event, ev.StatementSigned):
                found = check_statement(event, record.entry, sheet, self._shop)
            else:
                continue
            told.statements += found.statements
            told.faults += found.faults

    def _story(self, stream: str, sequence: int, begun: bool) -> _Story:
        """A stream's story up to this entry, as the one met last."""
        story = self._held.pop(stream, None)
        if story is None:
            story = _Story(SheetFold())
            for record in self._before(stream, sequence) if begun else ():
                story.go_on(record, self._plans_for(story, record, sequence))
        self._held[stream] = story
        return story

    def _plans_for(self, story: _Story, record: Record, sequence: int) -> Mapping[str, Plan]:
        """The plan issues that folding this entry asks for."""
        for event in record.events:
            if type(event) is ev.SheetMade:
                return self._plans_of(event.part_identity, sequence)
            if type(event) is ev.PlanAdopted and story.sheet is not None:
                return self._plans_of(story.sheet.plan.part_identity, sequence)
        return {}

    def _plans_of(self, part: str, sequence: int) -> dict[str, Plan]:
        """The plan issues of a part before this entry, as the part met last."""
        plans = self._plans.pop(part, None)
        if plans is None:
            read = self._before(part, sequence)
            plans = {name: plan for record in read for name, plan in plans_in(record.events).items()}
        self._plans[part] = plans
        return plans

    def _begun(self, stream: str) -> bool:
        """Whether a sheet or a gauge study began the stream before the telling did."""
        if not self._after or stream in (SHOP, CHECKS):
            return False
        read = [read_line(line) for line in lines_before(self._connection, stream, self._after + 1)]
        if None in read:
            self.lose(stream, unreadable=True)
        return any(not _BEGINNING.isdisjoint(map(type, record.events)) for record in read if record is not None)

    def _before(self, stream: str, sequence: int) -> Iterator[Record]:
        for line in lines_before(self._connection, stream, sequence):
            if (record := read_line(line)) is not None:
                yield record


def _steps(record: Record) -> list[Step]:
    return [(event, record.entry) for event in record.events]
