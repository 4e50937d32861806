"""The program's own typeface, ready as files for the window and for the printed sheet.

It is founded once, at first use, into the person's cache folder and found there afterwards. The folder's name holds a
checksum of everything that went into it, so a newer program founds its own beside it. It appears whole or not at all:
two programs that start at once both found it, and the second one's is dropped.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import NamedTuple
from zlib import crc32

from platformdirs import user_cache_path

import resources

FAMILY = "Tenthwright Bench"
VERSION = "1.000"
STYLES = ("Regular", "Bold")
#: Raised whenever founding itself changes, so that nobody goes on with faces of the former way.
RECIPE = 1
CHARACTERS = "characters.txt"
LICENCE = "OFL.txt"
#: Lay out a text; they need no glyph.
UNPRINTED = frozenset("\n\r\t")


class Typeface(NamedTuple):
    """The two faces of the family as TrueType files. A tuple, because the window asks before its first frame and
    nothing else that it needs by then imports msgspec."""

    regular: Path
    bold: Path


@cache
def typeface() -> Typeface:
    """Return the files of the family, founding it first if the cache folder does not hold it whole.

    Where the cache folder cannot be written, a folder for this process alone takes its place.
    """
    folder = _folder()
    return Typeface(*(folder / _file_name(style) for style in STYLES))


def missing_glyphs(text: str) -> set[str]:
    """Return the characters of ``text`` that the family cannot show; line ends and tabs need no glyph."""
    return set(text) - characters() - UNPRINTED


@cache
def characters() -> frozenset[str]:
    """Every character that both faces of the family have."""
    listed = typeface().regular.with_name(CHARACTERS)
    return frozenset(listed.read_text(encoding="utf-8"))


def _folder() -> Path:
    base, symbols = _base_files(), _symbols()
    key = _key([*base.values(), symbols.encode()])
    try:
        return _found_in(user_cache_path("tenthwright") / f"typeface-{key}", base, symbols)
    except OSError:
        return _found_in(_own_folder() / f"typeface-{key}", base, symbols)


def _base_files() -> dict[str, bytes]:
    import fontpkg_atkinson_hyperlegible as package

    files = Path(package.ROOT) / "files"
    return {style: (files / f"AtkinsonHyperlegible-{style}.ttf").read_bytes() for style in STYLES}


def _symbols() -> str:
    return (Path(resources.__path__[0]) / "symbols" / "symbols.toml").read_text(encoding="utf-8")


def _key(parts: Iterable[bytes]) -> str:
    """Told apart are editions of one family, which nobody forges: a digest would cost the first frame its library."""
    found = crc32(f"{FAMILY} {VERSION} {RECIPE}".encode())
    for part in parts:
        found = crc32(part, found)
    return f"{found:08x}"


def _file_name(style: str) -> str:
    return f"{FAMILY.replace(' ', '')}-{style}.ttf"


def _found_in(folder: Path, base: dict[str, bytes], symbols: str) -> Path:
    if not _whole(folder):
        _put(folder, _founded(base, symbols))
    return folder


def _whole(folder: Path) -> bool:
    """Whether every file is there; a file of the folder that a cleaner removed or cut makes it be founded anew."""
    try:
        sizes = (folder / "sizes.txt").read_text(encoding="utf-8").splitlines()
        return bool(sizes) and all((folder / name).stat().st_size == int(size) for size, name in map(str.split, sizes))
    except (OSError, ValueError):
        return False


def _founded(base: dict[str, bytes], symbols: str) -> dict[str, bytes]:
    """Found both faces; returns the folder's files by name."""
    import fontpkg_atkinson_hyperlegible as package

    from storage.typefounding import found_face

    files: dict[str, bytes] = {LICENCE: (Path(package.ROOT) / "LICENSE").read_bytes()}
    shared: set[str] | None = None
    for style in STYLES:
        files[_file_name(style)], shown = found_face(base[style], symbols, FAMILY, style, VERSION)
        shared = set(shown) if shared is None else shared & set(shown)
    files[CHARACTERS] = "".join(sorted(shared or ())).encode()
    files["sizes.txt"] = "".join(f"{len(content)} {name}\n" for name, content in files.items()).encode()
    return files


def _put(folder: Path, files: dict[str, bytes]) -> None:
    """Write the files beside their place and move the folder in whole."""
    import shutil
    import tempfile

    folder.parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        for name, content in files.items():
            with (beside / name).open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        _move_in(beside, folder)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _move_in(beside: Path, folder: Path) -> None:
    """Move a finished folder to its place and a damaged one out of it; another program's whole one stays."""
    import shutil

    try:
        beside.rename(folder)
    except OSError:
        if _whole(folder):
            return
        aside = beside.with_name(f"{beside.name}-damaged")
        folder.rename(aside)
        shutil.rmtree(aside, ignore_errors=True)
        beside.rename(folder)


@cache
def _own_folder() -> Path:
    """A folder for this process alone, removed when it ends."""
    import atexit
    import shutil
    import tempfile

    folder = tempfile.mkdtemp(prefix="tenthwright-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return Path(folder)
