"""How to take a reading: every kind has its lines, every line its sentence, and what stands in the way is named."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from msgspec.structs import replace

from inspection.drawing.characteristic import Access, Characteristic, FeatureKind
from inspection.instruments.record import Instrument, InstrumentKind, Use
from inspection.measuring.howto import how_to_take
from inspection.standards.tables import rows
from inspection.words.say import known, say

INCH = 25_400_000_000
Rows = Callable[..., Characteristic]


@pytest.mark.parametrize("kind", InstrumentKind)
@pytest.mark.parametrize("use", [None, *Use])
def test_every_kind_has_lines_and_every_line_its_sentence(
    row: Rows, caliper: Instrument, kind: InstrumentKind, use: Use | None
) -> None:
    said = how_to_take(row(1, 2, repeats=3), replace(caliper, kind=kind), use, in_machine=True)
    assert len(said) > 2
    assert all(known(reason.code) and "[" not in say(reason) for reason in said)


def test_the_table_names_known_kinds_and_uses() -> None:
    for line in rows("howto"):
        assert InstrumentKind(line["kind"])
        assert not line["use"] or Use(line["use"])
        assert line["source"]
        assert line["how_obtained"]


def test_a_corner_radius_is_named_where_a_depth_is_read(row: Rows, caliper: Instrument) -> None:
    cornered = row(1, 2, access=Access(corner_radius=INCH // 32))
    said = [say(reason) for reason in how_to_take(cornered, caliper, Use.DEPTH)]
    assert any("0.03125 in" in sentence for sentence in said)
    assert "howto.corner" not in {reason.code for reason in how_to_take(cornered, caliper, Use.OUTSIDE)}


def test_the_caution_for_a_machine_leads(row: Rows, caliper: Instrument) -> None:
    assert how_to_take(row(1, 2), caliper, in_machine=True)[0].code == "caution.machine"
    assert "caution.machine" not in {reason.code for reason in how_to_take(row(1, 2), caliper)}


def test_soft_material_is_touched_lightly(row: Rows) -> None:
    assert [reason.code for reason in how_to_take(row(1, 2, access=Access(soft=True)), None)] == ["howto.soft"]


def test_what_compares_is_zeroed_on_the_stack_and_the_size_is_entered(row: Rows, caliper: Instrument) -> None:
    """And that leads, for a small card shows the first lines. The indicator that sweeps a face, by the same use, has no
    stack."""
    indicator = replace(caliper, kind=InstrumentKind.INDICATOR)
    length = row(INCH, INCH + INCH // 1000, feature=FeatureKind.LENGTH)
    told = [say(reason) for reason in how_to_take(length, indicator, Use.HEIGHT)]
    assert told[:2] == ["Zero it on the stack for 1.0005 in.", "Enter stack plus difference as the size."]
    blind = [reason.code for reason in how_to_take(replace(length, blind=True), indicator, Use.HEIGHT)]
    assert blind[:2] == ["howto.zero_on_stack", "howto.add_difference"]
    flat = how_to_take(replace(length, kind=FeatureKind.GEOMETRIC), indicator, Use.HEIGHT)
    assert not {"howto.zero_on_stack_for", "howto.add_difference"} & {reason.code for reason in flat}
