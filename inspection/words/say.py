"""The only speaker of sentences: a reason or a label, from its code and parts, in a language and in units."""

from __future__ import annotations

from inspection.quantity.speaker import shown
from inspection.quantity.units import UNITS, Kind
from inspection.reasons import Amount, Figure, Part, Reason
from inspection.words.catalogue import Piece, Template, catalogue

#: The unit that an amount is shown in when the other system is asked for.
OTHER_UNITS = {
    "mm": {"in": "mm", "thou": "mm", "tenth": "mm", "µin": "µm", "ft": "m"},
    "in": {"mm": "in", "cm": "in", "m": "in", "µm": "µin"},
}


def say(reason: Reason, units: str = "", language: str = "en") -> str:
    """The sentence of a reason. Amounts stand in their own unit, or in that of the system ``units`` ("in" or "mm").

    An unknown code gives a plain sentence that names it, for a fault must still be told; the tests see to it that
    every code has its sentence.
    """
    return _worded(reason.code, reason.parts, units, language)


def word(code: str, language: str = "en", **parts: Part) -> str:
    """A label, a name of an act or any other words of the catalogue."""
    return _worded(code, parts, "", language)


def known(code: str, language: str = "en") -> bool:
    """Whether the catalogue has words for a code."""
    return code in catalogue(language)


def _worded(code: str, parts: dict[str, Part], units: str, language: str) -> str:
    template = catalogue(language).get(code)
    if template is None:
        told = ", ".join(f"{name} = {part_text(part, units, language)}" for name, part in parts.items())
        return f"[{code}] {told}".rstrip()
    return "".join(_filled(piece, parts, units, language) for piece in _form(template, parts))


def _form(template: Template, parts: dict[str, Part]) -> tuple[Piece, ...]:
    if template.by and _is_one(parts.get(template.by)):
        return template.one
    return template.other


def _is_one(part: Part | None) -> bool:
    if isinstance(part, Figure):
        return part.text == "1"
    if isinstance(part, Amount):
        return part.count == UNITS[part.unit].count
    return part in (1, "1")


def _filled(piece: Piece, parts: dict[str, Part], units: str, language: str) -> str:
    before, name, how, prefix = piece
    if name is None:
        return before
    if name not in parts:
        return f"{before}[{name}]"
    text = part_text(parts[name], units, language)
    if how == "w":
        text = word(f"{prefix}.{text}" if prefix else text, language)
    return before + text


def part_text(part: Part, units: str = "", language: str = "en") -> str:
    """One part as it stands in a sentence."""
    if isinstance(part, Amount):
        return _amount(part, units, language)
    return part.text if isinstance(part, Figure) else str(part)


def _amount(amount: Amount, units: str, language: str) -> str:
    unit = OTHER_UNITS.get(units, {}).get(amount.unit) if amount.kind is Kind.LENGTH else None
    if unit is None:
        return shown(amount.count, amount.kind, amount.unit, amount.decimals)
    return shown(amount.count, amount.kind, unit)
