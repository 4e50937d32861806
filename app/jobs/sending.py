"""A sheet sent: its report written beside the place and moved in, and the file's digest kept in the book."""

from __future__ import annotations

from calendar import timegm
from collections.abc import Callable
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from time import localtime, tzname
from typing import TYPE_CHECKING

from app.jobs.hand import Hand
from inspection.reasons import Reason, Refused
from inspection.sheet import acts
from inspection.sheet.steps import require

if TYPE_CHECKING:
    from inspection.sheet.report import Report
    from inspection.sheet.state import Sheet

Progress = Callable[[int, int], None]

#: The forms that a sheet goes out in, and the usual ending of each.
FORMS = {"pdf": ".pdf", "xlsx": ".xlsx", "csv": ".csv", "data": ".json"}
PAPERS = {"letter": "Letter", "a4": "A4"}


def send(
    hand: Hand,
    sheet: str,
    form: str,
    path: Path,
    *,
    paper: str = PAPERS["letter"],
    zone: tzinfo | None = None,
    progress: Progress | None = None,
) -> str:
    """Write a sheet to ``path`` in one of ``FORMS`` and keep the file's SHA-256 in the book; returns it in hex.

    Times are told in ``zone`` (None: this computer's). Raises Refused or BookFailure. What the file could not be made
    for leaves what stood at ``path``; a file that was made stays, though the book could not keep its digest.
    """
    as_it_stands, shop = hand.book.sheet(sheet), hand.book.shop()
    kept = acts.RecordSent(sheet=sheet, form=form, name=_name(path), digest="0" * 64)
    require(shop, as_it_stands, kept, hand.person)
    digest = _written(hand, as_it_stands, form, path, paper, zone, progress)
    hand.book.do(acts.RecordSent(sheet=sheet, form=form, name=_name(path), digest=digest), person=hand.person)
    return digest


def _name(path: Path) -> str:
    """The file's name as the journal keeps it, though the disk's encoding may not be the journal's."""
    return path.name.encode("utf-8", "replace").decode()


def _written(
    hand: Hand, sheet: Sheet, form: str, path: Path, paper: str, zone: tzinfo | None, progress: Progress | None
) -> str:
    if form == "data":
        from storage.files import write_file
        from storage.seals.data_file import write_data

        return write_file(path, write_data(sheet))
    report = report_of(hand, sheet, zone)
    if form == "pdf":
        from storage.dispatch.pdf import write_pdf

        return write_pdf(report, path, paper=paper, progress=progress)
    if form == "xlsx":
        from storage.dispatch.workbook import write_workbook

        return write_workbook(report, path, paper=paper, progress=progress)
    if form == "csv":
        from storage.dispatch.table import write_csv

        return write_csv(report, path, progress=progress)
    raise Refused(Reason("command.form_unknown", {"form": form, "known": ", ".join(FORMS)}))


def report_of(hand: Hand, sheet: Sheet, zone: tzinfo | None = None) -> Report:
    """The report of a sheet, with times in ``zone`` (None: this computer's)."""
    from inspection.sheet.reporting import report

    return report(sheet, hand.book.shop(), zone=zone or LocalZone())


class LocalZone(tzinfo):
    """This computer's time zone, with its changes of clocks through the years."""

    def __str__(self) -> str:
        """The zone's abbreviations through the year."""
        return "/".join(dict.fromkeys(tzname))

    def fromutc(self, moment: datetime) -> datetime:
        """The local time at a moment given in UTC."""
        return moment + timedelta(seconds=localtime(timegm(moment.timetuple())).tm_gmtoff)

    def utcoffset(self, moment: datetime | None) -> timedelta | None:
        """How far local time is from UTC then."""
        return None if moment is None else moment.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, _moment: datetime | None) -> None:
        """Not told: the offset holds it."""

    def tzname(self, moment: datetime | None) -> str | None:
        """The zone's abbreviation then."""
        return None if moment is None else moment.replace(tzinfo=None).astimezone().tzname()
