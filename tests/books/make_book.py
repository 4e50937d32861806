"""Makes the real book of the present schema that is kept for good, with what must be read from it again.

    python tests/books/make_book.py

Run it once for each released schema, before a later one is written; never for a schema that was released.
"""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path
from typing import Any

from inspection.sheet.edition import PROGRAM
from storage.book.door import Book
from storage.book.header import SCHEMA
from storage.book.queries.sheet_journal import sheet_journal
from storage.book.queries.sheets import list_sheets
from storage.seals.keys import make_key

HERE = Path(__file__).parent


def bench() -> Any:
    """The small shop that the tests of the book use."""
    spec = importlib.util.spec_from_file_location("bench", HERE.parent / "book" / "conftest.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def summary(book: Book) -> dict[str, Any]:
    """What a book says of itself, as plain values: sheets, readings, verdicts, seals, journal."""
    sheets = {}
    for listed in book.ask(list_sheets):
        sheet = book.sheet(listed.sheet)
        numbers = {row.identity: row.number for row in sheet.plan.characteristics}
        serials = {piece.identity: piece.serial for piece in sheet.pieces}
        sheets[listed.sheet] = {
            "part": [listed.number, listed.revision],
            "serials": list(listed.serials),
            "counts": [listed.conforming, listed.marginal, listed.not_conforming, listed.open, listed.questions],
            "readings": [[numbers[r.characteristic], r.written, r.count] for r in sheet.readings.values()],
            "withdrawn": sorted(sheet.readings[name].written for name in sheet.withdrawn),
            "verdicts": sorted(
                [numbers[row], serials[piece], judged.verdict.value]
                for (row, piece), judged in sheet.judgements.items()
            ),
            "seals": [seal.digest for seal in sheet.seals],
            **({"statements": [each.kind.value for each in sheet.statements]} if sheet.statements else {}),
            "notes": [note.text for note in sheet.notes],
            "journal": [line.act for line in book.ask(sheet_journal, book.shop(), sheet, limit=1_000)],
        }
    shop = book.shop()
    people = sorted(person.name for person in shop.people.values())
    return {"shop": shop.name, "people": people, "crib": len(shop.crib), "sheets": sheets}


def main() -> None:
    """Make book and summary beside this script; existing ones are left alone."""
    book, beside = HERE / f"schema_{SCHEMA}.tenthwright", HERE / f"schema_{SCHEMA}.json"
    if book.exists():
        sys.exit(f"{book.name} is there already and is kept for good")
    shop = bench()
    made = shop.Bench(book, make_key("Ann Ames", shop.PASSPHRASE, shop.NOON))
    shop.full_story(made)
    told = {"program": PROGRAM, **summary(made.book)}
    made.book.close()
    beside.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
