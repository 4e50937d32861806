"""What the shop has: itself, its people, instruments and rules, and the issues of plans with their rows."""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, Text, UniqueConstraint

from storage.book.tables.making import maybe_number, number_of, projection, text_of

shop = projection("shop", text_of("name"))

person = projection("person", text_of("person"), text_of("name"), text_of("duties"), text_of("certificate"))

instrument_issue = projection(
    "instrument_issue",
    text_of("instrument"),
    number_of("issue"),
    text_of("tag"),
    text_of("kind"),
    text_of("name"),
    text_of("due"),
    text_of("standing"),
    UniqueConstraint("instrument", "issue"),
)

rules_issue = projection("rules_issue", Column("issue", Integer, nullable=False, unique=True))

plan_issue = projection(
    "plan_issue",
    Column("plan", Text, nullable=False, unique=True),
    text_of("part"),
    number_of("issue"),
    text_of("number"),
    text_of("revision"),
    text_of("name"),
    text_of("drawing"),
    text_of("drawing_revision"),
    text_of("customer"),
    number_of("rows"),
    UniqueConstraint("part", "issue"),
)

characteristic = projection(
    "characteristic",
    text_of("plan"),
    text_of("part"),
    text_of("characteristic"),
    text_of("number"),
    text_of("kind"),
    text_of("form"),
    text_of("written"),
    text_of("unit"),
    maybe_number("nominal"),
    maybe_number("lower"),
    maybe_number("upper"),
    text_of("key"),
    Index("characteristic_by_identity", "characteristic"),
)
