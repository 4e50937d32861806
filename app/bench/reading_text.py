"""What a text entered at a slot says: a number, what was seen, or the mark of an instrument that was scanned."""

from __future__ import annotations

from app.bench.told import entry_unit
from inspection.drawing.characteristic import Characteristic
from inspection.instruments.record import Instrument
from inspection.measuring.reading import Observed, Role, Slot
from inspection.quantity.reader import read
from inspection.quantity.units import Quantity
from inspection.reasons import Reason, Refused
from inspection.words.say import word

#: What E and N say at each kind of slot.
SEEN: dict[Role, dict[str, Observed]] = {
    Role.GO: {"E": Observed.ENTERS, "N": Observed.DOES_NOT_ENTER},
    Role.NOT_GO: {"E": Observed.ENTERS, "N": Observed.DOES_NOT_ENTER},
    Role.FINDING: {"E": Observed.AS_REQUIRED, "N": Observed.NOT_AS_REQUIRED},
}


def observed_of(text: str, number: str, slot: Slot) -> Observed | None:
    """What was seen, written as a letter or in words; None where the slot asks for a number. Raises Refused where
    the slot asks what was seen and the text says something else, or the other way round."""
    letters = SEEN.get(slot.role)
    if letters is None:
        if text.upper() in ("E", "N"):
            raise Refused(Reason("bench.not_seen", {"number": number}))
        return None
    for letter, seen in letters.items():
        if text.casefold() in (letter.casefold(), word(f"observed.{seen.name.lower()}").casefold()):
            return seen
    raise Refused(Reason("bench.not_a_number_here", {"number": number}))


def quantity_of(text: str, row: Characteristic, instrument: Instrument | None) -> Quantity:
    """The number, read in the unit that the instrument in hand is set to. Raises Refused at the character."""
    return read(text, unit=entry_unit(row, instrument), kind=row.requirement.kind)


def scanned(text: str, slot: Slot | None) -> bool:
    """Whether a text begins with a letter and is no answer: the mark of something that was scanned."""
    if not text[:1].isalpha() or len(text) < 2:
        return False
    letters = SEEN.get(slot.role, {}) if slot is not None else {}
    words = {word(f"observed.{seen.name.lower()}").casefold() for seen in letters.values()}
    return text.casefold() not in words
