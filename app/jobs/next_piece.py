"""A further sheet of a part that was measured before: its next pieces, or a partial first article on them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace

from inspection.sheet import acts
from inspection.sheet.head import Head

if TYPE_CHECKING:
    from storage.book.door import Book


class NextPiece(NamedTuple):
    """What a sheet on the part's next pieces would be made on; ``completes`` makes it a partial first article that
    completes the sheet, about the rows that are not complete on it."""

    sheet: str
    serials: tuple[str, ...]
    order: str
    completes: bool = False

    def run(self, book: Book) -> acts.MakeSheet:
        """The act that makes it: by the newest issue of the plan, for the same customer, a detail or an assembly as
        before. What completes a first article belongs to it: its reason, and its order where no other one is given.
        Raises Refused if there is no such sheet."""
        sheet = book.sheet(self.sheet)
        newest = max(book.plans_of(sheet.plan.part_identity).values(), key=lambda plan: plan.issue)
        before = sheet.head
        head = Head(
            customer=before.customer, order=self.order, supplier_code=before.supplier_code, detail=before.detail
        )
        if not self.completes:
            return acts.MakeSheet(plan=newest.identity, serials=self.serials, head=head)
        head = replace(head, order=self.order or before.order, cause=before.cause)
        if head.order == before.order:
            head = replace(head, order_line=before.order_line)
        return acts.MakeSheet(plan=newest.identity, serials=self.serials, head=head, completes=self.sheet)
