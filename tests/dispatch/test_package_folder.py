"""A package as a folder: whole or not there, whatever the disk does meanwhile."""

from __future__ import annotations

import pytest

from storage.book.failures import BookFailure
from storage.dispatch import package
from storage.dispatch.package import MANIFEST, write_folder

FILES = {"sheet.pdf": b"%PDF", "table.csv": b"a,b\r\n", MANIFEST: b"{}\n"}


def test_a_folder_holds_every_file_and_nothing_is_left_beside_it(tmp_path):
    write_folder(tmp_path / "sent", FILES)
    assert {path.name: path.read_bytes() for path in (tmp_path / "sent").iterdir()} == FILES
    assert [path.name for path in tmp_path.iterdir()] == ["sent"]


def test_a_folder_that_cannot_be_finished_is_not_there(tmp_path, monkeypatch):
    plain = package.write_file

    def full(path, content):
        if path.name == MANIFEST:
            raise OSError(28, "No space left on device")
        return plain(path, content)

    monkeypatch.setattr(package, "write_file", full)
    with pytest.raises((BookFailure, OSError)):
        write_folder(tmp_path / "sent", FILES)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_there_is_not_written_into(tmp_path):
    (tmp_path / "sent").mkdir()
    with pytest.raises(BookFailure):
        write_folder(tmp_path / "sent", FILES)
    assert list((tmp_path / "sent").iterdir()) == []
