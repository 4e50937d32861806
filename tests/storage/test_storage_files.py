"""A file is there whole or not at all, and what stood there before is untouched until then."""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import stat
import subprocess
import sys

import pytest

from inspection.words.say import known, say
from storage import files
from storage.book.failures import BookFailure
from storage.files import digest_of, moved_in, read_file, write_file, writing


@pytest.fixture(autouse=True, params=["nameless", "beside"])
def way(request, monkeypatch):
    """Every test once as the disk can, and once as if it knew no file without a name."""
    if request.param == "beside":
        monkeypatch.setattr(files, "_nameless", lambda place: None)
    return request.param


def code_of(failed) -> str:
    (reason,) = failed.value.reasons
    assert known(reason.code)
    assert "[" not in say(reason)
    return reason.code


def test_a_file_is_written_whole_and_its_digest_told(tmp_path):
    path = tmp_path / "Prüfblatt 1.csv"
    told = write_file(path, b"1;0.5\n")
    assert path.read_bytes() == read_file(path) == b"1;0.5\n"
    assert told == digest_of(path) == hashlib.sha256(b"1;0.5\n").hexdigest()
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


def test_an_earlier_file_is_replaced_and_keeps_its_rights(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_file(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("mark", [".~lock.sheet.xlsx#", "~$sheet.xlsx"])
def test_a_file_that_an_office_program_has_open_is_left(tmp_path, mark):
    """It would be saved over from there, and nobody would know which of the two went out."""
    path = tmp_path / "sheet.xlsx"
    (tmp_path / mark).touch()
    write_file(path, b"first")  # nothing stands there: the mark was forgotten
    with pytest.raises(BookFailure) as failed:
        write_file(path, b"second")
    assert (code_of(failed), path.read_bytes()) == ("file.in_use", b"first")


def test_a_new_file_has_the_usual_rights(tmp_path):
    (tmp_path / "usual").touch()
    write_file(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "usual").stat().st_mode


@pytest.mark.parametrize("fails_after", [0, 1, 100_000])
def test_a_block_that_fails_leaves_everything_as_it_was(tmp_path, fails_after):
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"the sheet as sent")
    with pytest.raises(ZeroDivisionError), writing(path) as file:
        file.write(bytes(fails_after))
        _ = 1 / 0
    assert path.read_bytes() == b"the sheet as sent"
    assert [file.name for file in tmp_path.iterdir()] == ["sheet.pdf"]


def test_nothing_stands_there_before_the_end(tmp_path):
    path = tmp_path / "sheet.pdf"
    with writing(path) as file:
        file.write(b"half")
        file.flush()
        assert not path.exists()
    assert path.read_bytes() == b"half"


@pytest.mark.parametrize("step", ["_sync", "_put"])
def test_a_failure_at_the_end_leaves_nothing(tmp_path, monkeypatch, step):
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"before")

    def fail(*parts):
        raise OSError(28, "no space", str(path))

    monkeypatch.setattr(files, step, fail)
    with pytest.raises(BookFailure) as failed:
        write_file(path, b"after")
    assert code_of(failed) == "file.disk_full"
    assert path.read_bytes() == b"before"
    assert [file.name for file in tmp_path.iterdir()] == ["sheet.pdf"]


def test_an_error_of_the_block_itself_is_not_blamed_on_the_file(tmp_path):
    with pytest.raises(FileNotFoundError), moved_in(tmp_path / "sheet.pdf"):
        (tmp_path / "a font that is not there").read_bytes()
    assert list(tmp_path.iterdir()) == []


def test_a_link_stays_a_link(tmp_path):
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "sheet.csv").write_bytes(b"old")
    (tmp_path / "link.csv").symlink_to(tmp_path / "far" / "sheet.csv")
    write_file(tmp_path / "link.csv", b"new")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "far" / "sheet.csv").read_bytes() == b"new"


def test_what_cannot_be_is_told(tmp_path):
    (tmp_path / "kept.csv").write_bytes(b"kept")
    os.mkfifo(tmp_path / "pipe")
    cases = {
        "file.not_a_file": lambda: write_file(tmp_path / "pipe", b""),
        "file.no_folder": lambda: write_file(tmp_path / "none" / "sheet.csv", b""),
        "file.is_folder": lambda: write_file(tmp_path, b""),
        "file.exists": lambda: write_file(tmp_path / "kept.csv", b"", over=False),
        "file.missing": lambda: read_file(tmp_path / "none.csv"),
    }
    for code, attempt in cases.items():
        with pytest.raises(BookFailure) as failed:
            attempt()
        assert code_of(failed) == code
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)
    with pytest.raises(BookFailure) as failed:
        digest_of(tmp_path / "none.csv")
    assert code_of(failed) == "file.missing"
    assert {file.name for file in tmp_path.iterdir()} == {"kept.csv", "pipe"}


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_came_meanwhile_is_not_replaced(tmp_path, monkeypatch, links):
    """``over`` False holds to the end, also on a disk without links."""
    if not links:
        monkeypatch.setattr(
            type(tmp_path), "hardlink_to", lambda *parts: (_ for _ in ()).throw(PermissionError(1, "no"))
        )
    with pytest.raises(BookFailure) as failed, writing(tmp_path / "sheet.csv", over=False) as file:
        file.write(b"ours")
        (tmp_path / "sheet.csv").write_bytes(b"another's")
    assert code_of(failed) == "file.exists"
    assert (tmp_path / "sheet.csv").read_bytes() == b"another's"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_new_file_without_links(tmp_path, monkeypatch):
    monkeypatch.setattr(type(tmp_path), "hardlink_to", lambda *parts: (_ for _ in ()).throw(PermissionError(1, "no")))
    write_file(tmp_path / "sheet.csv", b"ours", over=False)
    assert [file.name for file in tmp_path.iterdir()] == ["sheet.csv"]


@pytest.mark.skipif(os.name != "posix" or os.geteuid() != 0 or not shutil.which("mount"), reason="only root mounts")
def test_a_disk_that_is_really_full(tmp_path):
    folder = tmp_path / "small"
    folder.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(folder)], check=False).returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        (folder / "sheet.csv").write_bytes(b"before")
        with pytest.raises(BookFailure) as failed:
            write_file(folder / "sheet.csv", bytes(200_000))
        assert code_of(failed) == "file.disk_full"
        assert (folder / "sheet.csv").read_bytes() == b"before"
        assert [file.name for file in folder.iterdir()] == ["sheet.csv"]
    finally:
        subprocess.run(["umount", str(folder)], check=True)


WRITER = """
import sys
from pathlib import Path
from storage.files import write_file
print("ready", flush=True)
n = 0
while True:
    n += 1
    write_file(Path(sys.argv[1]), bytes([n % 256]) * 300_000)
"""


@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
def test_a_killed_writer_leaves_a_whole_file(tmp_path):
    path = tmp_path / "sheet.pdf"
    for pause in (0.01, 0.02, 0.035, 0.05):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
        writer.stdout.readline()
        try:
            writer.wait(pause)
        except subprocess.TimeoutExpired:
            writer.send_signal(signal.SIGKILL)
        writer.communicate()
        if path.exists():
            content = path.read_bytes()
            assert len(content) == 300_000
            assert len(set(content)) == 1
