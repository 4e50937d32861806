"""The only speaker of sentences: a reason or a label, from its code and parts, in a language and in units."""

from __future__ import annotations

from inspection.quantity.speaker import shown
from inspection.quantity.units import Kind
from inspection.reasons import Amount, Figure, Part, Reason
from inspection.words.catalogue import catalogue, phrase

#: The unit that an amount is shown in when the other system is asked for.
OTHER_UNITS = {
    "mm": {"in": "mm", "thou": "mm", "tenth": "mm", "µin": "µm", "ft": "m"},
    "in": {"mm": "in", "cm": "in", "m": "in", "µm": "µin"},
}


def say(reason: Reason, units: str = "", language: str = "en") -> str:
    """The sentence of a reason. Amounts stand in their own unit, or in that of the system ``units`` ("in" or "mm")."""
    return _worded(reason.code, reason.parts, units, language)


def word(code: str, language: str = "en", **parts: Part) -> str:
    """A label, a name of an act or any other words of the catalogue."""
    return _worded(code, parts, "", language)


def known(code: str, language: str = "en") -> bool:
    """Whether the catalogue has words for a code."""
    return code in catalogue(language)


def _worded(code: str, parts: dict[str, Part], units: str, language: str) -> str:
    return phrase(code, language, **{name: part_text(part, units, language) for name, part in parts.items()})


def part_text(part: Part, units: str = "", language: str = "en") -> str:
    """One part as it stands in a sentence."""
    if isinstance(part, Amount):
        return _amount(part, units, language)
    return part.text if isinstance(part, Figure) else str(part)


def _amount(amount: Amount, units: str, language: str) -> str:
    unit = OTHER_UNITS.get(units, {}).get(amount.unit) if amount.kind is Kind.LENGTH else None
    if unit is None:
        return shown(amount.count, amount.kind, amount.unit, amount.decimals, language=language)
    return shown(amount.count, amount.kind, unit, language=language)
