"""How far a book without a sheet has come, as steps in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from app.window.words import word

if TYPE_CHECKING:
    from app.window.beginning import Step
    from inspection.sheet.state import Shop


def how_far(book: Any) -> Any:
    """What the book holds so far; asked on its thread."""
    from storage.book.queries.begun import begun

    return book.ask(begun)


def steps_of(shop: Shop, begun: Any) -> tuple[Step, ...]:
    """The steps to the first sheet."""
    from app.window.beginning import Step

    crib = len(shop.crib)
    people = ", ".join(person.name for person in shop.people.values())
    return (
        Step("shop", True, shop.name),
        Step("people", bool(shop.people), people),
        Step("crib", crib > 0, word("begin.crib.count", n=crib) if crib else word("begin.crib.text")),
        Step("part", begun.parts > 0, word("begin.part.done") if begun.parts else word("begin.part.text")),
        Step("sheet", begun.sheets > 0, word("begin.sheet.text")),
    )
