"""Names and symbols of the geometric characteristics, as drawings show them and people type them."""

from __future__ import annotations

from functools import cache

from inspection.standards.tables import rows


@cache
def characteristic_names() -> dict[str, str]:
    """Every symbol and every spelling (small letters) with the characteristic's name, the longest spelling first.

    Source: ASME Y14.5-2018, clause 6; concentricity and symmetry as up to the 2009 edition.
    """
    names = {
        spelling: row["name"]
        for row in rows("geometric_characteristics")
        for spelling in (row["symbol"], *row["words"].split(";"))
    }
    return dict(sorted(names.items(), key=lambda item: -len(item[0])))
