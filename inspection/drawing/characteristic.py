"""A characteristic: one requirement of the drawing with its permanent identity and how it is to be measured."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.drawing.requirement import Requirement


class FeatureKind(StrEnum):
    """What sort of feature a characteristic belongs to, in the words of the shop."""

    OUTSIDE_DIAMETER = "outside diameter"
    BORE = "bore"
    LENGTH = "length"
    WIDTH = "width"
    SLOT = "slot"
    DEPTH = "depth"
    STEP = "step"
    CENTRE_DISTANCE = "centre distance"
    EDGE_DISTANCE = "edge distance"
    RADIUS = "radius"
    CHAMFER = "chamfer"
    ANGLE = "angle"
    THREAD = "thread"
    ROUGHNESS = "roughness"
    COATING = "coating thickness"
    GEOMETRIC = "geometric tolerance"
    NOTE = "note"


class Condition(StrEnum):
    """The state of the part in which a requirement holds."""

    AS_FINISHED = ""
    BEFORE_COATING = "before coating"
    AFTER_COATING = "after coating"
    BEFORE_HEAT_TREATMENT = "before heat treatment"
    AFTER_HEAT_TREATMENT = "after heat treatment"


class Access(Struct, frozen=True):
    """What stands in an instrument's way; lengths in picometres, None where it does not matter or is unknown."""

    reach: int | None = None  # depth to reach into a bore or past a shoulder
    corner_radius: int | None = None  # inside corner at the foot of a step or depth
    wall: int | None = None  # width of the wall or groove that the contacts must straddle or enter
    bore_length: int | None = None
    soft: bool = False  # thin or soft: measuring force matters


class Characteristic(Struct, frozen=True):
    """One row of the sheet.

    ``identity`` is permanent; ``number`` is the balloon number, text, a label of this issue only. A counted
    requirement (4X) becomes one characteristic a place: numbers 7.1 … 7.4, ``count`` 4, each with its ``place``.
    ``places`` are the positions declared beforehand at which this row is read (smallest and largest are kept);
    ``repeats`` is m, the declared number of readings of one place whose mean is the result.
    """

    identity: str
    number: str
    kind: FeatureKind
    requirement: Requirement
    name: str = ""
    sheet: str = ""
    zone: str = ""
    count: int = 1
    place: str = ""
    key: str = ""  # the customer's symbol of a key characteristic
    condition: Condition = Condition.AS_FINISHED
    set_up: str = ""
    access: Access = Access()
    attribute_allowed: bool = False
    blind: bool = False
    places: tuple[str, ...] = ()
    repeats: int = 1
    sampling: str = "all"  # "all", "first-last", or a number of pieces counted from the first
    note: str = ""
    tooling: str = ""  # identity of designed tooling, where a form asks for it

    @property
    def asks(self) -> tuple[object, ...]:
        """What is asked of the part, whatever the row is called and however it is read: two issues of a plan ask the
        same of it where these are equal. Where no limit says it, the words do."""
        asked = self.requirement
        words = asked.written if asked.lower is None and asked.upper is None else ""
        return asked.judged, asked.kind, asked.nominal, asked.lower, asked.upper, words, self.condition
