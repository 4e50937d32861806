"""A reverse trace as a document: a letter for one customer, or for the shop's own file; and as a list of readings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from textwrap import wrap

from msgspec import Struct

from app.jobs.looking_back import Trace
from app.jobs.trace_told import COLUMNS, MEASURED, found_out, told
from inspection.drawing.numbers import natural_key
from inspection.instruments.as_written import range_text, resolution_text
from inspection.measuring.found_error import Outcome
from inspection.quantity.speaker import fewest_decimals, plain
from inspection.reasons import Part, Reason, Refused
from inspection.sheet.row_runs import runs_text
from inspection.sheet.traced import Traced
from inspection.words.say import say, word
from storage.book.door import Book
from storage.book.queries.sheets import ListedSheet, sheets_named
from storage.dispatch.listing import Listing, write_listing
from storage.dispatch.trace_letter import Group, Letter, write_letter

#: What a group's table shows of each reading that is to be looked at, each with its word ``trace.head.…``.
SHOWN = ("number", "serial", "taken", "read", "limits", "margin", "then", "outcome")
#: What a list of all readings has before the columns of the trace.
BEFORE = ("customer", "order", "lot")
#: What is said above a list is parted into lines of so many characters.
LONGEST_LINE = 130


class Addressed(Struct, frozen=True):
    """A trace with the sheets that it touches, by identity."""

    trace: Trace
    sheets: Mapping[str, ListedSheet]

    def customers(self) -> tuple[str, ...]:
        """Everybody whose parts were read with the instrument, those first that have a reading to be looked at."""
        seen = {self.sheets[each.read.sheet].customer for each in self.trace.found if each.is_to_be_seen}
        every = {self.sheets[each.read.sheet].customer for each in self.trace.found}
        return tuple(sorted(filter(None, every), key=lambda name: (name not in seen, name.casefold())))

    def of(self, customer: str) -> tuple[Traced, ...]:
        """The readings of one customer's parts; all of them where none is named."""
        wanted = customer.casefold()
        return tuple(
            each
            for each in self.trace.found
            if not wanted or self.sheets[each.read.sheet].customer.casefold() == wanted
        )


def addressed(book: Book, trace: Trace) -> Addressed:
    """Look up the sheets of a trace. Raises BookFailure."""
    names = tuple(dict.fromkeys(each.read.sheet for each in trace.found))
    return Addressed(trace, {one.sheet: one for one in book.ask(sheets_named, names)})


def letter(given: Addressed, book: Book, day: str, customer: str = "") -> Letter:
    """The letter of a trace on a ``day`` (ISO) to one ``customer``, whose readings alone it names; for the shop's own
    file where none is named."""
    shop, trace, found = book.shop(), given.trace, given.of(customer)
    title = word("trace.letter.title", tag=trace.instrument.tag, name=trace.instrument.name)
    return Letter(
        title=title,
        shop=shop.name,
        facts=tuple(_facts(trace, shop.name, day, customer)),
        said=(f"{found_out(trace)} {say(trace.why)}", word("trace.letter.how"), *_counted(found)),
        groups=tuple(_groups(given, found, shop.people)),
        cautions=tuple(word(f"trace.letter.caution.{name}") for name in _cautions(trace, found)),
        signature=tuple(word(f"trace.letter.sign.{name}") for name in ("person", "duty", "day", "signature")),
        labels={name: word(f"trace.letter.head.{name}") for name in SHOWN},
        continued=word("trace.letter.continued"),
        caution_head=word("trace.letter.cautions"),
    )


def listing(given: Addressed, book: Book, day: str, customer: str = "") -> Listing:
    """Every reading of the trace as a line, of one customer's parts or of all."""
    shop, trace, found = book.shop(), given.trace, given.of(customer)
    rows = []
    for each in found:
        sheet, cells = given.sheets[each.read.sheet], told(trace, each, shop.people)
        rows.append((*(getattr(sheet, name) for name in BEFORE), *(cells[name] for name in COLUMNS)))
    heads = (*(word(f"trace.head.{name}") for name in BEFORE), *(word(f"trace.head.{name}") for name in COLUMNS))
    names = (*BEFORE, *COLUMNS)
    facts = [f"{label}: {text}" for label, text in _facts(trace, shop.name, day, customer)]
    about = (*facts, f"{found_out(trace)} {say(trace.why)}", word("trace.letter.how"), *_counted(found))
    cautions = (word(f"trace.letter.caution.{name}") for name in _cautions(trace, found))
    return Listing(
        title=word("trace.letter.title", tag=trace.instrument.tag, name=trace.instrument.name),
        heads=heads,
        rows=tuple(rows),
        about=tuple(line for text in (*about, *cautions) for line in wrap(text, LONGEST_LINE)),
        measured=tuple(names.index(name) for name in MEASURED),
        shop=shop.name,
    )


def _facts(trace: Trace, shop: str, day: str, customer: str) -> Iterator[tuple[str, str]]:
    """Label and value of what the document is about; what is empty is left out."""
    one = trace.instrument
    certificate = ", ".join(filter(None, (one.certificate, one.certified, one.laboratory)))
    unit = one.unit
    size = trace.size
    at = f"{plain(size, unit)} {unit}" if size is not None and fewest_decimals(size, unit) is not None else ""
    told_of = (
        ("shop", shop),
        ("day", day),
        ("to", customer),
        ("instrument", " ".join(filter(None, (one.tag, one.name)))),
        ("range", range_text(one)),
        ("resolution", resolution_text(one)),
        ("certificate", certificate),
        ("at", at),
    )
    for code, text in told_of:
        if text:
            yield word(f"trace.letter.fact.{code}"), text


def _counted(found: Sequence[Traced]) -> Iterator[str]:
    """How many readings came to what, with those that are not affected."""
    if not found:
        yield word("trace.letter.none")
        return
    counts = Counter(each.outcome for each in found)
    told_of = (
        word("trace.letter.count", n=counts[outcome], outcome=word(f"trace.outcome.{outcome.value}"))
        for outcome in Outcome
        if counts[outcome]
    )
    yield f"{word('trace.letter.counted', n=len(found))} {'; '.join(told_of)}."
    if not any(each.is_to_be_seen for each in found):
        yield word("trace.all_hold")


def _cautions(trace: Trace, found: Sequence[Traced]) -> Iterator[str]:
    yield "record"
    yield "authorised"
    if trace.size is None:
        yield "every_size"
    elif any(not each.is_near for each in found):
        yield "far"
    outcomes = {each.outcome for each in found}
    if Outcome.NOT_NUMBERED in outcomes:
        yield "not_numbered"
    if Outcome.QUESTIONED in outcomes:
        yield "questioned"
    if trace.cut:
        yield "cut"


def _groups(given: Addressed, found: Sequence[Traced], people: Mapping[str, object]) -> Iterator[Group]:
    """Readings by customer, order and part, those with something to look at first."""
    groups: dict[tuple[str, str, str], list[Traced]] = {}
    for each in found:
        sheet = given.sheets[each.read.sheet]
        part = " ".join(filter(None, (sheet.number, sheet.revision, sheet.name)))
        groups.setdefault((sheet.customer, sheet.order, part), []).append(each)

    def gravest(item: tuple[tuple[str, str, str], list[Traced]]) -> tuple[bool, tuple[str, str, str]]:
        return not any(each.is_to_be_seen for each in item[1]), item[0]

    for (customer, order, part), members in sorted(groups.items(), key=gravest):
        seen = [each for each in members if each.is_to_be_seen]
        cells = [told(given.trace, each, people) for each in seen]  # type: ignore[arg-type]
        yield Group(
            head=", ".join(_headed(customer, order, part)),
            sheets=word("trace.letter.sheets", sheets=", ".join(_sheets(given, members))),
            rows=tuple(tuple(each[name] for name in SHOWN) for each in cells),
            states=tuple(each.outcome.value for each in seen),
            others=tuple(_others(given.trace, members)),
        )


def _headed(customer: str, order: str, part: str) -> Iterator[str]:
    yield customer or word("trace.letter.no_customer")
    yield word("trace.letter.order", order=order) if order else word("trace.letter.no_order")
    yield word("trace.letter.part", part=part)


def _sheets(given: Addressed, members: Sequence[Traced]) -> Iterator[str]:
    """Each sheet by its day and pieces, which are what a customer knows it by."""
    for name in dict.fromkeys(each.read.sheet for each in members):
        sheet = given.sheets[name]
        yield word("trace.letter.sheet", day=sheet.day, serials=", ".join(sheet.serials), sheet=name[:8])


def _others(trace: Trace, members: Sequence[Traced]) -> Iterator[str]:
    """What was read with the instrument and is not affected: how many readings, of which rows, and what of them."""
    rest = [each for each in members if not each.is_to_be_seen]
    if not rest:
        yield word("trace.letter.no_others")
    plans = {each.read.plan for each in members}
    every = {row.number for plan in plans for row in trace.plans[plan].characteristics}
    order = {number: place for place, number in enumerate(sorted(every, key=natural_key))}
    for outcome in Outcome:
        same = [each for each in rest if each.outcome is outcome]
        if same:
            rows = runs_text({each.row.number for each in same}, order)
            yield word(f"trace.letter.others.{outcome.value}", n=len(same), rows=rows)


def write_trace(
    book: Book, trace: Trace, path: Path, day: str, customer: str = "", *, paper: str = "Letter"
) -> Addressed:
    """Write a trace as its ending says: a letter (.pdf), or a list of its readings (.xlsx, .csv); of one ``customer``
    or of all.

    Raises Refused for a customer of whom nothing was read with the instrument, another ending, an unknown paper or a
    text that the form cannot hold, BookFailure where the disk does not take the file.
    """
    given = addressed(book, trace)
    named = next((name for name in given.customers() if name.casefold() == customer.strip().casefold()), "")
    if customer and not named:
        known = ", ".join(given.customers())
        parts: dict[str, Part] = {"customer": customer[:60], "tag": trace.instrument.tag, "known": known}
        raise Refused(Reason("trace.no_customer" if known else "trace.no_customer_any", parts))
    if path.suffix.casefold() == ".pdf":
        write_letter(letter(given, book, day, named), path, paper=paper)
    else:
        write_listing(listing(given, book, day, named), path, paper=paper)
    return given
