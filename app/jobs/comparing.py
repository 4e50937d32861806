"""Two sheets of a part side by side, as window and command line tell them."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from inspection.measuring.guard_as_written import decision_text
from inspection.measuring.verdict import Verdict
from inspection.reasons import Reason, Refused
from inspection.sheet.beside import beside, difference_text, limits_text, results_text
from inspection.sheet.state import Sheet, Shop
from inspection.words.say import say, word
from storage.book.door import Book
from storage.book.queries.found_sheets import FoundSheet, Wanted, found_sheets
from storage.dispatch.listing import Listing

#: The columns of the table, each with its word ``beside.head.…``.
COLUMNS = ("number", "requirement", "limits", "earlier", "later", "difference", "told")
#: So many of a part's sheets are offered to stand beside one.
MOST_SHEETS = 60


class BesideLine(Struct, frozen=True):
    """A row as told: its ``texts`` by ``COLUMNS``, what each side came to (None: not on that sheet), and whether
    anything is not as it was."""

    texts: dict[str, str]
    earlier: Verdict | None
    later: Verdict | None
    changed: bool


class Compared(Struct, frozen=True):
    """Two sheets of a part with their rows side by side; ``names`` say which they are, ``about`` what differs in their
    heads, a sentence each."""

    earlier: Sheet
    later: Sheet
    names: tuple[str, str]
    about: tuple[str, ...]
    lines: tuple[BesideLine, ...]

    @property
    def changed(self) -> int:
        """How many rows are not as they were."""
        return sum(line.changed for line in self.lines)


def sheets_of_part(book: Book, sheet: str) -> list[FoundSheet]:
    """The newest sheets of the part that this sheet is of, the newest first."""
    return book.ask(found_sheets, Wanted(part=book.sheet(sheet).plan.part_identity), limit=MOST_SHEETS)


def sheet_before(book: Book, sheet: str) -> str:
    """The sheet of the same part made before this one, or else the one made after it. Raises Refused without any."""
    names = [each.listed.sheet for each in sheets_of_part(book, sheet)]
    at = names.index(sheet) if sheet in names else -1
    others = [*names[at + 1 :], *reversed(names[:at] if at > 0 else [])]
    if not others:
        raise Refused(Reason("beside.alone"))
    return others[0]


def compare(book: Book, one: str, other: str) -> Compared:
    """Two sheets side by side, the one made first at the left. Raises Refused for sheets of different parts, or one
    and the same."""
    earlier, later = sorted((book.sheet(one), book.sheet(other)), key=lambda sheet: sheet.made_at)
    if one == other:
        raise Refused(Reason("beside.same"))
    if earlier.plan.part_identity != later.plan.part_identity:
        parts = {"one": earlier.plan.part.number, "other": later.plan.part.number}
        raise Refused(Reason("beside.parts", {**parts}))
    shop = book.shop()
    tags = {name: one.tag for name, one in shop.crib.items()}
    lines = []
    for row in beside(earlier, later, tags):
        texts = (
            row.row.number,
            row.row.requirement.written,
            limits_text(row.row),
            results_text(row.earlier),
            results_text(row.later),
            difference_text(row),
            " ".join(map(say, row.changes)),
        )
        was, now = (None if side is None else side.verdict for side in (row.earlier, row.later))
        lines.append(BesideLine(dict(zip(COLUMNS, texts, strict=True)), was, now, bool(row.changes)))
    return Compared(earlier, later, (_name(earlier), _name(later)), tuple(_about(earlier, later, shop)), tuple(lines))


def _name(sheet: Sheet) -> str:
    serials = ", ".join(piece.serial for piece in sheet.pieces)
    return word("beside.name", revision=sheet.plan.part.revision, serials=serials)


def _about(earlier: Sheet, later: Sheet, shop: Shop) -> Iterator[str]:
    """What of the heads differs."""
    for name, was, now in (
        ("plan", str(earlier.plan.issue), str(later.plan.issue)),
        ("customer", _customer(earlier), _customer(later)),
        ("order", earlier.head.order, later.head.order),
        ("lot", earlier.head.lot, later.head.lot),
        ("machine", earlier.head.machine, later.head.machine),
        ("process", earlier.head.process, later.head.process),
        ("rule", decision_text(earlier.rules.decision), decision_text(later.rules.decision)),
        ("person", _person(shop, earlier), _person(shop, later)),
    ):
        if was != now:
            yield word("beside.about", name=word(f"beside.about.{name}"), was=was or "–", now=now or "–")


def _customer(sheet: Sheet) -> str:
    return sheet.head.customer or sheet.plan.part.customer


def _person(shop: Shop, sheet: Sheet) -> str:
    person = shop.people.get(sheet.made_by)
    return person.name if person is not None else sheet.made_by


def title(compared: Compared) -> str:
    """The heading: the part and its two sheets."""
    return word("beside.title", part=compared.later.plan.part.number)


def heads(compared: Compared) -> tuple[str, ...]:
    """The heads of the columns; those of the results name their sheets."""
    named = {"earlier": compared.names[0], "later": compared.names[1]}
    return tuple(named.get(name) or word(f"beside.head.{name}") for name in COLUMNS)


def listing(compared: Compared, shop: Shop, *, changed: bool = False) -> Listing:
    """The table as a list that goes out: all rows, or only those that are not as they were."""
    rows = [line for line in compared.lines if line.changed or not changed]
    texts = tuple(tuple(line.texts[name] for name in COLUMNS) for line in rows)
    return Listing(title(compared), heads(compared), texts, compared.about, (COLUMNS.index("difference"),), shop.name)
