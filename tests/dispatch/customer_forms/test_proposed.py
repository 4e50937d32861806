"""What is proposed for a blank form, against what a person who looks at it says."""

from __future__ import annotations

import pytest

from inspection.attached import Attached
from inspection.layout.cell_names import address, letters
from inspection.layout.layout import check_layout
from inspection.reasons import Refused
from storage.dispatch.customer_form.propose import propose


def proposed(form):
    return propose(form.content, Attached(f"{form.name}.xlsx", "0" * 64, len(form.content)), "Rowan & Pike", form.name)


def told(layout):
    heads = {address(place.row, place.column): place.field for place in layout.heads}
    table = layout.tables[0]
    columns = {
        letters(column.column): column.field + (f":{column.piece}" if column.piece >= 0 else "")
        for column in table.columns
    }
    return heads, columns, (table.first, table.rows, len(table.numbered))


def wanted(form):
    return form.heads, form.columns, (form.first, form.rows, form.numbered)


@pytest.fixture(scope="module")
def outcome(forms):
    found = {}
    for name, form in forms.items():
        try:
            layout = proposed(form)
        except Refused as refused:
            found[name] = refused.reasons, wanted(form)
            continue
        check_layout(layout)
        found[name] = told(layout), wanted(form)
    return found


def test_proposals_need_no_correction(outcome):
    wrong = {name: pair for name, pair in outcome.items() if pair[0] != pair[1]}
    for name, (got, right) in wrong.items():
        print(name, got, right, sep="\n  ")
    assert not wrong, list(wrong)


def test_there_are_forms_enough(forms):
    assert len(forms) >= 12
