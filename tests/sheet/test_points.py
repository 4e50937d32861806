"""What a lead looks at: every code of the table is met and told, stays away from a sheet that is as it should be, and
the worst stands first. What is looked at is trade practice ("common practice") but where a module says otherwise."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from msgspec.structs import replace

from inspection.instruments.rules import CustomerRule
from inspection.measuring.guard import DecisionRule, RuleKind
from inspection.measuring.reading import Reading
from inspection.sheet import acts
from inspection.sheet.evidence import Evidence, EvidenceKind
from inspection.sheet.nonconformance import Disposition, Leave
from inspection.sheet.points import points
from inspection.sheet.points_history import Earlier
from inspection.sheet.points_table import Point, grades
from inspection.standards.tables import rows as table
from inspection.words.say import known, say
from tests.sheet.points_bench import DAY, MINUTE, READ, Listed, many

GUARDED = DecisionRule(RuleKind.GUARDED)
THOU = 25_400_000


@pytest.fixture
def checked(life_kind: Any) -> Listed:
    """The same in a shop that asks for checks, for closing ones under .002 in; the caliper and the micrometer are
    checked."""
    return in_checked_shop(life_kind(), "C-05", "M-01")


def in_checked_shop(life: Any, *tags: str) -> Listed:
    life.open(checks=True)
    life.shop = replace(life.shop, rules=replace(life.shop.rules, closing_band=2 * THOU))
    made = Listed(life)
    for tag in tags:
        life.check(tag)
    return made


def read_again(listed: Listed, text: str, number: str = "1") -> dict[str, Reading]:
    """Row ``number`` of the first piece read again by the lead, as the sheet does not know of it yet."""
    first = listed.reading(number)
    act = listed.life.reading(number, text)
    return {
        first.identity: replace(
            first,
            identity="again",
            count=act.quantity.count if act.quantity else None,
            written=act.quantity.written if act.quantity else "",
            decimals=act.quantity.decimals if act.quantity else None,
            observed=act.observed,
            taken=first.taken + 60 * MINUTE,
        )
    }


def earlier(listed: Listed, number: str, *thou: float, serial: str = "E") -> dict[str, tuple[Earlier, ...]]:
    """Earlier results of a row so many thousandths of an inch from its nominal, each on a sheet of its own."""
    asked = listed.life.row(number).requirement
    ends = (asked.nominal, asked.lower, asked.upper)
    counts = [round(asked.nominal + off * THOU) for off in thou]
    row = listed.life.row(number).identity
    made = (Earlier(f"sheet {i}", f"{serial}{i}", "2026-01-05", c, c, 1, *ends) for i, c in enumerate(counts))
    return {row: tuple(made)}


def at(listed: Listed, seconds: float, number: str, text: str, piece: int = 0) -> None:
    """Read a row so many seconds after the sheet was made."""
    when = listed.sheet.made_at + round(seconds * 1_000_000)
    listed.life.take(number, text, piece, taken=when)


# --- each code, met -------------------------------------------------------------------------------------------------

Met = Callable[[Listed], tuple[Point, ...]]
MET: dict[str, Met] = {}


def meets(code: str) -> Callable[[Met], Met]:
    def note(meet: Met) -> Met:
        MET[code] = meet
        return meet

    return note


@meets("order_revision")
def _order_revision(listed: Listed) -> tuple[Point, ...]:
    listed.fill().head(order="PO 4711, D-7 rev C")
    return listed.points()


@meets("newer_plan")
def _newer_plan(listed: Listed) -> tuple[Point, ...]:
    newest = listed.fill().issue(part=replace(listed.sheet.plan.part, drawing_revision="E"))
    return listed.points(newest=newest)


@meets("numbers")
def _numbers(listed: Listed) -> tuple[Point, ...]:
    listed.issue(("001", "002"), last_balloon="6")
    return listed.fill().points()


@meets("notes")
def _notes(listed: Listed) -> tuple[Point, ...]:
    listed.issue(("001", "002"), drawing_notes=2)
    return listed.fill().points()


@meets("uncounted")
def _uncounted(listed: Listed) -> tuple[Point, ...]:
    listed.issue(("001", "002"), drawing_notes=None)
    return listed.fill().points()


@meets("not_conforming")
def _not_conforming(listed: Listed) -> tuple[Point, ...]:
    listed.fill("2", "3", "4")
    listed.life.take("1", ".5060")
    listed.life.take("1", ".5010", 1)
    return listed.points()


@meets("in_doubt")
def _in_doubt(listed: Listed) -> tuple[Point, ...]:
    listed.life.shop = replace(listed.life.shop, rules=replace(listed.life.shop.rules, decision=GUARDED))
    listed.issue(("001", "002"))
    listed.fill("2", "3", "4")
    listed.life.take("1", ".5050")
    listed.life.take("1", ".5010", 1)
    return listed.points()


@meets("disposed")
def _disposed(listed: Listed) -> tuple[Point, ...]:
    _not_conforming(listed)
    row, piece = listed.life.cell("1")
    raised = acts.RaiseNonconformance(
        sheet=listed.life.sheet_id, piece=piece, characteristics=(row,), number="NC-12", what="too long"
    )
    (event,) = listed.life.do(raised)
    decided = acts.DisposeNonconformance(
        sheet=listed.life.sheet_id,
        nonconformance=event.nonconformance.identity,
        disposition=Disposition.USE_AS_IS,
        words="fits all the same",
        leave=Leave("W-3", "2026-03-01", "piece 001, row 1"),
    )
    listed.life.do(decided, listed.life.enter("Lea Lund", *_leads()))
    return listed.points()


def _leads() -> tuple[Any, ...]:
    from inspection.sheet.people import Duty

    return (Duty.LEAD,)


@meets("open")
def _open(listed: Listed) -> tuple[Point, ...]:
    return listed.fill("1", "2", "4").points()


@meets("marginal")
def _marginal(listed: Listed) -> tuple[Point, ...]:
    listed.life.change_instrument("C-05", permissible=tuple(_wider(listed)))
    return listed.fill().points()


def _wider(listed: Listed) -> Any:
    held = listed.life.shop.by_tag("C-05")
    return (replace(step, error=2 * step.error) for step in held.permissible)


@meets("by_hand")
def _by_hand(listed: Listed) -> tuple[Point, ...]:
    listed.life.choose("1", "M-01", reason="the caliper is at the mill")
    return listed.fill().points()


@meets("indication")
def _indication(listed: Listed) -> tuple[Point, ...]:
    listed.fill("2", "4")
    listed.life.change_instrument("C-05", due="2026-02-01")
    return listed.fill("1", "3").points()


@meets("off_grid")
def _off_grid(listed: Listed) -> tuple[Point, ...]:
    listed.fill("2", "3", "4")
    listed.life.take("1", ".5003")
    listed.life.do(acts.KeepAsWritten(sheet=listed.life.sheet_id, question=listed.life.question()))
    listed.life.take("1", ".5010", 1)
    return listed.points()


@meets("question_open")
def _question_open(listed: Listed) -> tuple[Point, ...]:
    listed.fill("2", "3", "4")
    listed.life.take("1", ".5010", 1)
    listed.life.take("1", ".6005")
    return listed.points()


@meets("question_kept")
def _question_kept(listed: Listed) -> tuple[Point, ...]:
    _question_open(listed)
    listed.life.do(acts.KeepAsWritten(sheet=listed.life.sheet_id, question=listed.life.question()))
    return listed.points()


@meets("moved_in")
def _moved_in(listed: Listed) -> tuple[Point, ...]:
    _question_open(listed)
    listed.life.take("1", ".5005", answers=listed.life.question())
    return listed.points()


@meets("corrected_in")
def _corrected_in(listed: Listed) -> tuple[Point, ...]:
    _not_conforming(listed)
    listed.life.take("1", ".5005", replaces=listed.reading("1").identity, reason="held askew")
    return listed.points()


@meets("all_nominal")
def _all_nominal(listed: Listed) -> tuple[Point, ...]:
    made = Listed(type(listed.life)().open(), *many("length", ".5{i:02} ±.005", 30), serials=("001",))
    for i in range(1, 31):
        made.life.take(str(i), f".5{i:02}")
    return made.points()


@meets("identical")
def _identical(listed: Listed) -> tuple[Point, ...]:
    made = Listed(type(listed.life)().open(), *many("length", ".5{i:02} ±.005", 30), serials=("001",))
    for i in range(1, 31):
        made.life.take(str(i), f".5{i:02}5")
    return made.points()


def _pieces(listed: Listed, copied: bool) -> Listed:
    """Thirty rows on two pieces, scattered; the second as it is, or written off the first."""
    made = Listed(type(listed.life)().open(), *many("length", ".5{i:02} ±.005", 30))
    for piece in (0, 1):
        for i in range(1, 31):
            off = (i * 7 + (0 if copied else piece * (1 + i % 3))) % 5 - 2
            made.life.take(str(i), f"{0.5 + i / 1000 + off * 0.0005:.4f}", piece)
    return made


@meets("copied")
def _copied(listed: Listed) -> tuple[Point, ...]:
    return _pieces(listed, copied=True).points()


@meets("copied_earlier")
def _copied_earlier(listed: Listed) -> tuple[Point, ...]:
    made = _pieces(listed, copied=False)
    history = {
        at.characteristic: (Earlier("before", "E1", "2026-01-05", at.count, at.count),)
        for at in made.sheet.readings.values()
        if at.piece == made.sheet.pieces[0].identity
    }
    return made.points(history)


@meets("fast")
def _fast(listed: Listed) -> tuple[Point, ...]:
    made = Listed(type(listed.life)().open(), *many("length", ".5{i:02} ±.005", 6), serials=("001",))
    for i in range(1, 7):
        at(made, i * 1.2, str(i), f".5{i:02}5")
    return made.points()


@meets("at_once")
def _at_once(listed: Listed) -> tuple[Point, ...]:
    made = Listed(type(listed.life)().open(), *many("length", ".5{i:02} ±.005", 6), serials=("001",))
    for i in range(1, 7):
        at(made, 2 + i * 0.002, str(i), f".5{i:02}5")
    return made.points()


@meets("history")
def _history(listed: Listed) -> tuple[Point, ...]:
    return listed.fill().points(earlier(listed, "1", -2, -2.5, -2, -1.5, -2))


@meets("check_missing")
def _check_missing(checked: Listed) -> tuple[Point, ...]:
    return in_checked_shop(type(checked.life)(), "M-01").fill().points()


@meets("check_failed")
def _check_failed(checked: Listed) -> tuple[Point, ...]:
    checked.life.check("C-05", bad="wipe")
    return checked.fill().points()


@meets("check_aged")
def _check_aged(checked: Listed) -> tuple[Point, ...]:
    checked.life.entries += 600
    return checked.fill().points()


@meets("closing_check")
def _closing_check(checked: Listed) -> tuple[Point, ...]:
    return checked.fill().points()


@meets("reopened")
def _reopened(checked: Listed) -> tuple[Point, ...]:
    checked.fill()
    checked.life.check("C-05", bad="wipe")
    return checked.points()


@meets("suspect")
def _suspect(checked: Listed) -> tuple[Point, ...]:
    checked.fill()
    checked.life.check("M-01", closing=True)
    checked.life.sign()
    checked.life.check("C-05", bad="wipe")
    return checked.points()


@meets("marked")
def _marked(listed: Listed) -> tuple[Point, ...]:
    reading = next(iter(listed.fill().sheet.readings.values()))
    marked = acts.MarkForReview(
        sheet=listed.life.sheet_id,
        instrument=reading.method.parts[0].identity,
        error=5_080_000,
        size=None,
        since=0,
        readings=(reading.identity,),
        words="found out at its calibration",
    )
    listed.life.do(marked)
    return listed.points()


def _warm(listed: Listed, part: int, instrument: int, **rules: int) -> tuple[Point, ...]:
    listed.life.shop = replace(listed.life.shop, rules=replace(listed.life.shop.rules, **rules))
    listed.issue(("001", "002"))
    listed.life.do(
        acts.LogTemperature(sheet=listed.life.sheet_id, part=part, instrument=instrument, thermometer="T-1", within=200)
    )
    return listed.fill().points()


@meets("temperature_out")
def _temperature_out(listed: Listed) -> tuple[Point, ...]:
    return _warm(listed, 25_500, 25_500, temperature_room=5_000)


@meets("temperature_apart")
def _temperature_apart(listed: Listed) -> tuple[Point, ...]:
    return _warm(listed, 22_500, 21_000, temperature_spread=1_000)


def _in_a_hall(life: Any) -> Listed:
    """A row of ⌀1.9 ±.0015 in a shop where part and instrument may be 13 °C apart: 2 α L d / √3 = .00033 in of steel,
    over a tenth of the .003 in, and the micrometer is fit all the same."""
    life.open()
    life.shop = replace(life.shop, rules=replace(life.shop.rules, temperature_spread=13_000))
    row = {"number": "1", "kind": "outside diameter", "requirement": "⌀1.9000 ±.0015"}
    return Listed(life, row, serials=("001",))


@meets("temperature_missing")
def _temperature_missing(listed: Listed) -> tuple[Point, ...]:
    made = _in_a_hall(type(listed.life)())
    made.life.take("1", "1.9002")
    return made.points()


@meets("temperature_stale")
def _temperature_stale(listed: Listed) -> tuple[Point, ...]:
    made = _in_a_hall(type(listed.life)())
    made.life.do(
        acts.LogTemperature(sheet=made.life.sheet_id, part=20_000, instrument=20_000, thermometer="T-1", within=200)
    )
    made.life.entries += 300
    made.life.take("1", "1.9002")
    return made.points()


@meets("calibrated_late")
def _calibrated_late(listed: Listed) -> tuple[Point, ...]:
    listed.life.change_instrument("C-05", certified="2026-03-04", certificate="K-7")
    return listed.fill().points(day="2026-03-05")


def _papers(listed: Listed, certified: str) -> None:
    evidence = Evidence("", EvidenceKind.MATERIAL, "6061-T6 plate", certificate="55-201", certified=certified)
    listed.life.do(acts.EnterEvidence(sheet=listed.life.sheet_id, evidence=evidence))


@meets("certificate_late")
def _certificate_late(listed: Listed) -> tuple[Point, ...]:
    _papers(listed.fill(), "2026-03-03")
    return listed.points(day="2026-03-09")


@meets("certificate_future")
def _certificate_future(listed: Listed) -> tuple[Point, ...]:
    _papers(listed, "2026-03-09")
    return listed.points(day="2026-03-02")


@meets("read_before_sheet")
def _read_before_sheet(listed: Listed) -> tuple[Point, ...]:
    at(listed, -3600, "1", ".5005")
    return listed.points()


@meets("read_after_signing")
def _read_after_signing(listed: Listed) -> tuple[Point, ...]:
    listed.fill("1", "2", "4")
    listed.life.sign(incomplete="row 3 waits for its gauge")
    listed.life.reopen()
    return listed.fill("3").points()


@meets("other_rule")
def _other_rule(listed: Listed) -> tuple[Point, ...]:
    agreed = CustomerRule("Harrow Mills", GUARDED)
    listed.life.shop = replace(listed.life.shop, rules=replace(listed.life.shop.rules, customers=(agreed,)))
    listed.head(customer="harrow mills")
    return listed.fill().points()


@meets("repeated")
def _repeated(listed: Listed) -> tuple[Point, ...]:
    _in_doubt(listed)
    row, piece = listed.life.cell("1")
    listed.life.do(acts.DeclareRepeats(sheet=listed.life.sheet_id, characteristic=row, piece=piece, repeats=3))
    return listed.points()


@meets("again")
def _again(listed: Listed) -> tuple[Point, ...]:
    listed.fill()
    return listed.points(again=read_again(listed, ".5010"))


@meets("again_differs")
def _again_differs(listed: Listed) -> tuple[Point, ...]:
    listed.fill()
    return listed.points(again=read_again(listed, ".5030"))


@meets("again_outside")
def _again_outside(listed: Listed) -> tuple[Point, ...]:
    listed.fill()
    return listed.points(again=read_again(listed, ".5060"))


# --- the whole list -------------------------------------------------------------------------------------------------

BY_CHECKS = {"check_missing", "check_failed", "check_aged", "closing_check", "reopened", "suspect"}
#: What else is true where a code is met.
BESIDE = {
    "check_missing": {"closing_check"},
    "check_failed": {"closing_check"},
    "check_aged": {"closing_check"},
    "reopened": {"open", "closing_check"},
    "question_kept": {"not_conforming"},
    "question_open": {"not_conforming"},
    "indication": {"open"},
    "repeated": {"open"},
    "read_before_sheet": {"open"},
    "certificate_future": {"open"},
}


def meet(code: str, request: Any) -> tuple[Point, ...]:
    return MET[code](request.getfixturevalue("checked" if code in BY_CHECKS else "listed"))


def test_the_table_has_words_for_every_code_and_says_why() -> None:
    for row in table("points"):
        assert row["answer"] in ("must", "may")
        assert row["why"]
        plain = row["code"] not in ("numbers", "notes", "uncounted", "history", "certificate_late", "marked")
        assert known(f"points.{row['code']}") is plain, row["code"]


def test_every_code_is_met() -> None:
    assert set(MET) == set(grades())


def test_a_sheet_that_is_as_it_should_be_has_no_point(listed: Listed, checked: Listed) -> None:
    assert listed.fill().points() == ()
    listed.life.sign()
    assert listed.points(earlier(listed, "1", 0, 0.5, 1, 0, -0.5, 0.5)) == ()
    checked.fill()
    checked.life.check("M-01", closing=True)
    assert checked.points() == ()


@pytest.mark.parametrize("code", sorted(MET))
def test_what_a_lead_looks_at_is_told_with_its_rows_and_graded(code: str, request: pytest.FixtureRequest) -> None:
    found = meet(code, request)
    named = {point.code: point for point in found}
    assert code in named, f"{code} is not among {sorted(named)}"
    assert (named[code].weight, named[code].must_answer) == (grades()[code].weight, grades()[code].must_answer)
    for point in found:
        for reason in (point.reason, *point.why):
            assert not re.search(r"[\[\]{}]", say(reason)), say(reason)
        assert say(point.reason).endswith(".")


@pytest.mark.parametrize("code", sorted(MET))
def test_one_thing_does_not_cry_twice(code: str, request: pytest.FixtureRequest) -> None:
    found = {point.code for point in meet(code, request)}
    assert found - BESIDE.get(code, set()) == {code}


def test_the_worst_stands_first(listed: Listed) -> None:
    listed.fill("3", "4")
    listed.life.choose("2", "M-01", reason="at hand")
    listed.life.take("2", ".7502")
    listed.life.take("1", ".5060")
    found = listed.points(earlier(listed, "3", -3, -3, -3.5, -3, -2.5))
    assert [point.code for point in found] == ["not_conforming", "open", "by_hand", "history", "history"]
    assert [point.weight for point in found] == sorted((point.weight for point in found), reverse=True)


def test_points_that_weigh_the_same_stand_in_the_order_of_the_plan(listed: Listed) -> None:
    for number, text in (("3", "1.2600"), ("2", ".7520"), ("1", ".5060")):
        listed.life.take(number, text)
    out = [point for point in listed.points() if point.code == "not_conforming"]
    assert [listed.rows(point) for point in out] == [["1/001"], ["2/001"], ["3/001"]]


def test_a_key_is_the_code_and_its_cells(listed: Listed) -> None:
    _not_conforming(listed)
    point = listed.of("not_conforming")
    assert point.key == listed.of("not_conforming").key
    assert point.key.startswith("not_conforming:")
    other = replace(point, readings=(), reason=replace(point.reason, parts={}))
    assert other.key == point.key, "not how it is told"
    cells = (*point.cells, listed.life.cell("2"))
    assert replace(point, cells=cells).key == replace(point, cells=cells[::-1]).key != point.key
    assert replace(point, code="in_doubt").key != point.key
    assert replace(point, about="x").key != point.key


def test_keys_tell_every_point_of_a_sheet_apart(listed: Listed) -> None:
    for number, text in (("1", ".5060"), ("2", ".7520"), ("3", "1.2600")):
        listed.life.choose(number, "M-02" if number == "3" else "M-01", reason=f"for {number}")
        listed.life.take(number, text)
    listed.issue(last_balloon="9", drawing_notes=None)
    keys = [point.key for point in listed.points()]
    assert len(keys) == len(set(keys)) > 6


def test_rows_are_named_by_number_and_by_serial_where_there_are_several(life_kind: Any) -> None:
    one = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 8), serials=("001",))
    one.life.take("4", ".5045")
    assert one.told("open") == ["Rows 1 … 3, 5 … 8 are still open."]
    two = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 4))
    two.life.take("4", ".5045")
    assert two.told("open") == ["Rows 1 … 3 (001); 1 … 4 (002) are still open."]


def test_a_long_list_of_rows_is_cut(life_kind: Any) -> None:
    made = Listed(life_kind().open(), *many("length", ".5{i:02} ±.005", 60), serials=("001",))
    for i in range(2, 61, 2):
        made.life.take(str(i), f".5{i:02}5")
    assert made.told("open") == ["Rows 1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21 … 59 are still open."]


def test_the_words_have_no_code_that_nothing_says() -> None:
    from pathlib import Path

    import inspection
    from inspection.words.catalogue import catalogue

    told = "".join(path.read_text("utf-8") for path in Path(inspection.__file__).parent.rglob("sheet/points*.py"))
    codes = [code.removeprefix("points.") for code in catalogue() if code.startswith("points.")]
    assert [code for code in codes if f'"{code}"' not in told and code not in grades()] == []


def test_asking_changes_nothing(listed: Listed) -> None:
    listed.fill()
    before = (listed.life.shop, listed.sheet)
    assert points(*before, {}, DAY) == points(*before, {}, DAY)
    assert (listed.life.shop, listed.sheet) == before
    assert READ[0]["1"] == ".5005"
