"""What travels inside a signed PDF: the data file, each seal's canonical bytes, and the certificates, as associated
files in the manner of PDF/A-3 (ISO 19005-3, 6.8)."""

from __future__ import annotations

import re
import zlib
from io import BytesIO
from typing import TYPE_CHECKING, Any

from inspection.reasons import Reason, Refused
from storage.seals.data_file import DataFile, read_data
from storage.seals.pdf_envelope import hush

if TYPE_CHECKING:
    from datetime import datetime

    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.pdf_utils.reader import PdfFileReader

DATA = "data.json"
CERTIFICATE = re.compile(r"certificate-[1-9][0-9]*\.pem")
#: A file inside larger than this is not unpacked, in bytes: no sheet comes near it.
LARGEST = 64 * 1024 * 1024


def attachments(data: bytes, certificates: tuple[str, ...] = ()) -> dict[str, bytes]:
    """The files to travel with a data file, by name: itself, what each seal signs, and every certificate once;
    ``certificates`` (PEM) of other signers come after those of the seals. Raises Refused if the bytes hold no data
    file."""
    read = read_data(data)
    seals = read.seals
    found = {DATA: data}
    for number, seal in enumerate(seals, start=1):
        found[f"sealed-{number}.json"] = seal.content.encode("utf-8", "surrogatepass")
    signed = (*seals, *read.statements)
    known = dict.fromkeys((*(each.signature.certificate for each in signed), *certificates))
    for number, certificate in enumerate(known, start=1):
        found[f"certificate-{number}.pem"] = certificate.encode()
    return found


def attach(writer: IncrementalPdfFileWriter, files: dict[str, bytes], moment: datetime) -> None:
    """Put files into a PDF, in the order of their names, dated ``moment``."""
    from pyhanko.pdf_utils.embed import EmbeddedFileObject, EmbeddedFileParams, FileSpec, embed_file
    from pyhanko.pdf_utils.generic import pdf_name

    dated = EmbeddedFileParams(creation_date=moment, modification_date=moment)
    for name in sorted(files):
        kind = "application/json" if name.endswith(".json") else "application/x-pem-file"
        held = EmbeddedFileObject.from_file_data(writer, files[name], params=dated, mime_type=kind)
        relation = pdf_name("/Source" if name == DATA else "/Supplement")
        embed_file(writer, FileSpec(name, name, held, af_relationship=relation))


def data_in_pdf(content: bytes) -> bytes:
    """The data file inside a PDF, as it was put there; whether to trust it is for ``pdf_checking`` to say.

    Raises Refused if the PDF cannot be read or holds no data file.
    """
    from pyhanko.pdf_utils.reader import PdfFileReader

    hush()
    try:
        found = files_in(PdfFileReader(BytesIO(content)))
    except Exception:  # whatever a damaged file makes of its reader, it is one thing to people
        raise Refused(Reason("signed_pdf.unreadable")) from None
    if DATA not in found:
        raise Refused(Reason("signed_pdf.no_data"))
    return found[DATA]


def read_pdf(content: bytes) -> DataFile:
    """The data file inside a PDF, read. Raises Refused as ``data_in_pdf`` and ``read_data`` do."""
    return read_data(data_in_pdf(content))


def files_in(reader: PdfFileReader) -> dict[str, bytes]:
    """Every attached file of a PDF by name. Raises ValueError for a name that stands
    twice or a file that unpacks to more than any of ours, and whatever the reader
    raises for a damaged file."""
    found: dict[str, bytes] = {}
    root = reader.root
    if "/Names" not in root or "/EmbeddedFiles" not in root["/Names"]:
        return found
    for name, spec in _pairs(root["/Names"]["/EmbeddedFiles"]):
        if name in found:
            raise ValueError(name)
        found[name] = _held(spec)
    return found


def _pairs(tree: Any) -> list[tuple[str, Any]]:
    if "/Kids" in tree:  # ours is flat
        raise ValueError("/Kids")
    flat = tree["/Names"]
    return [(str(flat[at]), flat[at + 1]) for at in range(0, len(flat), 2)]


def _held(spec: Any) -> bytes:
    either = spec["/EF"].get_value_as_reference("/F"), spec["/EF"].get_value_as_reference("/UF")
    if str(spec["/F"]) != str(spec["/UF"]) or either[0] != either[1]:
        raise ValueError("two files under one name")
    stream = spec["/EF"]["/F"]
    if stream["/Filter"] != "/FlateDecode":
        raise ValueError("not packed as ours are")
    unpacking = zlib.decompressobj()
    held = unpacking.decompress(stream.encoded_data, LARGEST)
    if not unpacking.eof:
        raise ValueError("too large, or cut")
    return held


def against_files(files: dict[str, bytes]) -> list[Reason]:
    """What stands against the files inside: none missing, none that the data file does not answer for."""
    if DATA not in files:
        return [Reason("signed_pdf.no_data")]
    try:
        meant = attachments(files[DATA])
    except Refused as refused:
        return list(refused.reasons)
    wrong = [name for name, held in meant.items() if files.get(name) != held]
    wrong += [name for name in files if name not in meant and not CERTIFICATE.fullmatch(name)]
    return [Reason("signed_pdf.attachment_differs", {"name": name}) for name in wrong]
