"""Gauge studies through the door: read blind in turns, interrupted, questioned, corrected; the published study gives
the published figures; taken into use it changes a budget, withdrawn it changes it back; and verify covers it."""

from __future__ import annotations

import csv
import sqlite3
from contextlib import closing
from math import sqrt
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from scipy import stats

from inspection.instruments.record import InstrumentKind
from inspection.instruments.starter import starter_crib
from inspection.measuring.checks import configured
from inspection.measuring.known import Evidence
from inspection.quantity.units import PICOMETRES_PER_MILLIMETRE, Kind, Quantity
from inspection.reasons import Refused
from inspection.sheet import acts
from inspection.sheet.gauge_life import in_use
from inspection.sheet.people import Duty, Person
from inspection.sheet.proving import evidence_of
from inspection.sheet.study_entry import check_all
from inspection.sheet.study_page import study_page
from inspection.studies.attribute_charts import WHOLE
from inspection.studies.conducted import Conducted, Specimen, StudyKind
from inspection.studies.gauge_results import by_attributes, crossed_of, on_standards
from inspection.studies.gauge_study import by_ranges, by_variances
from inspection.studies.study_charts import Shape
from storage.book.door import Book
from storage.book.queries.gauge_studies import gauge_studies
from storage.book.queries.proofs_of import proofs_of
from storage.book.verify import verify_book
from storage.dispatch.study_files import study_bytes

INCH = 25_400_000_000
HALF, TENTH = INCH // 2, INCH // 10_000
MM = PICOMETRES_PER_MILLIMETRE
REFERENCE = Path(__file__).parents[1] / "reference"


def people(bench: Any) -> list[str]:
    """Ann, who may everything, and two inspectors."""
    for name in ("Bo Tran", "Cy Dunn"):
        bench.do(acts.EnterPerson(person=Person("", name, (Duty.INSPECTOR,))))
    return sorted(bench.book.shop().people, key=lambda each: bench.book.shop().people[each].name)


def micrometer(bench: Any) -> Any:
    hand = [one for one in starter_crib(due="2027-01-01") if one.kind is InstrumentKind.OUTSIDE_MICROMETER]
    bench.do(acts.IssueInstruments(instruments=tuple(hand[:1])))
    return next(iter(bench.book.shop().crib.values()))


def started(bench: Any, instrument: Any, who: list[str], parts: int, trials: int, **more: Any) -> str:
    act = acts.StartGaugeStudy(
        kind=more.pop("kind", StudyKind.CROSSED),
        title=more.pop("title", "hub bore, May"),
        instrument=instrument.identity,
        configuration=configured(instrument),
        people=tuple(who),
        specimens=more.pop("specimens", tuple(Specimen(str(n)) for n in range(1, parts + 1))),
        trials=trials,
        **more,
    )
    return str(bench.do(act).stream)


def mm(count: int) -> Quantity:
    return Quantity(count, Kind.LENGTH, "mm", f"{count / MM:.4f}", 4)


def inch(count: int) -> Quantity:
    return Quantity(count, Kind.LENGTH, "in", f"{count / INCH:.4f}", 4)


def read_on(bench: Any, study: str, person: str, value: Any, most: int = 10_000) -> Conducted:
    """Let one person read what comes next; a question is answered by keeping what was read."""
    held = bench.book.study(study)
    while most and (run := held.next_run(person)) is not None:
        given = value(held.plan.runs[run])
        told = (
            {"observed": given}
            if isinstance(given, str)
            else {"quantity": inch(given) if given % TENTH == 0 else mm(given)}
        )
        bench.book.do(acts.TakeStudyReading(study=study, run=run, **told), person=person)
        held = bench.book.study(study)
        if (asked := held.waiting(person)) is not None:
            bench.book.do(acts.KeepStudyReading(study=study, reading=asked.identity), person=person)
            held = bench.book.study(study)
        most -= 1
    return held


@pytest.fixture
def published() -> dict[tuple[int, int, int], int]:
    """Ten parts, three people, three trials, about 10 mm: person, part, trial to counts."""
    found = {}
    with (REFERENCE / "studies_data.csv").open(encoding="utf-8", newline="") as data:
        for row in csv.DictReader(data):
            if row["dataset"] == "gauge study 10x3x3":
                _, person, _, trial = row["column"].split()
                place = "ABC".index(person), int(row["row"]) - 1, int(trial) - 1
                found[place] = 10 * MM + round(float(row["value"]) * 100) * MM // 100
    return found


def stated() -> dict[str, float]:
    with (REFERENCE / "studies_stats.csv").open(encoding="utf-8", newline="") as data:
        rows = [row for row in csv.DictReader(data) if row["item"] == "10x3x3"]
    return {row["quantity"]: float(row["value"]) for row in rows if row["quantity"] in ("EV", "AV", "GRR", "PV", "TV")}


def no_correction_now(bench: Any, held: Conducted) -> None:
    """While a study is in use, nobody changes what it rests on."""
    stood = held.read(0)
    assert stood is not None
    anew = acts.TakeStudyReading(
        study=held.plan.identity, run=0, quantity=stood.quantity, replaces=stood.identity, reason="late"
    )
    with pytest.raises(Refused) as refused:
        bench.book.do(anew, person=stood.by)
    assert [each.code for each in refused.value.reasons] == ["gauge.refused.in_use"]


def a_forged_reading_shows(path: Path, tmp_path: Path) -> None:
    """A row that is not what the journal says."""
    forged = tmp_path / "forged.tenthwright"
    forged.write_bytes(path.read_bytes())
    with closing(sqlite3.connect(forged)) as connection, connection:
        connection.execute("DROP TRIGGER study_reading_never_updated")
        connection.execute("UPDATE study_reading SET amount = amount + 1 WHERE run = 4")
    assert "reading of a gauge study" in " ".join(map(_said, verify_book(forged).faults))


def test_what_the_instrument_cannot_show_is_refused_before_anything_typed_with_it_is_kept(bench):
    who = people(bench)
    study = started(bench, micrometer(bench), who, 2, 2)
    held = bench.book.study(study)
    beyond = acts.TakeStudyReading(study=study, run=held.next_run(who[0]), quantity=inch(12 * INCH + HALF))
    for step in (
        lambda: bench.book.do(beyond, person=who[0]),
        lambda: check_all(bench.book.shop(), held, who[0], [".5000", "12.5"]),
    ):
        with pytest.raises(Refused) as refused:
            step()
        assert [each.code for each in refused.value.reasons] == ["study.refused.beyond"]
    assert not bench.book.study(study).readings


def test_the_published_study_read_in_turns_gives_the_published_figures(bench, published, tmp_path):
    """Ten parts, three people, three trials (tests/reference/studies_data.csv), in the order drawn, the book closed in
    the midst of it; results by averages and ranges as published. Then a lead takes it into use, and withdraws it."""
    who, instrument = people(bench), micrometer(bench)
    study = started(bench, instrument, who, 10, 3, band=8 * MM)
    value = lambda run: published[run.person, run.specimen, run.trial]  # noqa: E731
    read_on(bench, study, who[0], value, 7)
    read_on(bench, study, who[1], value, 30)
    bench.book.close()  # as after a kill: what was acknowledged is there
    bench.book = Book.open(bench.path, clock=bench.time.clock, identities=bench.time.identity, station=bench.station)
    assert len(bench.book.study(study).standing) == 37
    read_on(bench, study, who[2], value)
    held = read_on(bench, study, who[0], value)
    assert held.is_complete
    found, table = by_ranges(crossed_of(held)), by_variances(crossed_of(held))
    ours = {
        "EV": found.repeatability,
        "AV": found.reproducibility,
        "GRR": found.gauge,
        "PV": found.parts,
        "TV": found.total,
    }
    for name, told in stated().items():
        assert sqrt(ours[name]) / MM == pytest.approx(told, rel=3e-4), name

    def evidence() -> Evidence | None:
        return evidence_of(bench.book.shop(), instrument, "")

    assert evidence() is None
    taken = acts.TakeStudyIntoUse(study=study, people=True)
    with pytest.raises(Refused) as refused:
        bench.book.do(taken, person=who[1])
    assert refused.value.reasons[0].code == "life.duty"
    bench.do(taken)
    now = evidence()
    assert now is not None and now.study is not None and now.people is not None
    assert table.variances is not None
    assert now.study.square == table.variances.repeats.mean and now.study.freedom == 60, "within people and parts"
    assert float(now.people.square) == pytest.approx(table.reproducibility, rel=1e-7)
    assert (now.study.of, now.people.of) == ("hub bore, May",) * 2
    with pytest.raises(Refused) as refused:
        bench.do(taken)
    assert [each.code for each in refused.value.reasons] == ["gauge.refused.use.already"]
    no_correction_now(bench, held)
    record = in_use(bench.book.shop(), study)
    assert record is not None
    bench.do(acts.WithdrawStudy(study=record.identity, reason="the parts were burred"))
    assert evidence() is None and in_use(bench.book.shop(), study) is None
    assert evidence_of(bench.book.shop(), instrument, "", record.at) is not None, "readings of then keep what they had"
    assert len(bench.book.ask(proofs_of, instrument.identity)) == 2
    shop = bench.book.shop()
    bench.book.close()
    with Book.open(bench.path) as again:
        assert again.shop() == shop and again.study(study) == held
    assert verify_book(bench.path).whole
    a_forged_reading_shows(bench.path, tmp_path)


def _said(reason: Any) -> str:
    from inspection.words.say import say

    return say(reason)


def test_who_reads_sees_nothing_and_keeps_to_the_order(bench):
    """Another's run, a run out of order, a second reading of one, a correction without a reason: each is refused; a
    slip is asked about once and names no number; what was replaced stays legible."""
    who, instrument = people(bench), micrometer(bench)
    study = started(bench, instrument, who[:2], 3, 2)
    held = bench.book.study(study)
    first, second = held.runs_of(who[0])[:2]

    def refused(act: Any, person: str = who[0]) -> str:
        with pytest.raises(Refused) as caught:
            bench.book.do(act, person=person)
        return str(caught.value.reasons[0].code).rpartition("refused.")[2]

    def take(run: int, count: int = HALF, **more: Any) -> Any:
        return acts.TakeStudyReading(study=study, run=run, quantity=inch(count), **more)

    assert refused(take(first), who[1]) == "not_yours"
    assert refused(take(second)) == "out_of_order"
    assert refused(acts.TakeStudyReading(study=study, run=first, observed="EN")) == "no_reading"
    assert refused(take(first, replaces="x", reason="y")) == "not_standing"
    kept = bench.book.do(take(first), person=who[0]).events[0].reading
    assert refused(take(first)) == "read_already"
    assert refused(take(first, replaces=kept.identity)) == "no_reason"
    better = (
        bench.book.do(take(first, replaces=kept.identity, reason="a chip under it"), person=who[0]).events[0].reading
    )
    assert bench.book.study(study).readings.keys() == {kept.identity, better.identity}
    specimen = held.plan.runs[first].specimen
    read_on(bench, study, who[1], lambda run: HALF if run.specimen == specimen else HALF + HALF // 5)
    again = next(n for n in held.runs_of(who[0])[1:] if held.plan.runs[n].specimen == specimen)
    read_on(bench, study, who[0], lambda run: HALF + HALF // 5, held.runs_of(who[0]).index(again) - 1)
    turn = bench.book.do(take(again, HALF + HALF // 20), person=who[0]).events[0].reading
    assert turn.question is not None and "turn" in _said(turn.question)
    assert not any(sign.isdigit() for sign in _said(turn.question)), "the question tells no number"
    later = held.runs_of(who[0])
    if later.index(again) + 1 < len(later):
        assert refused(take(later[later.index(again) + 1])) == "question_waits"
    bench.book.do(take(again, answers=turn.identity), person=who[0])
    held = read_on(bench, study, who[0], lambda run: HALF + HALF // 5)
    assert held.is_complete and len(held.readings) == 12 + 2
    assert refused(acts.GiveUpStudy(study=study, reason="late")) == "is_complete"
    assert refused(take(0).__class__(study="nothing", run=0)) == "unknown"


def test_a_study_given_up_takes_no_more(bench):
    who, instrument = people(bench), micrometer(bench)
    study = started(bench, instrument, who, 2, 2)
    bench.do(acts.GiveUpStudy(study=study, reason="the parts are sold"))
    with pytest.raises(Refused):
        bench.do(acts.TakeStudyReading(study=study, run=0, quantity=mm(MM)))
    (listed,) = bench.book.ask(gauge_studies)
    assert (listed.study, listed.runs, listed.read, listed.given_up) == (study, 12, 0, True)
    with pytest.raises(Refused) as caught:
        started(bench, instrument, [who[0], who[0]], 1, 1, title=" ", specimens=(Specimen("a"), Specimen("a")))
    assert {each.code.rpartition(".")[2] for each in caught.value.reasons} == {
        "trials",
        "title",
        "person_twice",
        "label_twice",
    }


def test_one_title_is_under_way_once(bench):
    """People name a study by its title: a second one of it waits until the first is complete or given up, in one go
    and in another case too."""
    who, instrument = people(bench), micrometer(bench)
    first = started(bench, instrument, who[:2], 2, 2, title="Hub, May")
    for title in ("Hub, May", " hub,  MAY "):
        with pytest.raises(Refused) as refused:
            started(bench, instrument, who[:2], 2, 2, title=title)
        assert [each.code for each in refused.value.reasons] == ["gauge.refused.start.title_twice"]
    assert "“Hub, May” is under way: 0 of 8" in _said(refused.value.reasons[0])
    assert len(bench.book.ask(gauge_studies)) == 1
    for person in who[:2]:
        read_on(bench, first, person, lambda run: HALF + run.trial * TENTH)
    bench.do(acts.GiveUpStudy(study=started(bench, instrument, who, 2, 2, title="hub, May"), reason="wrong parts"))
    act = acts.StartGaugeStudy(
        kind=StudyKind.CROSSED,
        title="hub, May",
        instrument=instrument.identity,
        configuration=configured(instrument),
        people=tuple(who),
        specimens=(Specimen("1"), Specimen("2")),
        trials=2,
    )
    with pytest.raises(Refused) as refused:
        bench.book.do_all([act, act], person=who[0])
    assert [each.code for each in refused.value.reasons] == ["gauge.refused.start.title_twice"]


def drawn_on_standards(bench: Any, held: Conducted) -> None:
    """What is drawn of a study on standards: the biases as told, scipy's line with its band, every error in time."""
    page = study_page(bench.book.shop(), held, "2026-03-02")
    biases, linearity, stability = page.charts
    drawn = zip(biases.ticks, biases.lines[0].points, strict=True)
    assert {name: point.y for (_, name), point in drawn} == {
        name: each.bias for name, each in on_standards(held).biases.items()
    }
    fitted, above, below, readings = linearity.lines
    x, y = [point.x for point in readings.points], [point.y for point in readings.points]
    line, n = stats.linregress(x, y), len(x)
    assert n == 6
    for at, top, low in zip(fitted.points, above.points, below.points, strict=True):
        assert at.y == pytest.approx(line.intercept + line.slope * at.x, abs=1)
        spread = 1 / n + (at.x - sum(x) / n) ** 2 / (stats.tvar(x) * (n - 1))
        left = sum((each - line.intercept - line.slope * of) ** 2 for of, each in zip(x, y, strict=True)) / (n - 2)
        half = stats.t.ppf((1 + 0.9545) / 2, n - 2) * sqrt(left * spread)
        assert (top.y - at.y, at.y - low.y) == (pytest.approx(half, abs=2), pytest.approx(half, abs=2))
    assert sorted(point.y for line in stability.lines for point in line.points) == sorted(y)
    written = " ".join(
        each.get_textpage().get_text_range() for each in pypdfium2.PdfDocument(study_bytes(page))
    ).split()
    assert " ".join(written).count("in 0.0000 0.0002 0.0004") == 3, (
        "round values stand beside each chart, under their unit"
    )


def drawn_by_attributes(bench: Any, held: Conducted) -> None:
    """A board of what was said, what is known on top; each part's share of right judgements; people's agreement."""
    page = study_page(bench.book.shop(), held, "2026-03-02")
    board, detected, agreement = page.charts
    assert [name for _, name in board.ups] == ["known", "Ann Ames 1", "Ann Ames 2", "Bo Tran 1", "Bo Tran 2"]
    told = {(point.x, -point.y // WHOLE): line.shape for line in board.lines for point in line.points}
    assert len(told) == 4 * 5
    for place, specimen in enumerate(held.plan.specimens, 1):
        seen = "".join("g" if told[place, row] is Shape.GOOD else "b" for row in range(5))
        assert seen == {"P0": "ggggg", "P1": "bbbbg", "P2": "ggggg", "P3": "bbbbg"}[specimen.label]
    assert [point.said for point in detected.lines[0].points] == ["4/4", "3/4", "4/4", "3/4"]
    reach = tuple(end / WHOLE for end in detected.lines[0].points[1].reach or ())
    assert reach == pytest.approx(tuple(stats.binomtest(3, 4).proportion_ci(0.9545)), abs=1e-6)
    assert [[point.said for point in line.points] for line in agreement.lines] == [["4/4", "2/4"], ["4/4", "2/4"]]
    assert study_bytes(page).startswith(b"%PDF")


def test_standards_and_attributes_come_to_what_was_read(bench):
    """Bias at each standard and its line; agreement by go/no-go. By hand: an error that grows by 10 µm over 20 mm."""
    who, instrument = people(bench), micrometer(bench)
    sizes = (5, 10, 25)
    specimens = tuple(Specimen(f"B{n}", n * MM, MM // 1_000_000) for n in sizes)
    study = started(bench, instrument, who[:1], 3, 2, kind=StudyKind.STANDARDS, specimens=specimens)
    held = read_on(bench, study, who[0], lambda run: sizes[run.specimen] * MM * 10005 // 10000)
    found = on_standards(held)
    assert {name: float(each.bias) / MM for name, each in found.biases.items()} == pytest.approx(
        {"B5": 0.0025, "B10": 0.005, "B25": 0.0125}
    )
    assert found.linearity is not None and float(found.linearity.over) / MM == pytest.approx(0.01)
    drawn_on_standards(bench, held)
    with pytest.raises(Refused) as caught:
        bench.do(acts.TakeStudyIntoUse(study=study))
    assert caught.value.reasons[0].code == "gauge.refused.use.kind"
    pins = next(one for one in starter_crib(due="2027-01-01") if one.kind is InstrumentKind.THREAD_PLUG)
    bench.do(acts.IssueInstruments(instruments=(pins,)))
    plug = next(one for one in bench.book.shop().crib.values() if one.kind is InstrumentKind.THREAD_PLUG)
    known = tuple(Specimen(f"P{n}", good=n % 2 == 0) for n in range(4))
    study = started(bench, plug, who[:2], 4, 2, kind=StudyKind.ATTRIBUTE, specimens=known)
    read_on(bench, study, who[0], lambda run: "EN" if run.specimen % 2 == 0 else "EE")
    held = read_on(bench, study, who[1], lambda run: "EN" if run.specimen % 2 == 0 or run.trial else "N")
    told = by_attributes(held)
    assert (told.themselves[who[0]].hits, told.themselves[who[1]].hits, told.together.hits) == (4, 2, 2)
    assert told.known[who[0]].kappa.kappa == 1
    missed = told.known[who[1]].missed
    assert missed is not None and (missed.hits, missed.n) == (2, 4)
    drawn_by_attributes(bench, held)
