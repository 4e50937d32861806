"""An instrument of the shop's crib, as one frozen issue of its record."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.attached import Attached
from inspection.quantity.units import Kind


class InstrumentKind(StrEnum):
    """Kinds of hand instrument, in the words of the trade."""

    RULE = "steel rule"
    TAPE = "tape"
    VERNIER_CALIPER = "vernier caliper"
    DIAL_CALIPER = "dial caliper"
    DIGITAL_CALIPER = "digital caliper"
    OUTSIDE_MICROMETER = "outside micrometer"
    INSIDE_MICROMETER = "inside micrometer"
    DEPTH_MICROMETER = "depth micrometer"
    SMALL_HOLE_GAUGE = "small-hole gauge"
    TELESCOPING_GAUGE = "telescoping gauge"
    THREE_POINT_BORE_GAUGE = "three-point bore gauge"
    GAUGE_PINS = "gauge pins"
    GAUGE_BLOCKS = "gauge blocks"
    HEIGHT_GAUGE = "height gauge"
    INDICATOR = "indicator"
    SURFACE_PLATE = "surface plate"
    RADIUS_GAUGE = "radius gauge"
    PROTRACTOR = "protractor"
    THREAD_PLUG = "thread plug"
    THREAD_RING = "thread ring"
    ROUGHNESS_TESTER = "roughness tester"
    COATING_GAUGE = "coating thickness gauge"
    THERMOMETER = "thermometer"
    EYE = "by eye"


class Use(StrEnum):
    """How an instrument meets a feature; permissible error is a table by use and length."""

    OUTSIDE = "outside"
    INSIDE = "inside"
    DEPTH = "depth"
    STEP = "step"
    HEIGHT = "height"
    ANGLE = "angle"
    RADIUS = "radius"
    ROUGHNESS = "roughness"
    COATING = "coating"
    THREAD = "thread"
    SIGHT = "sight"


class Standing(StrEnum):
    """Whether an instrument may be used for acceptance at all."""

    IN_SERVICE = "in service"
    OUT_OF_SERVICE = "out of service"
    REFERENCE_ONLY = "reference only"


class Direction(StrEnum):
    """To which side of its marked size a fixed gauge may lie."""

    PLUS = "plus"  # N … N + t
    MINUS = "minus"  # N − t … N


class Permissible(Struct, frozen=True):
    """Permissible error ±``error`` for one ``use``, for sizes up to and including ``up_to`` (counts of the kind)."""

    use: Use
    up_to: int
    error: int


class CertifiedPoint(Struct, frozen=True):
    """One line of a certificate's table: at ``size`` in one ``use`` the ``error`` e = indication − true, with its
    ``expanded`` uncertainty U (counts of the kind) for the coverage ``factor`` k in thousandths."""

    use: Use
    size: int
    error: int
    expanded: int
    factor: int = 2_000


class Contacts(Struct, frozen=True):
    """How an instrument touches the part; lengths in picometres, None where it does not apply.

    ``jaws`` is w of inside jaws, both blades' flats plus the gap between them, measured on this very instrument and
    known within ± ``jaws_within`` (half-width).
    """

    smallest_bore: int | None = None  # smallest bore its contacts enter cleanly
    reach: int | None = None  # how far it reaches into a bore, past a shoulder, or down a depth
    relief: int | None = None  # largest inside corner radius its depth or step face clears
    width: int | None = None  # width of the contacts, which a groove or slot must exceed
    hard: bool = True  # presses on the part with a force that soft or thin material may not bear
    jaws: int | None = None
    jaws_within: int = 0


class Holding(Struct, frozen=True):
    """How an instrument is held and read, as the shop states it; 0 leaves a part out of the reckoning.

    Angles are half-widths in µas, lengths picometres: ``tilt`` out of square; a contact of ``contact_width`` laid on a
    flat up to ``contact_askew``; a jaw that touches ``jaw_distance`` from the beam and rocks by ``jaw_rock``; a scale
    ``scale_height`` off what it is read against, with the eye ``eye_off`` from square above it.
    """

    tilt: int = 0
    contact_width: int = 0
    contact_askew: int = 0
    jaw_distance: int = 0
    jaw_rock: int = 0
    scale_height: int = 0
    eye_off: int = 0


class Member(Struct, frozen=True):
    """One member of a set: a pin, a block, a radius leaf, a GO or NOT GO end. ``size`` in picometres."""

    size: int
    label: str = ""


class Instrument(Struct, frozen=True):
    """One issue of an instrument's record.

    ``low`` … ``high`` is the measuring range and ``resolution`` the smallest step shown, counts of ``quantity``'s
    step; ``unit`` is the unit it is set to and ``other_unit`` a second one it can show, with its own resolution.
    ``repeatability`` and ``zero`` are default standard deviations s and s0 in counts. ``due`` is the last good day
    of its calibration (ISO date, empty if it needs none). Fixed gauges carry ``members`` with the total
    ``class_tolerance`` t in picometres and its ``direction``. ``read_over`` names the kinds that a transfer
    instrument (small-hole or telescoping gauge, indicator) must be read over. ``thread`` is a thread gauge's
    designation. ``missing`` are sizes of a set that are not there (lost, worn, lent): ``members`` stays what the set
    was made with. ``certified`` is the day of ``certificate`` (ISO), ``laboratory`` who issued it; ``holder`` who has
    the instrument now, empty if it lies at its ``place``. ``points`` are the table of that ``certificate``.
    ``expansion`` is the instrument's own in 1e-9 per kelvin, 0 for steel's. A thermometer measures no feature; its
    readings are within ± ``kelvin`` (thousandths of a kelvin, half-width). It is calibrated anew ``every_months``, and
    after ``every_readings`` taken with it since it was ``certified``, whichever comes first; 0: not by that.
    """

    identity: str
    issue: int
    tag: str
    kind: InstrumentKind
    name: str
    unit: str = "in"
    quantity: Kind = Kind.LENGTH
    low: int = 0
    high: int = 0
    resolution: int = 0
    other_unit: str = ""
    other_resolution: int = 0
    permissible: tuple[Permissible, ...] = ()
    contacts: Contacts = Contacts()
    repeatability: int = 0
    zero: int = 0
    members: tuple[Member, ...] = ()
    gauge_class: str = ""
    class_tolerance: int = 0
    direction: Direction | None = None
    read_over: tuple[InstrumentKind, ...] = ()
    thread: str = ""
    due: str = ""
    certificate: str = ""
    standing: Standing = Standing.IN_SERVICE
    as_calibrated: bool = True
    handling_seconds: int = 20
    place: str = ""
    note: str = ""
    missing: tuple[int, ...] = ()
    certified: str = ""
    laboratory: str = ""
    holder: str = ""
    files: tuple[Attached, ...] = ()
    points: tuple[CertifiedPoint, ...] = ()
    holding: Holding = Holding()
    expansion: int = 0
    kelvin: int = 0
    every_months: int = 0
    every_readings: int = 0
