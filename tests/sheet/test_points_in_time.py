"""Where points about times and about history begin and where they end: hands and instruments, and earlier results.
Common practice throughout.
"""

from __future__ import annotations

from typing import Any

import pytest

from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Slot
from inspection.sheet.points_history import Earlier
from tests.sheet.points_bench import DAY, Listed, many

THOU = 25_400_000
SECOND = 1_000_000
GUARDED = DecisionRule(RuleKind.GUARDED)


# --- times ----------------------------------------------------------------------------------------------------------


def timed(life: Any, *gaps: float, people: int = 1) -> Listed:
    """Lengths of one caliper (handling 15 s: a fast hand takes 3 s) so many seconds one after the other."""
    made = Listed(life, *many("length", ".5{i:02} ±.005", len(gaps) + 1), serials=("001",))
    hands = [life.person, *(life.enter(f"Bo {i}") for i in range(1, people))]
    when = made.sheet.made_at + 7 * SECOND + 123_456
    for i, gap in enumerate((0.0, *gaps)):
        when += round(gap * SECOND)
        life.take(
            str(i + 1), f"{0.5 + (i + 1) / 1000 + (i % 3 - 1) * 0.0005:.4f}", taken=when, person=hands[i % people]
        )
    return made


@pytest.mark.parametrize(
    ("gaps", "codes"),
    [
        ((2.9,) * 4, ["fast"]),
        ((2.9,) * 3, []),  # too short a stretch
        ((3.0,) * 8, []),
        ((2.0, 2.0, 9.0, 2.0, 2.0, 9.0), []),  # noted down two or three at a time
        ((0.3,) * 4, ["fast"]),  # a pasted block would be quicker yet
        ((0.004,) * 4, ["at_once"]),
        ((0.004,) * 3, []),
        ((0.004,) * 4 + (2.0,) * 4, ["fast", "at_once"]),
    ],
)
def test_a_stretch_that_is_faster_than_hands(life_kind: Any, gaps: tuple[float, ...], codes: list[str]) -> None:
    made = timed(life_kind().open(), *gaps)
    assert made.codes() == codes


def test_how_fast_is_told(life_kind: Any) -> None:
    made = timed(life_kind().open(), 1.5, 1.5, 1.5, 1.5, 60)
    assert made.told("fast") == [
        "Ann Ames wrote 5 readings within 6.0 s; a fast hand needs 12 s to measure them. Rows 1 … 5."
    ]
    assert made.told("at_once") == []


def test_two_hands_are_as_fast_as_two(life_kind: Any) -> None:
    assert timed(life_kind().open(), *(1.6,) * 12, people=2).codes() == []


def test_holes_of_one_count_go_faster_than_other_rows(life_kind: Any) -> None:
    holes = Listed(
        life_kind().open(), {"number": "1", "kind": "length", "requirement": "8X .500 ±.005"}, serials=("1",)
    )
    when = holes.sheet.made_at + 1_234_567
    for i in range(8):
        holes.life.take(f"1.{i + 1}", f".50{i % 3}5", taken=when + i * 1_600_000)
    assert "fast" not in holes.codes()


def test_another_instrument_takes_its_pick_up(life_kind: Any) -> None:
    """Caliper and micrometer in turn, 8 s apart: 15 + 30 s planned are 9 s for a fast hand."""
    rows = [
        {"number": str(i), "kind": kind, "requirement": text.format(i=i)}
        for i in range(1, 7)
        for kind, text in [(("length", ".5{i:02} ±.005"), ("outside diameter", "⌀.7{i:02}0 ±.0005"))[i % 2]]
    ]
    made = Listed(life_kind().open(), *rows, serials=("001",))
    when = made.sheet.made_at + 1_234_567
    for i in range(1, 7):
        text = f".7{i:02}{i % 3}" if i % 2 else f".5{i:02}5"
        made.life.take(str(i), text, taken=when + i * 8 * SECOND)
    assert made.codes() == ["fast"]


@pytest.mark.parametrize(("to", "told"), [(60, False), (1, False), (0, True)])
def test_times_written_to_the_minute_are_known_no_better(life_kind: Any, to: int, told: bool) -> None:
    """A file's times: four readings each 2.5 s apart, or written down to the second or the minute."""
    made = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 9), serials=("001",))
    begin = made.sheet.made_at // (60 * SECOND) * 60 * SECOND + 60 * SECOND
    for i in range(9):
        when = begin + (i // 4 * 60 * SECOND if to == 60 else i * 2 * SECOND + (0 if to else 500_000 * i + 1))
        made.life.entries += 3
        made.life.take(str(i + 1), f".50{i + 1}{i % 2 * 5}", taken=when)
    assert ("fast" in made.codes()) is told


def test_withdrawn_readings_took_their_time_and_are_not_named(life_kind: Any) -> None:
    made = timed(life_kind().open(), *(2.0,) * 6)
    made.life.take_back(made.reading("7"))
    point = made.of("fast")
    assert point.reason.parts["count"] == 7
    assert made.rows(point) == [f"{i}/001" for i in range(1, 7)]


# --- history --------------------------------------------------------------------------------------------------------


def before(listed: Listed, number: str, *offs: float, **fields: Any) -> dict[str, tuple[Earlier, ...]]:
    """Earlier results of a row, so many thousandths of an inch from nominal."""
    row = listed.life.row(number)
    asked = row.requirement
    made = {"nominal": asked.nominal, "lower": asked.lower, "upper": asked.upper, **fields}
    counts = [round(asked.nominal + off * THOU) for off in offs]
    return {row.identity: tuple(Earlier(f"s{i}", f"E{i}", DAY, c, c, **made) for i, c in enumerate(counts))}


def test_a_result_more_than_three_s_from_history_is_told_with_what_it_is_held_against(listed: Listed) -> None:
    listed.fill()
    history = before(listed, "3", 1, 1.5, 1, 0.5, 1)
    assert listed.told("history", history)[0] == (
        "Row 3 (001) is 0.00200 in under what it came to before: mean 1.2510 in, s 0.000354 in of 5 earlier results."
    )
    assert [listed.rows(point) for point in listed.points(history)] == [["3/001"], ["3/002"]]


@pytest.mark.parametrize(
    ("offs", "fields"),
    [
        ((3, 3, 3, 3), {}),  # too few
        ((0.5, 0, 1, 0.5, 0), {}),  # it agrees
        ((3, 3.5, 3, 2.5, 3), {"nominal": 1}),  # held against another size
        ((-3, 3, -2, 2, 0, 1), {}),  # it scatters
    ],
)
def test_history_is_silent(listed: Listed, offs: tuple[float, ...], fields: dict[str, int]) -> None:
    listed.fill()
    assert listed.points(before(listed, "1", *offs, **fields)) == ()


def test_equal_results_of_history_are_believed_to_a_step(listed: Listed) -> None:
    """s = 0 is no evidence: a caliper's own .0003 in stands for it, so that 3 s is .0009 in."""
    listed.fill()
    assert listed.points(before(listed, "1", 0, 0, 0, 0, 0)) != ()
    assert [listed.rows(p) for p in listed.points(before(listed, "1", 0, 0, 0, 0, 0))] == [["1/002"]]


def test_means_are_held_against_means(life_kind: Any) -> None:
    made = Listed(
        life_kind().open(),
        {"number": "1", "kind": "length", "requirement": ".500 ±.005", "repeats": "3"},
        serials=("001",),
    )
    for i, text in enumerate((".5005", ".5000", ".5005"), 1):
        made.life.take("1", text, slot=Slot("", i))
    row = made.life.row("1")
    nominal = row.requirement.nominal
    sums = [3 * nominal + off * THOU // 2 for off in (1, 2, 3, 2, 1, 2)]
    ends = (nominal, row.requirement.lower, row.requirement.upper)
    same = {row.identity: tuple(Earlier(f"s{i}", "E", DAY, c, c, 3, *ends) for i, c in enumerate(sums))}
    assert made.points(same) == ()
    off = {
        row.identity: tuple(
            Earlier(f"s{i}", "E", DAY, c + 9 * THOU, c + 9 * THOU, 3, *ends) for i, c in enumerate(sums)
        )
    }
    assert made.codes(off) == ["history"]
    singles = {row.identity: tuple(Earlier(f"s{i}", "E", DAY, c, c, 1, *ends) for i, c in enumerate([nominal] * 6))}
    assert made.points(singles) == ()
