"""The expansion of a part's material, from the words that name it on the drawing."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

from inspection.standards.tables import rows

#: Linear expansion of steel, in 1e-9 per kelvin; ISO 3650 gives (11.5 ± 1.0)e-6 for gauge blocks (from memory).
STEEL = 11_500


@cache
def _expansions() -> tuple[tuple[re.Pattern[str], int], ...]:
    """Patterns of material words, the particular before the general, with expansions in 1e-9 per kelvin."""
    return tuple(
        (
            re.compile(rf"(?<![a-z0-9])(?:{'|'.join(map(re.escape, row['words'].split(';')))})(?![a-z0-9])"),
            int(Decimal(row["expansion_1e-6_per_kelvin"]) * 1000),
        )
        for row in rows("expansions")
    )


@cache
def expansion_of(material: str) -> int:
    """Linear expansion in 1e-9 per kelvin of a material as written; steel's if the words name none known.

    >>> expansion_of("6061-T6 aluminium")
    23600
    """
    lower = material.lower()
    return next((expansion for pattern, expansion in _expansions() if pattern.search(lower)), STEEL)
