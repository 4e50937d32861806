"""Making the schema of a new book, and moving an older book to it."""

from __future__ import annotations

import sqlite3
from functools import cache
from pathlib import Path

from sqlalchemy import Connection, insert, text

from inspection.reasons import Reason
from storage.book.engines import Engines, driver_connection
from storage.book.failures import failure
from storage.book.header import APPLICATION_ID, SCHEMA
from storage.book.tables import APPEND_ONLY, IN_ORDER, guards, metadata, schema_step


def create(connection: Connection) -> None:
    """Write the newest schema into an empty file, inside the caller's transaction."""
    metadata.create_all(connection, tables=IN_ORDER)
    for table in APPEND_ONLY:
        for statement in guards(table):
            connection.execute(text(statement))
    connection.execute(insert(schema_step).values(version_num=str(SCHEMA)))
    mark(connection)


def mark(connection: Connection) -> None:
    """Write application id and schema into the header, inside the caller's transaction."""
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.exec_driver_sql(f"PRAGMA user_version = {SCHEMA}")


def stamp(connection: Connection) -> tuple[int, int]:
    """Application id and schema as the header says."""
    application = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
    version = connection.exec_driver_sql("PRAGMA user_version").scalar_one()
    return int(application), int(version)


def move(engines: Engines, version: int) -> Reason:
    """Move an older book to the newest schema; a checked backup is laid beside it first.

    Foreign keys are off while tables are copied and renamed, and checked before the commit. Row counts must not
    shrink. Returns a notice that names the backup. Raises BookFailure if the book is damaged or the disk is full;
    the book is then as it was.
    """
    from storage.book.backup import back_up

    beside = _free_name(engines.path, version)
    with engines.reading.connect() as connection:
        _check_whole(connection, engines.path)
    back_up(driver_connection(engines.reading), engines.path, beside)
    driver_connection(engines.reading).execute("PRAGMA foreign_keys = OFF")
    try:
        with engines.writing.begin() as connection:
            before = _row_counts(connection)
            _run_steps(connection, version)
            _check_moved(connection, before)
            mark(connection)
    finally:
        driver_connection(engines.reading).execute("PRAGMA foreign_keys = ON")
    return Reason("book.moved", {"name": engines.path.name, "backup": beside.name})


def _run_steps(connection: Connection, version: int) -> None:
    # Alembic is imported here only: a book of this schema opens without it.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "storage.book:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def _free_name(path: Path, version: int) -> Path:
    """A name beside the book that no file has yet."""
    stem = f"{path.stem}-before-schema-{SCHEMA}-from-{version}"
    names = (path.with_name(f"{stem}{'-' + str(n) if n else ''}{path.suffix}") for n in range(1_000))
    return next(name for name in names if not name.exists())


def _check_whole(connection: Connection, path: Path) -> None:
    found = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar_one()
    if found != "ok":
        raise failure("book.damaged", path)


def _row_counts(connection: Connection) -> dict[str, int]:
    names = connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'").scalars().all()
    return {name: connection.exec_driver_sql(f'SELECT count(*) FROM "{name}"').scalar_one() for name in names}


def _check_moved(connection: Connection, before: dict[str, int]) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    after = _row_counts(connection)
    shrunk = {name for name, rows in before.items() if name in metadata.tables and after.get(name, 0) < rows}
    if broken or shrunk:
        raise RuntimeError(f"the move lost rows: {sorted(shrunk)}, {broken[:3]}")


@cache
def expected_schema() -> dict[str, str]:
    """Name to definition of everything that a whole book of this schema holds."""
    engine_connection = sqlite3.connect(":memory:", isolation_level=None)
    try:
        from sqlalchemy import create_engine
        from sqlalchemy.pool import StaticPool

        engine = create_engine("sqlite://", creator=lambda: engine_connection, poolclass=StaticPool)
        with engine.connect() as connection:
            create(connection)
        return definitions(engine_connection)
    finally:
        engine_connection.close()


def definitions(connection: sqlite3.Connection) -> dict[str, str]:
    """Name to definition of every table, index and trigger, with white space and quotes evened out."""
    rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    return {name: " ".join(sql.replace('"', "").split()) for name, sql in rows}
