"""What is recorded, signed and sent of a sheet: head, materials and processes, seals, statements, files."""

from __future__ import annotations

from sqlalchemy import Index, UniqueConstraint

from storage.book.tables.making import number_of, projection, text_of

head = projection(
    "head",
    text_of("sheet"),
    text_of("customer"),
    text_of("order"),
    text_of("lot"),
    text_of("extent"),
    text_of("baseline"),
    text_of("by"),
    number_of("at"),
    Index("head_by_sheet", "sheet", "sequence"),
)

evidence = projection(
    "evidence",
    text_of("sheet"),
    text_of("evidence"),
    text_of("change"),  # "entered" or "struck"
    text_of("kind"),
    text_of("name"),
    text_of("specification"),
    text_of("specification_revision"),
    text_of("supplier"),
    text_of("approved"),
    text_of("certificate"),
    text_of("reason"),
    text_of("by"),
    number_of("at"),
    Index("evidence_by_sheet", "sheet", "sequence"),
)

seal = projection(
    "seal",
    text_of("sheet"),
    number_of("round"),
    text_of("digest"),
    text_of("algorithm"),
    text_of("signature"),
    text_of("certificate"),
    text_of("incomplete"),
    text_of("by"),
    number_of("at"),
    UniqueConstraint("sheet", "round"),
)

reopening = projection(
    "reopening",
    text_of("sheet"),
    number_of("round"),
    text_of("reason"),
    text_of("by"),
    number_of("at"),
    Index("reopening_by_sheet", "sheet", "sequence"),
)

statement = projection(
    "statement",
    text_of("sheet"),
    text_of("kind"),
    number_of("round"),
    text_of("digest"),
    text_of("algorithm"),
    text_of("signature"),
    text_of("certificate"),
    text_of("by"),
    number_of("at"),
    Index("statement_by_sheet", "sheet", "sequence"),
)

#: The signed PDF of a round after each signature: ``signs`` is the digest of the seal or statement that it states.
document = projection(
    "document",
    text_of("sheet"),
    number_of("round"),
    text_of("signs"),
    number_of("stamped"),
    text_of("by"),
    number_of("at"),
    Index("document_by_sheet", "sheet", "sequence"),
)

sent = projection(
    "sent",
    text_of("sheet"),
    text_of("form"),
    text_of("name"),
    text_of("digest"),
    text_of("by"),
    number_of("at"),
    Index("sent_by_digest", "digest"),
    Index("sent_by_sheet", "sheet", "sequence"),
)
