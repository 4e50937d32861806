"""The sheet chosen, as a page: head, pieces with their counts, what is out or open, evidence, seals, files sent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Set

from app.jobs.local_time import moment
from app.ledger import reviewed
from app.ledger.review.told import standing
from app.ledger.work import Looked, PartLooked, Told
from app.parts.marks import Mark, color_of, mark_of
from app.parts.paper import SIGNS, Paper
from app.window.theme import Theme
from inspection.measuring.verdict import IN_DOUBT, Verdict
from inspection.sheet import figures
from inspection.sheet.causes import cause_text
from inspection.sheet.cells import cells_by_route
from inspection.sheet.counts import NAMES, counts_by_piece, counts_of
from inspection.sheet.evidence import EvidenceKind
from inspection.sheet.state import Cell, Sheet, Shop
from inspection.words.say import say, word

#: Rows that are told one by one; the rest is counted.
MOST_ROWS = 10
#: Digits of a digest that tell seals and files apart at a glance.
SHORT = 16
#: Counts as they stand in tables, with the mark that says what each is.
COUNTED = (
    ("conforming", Mark.CONFORMING), ("marginal", Mark.MARGINAL), ("in_doubt", Mark.DOUBT_INSIDE),
    ("not_conforming", Mark.OUT), ("open", Mark.OPEN),
)  # fmt: skip


def sheet_page(looked: Looked, theme: Theme) -> str:
    """The page of a sheet as rich text."""
    paper, sheet, shop = Paper(theme), looked.sheet, looked.shop
    return "".join(
        (
            _head(paper, looked),
            *reviewed.marks(paper, sheet, shop),
            *reviewed.returned(paper, sheet, shop),
            *_pieces(paper, sheet),
            *_out(paper, sheet),
            *_in_doubt(paper, sheet),
            *_open(paper, sheet),
            *reviewed.nonconformances(paper, sheet, shop),
            *reviewed.read_again(paper, sheet, shop),
            *_evidence(paper, sheet),
            *reviewed.statements(paper, sheet, shop),
            *_seals(paper, sheet, shop),
            *_sent(paper, looked),
        )
    )


def _name(shop: Shop, person: str) -> str:
    known = shop.people.get(person)
    return known.name if known is not None else ""


def _head(paper: Paper, looked: Looked) -> str:
    sheet, shop = looked.sheet, looked.shop
    part, head = sheet.plan.part, sheet.head
    stands = standing(sheet, shop, looked.linked) if sheet.statements or looked.linked else ""
    made = word("ledger.made", when=moment(sheet.made_at), person=_name(shop, sheet.made_by))
    title = paper.title(word("ledger.of_part", part=part.number, revision=part.revision), (part.name, made))
    pairs = (
        (word("ledger.field.customer"), head.customer or part.customer),
        (word("ledger.field.order"), " / ".join(filter(None, (head.order, head.order_line)))),
        (word("ledger.field.lot"), head.lot),
        (word("ledger.field.drawing"), " ".join(filter(None, (part.drawing, part.drawing_revision)))),
        (word("ledger.field.plan"), str(sheet.plan.issue)),
        (word("ledger.field.round"), str(sheet.round) if sheet.round > 1 else ""),
        (word("ledger.field.standing"), stands),
        (word("ledger.field.cause"), cause_text(head.cause)),
    )
    return title + paper.facts(pairs)


def _cells(sheet: Sheet) -> tuple[Cell, ...]:
    """The cells that are counted: those on the route, then what was read all the same."""
    return tuple(dict.fromkeys((*cells_by_route(sheet), *sheet.judgements)))


def _pieces(paper: Paper, sheet: Sheet) -> Iterator[str]:
    counts = counts_by_piece(sheet)
    rows = [[(piece.serial, "ink"), *_counted(counts[piece.identity])] for piece in sheet.pieces]
    if len(rows) > 1:
        rows.append([(word("ledger.all_pieces"), "quiet"), *_counted(counts_of(sheet))])
    yield paper.section(word("ledger.section.pieces"))
    yield paper.table([word("ledger.piece"), *_heads()], rows)


def _heads() -> list[str]:
    return [f"{SIGNS[mark]} {word(f'ledger.count.{name}')}" for name, mark in COUNTED]


def _counted(numbers: Mapping[str, int]) -> Iterator[tuple[str, str]]:
    for name, mark in COUNTED:
        n = numbers[name]
        yield (str(n), color_of(mark)) if n else ("–", "quiet")


def _out(paper: Paper, sheet: Sheet) -> Iterator[str]:
    """Rows that are out, by how much, each with its piece."""

    def told(cell: Cell, line: str) -> str:
        by, requirement = sheet.judgement(*cell).out_by, sheet.characteristic(cell[0]).requirement
        said = figures.out_text(by, requirement, "en") if by else ""
        return paper.line(f"{line}   {said}".rstrip(), "out")

    return _cells_with(paper, sheet, "out", {Verdict.NOT_CONFORMING}, told)


def _in_doubt(paper: Paper, sheet: Sheet) -> Iterator[str]:
    """Rows that are in doubt and why, each with its piece."""

    def told(cell: Cell, line: str) -> str:
        return paper.paragraph(line, map(say, sheet.judgement(*cell).reasons), color="doubt")

    return _cells_with(paper, sheet, "in_doubt", IN_DOUBT, told)


def _cells_with(
    paper: Paper, sheet: Sheet, code: str, verdicts: Set[Verdict], told: Callable[[Cell, str], str]
) -> Iterator[str]:
    """The section of what came to such verdicts: each cell as it is ``told`` from its line."""
    cells = [cell for cell in _cells(sheet) if sheet.judgement(*cell).verdict in verdicts]
    if not cells:
        return
    yield paper.section(word(f"ledger.section.{code}"))
    for row, piece in cells[:MOST_ROWS]:
        mark = SIGNS[mark_of(sheet.judgement(row, piece).verdict)]
        requirement, number = sheet.characteristic(row).requirement, sheet.characteristic(row).number
        line = word("ledger.row", requirement=requirement.written, number=number, serial=_serial(sheet, piece))
        yield told((row, piece), f"{mark} {line}")
    yield from _more(paper, len(cells))


def _open(paper: Paper, sheet: Sheet) -> Iterator[str]:
    """What still waits: questions, and rows by piece."""
    waiting: dict[str, list[str]] = {}
    for row, piece in cells_by_route(sheet):
        if sheet.judgement(row, piece).verdict is Verdict.OPEN:
            waiting.setdefault(piece, []).append(sheet.characteristic(row).number)
    questions = sheet.open_questions()
    if not waiting and not questions:
        return
    yield paper.section(word("ledger.section.open"))
    for question in questions[:MOST_ROWS]:
        where = word("ledger.at", number=sheet.characteristic(question.characteristic).number)
        yield paper.paragraph(f"{SIGNS[Mark.QUESTION]} {where}", (say(question.reason),), color="doubt")
    for piece, numbers in waiting.items():
        shown = ", ".join(numbers[: 2 * MOST_ROWS]) + (" …" if len(numbers) > 2 * MOST_ROWS else "")
        yield paper.paragraph(word("ledger.waiting", serial=_serial(sheet, piece), n=len(numbers)), (shown,))


def _more(paper: Paper, n: int) -> Iterator[str]:
    if n > MOST_ROWS:
        yield paper.line(word("ledger.more", n=n - MOST_ROWS), "quiet")


def _serial(sheet: Sheet, piece: str) -> str:
    return next(one.serial for one in sheet.pieces if one.identity == piece)


def _evidence(paper: Paper, sheet: Sheet) -> Iterator[str]:
    """Materials, processes and tests, each with its papers."""
    if not sheet.evidence:
        return
    yield paper.section(word("ledger.section.evidence"))
    for one in sorted(sheet.evidence.values(), key=lambda each: list(EvidenceKind).index(each.kind)):
        specification = " ".join(filter(None, (one.specification, one.specification_revision)))
        certificate = word("ledger.certificate", certificate=one.certificate) if one.certificate else ""
        files = word("ledger.files", n=len(one.files)) if one.files else ""
        told = " · ".join(filter(None, (specification, one.supplier, certificate, files)))
        yield paper.paragraph(word(f"ledger.evidence.{one.kind.name.lower()}"), (one.name, told))


def _seals(paper: Paper, sheet: Sheet, shop: Shop) -> Iterator[str]:
    if not sheet.seals:
        return
    yield paper.section(word("ledger.section.seals"))
    for seal in reversed(sheet.seals):
        head = word("ledger.seal", round=seal.round, when=moment(seal.at), person=_name(shop, seal.by))
        why = word("ledger.incomplete", reason=seal.incomplete) if seal.incomplete else ""
        yield paper.paragraph(head, (why, word("ledger.digest", digest=seal.digest[:SHORT])))


def _sent(paper: Paper, looked: Looked) -> Iterator[str]:
    if not looked.sent:
        return
    yield paper.section(word("ledger.section.sent"))
    for sent in looked.sent:
        head = word("ledger.sent", when=moment(sent.at), person=_name(looked.shop, sent.by))
        since = word(f"ledger.since.{sent.since}") if sent.since else ""
        yield paper.paragraph(head, (sent.name, word("ledger.digest", digest=sent.digest[:SHORT]), since))


# --- the journal ----------------------------------------------------------------------------------------------


def journal_page(title: str, pages: list[Told], theme: Theme) -> str:
    """The journal as far as it was read, newest first: who did what when, and what followed."""
    paper = Paper(theme)
    told = [paper.title(word("ledger.journal"), (title,))]
    for page in pages:
        for line in page.lines:
            head = word("ledger.entry", when=moment(line.at), person=line.person, act=word(line.act))
            told.append(paper.paragraph(head, tuple(dict.fromkeys(map(say, line.said)))))
    if pages and pages[-1].more:
        told.append(paper.paragraph(word("ledger.journal.more"), ()))
    return "".join(told)


# --- a part in time -------------------------------------------------------------------------------------------


def part_page(title: str, looked: PartLooked, theme: Theme) -> str:
    """The part's revisions with what their sheets came to."""
    paper = Paper(theme)
    heads = [word("ledger.revision"), word("ledger.sheets"), *_heads()]
    rows = [
        [
            (one.revision or "–", "ink"),
            (str(one.sheets), "ink"),
            *_counted({name: getattr(one, name) for name in NAMES}),
        ]
        for one in looked.revisions
    ]
    days = [(one.first, one.last) for one in looked.revisions]
    span = word("ledger.span", first=min(day for day, _ in days), last=max(day for _, day in days)) if days else ""
    told = paper.title(title, (span,)) + paper.section(word("ledger.section.part")) + paper.table(heads, rows)
    questions = sum(one.questions for one in looked.revisions)
    return told + (paper.line(word("ledger.part.questions", n=questions), "doubt") if questions else "")
