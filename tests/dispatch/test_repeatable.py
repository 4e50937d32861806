"""What is made twice of one report is the same file, whenever it is made."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime

import openpyxl
import pytest

from storage.dispatch.pdf import pdf_bytes
from storage.dispatch.table import csv_bytes
from storage.dispatch.workbook import workbook_bytes


@pytest.mark.parametrize("make", [pdf_bytes, workbook_bytes, csv_bytes])
def test_the_same_report_gives_the_same_bytes(focuser, make, monkeypatch):
    first = make(focuser)
    monkeypatch.setattr("time.time", lambda: 2_000_000_000.0)
    monkeypatch.setattr("time.localtime", lambda *_: datetime(2033, 5, 18, 3, 33, 20).timetuple())
    assert make(focuser) == first


def test_a_workbook_names_no_moment_and_is_still_one(focuser):
    content = workbook_bytes(focuser)
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        assert {entry.date_time for entry in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        properties = package.read("docProps/core.xml").decode()
        assert package.testzip() is None
    assert "created" not in properties
    assert "modified" not in properties
    assert focuser.title in properties
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.properties.creator == focuser.shop
    assert book["Results"]["A1"].value == "no."


def test_every_row_of_a_long_workbook_is_a_step_at_which_it_may_be_stopped(long_report):
    report, told = long_report(60, 3), []
    workbook_bytes(report, progress=lambda done, total: told.append((done, total)))
    assert len(told) > 60 * 4
    assert {total for _done, total in told} == {60 * 4}
    assert [done for done, _total in told] == sorted(done for done, _total in told)

    class Stop(Exception):
        pass

    def stop(done: int, _total: int) -> None:
        if done == 150:
            raise Stop

    with pytest.raises(Stop):
        workbook_bytes(report, progress=stop)
