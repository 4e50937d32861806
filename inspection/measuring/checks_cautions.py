"""What a person is cautioned of while checking an instrument before use, by its kind (common practice)."""

from __future__ import annotations

from inspection.instruments.record import InstrumentKind
from inspection.reasons import Reason
from inspection.standards.tables import rows


def cautions(kind: InstrumentKind) -> tuple[Reason, ...]:
    """The cautions that belong to a check of this kind; none for one that is not checked."""
    found = next((row["cautions"] for row in rows("check_cautions") if row["kind"] == kind), "")
    return tuple(Reason(f"caution.{code}") for code in found.split(";") if code)
