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
