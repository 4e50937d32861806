"""The pull list and route as they are shown and printed: every text of the page that goes with the set-up sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from inspection.instruments.blocks import Stack, blocks_text
from inspection.instruments.blocks_at_hand import unit_of
from inspection.instruments.blocks_grades import stack_expanded
from inspection.instruments.method import Method
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.instruments.stepping import marked
from inspection.quantity.speaker import shown
from inspection.quantity.units import Kind
from inspection.sheet.pull_list import Leg, Pull, pull_list
from inspection.sheet.pull_sets import Built
from inspection.sheet.row_runs import runs_text
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import say, word

CAUTIONS = ("caution.machine", "caution.indicator", "caution.edges")
#: Stops of a set of blocks that are told one by one.
MOST_STOPS = 3


class TakeLine(Struct, frozen=True):
    """One thing to take out of a set, in words: a stack by its ``size`` and the blocks it is ``made`` of, or GO and
    NO-GO of a set of pins; what it is ``used`` for; its uncertainty, or what is left over (``doubt``); and all of it on
    one line (``told``)."""

    size: str
    made: str
    used: str
    doubt: str
    told: str


class PullLine(Struct, frozen=True):
    """One instrument to fetch, in words."""

    stops: str
    tag: str
    instrument: str
    place: str
    due: str
    sizes: tuple[str, ...]
    rows: str
    checks: tuple[str, ...]
    minds: tuple[str, ...]
    takes: tuple[TakeLine, ...] = ()


class LegLine(Struct, frozen=True):
    """One stop of the route, in words."""

    order: str
    set_up: str
    instrument: str
    rows: str


class PullPage(Struct, frozen=True):
    """The whole page; ``labels`` holds the headings by code, ``lacks`` what the crib does not hold for it."""

    title: str
    head: tuple[tuple[str, str], ...]
    pulls: tuple[PullLine, ...]
    legs: tuple[LegLine, ...]
    counts: tuple[str, str]  # of instruments and of stops
    cautions: tuple[str, ...]
    labels: dict[str, str]
    shop: str
    language: str = "en"
    lacks: tuple[str, ...] = ()


LABELS = (
    "label.order", "label.tag", "label.instrument", "label.place", "label.due", "label.sizes", "label.rows",
    "label.checks", "label.set_up", "label.take", "label.made", "label.used", "label.doubt",
    "section.fetch", "section.take", "section.route",
)  # fmt: skip


def pull_page(sheet: Sheet, shop: Shop, day: str, *, language: str = "en") -> PullPage:
    """The pull list and route of a sheet from the crib as it stands on ``day`` (ISO)."""
    found = pull_list(sheet.plan.characteristics, sheet.assignments, sheet.stops, shop.crib, day, shop.used_up)
    order = {row.number: place for place, row in enumerate(sheet.plan.characteristics)}
    teller = _Teller(shop, language, order)
    part = sheet.plan.part
    return PullPage(
        title=word("pull.title", language, part=part.number, revision=part.revision),
        head=tuple((word(f"pull.head.{code}", language), text) for code, text in _head(sheet, day, language) if text),
        pulls=tuple(teller.pull(pull) for pull in found.pulls),
        legs=tuple(teller.leg(leg) for leg in found.legs),
        counts=(
            word("pull.count", language, n=len(found.pulls)),
            word("pull.legs", language, n=len(found.legs)),
        ),
        cautions=tuple(word(code, language) for code in CAUTIONS),
        labels={code: word(f"pull.{code}", language) for code in LABELS},
        shop=shop.name,
        language=language,
        lacks=tuple(say(reason, language=language) for reason in found.lacks),
    )


def _head(sheet: Sheet, day: str, language: str) -> Iterator[tuple[str, str]]:
    part = sheet.plan.part
    yield "name", part.name
    yield "drawing", " ".join(filter(None, (part.drawing, part.drawing_revision)))
    yield "serials", ", ".join(piece.serial for piece in sheet.pieces)
    yield "plan", word("pull.plan_issue", language, n=sheet.plan.issue)
    yield "day", day
    yield "sheet", sheet.identity


class _Teller(Struct, frozen=True):
    """Puts pulls and legs into words; ``order`` is each balloon number's place on the drawing."""

    shop: Shop
    language: str
    order: dict[str, int]

    def pull(self, pull: Pull) -> PullLine:
        item = pull.instrument
        return PullLine(
            stops=_stops(pull),
            tag=item.tag,
            instrument=item.name,
            place=self._place(item),
            due=item.due or word("pull.no_due", self.language),
            sizes=tuple(self._sizes(pull)),
            rows=self._rows(pull.rows),
            checks=tuple(say(reason, language=self.language) for reason in pull.checks),
            minds=tuple(say(reason, language=self.language) for reason in pull.minds),
            takes=(*self._pairs(pull), *(line for built in pull.stacks for line in self._stacks(built))),
        )

    def leg(self, leg: Leg) -> LegLine:
        return LegLine(
            order=str(leg.order),
            set_up=leg.set_up or word("pull.no_set_up", self.language),
            instrument=self._method(leg.method) if leg.method else word("pull.without", self.language),
            rows=self._rows(leg.rows),
        )

    def _place(self, item: Instrument) -> str:
        place = item.place or word("pull.no_place", self.language)
        return word("pull.lent", self.language, place=place, holder=item.holder) if item.holder else place

    def _sizes(self, pull: Pull) -> Iterator[str]:
        item = pull.instrument
        for run in pull.pins.runs:
            first, last = marked(item, run[0]), marked(item, run[-1])
            yield word("pull.sizes", self.language, count=len(run), first=first, last=last)
        if pull.pins.runs and item.gauge_class:
            direction = item.direction.value if item.direction else ""
            yield word("pull.class", self.language, **{"class": item.gauge_class, "direction": direction}).strip()

    # --- out of sets ----------------------------------------------------------------------------------------------

    def _pairs(self, pull: Pull) -> Iterator[TakeLine]:
        """GO and NO-GO, rows that share them together."""
        for each in pull.pins.pairs:
            ends = [
                word(code, self.language, size=marked(pull.instrument, gauge.size))
                for code, gauge in (("pull.go", each.pair.go), ("pull.no_go", each.pair.no_go))
                if gauge is not None
            ]
            used = self._for_rows(each.rows)
            yield TakeLine(ends[0], "".join(ends[1:]), used, "", ", ".join((*ends, used)))

    def _stacks(self, built: Built) -> Iterator[TakeLine]:
        """The stack of a size; where there is none, the nearest with what is left over."""
        used = self._used(built)
        if (stack := built.found.stack) is not None:
            yield self._stack(stack, used, self._doubt(stack))
            return
        for stack, code, left in (
            (built.found.below, "pull.short", built.found.short),
            (built.found.above, "pull.over", built.found.over),
        ):
            if stack is not None:
                size = self._length(built.found.wanted, built.unit)
                said = word(code, self.language, size=size, left=self._length(left or 0, built.unit))
                yield self._stack(stack, used, said)

    def _stack(self, stack: Stack, used: str, doubt: str) -> TakeLine:
        sets = [self.shop.crib[block.instrument] for block in stack.blocks]
        unit = unit_of(stack, sets)
        size, made = self._length(stack.size, unit), word("pull.one_block", self.language)
        if len(stack.blocks) > 1:
            made = blocks_text(stack, unit, {each.identity: each.tag for each in sets})
        whole = f"{size} = {made}" if len(stack.blocks) > 1 else size
        return TakeLine(size, made, used, doubt, ", ".join(filter(None, (whole, used, doubt))))

    def _used(self, built: Built) -> str:
        tags = ", ".join(built.checks)
        checks = word("pull.used.check", self.language, tags=tags) if tags else ""
        return ", ".join(filter(None, (checks, self._for_rows(built.rows))))

    def _for_rows(self, numbers: Sequence[str]) -> str:
        return word("pull.used.rows", self.language, rows=self._rows(numbers), n=len(numbers)) if numbers else ""

    def _doubt(self, stack: Stack) -> str:
        expanded = stack_expanded(stack, [self.shop.crib[block.instrument] for block in stack.blocks])
        return word("pull.doubt", self.language, U=expanded) if expanded is not None else ""

    def _length(self, size: int, unit: str) -> str:
        return shown(size, Kind.LENGTH, unit, language=self.language)

    def _method(self, method: Method) -> str:
        items = [self.shop.crib[part.identity] for part in method.parts if part.identity in self.shop.crib]
        told = (item.name if item.kind is InstrumentKind.EYE else f"{item.tag} {item.name}" for item in items)
        return " + ".join(told)

    def _rows(self, numbers: Sequence[str]) -> str:
        """Balloon numbers, neighbours on the drawing drawn together: "4, 6 … 9, 12"."""
        return runs_text(numbers, self.order)


def _stops(pull: Pull) -> str:
    """The stops at which an instrument is in hand; of a set that many are checked on, the first and the last."""
    if pull.stacks and len(pull.legs) > MOST_STOPS:
        return f"{pull.legs[0]} … {pull.legs[-1]}"
    return ", ".join(map(str, pull.legs))
