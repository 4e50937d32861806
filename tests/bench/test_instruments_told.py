"""What stands against an instrument, in short: every reason has its word, and nothing is cut."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QFontMetrics

from app.bench import showing, told, weighing
from app.bench.others import _LEFT, _WRAP, Group, Others
from app.parts.wrapped import wrapped
from app.window.theme import TEXT, load
from inspection.instruments.record import Instrument, InstrumentKind
from inspection.words.catalogue import catalogue


def test_every_reason_against_an_instrument_has_its_short_word():
    for code in catalogue("en"):
        if code.startswith("reach.") and code.endswith(".not"):
            name = code.split(".")[1]
            assert (f"bench.lacks.{name}" in catalogue("en")) != (f"bench.{code}" in catalogue("en")), code
            assert (name in weighing._NOT_NOW) == (f"bench.{code}" in catalogue("en")), code


def test_the_groups_name_every_method_that_the_why_key_lists(bench):
    bench.go("1")
    seen, at = bench.room.seen, bench.flow.at
    groups = {group.name: group.items for group in showing.others_in_short(seen, at)}
    count = sum(int(item.split()[0]) for item in groups.pop("no reach", ()))
    told_of = " ".join(item for items in groups.values() for item in items)
    listed = showing.others_of(seen, at, "")
    assert count + sum(1 for name, _ in listed if name.split()[0] in told_of) >= len(listed)
    assert "of 10" in told_of or "of 4" in told_of or "of 3" in told_of


@pytest.mark.parametrize("high", [20, 60, 120, 400])
def test_what_is_shown_of_the_others_fits_and_the_rest_is_counted(qtbot, high):
    theme = load()
    others = Others(theme)
    qtbot.addWidget(others)
    others.resize(460, high)
    items = tuple(f"C-{n:02d} digital caliper {n} in (accuracy 1.{n} of 4)" for n in range(1, 15))
    others.show_groups((Group("marginal", items), Group("no reach", ("3 by span",))))
    metrics = QFontMetrics(theme.font(TEXT))
    used = [metrics.boundingRect(QRect(0, 0, 460 - _LEFT, 9999), _WRAP, text) for _, text in others.shown()]
    assert sum(rect.height() for rect in used) <= high
    assert all(rect.width() <= 460 - _LEFT for rect in used)
    texts = dict(others.shown())
    if "marginal" in texts and "C-14" not in texts["marginal"]:
        assert "more (W)" in texts["marginal"]
    assert high < 400 or "C-14" in texts["marginal"]


def test_names_become_shorter_and_end_with_the_tag():
    def made(tag, name):
        return Instrument(tag, 1, tag, InstrumentKind.GAUGE_PINS, name, "in")

    pins, plate = made("P-02", "gauge pins .061–.250 in, class ZZ, minus"), made("H-11", "surface plate, granite")
    assert told.instrument_names((pins, plate)) == (
        "gauge pins .061–.250 in, class ZZ, minus + surface plate, granite",
        "gauge pins .061–.250 in + surface plate",
        "gauge pins .061–.250 in + H-11",
        "P-02 + H-11",
    )


def test_words_are_broken_between_words_and_only_a_long_one_inside(qapp):
    font = load().font(12)
    assert wrapped("Quillfeather Machine", font, 90, 2) == ("Quillfeather", "Machine")
    inside = wrapped("Quillfeathermachinery", font, 60, 9)
    assert "".join(inside) == "Quillfeathermachinery"
    assert wrapped("one two three four five six seven", font, 40, 2)[-1].endswith("…")
    assert wrapped("", font, 40, 2) == ("",)
