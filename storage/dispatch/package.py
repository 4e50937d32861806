"""A package: everything that goes out of one sheet, with a manifest of digests, as a folder or a zip.

The zip is the same bytes for the same members, so that a package that was kept goes out again as it was.
"""

from __future__ import annotations

import io
import zipfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from secrets import token_hex
from shutil import rmtree

import msgspec
from msgspec import Struct

from inspection.reasons import Part, Reason, Refused
from inspection.sheet.canonical.canonical import digest, dumps
from inspection.sheet.edition import PROGRAM
from storage.dispatch.repeatable import NO_MOMENT
from storage.files import read_file, write_file
from storage.seals.check import Verified

FORMAT = "tenthwright package"
MANIFEST = "manifest.json"
#: A package holds no more files, and unpacks to no more bytes.
MOST_FILES, MOST_BYTES = 2_000, 2_000_000_000
_FORBIDDEN = set('<>:"/\\|?*') | {chr(point) for point in range(32)}


class Listed(Struct, frozen=True):
    """One file of a package: its name, what it is, its size and the SHA-256 of its bytes in hex."""

    name: str
    what: str
    size: int
    sha256: str


class Manifest(Struct, frozen=True, kw_only=True):
    """What a package holds, and of what. ``made`` is the moment that the sheet was last signed or begun (UTC, ISO);
    ``chain`` is the head of the book's chain."""

    format: str = FORMAT
    version: int = 1
    program: str = PROGRAM
    shop: str
    customer: str
    part: str
    revision: str
    serials: tuple[str, ...]
    sheet: str
    round: int
    signed: bool
    made: str
    files: tuple[Listed, ...]
    chain: str = ""


class Member(Struct, frozen=True):
    """One file that goes into a package."""

    name: str
    what: str
    content: bytes


_decoder = msgspec.json.Decoder(Manifest)


def listed(member: Member) -> Listed:
    """A member as the manifest names it."""
    return Listed(member.name, member.what, len(member.content), digest(member.content))


def with_free_names(members: Sequence[Member]) -> tuple[Member, ...]:
    """Members whose names every disk takes and that no two share, whatever their capitals."""
    taken: Counter[str] = Counter({MANIFEST.casefold(): 1})
    found = []
    for member in members:
        clean = "".join("-" if sign in _FORBIDDEN else sign for sign in member.name).strip(" .") or "file"
        stem, dot, ending = clean.rpartition(".")
        name, n = clean, 1
        while taken[name.casefold()]:
            n += 1
            name = f"{stem or ending} ({n}){dot}{ending if stem else ''}"
        taken[name.casefold()] += 1
        found.append(msgspec.structs.replace(member, name=name))
    return tuple(found)


def manifest_bytes(manifest: Manifest) -> bytes:
    """The manifest as a file."""
    return dumps(manifest) + b"\n"


def zip_bytes(files: Mapping[str, bytes]) -> bytes:
    """A zip of these files in their order; the manifest comes first."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in sorted(files, key=lambda each: each != MANIFEST):
            entry = zipfile.ZipInfo(name, NO_MOMENT)
            entry.compress_type = zipfile.ZIP_DEFLATED
            made.writestr(entry, files[name])
    return out.getvalue()


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write the files into a new folder: beside its place, then moved in. Raises BookFailure, and then nothing is left;
    an existing folder is refused."""
    from storage.book.failures import failure, telling

    if folder.exists():
        raise failure("file.exists", folder)
    beside = folder.with_name(f".{folder.name[:40]}-{token_hex(4)}")
    with telling(folder, "file"):
        beside.mkdir()
    try:
        for name in files:
            write_file(beside / name, files[name])
        with telling(folder, "file"):
            beside.rename(folder)
    except BaseException:
        rmtree(beside, ignore_errors=True)
        raise


# --- checking ---------------------------------------------------------------------------------------------------


def is_package(content: bytes) -> bool:
    """Whether these bytes are a zip with a manifest."""
    if not content.startswith(b"PK"):
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as held:
            return MANIFEST in held.namelist() and "[Content_Types].xml" not in held.namelist()
    except zipfile.BadZipFile:
        return False


def verify_package(content: bytes, name: str) -> Verified:
    """Check a zip by itself: every file by the manifest, none missing and none too many, and what is signed in it.

    Raises Refused for what is no package, or is one of a later version.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as held:
            entries = [entry for entry in held.infolist() if not entry.is_dir()]
            if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > MOST_BYTES:
                raise Refused(Reason("package.too_large", {"name": name}))
            names = Counter(entry.filename for entry in entries)
            files = {entry.filename: held.read(entry) for entry in entries}
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError):
        raise Refused(Reason("package.broken", {"name": name})) from None
    twice = tuple(Reason("package.twice", {"file": each}) for each, n in names.items() if n > 1)
    found = _verified(files, name)
    return Verified(found.statements if not twice else (), (*twice, *found.faults))


def verify_folder(folder: Path) -> Verified:
    """The same of a folder. Raises Refused, and BookFailure where a file cannot be read."""
    names = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    if not (folder / MANIFEST).is_file():
        raise Refused(Reason("package.no_manifest", {"name": folder.name}))
    if len(names) > MOST_FILES:
        raise Refused(Reason("package.too_large", {"name": folder.name}))
    return _verified({path.relative_to(folder).as_posix(): read_file(path) for path in names}, folder.name)


def _verified(files: Mapping[str, bytes], name: str) -> Verified:
    manifest = read_manifest(files.get(MANIFEST, b""), name)
    faults = list(_against(files, manifest))
    statements: list[Reason] = []
    for each in manifest.files:
        if each.name in files and digest(files[each.name]) == each.sha256:
            found = _signed_in(files[each.name])
            statements += [said for said in found.statements if said not in statements] if found else ()
            faults += found.faults if found else ()
    if not faults:
        serials, n = ", ".join(manifest.serials), len(manifest.files)
        parts: dict[str, Part] = {"name": name, "n": n, "number": manifest.part, "serials": serials}
        statements.insert(0, Reason("package.whole", parts))
    return Verified(tuple(statements), tuple(faults))


def read_manifest(content: bytes, name: str) -> Manifest:
    """The manifest in these bytes. Raises Refused for what is none, or of a later version."""
    try:
        found = _decoder.decode(content)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise Refused(Reason("package.no_manifest", {"name": name})) from None
    if found.format != FORMAT:
        raise Refused(Reason("package.no_manifest", {"name": name}))
    if found.version != 1:
        raise Refused(Reason("package.later", {"name": name, "version": found.version}))
    return found


def _against(files: Mapping[str, bytes], manifest: Manifest) -> Iterator[Reason]:
    known = {each.name for each in manifest.files}
    for each in manifest.files:
        content = files.get(each.name)
        if content is None:
            yield Reason("package.missing", {"file": each.name})
        elif digest(content) != each.sha256:
            yield Reason("package.changed", {"file": each.name})
    for name in sorted(set(files) - known - {MANIFEST}):
        yield Reason("package.added", {"file": name})


def _signed_in(content: bytes) -> Verified | None:
    """What a data file or a signed PDF in a package says for itself; None for any other file."""
    from storage.seals.data_file import verify_data

    if content.startswith(b"%PDF"):
        from storage.seals.pdf_checking import check_pdf, is_signed_pdf

        return check_pdf(content) if is_signed_pdf(content) else None
    try:
        return verify_data(content)
    except Refused:
        return None
