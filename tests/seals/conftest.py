"""A key, and a sealed sheet as a value: no book is needed to sign or to check."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Characteristic, FeatureKind
from inspection.drawing.plan import Part, Plan, TitleBlock
from inspection.drawing.requirement import Form, Requirement
from inspection.sheet import events as ev
from inspection.sheet.canonical import form_4
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.events import Entry
from inspection.sheet.evolve import fold_sheet
from inspection.sheet.head import Head, Piece
from inspection.sheet.people import Person
from inspection.sheet.state import Sheet, Shop
from storage.seals.keys import make_key, unlock

INCH = 25_400_000_000
NOON = 1_772_452_800_000_000  # 2026-03-02 12:00 UTC
PASSPHRASE = "four grey geese"


@pytest.fixture(scope="session")
def person() -> Person:
    key = make_key("Ann Ames", PASSPHRASE, NOON)
    return Person("ann", "Ann Ames", certificate=key.certificate, locked_key=key.locked_key)


@pytest.fixture(scope="session")
def sign(person):
    return unlock(person, PASSPHRASE)


@pytest.fixture(scope="session")
def sealed(person, sign) -> Sheet:
    """A sheet of one row, sealed in two rounds."""
    requirement = Requirement(
        ".500 ±.005", Form.PLUS_MINUS, nominal=INCH // 2, lower=495 * INCH // 1000, upper=505 * INCH // 1000
    )
    row = Characteristic("row", "1", FeatureKind.LENGTH, requirement)
    plan = Plan("plan", "part", 1, Part("HB-7", "B"), TitleBlock(), (row,))
    shop = Shop("Ames & Daughter", {"ann": person})
    entry = Entry(identity="11111111-1111-4111-8111-111111111111", person="ann", at=NOON, day="2026-03-02")
    made = ev.SheetMade(
        sheet="sheet", part_identity="part", plan="plan", head=Head(), pieces=(Piece("p", "001"),), rules=shop.rules
    )
    sheet = fold_sheet(None, [(made, entry)], {"plan": plan})
    for round_ in (1, 2):
        later = replace(entry, at=NOON + round_ * 60_000_000)
        content = form_4.write_content(form_4.content_of(shop, sheet, later, "Tenthwright test", "row waits"))
        seal = ev.SheetSealed(
            round=round_,
            content=content.decode(),
            digest=digest(content),
            signature=sign(content),
            incomplete="row waits",
        )
        reopened = ev.SheetReopened(round=round_ + 1, reason="more")
        sheet = fold_sheet(sheet, [(seal, later), (reopened, later)], {"plan": plan})
    return sheet
