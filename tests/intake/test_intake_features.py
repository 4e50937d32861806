"""Feature files as values, and every fault by its cell."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.drawing.characteristic import FeatureKind
from inspection.drawing.rows import GENERAL_NUMBER
from inspection.quantity.units import MICRO_ARCSECONDS_PER_DEGREE, PICOMETRES_PER_INCH, PICOMETRES_PER_MILLIMETRE
from inspection.words.say import known as has_words
from storage.intake.faults import FileRefused
from storage.intake.features import FeatureFile, read_features

HEAD = "# part,QF-11\n# revision,A\n"
TABLE = "number,kind,requirement\n1,length,1.250 ±.005\n"


def features_of(text: str) -> FeatureFile:
    return read_features(text.encode(), "features.csv")


def faults_of(text: str) -> list[tuple[int, str, str]]:
    with pytest.raises(FileRefused) as caught:
        features_of(text)
    assert all(has_words(reason.code) for reason in caught.value.reasons)
    return [(fault.row, fault.column, fault.reason.code) for fault in caught.value.faults]


def test_the_lines_in_front() -> None:
    file = features_of(
        "# Part Number,QF-11\n#rev:,A\n# drawing,D-1\n# drawing rev,B\n# customer,Lund\n# PO,77\n"
        '# serials,"A1; A2, A3"\n# default .xx,±.01\n# default .xxx,+/-.005\n# default x,1/32\n'
        "# metric default .x,0.2\n# default fraction,1/64\n# default angle,30'\n# general,ISO 2768-m\n" + TABLE
    )
    block = file.title_block
    assert (file.part.number, file.part.revision, file.part.drawing_revision) == ("QF-11", "A", "B")
    assert (file.part.customer, file.head.customer, file.head.order) == ("Lund", "Lund", "77")
    assert file.serials == ("A1", "A2", "A3")
    thou = PICOMETRES_PER_INCH // 1_000
    assert block.inch == {2: 10 * thou, 3: 5 * thou, 0: PICOMETRES_PER_INCH // 32}
    assert block.metric == {1: PICOMETRES_PER_MILLIMETRE // 5}
    assert (block.fraction, block.angle) == (PICOMETRES_PER_INCH // 64, MICRO_ARCSECONDS_PER_DEGREE // 2)
    assert block.general == "m"


LACKING = "number,kind,requirement\n1,length,1.250\n2,length,1.25\n3,angle,45°\n4,length,2.000 MAX\n5,length,1.5 ±.x\n"


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("# default .xxx,±.0o5", [(3, "default .xxx"), 2, 3, 5]),
        ("# defualt .xxx,±.005", [(3, "defualt .xxx"), 2, 3, 5]),
        ("# default .xxx ±.005", [(3, "default .xxx ±.005"), 2, 3, 5]),
        ("default .xxx,±.005", [(3, "default .xxx"), 2, 3, 5]),
        ("# default .xxx,±.005,±.010", [(3, "default .xxx"), 2, 3, 5]),
        ("# default angle,half", [(3, "default angle"), 1, 2, 4, 5]),
        ("# three places,±.005", [(3, "three places"), 5]),  # which it is for is not known
        ("# materail,AL 6061", [(3, "materail"), 1, 2, 3, 4, 5]),  # no row waits for that
        ("# material,AL,6061", [(3, "material"), 1, 2, 3, 4, 5]),
    ],
)
def test_a_line_of_the_title_block_that_is_at_fault_is_told_alone(line: str, told: list[object]) -> None:
    """Rows that only lack what that line says (.xxx is asked for by rows 1 and 4) have no fault of their own."""
    found = faults_of(HEAD + line + "\n" + LACKING)
    assert [(row, column) if column != "requirement" else row - 4 for row, column, _ in found] == told


def test_a_part_that_is_there_and_cannot_be_read_is_not_missing() -> None:
    assert [code for *_, code in faults_of("# part QF-11\n# revision,A\n" + TABLE)] == ["intake.head_line_unparted"]


def test_a_unit_that_is_at_fault_makes_no_metric_row_wrong() -> None:
    found = faults_of(HEAD + "# unit,milimetre\nnumber,kind,requirement\n1,length,30 h7\n2,length,30 h77\n")
    assert [(row, column) for row, column, _ in found] == [(3, "unit"), (6, "requirement")]


def test_a_count_becomes_a_row_a_place() -> None:
    file = features_of(HEAD.replace(",", ";") + 'no.;type;callout;place\n7;bore;3X ⌀.250 ±.002;"top; left; right"\n')
    assert [(row.number, row.place, row.kind) for row in file.characteristics] == [
        ("7.1", "top", FeatureKind.BORE),
        ("7.2", "left", FeatureKind.BORE),
        ("7.3", "right", FeatureKind.BORE),
    ]


def test_a_second_letter_of_the_general_tolerances_opens_a_note_row_once() -> None:
    file = features_of(HEAD + "# general,mK\n" + TABLE)
    assert [(row.number, row.kind) for row in file.characteristics][1:] == [(GENERAL_NUMBER, FeatureKind.NOTE)]
    stated = features_of(HEAD + "# general,mK\n" + TABLE + "2,note,ISO 2768-2 K\n")
    assert [row.number for row in stated.characteristics] == ["1", "2"]


def test_faults_by_cell() -> None:
    text = (
        "# part,QF-11\n# angel,3\n# unit,furlong\n# default .xxx,much\n# general,z\n# full or partial,half\n"
        "number,kind,requirement,places,repeats\n"
        "1,length,1.250 ±,,\n"
        "2,lenght,1.250 ±.005,,\n"
        "3,length,1.250 ±.005,,many\n"
        "1,length,1.250 ±.005,,\n"
        "3,length,1.250 ±.005,,\n"
        "3,length,1.250 ±.005,,\n"
    )
    found = faults_of(text)
    assert [(row, column) for row, column, _ in found] == [
        (0, ""),
        (2, "angel"),
        (3, "unit"),
        (4, "default .xxx"),
        (5, "general"),
        (6, "full or partial"),
        (8, "requirement"),
        (9, "kind"),
        (10, "repeats"),
        (11, "number"),  # 1 and 3 stand in rows that are at fault otherwise
        (12, "number"),
        (13, "number"),
    ]
    assert (found[0][2], found[-1][2]) == ("intake.head_line_missing", "intake.number_twice")


def test_a_callouts_fault_is_told_at_its_character() -> None:
    with pytest.raises(FileRefused) as caught:
        features_of(HEAD + "number,kind,requirement\n1,length,1.250 ±.0o5\n")
    (fault,) = caught.value.faults
    assert "1.250 ±.0o5"[fault.at - 1] == "o"


@given(st.binary(max_size=300))
def test_any_bytes_behind_a_head_are_read_or_refused(data: bytes) -> None:
    try:
        file = read_features((HEAD + "number,kind,requirement\n").encode() + data, "x.csv")
    except FileRefused as refused:
        assert refused.faults
        assert all(has_words(reason.code) for reason in refused.reasons)
    else:
        assert file.characteristics


CELLS = st.sampled_from(
    ["", "1", "2", "length", "bore", "note", "⌀.5 ±.001", "4X R.1", "1 1/2", "30°", "H7", "x", "mm", "µ"]
)


@given(st.lists(st.lists(CELLS, min_size=8, max_size=8), min_size=1, max_size=5))
def test_any_words_of_the_trade_are_read_or_refused(rows: list[list[str]]) -> None:
    table = "number,kind,requirement,unit,count,repeats,corner radius,places\n" + "\n".join(map(",".join, rows))
    try:
        features_of(HEAD + table)
    except FileRefused as refused:
        assert all(has_words(reason.code) for reason in refused.reasons)
