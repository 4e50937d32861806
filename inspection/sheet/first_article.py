"""The aerospace first article report in three parts: part number, product and characteristic accountability.

What it holds is the field content of the standard 9102 (``resources/tables/first_article.csv``: boxes from memory, to
be checked against the edition in force); how it looks is our own. What is missing before it may be called complete
stands on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, tzinfo

from msgspec import Struct

from inspection.attached import Attached
from inspection.layout.layout import Layout
from inspection.layout.told import Item, Telling
from inspection.sheet.canonical.form_4 import read_statement
from inspection.sheet.chain_head import ChainHead
from inspection.sheet.evidence import EvidenceKind
from inspection.sheet.head import Piece
from inspection.sheet.missing import missing
from inspection.sheet.report import EvidenceLine, Report
from inspection.sheet.review import StatementKind
from inspection.sheet.state import Sheet, Shop
from inspection.standards.tables import Row, rows

PARTS = ("accountability", "product", "characteristics")
#: No customer's words: the sheet's own.
_PLAIN = Layout(customer="-", name="-", workbook=Attached("", "", 0))


class Box(Struct, frozen=True):
    """One box of a head: its number in the standard (empty where editions differ), its label and what stands in it,
    which is said where nothing does; ``lacking`` that something should."""

    number: str
    label: str
    text: str
    lacking: bool = False


class Column(Struct, frozen=True):
    """One column: its number, its label, and its share of the width in per cent."""

    number: str
    label: str
    share: float


class PartForm(Struct, frozen=True):
    """One part, for one piece where it is of characteristics."""

    code: str
    title: str
    head: tuple[Box, ...]
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    foot: tuple[Box, ...]
    serial: str = ""


class FirstArticle(Struct, frozen=True):
    """The whole report. ``standing`` says whether it was stated complete; ``lacks`` what is missing, one a line;
    ``chain`` is the head of the book's chain, and ``chain_told`` the sentence that says it."""

    title: str
    shop: str
    language: str
    standing: str
    lacks_title: str
    lacks: tuple[str, ...]
    parts: tuple[PartForm, ...]
    chain: ChainHead | None = None
    chain_told: str = ""


def first_article(sheet: Sheet, shop: Shop, report: Report, zone: tzinfo = UTC) -> FirstArticle:
    """The report of a sheet, in the language of its report."""
    telling = Telling(sheet, shop, report, _PLAIN, zone)
    say = telling.teller
    lacks = tuple(say.say(each.reason) for each in missing(shop, sheet))
    part = sheet.plan.part
    return FirstArticle(
        title=say.word("first_article.title", part=part.number, revision=part.revision),
        shop=shop.name,
        language=report.language,
        standing=_standing(telling, len(lacks)),
        lacks_title=say.word("first_article.lacks", n=len(lacks)),
        lacks=lacks,
        parts=tuple(_parts(telling)),
        chain=report.chain,
        chain_told=say.word("dispatch.chain", head=report.chain.told) if report.chain is not None else "",
    )


def _standing(telling: Telling, lacks: int) -> str:
    """Whether it may be called complete: by the statement that was made of it, never by a count alone."""
    sheet, say = telling.sheet, telling.teller
    made = sheet.first_article
    if made is None:
        return say.word("first_article.not_stated" if not lacks else "first_article.not_stated_lacking")
    code = "first_article.complete" if made.kind is StatementKind.COMPLETE else "first_article.not_complete"
    words = read_statement(made.content).words
    return say.word(code, person=say.person(made.by), day=say.day(made.at), words=words)


def _parts(telling: Telling) -> Iterator[PartForm]:
    yield _part(telling, "accountability", _items(telling), telling.sheet.pieces)
    yield _part(telling, "product", _evidence(telling.report.evidence), telling.sheet.pieces)
    for piece in telling.sheet.pieces:
        yield _part(telling, "characteristics", _characteristics(telling, piece), (piece,), piece.serial)


def _part(
    telling: Telling, code: str, told: Iterator[Mapping[str, str]], pieces: Sequence[Piece], serial: str = ""
) -> PartForm:
    table = [row for row in rows("first_article") if row["part"] == code]
    columns = [row for row in table if row["use"] == "column"]
    return PartForm(
        code=code,
        title=telling.teller.word(f"first_article.part.{code}"),
        head=tuple(_box(telling, row, pieces) for row in table if row["use"] == "head"),
        columns=tuple(Column(row["box"], _label(telling, row), float(row["share"])) for row in columns),
        rows=tuple(tuple(line.get(row["code"], "") for row in columns) for line in told),
        foot=tuple(_box(telling, row, pieces) for row in table if row["use"] == "foot"),
        serial=serial,
    )


def _label(telling: Telling, row: Row) -> str:
    return telling.teller.word(f"first_article.box.{row['code']}")


def _box(telling: Telling, row: Row, pieces: Sequence[Piece]) -> Box:
    text = telling.of_head(row["code"], pieces[0] if pieces else None).text.strip()
    lacking = not text and row["needed"] == "yes"
    empty = telling.teller.word("first_article.blank" if lacking else "first_article.none")
    return Box(row["box"], _label(telling, row), text or empty, lacking)


# --- rows -----------------------------------------------------------------------------------------------------


def _items(telling: Telling) -> Iterator[Mapping[str, str]]:
    for item in telling.sheet.head.sub_items:
        number = " ".join(filter(None, (item.number, item.revision)))
        yield {
            "item_number": number, "item_name": item.name, "item_serial": item.serial, "item_report": item.sheet
        }  # fmt: skip


def _evidence(lines: Sequence[EvidenceLine]) -> Iterator[Mapping[str, str]]:
    for line in (each for each in lines if each.kind != EvidenceKind.DRAWING):
        test = line.kind == EvidenceKind.TEST
        specification = " ".join(filter(None, (line.specification, line.revision)))
        yield {
            "evidence": line.name,
            "specification": "" if test else specification,
            "code": line.code,
            "source": line.supplier,
            "approved": line.approved,
            "certificate": "" if test else line.certificate,
            "procedure": specification if test else "",
            "acceptance": ", ".join(filter(None, (line.certificate, line.result))) if test else "",
        }


def _characteristics(telling: Telling, piece: Piece) -> Iterator[Mapping[str, str]]:
    for item in telling.items():
        said = {
            name: telling.of_row(item, name, (piece,)).text
            for name in ("number", "key", "requirement", "result", "tooling", "nonconformance", "unit", "verdict",
                         "instrument_tag", "calibration_due", "note", "sheet", "zone")
        }  # fmt: skip
        yield {**said, "location": _location(said), "result": _result(item, said), "additional": _additional(said)}


def _location(said: Mapping[str, str]) -> str:
    return " ".join(filter(None, (said["sheet"], said["zone"])))


def _result(item: Item, said: Mapping[str, str]) -> str:
    """The result in the row's unit; what is not plainly conforming is told beside it."""
    number = said["result"]
    with_unit = f"{number} {said['unit']}" if number[-1:].isdigit() and said["unit"] else number
    plain = item.lines[0].state == "conforming" or not number
    return with_unit if plain else "\n".join(filter(None, (with_unit, said["verdict"])))


def _additional(said: Mapping[str, str]) -> str:
    gauge = ", ".join(filter(None, (said["instrument_tag"], said["calibration_due"])))
    return "\n".join(filter(None, (gauge, said["note"])))
