"""Numbers in, verdicts out: what is typed at a row, what it costs in keys, and where the entry goes."""

from __future__ import annotations

from app.parts.marks import Mark


def test_a_reading_costs_its_characters_and_one_key(bench):
    first = bench.number()
    bench.types(".7498\n")
    assert bench.number() != first
    bench.settle()
    assert bench.readings("1") == [".7498"]
    assert bench.line("1").mark is Mark.MARGINAL  # the band of .0005 in asks for more than a micrometer
    assert bench.kept().counting(bench.sheet.plan.characteristics[0].identity, bench.sheet.pieces[0].identity)
