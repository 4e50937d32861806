"""What a sheet still lacks before it may go, as Desk and signing question list it: what stops it first."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from inspection.words.say import say, word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inspection.sheet.missing_linked import Completion
    from inspection.sheet.missing_table import Missing
    from inspection.sheet.state import Sheet, Shop

#: Rows named beside a sentence; it counts the others itself.
MOST_NAMED = 3


class Lack(NamedTuple):
    """One thing that is missing: where, in short, the sentence, whether it stops the sheet from going, its code, and
    where it is put right: a row (its balloon number), an entry of the record (its identity) or a field of the head."""

    where: str
    text: str
    stops: bool
    code: str
    row: str = ""
    evidence: str = ""
    field: str = ""

    def spoken(self) -> str:
        """The whole line, for whoever is read to."""
        return ", ".join((word("desk.lack.stops" if self.stops else "desk.lack.minds"), self.text))


def lacks_of(sheet: Sheet, shop: Shop, completions: Sequence[Completion] | None = None) -> tuple[Lack, ...]:
    """What this sheet lacks, what stops it first; ``completions`` as ``missing`` takes them."""
    from inspection.sheet.missing import missing

    return tuple(lack_of(each) for each in missing(shop, sheet, completions))


def lack_of(found: Missing) -> Lack:
    """One missing thing as it is listed."""
    row = found.numbers[0] if found.numbers else ""
    return Lack(_where(found), say(found.reason), found.stops, found.reason.code, row, found.evidence, found.field)


def _where(found: Missing) -> str:
    if found.numbers:
        named = ", ".join(found.numbers[:MOST_NAMED])
        return named if len(found.numbers) <= MOST_NAMED else f"{named} …"
    if found.evidence:
        return word("desk.where.record")
    return word("desk.where.head" if found.field else "desk.where.sheet")
