"""Gauge studies: the published one of 10 parts, 3 people, 3 trials; NIST/SEMATECH 3.2.3.2; numpy on random data."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import sqrt

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inspection.reasons import Refused
from inspection.standards.ranges import range_constants
from inspection.studies.gauge_study import Study, by_ranges, by_variances, study
from inspection.studies.gauge_told import gauge_findings
from inspection.words.say import say

Stated = Callable[[str, str], str]
Data = Callable[[str, int], dict[tuple[str, str], int]]
ONE = 100
ITEM = "10x3x3"


@pytest.fixture(scope="module")
def published(data: Data) -> Study:
    held = data("gauge study 10x3x3", 2)
    people, parts = ("A", "B", "C"), tuple(str(n) for n in range(1, 11))
    readings = [
        [[held[part, f"appraiser {person} trial {trial}"] for trial in (1, 2, 3)] for part in parts]
        for person in people
    ]
    return study(people, parts, readings)


def test_published_study_by_ranges(published: Study, stated: Stated) -> None:
    """The published results are reckoned with constants of four decimals: agreement to those."""
    found = by_ranges(published)
    parts = {
        "EV": found.repeatability,
        "AV": found.reproducibility,
        "GRR": found.gauge,
        "PV": found.parts,
        "TV": found.total,
    }
    for name, variance in parts.items():
        assert sqrt(variance) / ONE == pytest.approx(float(stated(ITEM, f"{name} recomputed")), rel=2e-4)
        assert sqrt(variance) / ONE == pytest.approx(float(stated(ITEM, name)), rel=3e-4)
    for name in ("EV", "AV", "GRR", "PV"):
        share = found.of_study(parts[name])
        assert share is not None
        assert 100 * share == pytest.approx(float(stated(ITEM, f"%{name}")), abs=0.02)
    assert found.categories == int(stated(ITEM, "ndc").split("-> ")[1])
    assert found.of_band(found.gauge, 600) == pytest.approx(sqrt(found.gauge) / 100, rel=1e-12)


def test_a_range_beyond_the_limit_is_named(published: Study) -> None:
    """Beyond D₄R̄ (D₄ of three is 2.574, the usual table of control chart constants, from memory): none of the published
    study's but those worked out here; a reading a whole turn off is named first."""
    spreads = numpy.ptp(numpy.array(published.readings), axis=2)
    beyond = {f"{part + 1} ({'ABC'[person]})" for person, part in numpy.argwhere(spreads > 2.574 * spreads.mean())}
    found = [each for each in gauge_findings(published, by_ranges(published)) if each.code == "gauge.found.wide"]
    assert {name for each in found for name in str(each.parts["cells"]).split(", ")} == beyond
    rows = [[list(cell) for cell in row] for row in published.readings]
    rows[1][3][2] += 25 * ONE
    off = study(published.people, published.parts, rows)
    (found_off,) = (each for each in gauge_findings(off, by_ranges(off)) if each.code == "gauge.found.wide")
    assert (found_off.parts["n"], found_off.parts["cells"]) == (1, "4 (B)")


@pytest.mark.parametrize("name", ["K1 (2 trials)", "K2 (3 appraisers)", "K3 (10 parts)", "K3 (5 parts)"])
def test_the_usual_constants_are_ours(name: str, stated: Stated) -> None:
    """K₁ = 1/d₂, K₂ and K₃ = 1/d₂* (AIAG data sheet, from memory)."""
    ours = range_constants(int("".join(sign for sign in name.split("(")[1] if sign.isdigit())))
    assert ours is not None
    constant = 1 / float(ours.d2) if name.startswith("K1") else 1 / ours.of_one
    assert constant == pytest.approx(float(stated(name, "K")), abs=6e-5)


def test_published_study_by_variances(published: Study, stated: Stated) -> None:
    """Sums of squares, F, p, and components with the interaction pooled, for chance explains it (p = 0.974)."""
    found = by_variances(published)
    table = found.variances
    assert table is not None and table.pooled is not None
    kept = by_variances(published, pooled_over=Fraction(1)).variances
    assert kept is not None and kept.pooled is None
    for name, source in (
        ("part", kept.parts),
        ("appraiser", kept.people),
        ("interaction", kept.interaction),
        ("repeatability", kept.repeats),
    ):
        assert float(source.squares) / ONE**2 == pytest.approx(float(stated(ITEM, f"SS {name} recomputed")), abs=6e-8)
        assert float(source.mean) / ONE**2 == pytest.approx(float(stated(ITEM, f"MS {name} recomputed")), abs=6e-8)
    assert (kept.parts.freedom, kept.people.freedom, kept.interaction.freedom, kept.repeats.freedom) == (9, 2, 18, 60)
    for name, ratio in (
        ("F interaction", kept.interaction.ratio),
        ("p interaction", kept.interaction.chance),
        ("F part (interaction kept)", kept.parts.ratio),
        ("F appraiser (interaction kept)", kept.people.ratio),
        ("F part (pooled)", table.parts.ratio),
        ("F appraiser (pooled)", table.people.ratio),
    ):
        assert ratio == pytest.approx(float(stated(ITEM, f"{name} recomputed")), abs=6e-7)
    assert table.pooled.freedom == 78
    for name, variance in (
        ("repeatability", found.repeatability),
        ("reproducibility", found.reproducibility),
        ("GRR", found.gauge),
        ("part", found.parts),
        ("total", found.total),
    ):
        sigma = float(stated(ITEM, f"{name} sigma (pooled) recomputed"))
        assert sqrt(variance) / ONE == pytest.approx(sigma, abs=6e-8)
    assert found.categories == int(stated(ITEM, "ndc (pooled)").split("-> ")[1])


def test_components_with_the_interaction_kept(published: Study, stated: Stated) -> None:
    found = by_variances(published, pooled_over=Fraction(1))
    for name, variance in (
        ("repeatability variance, interaction kept", found.repeatability),
        ("interaction variance (negative -> 0), interaction kept", found.interaction),
        ("appraiser variance, interaction kept", found.reproducibility - found.interaction),
        ("part variance, interaction kept", found.parts),
    ):
        assert variance / ONE**2 == pytest.approx(float(stated(ITEM, name)), abs=6e-8)


def test_a_probability_is_never_told_as_none(published: Study) -> None:
    """Of two people who see two parts the other way round every time, next to nothing is left to chance."""
    across = study("AB", "12", [[[10, 11], [20, 21]], [[20, 21], [10, 11]]])
    found = {each.code: say(each) for read in (across, published) for each in gauge_findings(read, by_variances(read))}
    assert "differently (p < 0.001)" in found["gauge.found.interaction"]
    assert "beyond chance (p = 0.974)" in found["gauge.found.pooled"]


def test_machines_and_coolants(data: Data, stated: Stated) -> None:
    """NIST/SEMATECH 3.2.3.2: five machines, two coolants, five repeats; the handbook holds all against the residual."""
    held: dict[str, list[int]] = {}
    for (_, column), value in data("NIST 3.2.3.2 turned diameters with coolant", 6).items():
        held.setdefault(column, []).append(value)
    coolants, machines = ("A", "B"), tuple("12345")
    read = study(coolants, machines, [[held[f"coolant {c} machine {m}"] for m in machines] for c in coolants])
    table = by_variances(read, pooled_over=Fraction(1)).variances
    assert table is not None
    for name, source in (
        ("machine", table.parts),
        ("coolant", table.people),
        ("interaction", table.interaction),
        ("residual", table.repeats),
    ):
        assert float(source.squares) / 1e12 == pytest.approx(float(stated("NIST 3.2.3.2", f"SS {name}")), rel=1e-9)
        if name != "residual":
            ratio = float(source.mean / table.repeats.mean)
            assert ratio == pytest.approx(float(stated("NIST 3.2.3.2", f"F {name}")), abs=6e-6)


@given(st.integers(0, 10**6), st.integers(2, 4), st.integers(2, 6), st.integers(2, 4))
def test_against_numpy(seed: int, people: int, parts: int, trials: int) -> None:
    """Sums of squares by effects in floating point, on sizes of half an inch in picometres."""
    chance = numpy.random.default_rng(seed)
    size = 12_700_000_000
    off = chance.integers(-(10**6), 10**6, (people, parts, trials)) + chance.integers(-(10**6), 10**6, (1, parts, 1))
    read = study([f"p{n}" for n in range(people)], [f"{n}" for n in range(parts)], (size + off).astype(object).tolist())
    table = by_variances(read, pooled_over=Fraction(1)).variances
    assert table is not None
    y = off.astype(float)
    grand, by_person, by_part, cells = y.mean(), y.mean((1, 2)), y.mean((0, 2)), y.mean(2)
    both = cells - by_person[:, None] - by_part[None, :] + grand
    for source, squares in (
        (table.people, parts * trials * ((by_person - grand) ** 2).sum()),
        (table.parts, people * trials * ((by_part - grand) ** 2).sum()),
        (table.interaction, trials * (both**2).sum()),
        (table.repeats, ((y - cells[:, :, None]) ** 2).sum()),
    ):
        assert float(source.squares) == pytest.approx(squares, rel=1e-9, abs=1e-2)
    assert table.interaction.ratio is not None
    expected = stats.f.sf(table.interaction.ratio, table.interaction.freedom, table.repeats.freedom)
    assert table.interaction.chance == pytest.approx(expected, rel=1e-8, abs=1e-14)


def test_a_step_that_hides_all_scatter_is_no_perfect_gauge() -> None:
    read = study("AB", "12", [[[5, 5], [9, 9]], [[5, 5], [9, 9]]])
    found = by_variances(read)
    assert (found.gauge, found.categories, by_ranges(read).categories) == (0.0, None, None)
    same = by_variances(study("AB", "12", [[[5, 5], [5, 5]], [[5, 5], [5, 5]]]))
    assert same.of_study(same.gauge) is None


def test_what_cannot_be_reckoned_is_refused_with_every_fault() -> None:
    with pytest.raises(Refused) as refused:
        study("A", "12", [[[1, 2], [3]]])
    assert [reason.code for reason in refused.value.reasons] == ["gauge.refused.people", "gauge.refused.uneven"]
    with pytest.raises(Refused) as refused:
        study("AB", [str(n) for n in range(26)], [[[1]] * 26] * 2)
    assert [reason.code for reason in refused.value.reasons] == ["gauge.refused.parts", "gauge.refused.trials"]
