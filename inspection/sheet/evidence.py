"""What a sheet accounts for beside its characteristics: materials, special processes and functional tests, and the
drawing that it was measured by."""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from inspection.attached import Attached


class EvidenceKind(StrEnum):
    """What is accounted for."""

    MATERIAL = "material"
    PROCESS = "special process"
    TEST = "functional test"
    DRAWING = "drawing"


class Approval(StrEnum):
    """Whether the customer has approved the source; UNDECIDED is a box that nobody has ticked yet."""

    UNDECIDED = ""
    YES = "yes"
    NO = "no"
    NOT_APPLICABLE = "n.a."


class Measurement(Struct, frozen=True):
    """A functional test that was measured, in its own unit: limits and result are exact counts of the step of
    ``kind`` (``resources/tables/quantities.csv``); None where a side is open or nothing is measured yet.

    ``required`` and ``written`` are the limits and the result as written.
    """

    kind: str
    unit: str
    required: str
    lower: int | None = None
    upper: int | None = None
    count: int | None = None
    written: str = ""
    decimals: int | None = None


class Evidence(Struct, frozen=True):
    """One material, special process or functional test, as the papers name it; or the drawing, whose number, revision
    and files alone are meant.

    ``number`` is the balloon number of the row or note that asks for it, if the drawing has one. ``certificate`` is
    the certificate's number and ``certified`` its day (ISO). ``passed`` is "yes", "no" or empty for a test that is
    not measured.
    """

    identity: str
    kind: EvidenceKind
    name: str
    number: str = ""
    specification: str = ""
    specification_revision: str = ""
    code: str = ""
    supplier: str = ""
    approved: Approval = Approval.UNDECIDED
    certificate: str = ""
    certified: str = ""
    measurement: Measurement | None = None
    passed: str = ""
    files: tuple[Attached, ...] = ()
    note: str = ""
