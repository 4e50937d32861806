"""Reading files as values, and every fault by its cell."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.measuring.reading import Observed, Role
from inspection.reasons import Refused
from inspection.words.say import say
from storage.intake.faults import FileRefused
from storage.intake.readings import ReadingRow, moment, read_readings


def rows_of(text: str) -> tuple[ReadingRow, ...]:
    return read_readings(text.encode(), "readings.csv", ZoneInfo("Europe/Berlin")).rows


def faults_of(text: str) -> list[tuple[int, str, str]]:
    with pytest.raises(FileRefused) as caught:
        rows_of(text)
    assert all("[" not in say(reason) for reason in caught.value.reasons)
    return [(fault.row, fault.column, fault.reason.code) for fault in caught.value.faults]


def test_a_plain_reading_and_all_that_may_stand_beside_it() -> None:
    (row,) = rows_of(
        "serial,number,place,repeat,role,reading,instrument,taken,note,reason,replaces,withdraw,answer\n"
        "007,7.10,top,2,Largest that enters,.1365,PIN-1,2026-03-02 14:05,burr,slipped,3,no,new reading\n"
    )
    assert row == ReadingRow(
        row=2,
        serial="007",
        number="7.10",
        reading=".1365",
        place="top",
        repeat=2,
        role=Role.ENTERS,
        instrument="PIN-1",
        taken=int(datetime(2026, 3, 2, 13, 5, tzinfo=UTC).timestamp()) * 1_000_000,
        day="2026-03-02",
        note="burr",
        reason="slipped",
        replaces=3,
        answer="new_reading",
    )


@pytest.mark.parametrize(
    ("written", "observed"),
    [
        ("enters", Observed.ENTERS),
        ("Does not enter", Observed.DOES_NOT_ENTER),
        ("as required", Observed.AS_REQUIRED),
        ("NOT AS REQUIRED", Observed.NOT_AS_REQUIRED),
        (".5", None),
        ("pass", None),
    ],
)
def test_what_was_seen_where_there_is_no_number(written: str, observed: Observed | None) -> None:
    assert rows_of(f"number,reading\n1,{written}\n")[0].observed is observed


def test_faults_by_cell() -> None:
    text = (
        "number,reading,role,repeat,taken,withdraw,answer\n"
        ",1,,,,,\n"
        "2,,,,,,\n"
        "3,1,sideways,0,yesterday,maybe,perhaps\n"
        "4,1,,,,yes,\n"
        "5,1,,,,,keep\n"
        "6,1,,,,,leave open\n"
        "7,1,,,,,new reading\n"
    )
    assert faults_of(text) == [
        (2, "number", "intake.cell_empty"),
        (3, "reading", "intake.row_says_nothing"),
        (4, "role", "intake.word_unknown"),
        (4, "taken", "intake.not_a_time"),
        (4, "repeat", "intake.not_a_count"),
        (4, "withdraw", "intake.word_unknown"),
        (4, "answer", "intake.word_unknown"),
        (5, "reading", "intake.reading_and_withdraw"),
        (6, "answer", "intake.reading_and_answer"),
        (7, "answer", "intake.reading_and_answer"),
    ]


def test_heads_without_rows() -> None:
    assert faults_of("number,reading\n") == [(0, "", "intake.no_rows")]


@pytest.mark.parametrize(
    ("written", "utc", "day"),
    [
        ("2026-03-02 14:05", datetime(2026, 3, 2, 13, 5, tzinfo=UTC), "2026-03-02"),
        ("2026-07-02T14:05:10", datetime(2026, 7, 2, 12, 5, 10, tzinfo=UTC), "2026-07-02"),
        ("2026-03-02 00:30:00.25 +09:00", datetime(2026, 3, 1, 15, 30, 0, 250_000, tzinfo=UTC), "2026-03-02"),
        ("2026-03-02T14:05Z", datetime(2026, 3, 2, 14, 5, tzinfo=UTC), "2026-03-02"),
        ("1969-12-31T23:59:59Z", datetime(1969, 12, 31, 23, 59, 59, tzinfo=UTC), "1969-12-31"),
    ],
)
def test_times(written: str, utc: datetime, day: str) -> None:
    since = utc - datetime(1970, 1, 1, tzinfo=UTC)
    micros = (since.days * 86_400 + since.seconds) * 1_000_000 + since.microseconds
    assert moment(written, ZoneInfo("Europe/Berlin")) == (micros, day)


@pytest.mark.parametrize(
    "written", ["2026-13-01 10:00", "2026-02-30 10:00", "03/02/2026", "2026-03-02", "0001-01-01T00:00+14:00"]
)
def test_no_times(written: str) -> None:
    with pytest.raises(Refused):
        moment(written, None)


@given(st.text(max_size=30))
def test_any_text_is_a_time_or_refused(text: str) -> None:
    try:
        micros, day = moment(text, UTC)
    except Refused:
        return
    assert len(day) == 10
    assert isinstance(micros, int)


@given(st.lists(st.lists(st.text(max_size=6), min_size=7, max_size=7), max_size=4))
def test_any_cells_are_read_or_refused(cells: list[list[str]]) -> None:
    text = "number;reading;role;repeat;taken;withdraw;answer\n" + "\n".join(";".join(row) for row in cells)
    try:
        rows = rows_of(text)
    except FileRefused as refused:
        assert refused.faults
    else:
        assert all(row.number for row in rows)
