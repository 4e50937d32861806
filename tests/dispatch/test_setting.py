"""Breaking texts to a width, parting bands, dividing paper: nothing is lost, nothing sticks out."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from storage.dispatch.blocks import Band, Cell, Row, cut_band, cut_row
from storage.dispatch.columns import columns_for
from storage.dispatch.pages import Pages
from storage.dispatch.setting import Run, TextLine, broken, measure, run_width, set_runs, shortened

words = st.text("abcdefW…0123456789/=in ", max_size=300)
widths = st.floats(20, 400)


@given(words, widths, st.booleans())
def test_broken_lines_fit_and_lose_nothing_but_spaces(text: str, width: float, bold: bool) -> None:
    lines = broken(text, 8.0, width, bold)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(measure(line, 8.0, bold) <= width + 0.001 for line in lines)


def test_lines_keep_the_line_ends_that_were_written() -> None:
    assert broken("first\nsecond\n\nfourth", 8, 200) == ("first", "second", "", "fourth")
    assert broken("  ", 8, 200) == ()


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("2.7501 … 2.7502 (n = 2)", "(n = 2)"),
        ("converted from 23 15/16 in", "23 15/16 in"),
        ("0.5 … 7.28125 in", "7.28125 in"),
    ],
)
def test_what_belongs_together_stays_on_one_line(text: str, kept: str) -> None:
    for width in range(60, 200):
        assert any(kept in line for line in broken(text, 8, float(width), True))


@given(st.lists(st.text("abcde ", min_size=1, max_size=40), min_size=1, max_size=12), widths)
def test_runs_go_on_below_where_they_do_not_fit(texts: list[str], width: float) -> None:
    lines = set_runs([Run(text, 7) for text in texts], width)
    assert "".join(run.text for line in lines for run in line.runs).replace(" ", "") == "".join(texts).replace(" ", "")
    # A space may hang over the edge: it shows nothing.
    assert all(sum(map(run_width, line.runs)) <= width + 2 * measure(" ", 7) for line in lines)


def test_a_shortened_text_says_so() -> None:
    assert shortened("short", 8, 100) == "short"
    cut = shortened("a very long running head indeed", 8, 60)
    assert cut.endswith("…")
    assert measure(cut, 8) <= 60


def lines(count: int, height: float = 10) -> tuple[TextLine, ...]:
    return tuple(TextLine((Run(str(place)),), height) for place in range(count))


@given(st.lists(st.integers(0, 30), min_size=1, max_size=5), st.floats(0, 400))
def test_a_band_parted_holds_every_item_once(counts: list[int], room: float) -> None:
    band = Band(tuple(Cell(place * 50.0, 40, lines(count)) for place, count in enumerate(counts)))
    head, rest = cut_band(band, room)
    assert head is None or head.height <= room
    kept = [item for part in (head, rest) if part for cell in part.cells for item in cell.items]
    assert len(kept) == sum(counts)


def test_a_row_parts_between_its_bands_first() -> None:
    first, second = Band((Cell(0, 40, lines(2)),)), Band((Cell(0, 40, lines(3)),))
    fitting, rest = cut_row(Row((first, second)), first.height + 5)
    assert fitting == (first,)
    assert rest == (second,)


@pytest.mark.parametrize("pieces", [0, 1, 2, 3, 4, 5, 12, 40])
@pytest.mark.parametrize("width", [774.0, 724.0])
def test_columns_fill_the_paper_without_touching(width: float, pieces: int) -> None:
    columns = columns_for(width, pieces)
    every = [columns.number, columns.zone, columns.requirement, columns.limits, columns.instrument]
    every += [*columns.pieces, columns.strip, columns.verdict]
    assert all(after.left >= before.left + before.width + 5 for before, after in pairwise(every))
    assert every[-1].left + every[-1].width == pytest.approx(width, abs=0.1)
    assert min(column.width for column in every) > 30
    assert len(columns.pieces) == (1 if columns.grid else max(pieces, 1))


@pytest.mark.parametrize("before", range(60, 200, 3))
def test_a_heading_never_stands_alone_at_the_foot_of_a_page(before: int) -> None:
    """Whatever stands above, a heading stands with the heads of its table and the table's first row."""

    def row(name: str, height: float, **more: Any) -> Row:
        return Row((Band((Cell(0, 50, (TextLine((Run(name),), height),)),), pad=0),), **more)

    own = row("heads", 14).bands[0]
    pages = Pages(200, own, str)
    pages.take([row("above", before), row("heading", 20, follows=True), row("first", 12, heads=own, tabular=True)])
    named = [[placed.band.cells[0].items[0].runs[0].text for placed in page] for page in pages.pages]
    assert [name for page in named for name in page] == ["above", "heading", "heads", "first"]
    assert not any(page[-1] in ("heading", "heads") for page in named)
