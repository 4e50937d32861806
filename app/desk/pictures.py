"""Pages of a PDF as pictures.

The library that draws them is imported here at first use and serves one thread at a time: everything here is called
on the book's thread.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pypdfium2 import PdfDocument


class Picture(NamedTuple):
    """One page drawn: its place from 0, ``dots`` pixels a point, and the pixels as blue, green, red, unused."""

    page: int
    dots: float
    width: int
    height: int
    stride: int
    pixels: bytes


def page_sizes(content: bytes) -> tuple[tuple[float, float], ...]:
    """Width and height of every page in points."""
    with _opened(content) as document:
        return tuple(document.get_page_size(page) for page in range(len(document)))


def picture(content: bytes, page: int, dots: float) -> Picture:
    """A page (from 0) drawn on white at ``dots`` pixels a point."""
    with _opened(content) as document:
        sheet = document[page]
        drawn = sheet.render(scale=dots, prefer_bgrx=True)
        try:
            return Picture(page, dots, drawn.width, drawn.height, drawn.stride, bytes(drawn.buffer))
        finally:
            drawn.close()
            sheet.close()


@contextmanager
def _opened(content: bytes) -> Iterator[PdfDocument]:
    from pypdfium2 import PdfDocument

    document = PdfDocument(content)
    document.init_forms()  # signatures stand in fields, which are not drawn without
    try:
        yield document
    finally:
        document.close()
