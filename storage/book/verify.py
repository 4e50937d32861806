"""Is the book, a sheet or a file what was written and signed?

The bytes come first: digests, chain and signatures are checked over the journal's bytes as kept. Then the bytes are
read by the reader of their form, and what follows from them is compared, as values, with the rows in the tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import select

from inspection.reasons import Part, Reason, Refused
from inspection.sheet.canonical.canonical import digest
from inspection.sheet.certificates import fingerprint
from inspection.sheet.review import FIRST_ARTICLE, StatementKind
from storage.book import tables
from storage.book.attached import attached_faults
from storage.book.chain import Progress
from storage.book.engines import Engines, driver_connection
from storage.book.failures import telling
from storage.book.halves import go_through_all
from storage.book.header import SCHEMA
from storage.book.opening import open_book
from storage.book.queries.sent_files import SentFile, files_of_digest, signed_after
from storage.book.schema import definitions, expected_schema
from storage.book.streams import Told, go_through
from storage.dispatch.package import is_package, verify_folder, verify_package
from storage.files import read_file
from storage.seals.check import Verified, which_stand
from storage.seals.data_file import read_data, verify_data
from storage.seals.pdf_attachments import read_pdf
from storage.seals.pdf_checking import check_pdf, is_signed_pdf


def verify_book(path: Path, progress: Progress | None = None) -> Verified:
    """Check a whole book without writing to it. Raises BookFailure if it cannot be opened."""
    with _opened(path) as engines:
        faults, through = go_through_all(engines, lambda: _structure(engines), progress)
        named = {name: one for told in through.told.values() for name, one in told.files.items()}
        faults += through.faults + attached_faults(
            engines, named, up_to=None if through.unreadable else through.chain.place
        )
    chain, sheets = through.chain, sum(bool(told.pieces) for told in through.told.values())
    whole = Reason("verify.book_whole", {"name": path.name, "entries": chain.entries, "sheets": sheets})
    found = _verified(faults, through.told.values(), whole)
    behind = chain.entries - chain.signed
    tail = (Reason("verify.unsigned_tail", {"n": behind}),) if behind else ()
    return Verified((*found.statements, *tail), found.faults)


def verify_sheet(path: Path, sheet: str, progress: Progress | None = None) -> Verified:
    """Check one sheet of a book, and the chain it stands in. Raises BookFailure; Refused for an unknown sheet."""
    with _opened(path) as engines:
        through = go_through(driver_connection(engines.reading), progress, only={sheet})
        told = through.told.get(sheet)
        if told is None:
            raise Refused(Reason("sheet.unknown"))
        faults = through.faults + attached_faults(engines, told.files, up_to=None)
    return _verified(
        faults, [told], Reason("verify.sheet_whole", {"number": told.number or sheet, "serials": _serials(told)})
    )


def verify_file(file: Path, book: Path | None = None, progress: Progress | None = None) -> Verified:
    """Check any file that the program may have made, by its SHA-256 in the journal; a data file and a signed PDF also
    by themselves, the PDF's signatures by the certificates of the book's people.

    Without ``book`` only a data file, a signed PDF or a package, folders too, can be checked. Raises BookFailure if
    file or book cannot be read, Refused if the file is none of them and no book was named.
    """
    if file.is_dir():
        return verify_folder(file)
    content = read_file(file)
    if is_package(content):
        return _package(file, content, book, progress)
    if book is None:
        return check_pdf(content) if is_signed_pdf(content) else verify_data(content)
    with _opened(book) as engines:
        alone, seals = _by_itself(engines, content)
        known = _known_file(engines, file, content, seals, progress)
    return Verified((*known.statements, *alone.statements), (*known.faults, *alone.faults))


def _by_itself(engines: Engines, content: bytes) -> tuple[Verified, tuple[str, ...] | None]:
    """What a data file or a signed PDF says for itself, and the digests of the seals in it; nothing of other files."""
    try:
        if is_signed_pdf(content):
            with engines.reading.begin() as connection:
                certificates = connection.execute(select(tables.person.c.certificate).distinct()).scalars().all()
            found = check_pdf(content, frozenset(filter(None, map(fingerprint, certificates))))
            return found, tuple(seal.digest for seal in read_pdf(content).seals) if found.whole else ()
        return verify_data(content), tuple(seal.digest for seal in read_data(content).seals)
    except Refused:
        return Verified(), None


def _package(file: Path, content: bytes, book: Path | None, progress: Progress | None) -> Verified:
    """A package by its own manifest, and where a book is at hand that knows it, by what the journal says of it."""
    alone = verify_package(content, file.name)
    if book is None:
        return alone
    with _opened(book) as engines:
        with engines.reading.begin() as connection:
            known = bool(files_of_digest(connection, digest(content)))
        if not known:
            return alone
        found = _known_file(engines, file, content, None, progress)
    return Verified((*found.statements, *alone.statements), (*found.faults, *alone.faults))


def _verified(faults: list[Reason], told: Iterable[Told], whole: Reason) -> Verified:
    seals = [said for one in told for said in which_stand(one.statements)]
    return Verified(tuple(seals if faults else [whole, *seals]), tuple(faults))


@contextmanager
def _opened(path: Path) -> Iterator[Engines]:
    """The book, opened so that nothing can be written; one whose last writer was cut off must be opened first."""
    engines = open_book(path, writable=False).engines
    try:
        with telling(path):
            yield engines
    finally:
        engines.close()


def _structure(engines: Engines) -> list[Reason]:
    """What the database itself says, and tables, indexes and triggers against those a book has."""
    connection = driver_connection(engines.reading)
    faults = [
        Reason("verify.pages_damaged", {"found": str(found)})
        for (found,) in connection.execute("PRAGMA quick_check").fetchall()
        if found != "ok"
    ]
    faults += [
        Reason("verify.row_without_entry", {"what": f"book.table.{table}"})
        for table in dict.fromkeys(row[0] for row in connection.execute("PRAGMA foreign_key_check").fetchall())
    ]
    expected, found = expected_schema(), definitions(connection)
    odd = {name for name in expected.keys() | found.keys() if expected.get(name) != found.get(name)}
    faults += [Reason("verify.schema_changed", {"name": name}) for name in sorted(odd)]
    steps = [row[0] for row in connection.execute("SELECT version_num FROM schema_step").fetchall()]
    if steps != [str(SCHEMA)]:
        faults.append(Reason("verify.schema_step", {"stored": ", ".join(steps) or "-", "expected": SCHEMA}))
    return faults


# --- files ----------------------------------------------------------------------------------------------------


def _known_file(
    engines: Engines, file: Path, content: bytes, seals: tuple[str, ...] | None, progress: Progress | None
) -> Verified:
    """What the journal says of a file; ``seals`` are the digests of those inside it, None where it can hold none."""
    with engines.reading.begin() as connection:
        records = files_of_digest(connection, digest(content))
    if not records:
        return _unknown(file) if seals is None else _seals_known(engines, file, seals)
    sheets = dict.fromkeys(record.sheet for record in records)
    through = go_through(driver_connection(engines.reading), progress, only=sheets)
    statements: list[Reason] = []
    faults = through.faults
    for sheet in sheets:
        told = through.told.get(sheet, Told())
        mine = [record for record in records if record.sheet == sheet]
        statements += [_known(told, record, file, _person(engines, record.by)) for record in mine]
        statements += which_stand(told.statements)
        statements += _since(engines, mine[-1], told)
        faults += _too_early(engines, mine[-1], told)
    return Verified(tuple(statements), tuple(faults))


def _unknown(file: Path) -> Verified:
    return Verified(faults=(Reason("verify.file_unknown", {"name": file.name}),))


def _known(told: Told, record: SentFile, file: Path, person: str) -> Reason:
    parts: dict[str, Part] = {
        "name": file.name,
        "then": record.name,
        "form": f"desk.form.{record.form}",
        "number": told.number,
        "serials": _serials(told),
        "person": person,
        "when": _when(record.at),
    }
    return Reason("verify.file_known", parts)


def _serials(told: Told) -> str:
    return ", ".join(piece.serial for piece in told.pieces)


def _since(engines: Engines, record: SentFile, told: Told) -> list[Reason]:
    """Whether the sheet went on after the file was made: a further round, or what was stated of its first article."""
    again, stated = tables.reopening, tables.statement
    query = select(again.c.round).where(again.c.sheet == record.sheet, again.c.sequence > record.sequence)
    further = select(stated.c.kind).where(
        stated.c.sheet == record.sheet,
        stated.c.sequence > record.sequence,
        stated.c.kind.in_([kind.value for kind in FIRST_ARTICLE]),
    )
    with engines.reading.begin() as connection:
        rounds = connection.execute(query).scalars().all()
        last = connection.execute(further.order_by(stated.c.sequence.desc())).scalars().first()
    since = [Reason("verify.reopened_since", {"number": told.number, "round": max(rounds)})] if rounds else []
    if last is not None:
        said: dict[str, Part] = {"number": told.number, "statement": f"statement.{StatementKind(last).name.lower()}"}
        since.append(Reason("verify.stated_since", said))
    return since


def _too_early(engines: Engines, record: SentFile, told: Told) -> list[Reason]:
    """A file of an open sheet that was signed later is unchanged, and yet not what was signed."""
    with engines.reading.begin() as connection:
        signed = signed_after(connection, record)
    return [Reason("verify.made_before_signing", {"number": told.number, "round": signed})] if signed else []


def _seals_known(engines: Engines, file: Path, inside: tuple[str, ...]) -> Verified:
    """A data file or signed PDF whose bytes the journal does not name (saved again, say): its seals against the
    book's."""
    seals = set(inside)
    with engines.reading.begin() as connection:
        found = set(connection.execute(select(tables.seal.c.digest).where(tables.seal.c.digest.in_(seals))).scalars())
    if seals and found == seals:
        return Verified((Reason("verify.seals_known", {"name": file.name}),))
    return Verified(faults=(Reason("verify.seals_unknown", {"name": file.name}),))


def _person(engines: Engines, identity: str) -> str:
    table = tables.person
    query = select(table.c.name).where(table.c.person == identity).order_by(table.c.sequence.desc()).limit(1)
    with engines.reading.begin() as connection:
        return connection.execute(query).scalar() or identity


def _when(at: int) -> str:
    return datetime.fromtimestamp(at // 1_000_000, UTC).strftime("%Y-%m-%d %H:%M UTC")
