"""A part's plan: its drawing's head and its characteristics, one frozen issue at a time."""

from __future__ import annotations

from msgspec import Struct

from inspection.drawing.characteristic import Characteristic


class TitleBlock(Struct, frozen=True):
    """The drawing's defaults.

    ``inch`` and ``metric`` map a number of decimals to the ± default in pm (``metric`` only if the block says so);
    ``fraction`` is the ± default of fractional dimensions in pm, ``angle`` the ± default of angles in µas;
    ``general`` is an ISO 2768-1 class with an optional second letter, "m" or "mK".
    """

    unit: str = "in"
    inch: dict[int, int] = {}
    metric: dict[int, int] = {}
    fraction: int | None = None
    angle: int | None = None
    general: str = ""


class Part(Struct, frozen=True):
    """The part and its drawing, with their separate revisions."""

    number: str
    revision: str
    name: str = ""
    drawing: str = ""
    drawing_revision: str = ""
    standard: str = ""  # drawing standard as the head names it
    material: str = ""
    customer: str = ""
    changes: str = ""  # additional changes not on the drawing


class Plan(Struct, frozen=True):
    """One issue of a part's plan. ``identity`` names the issue, ``part_identity`` the part through all issues.

    For completeness: ``last_balloon`` is the drawing's highest balloon number, ``unused`` the numbers below it that the
    drawing leaves out, ``drawing_notes`` how many notes the drawing has (None: nobody has counted them).
    """

    identity: str
    part_identity: str
    issue: int
    part: Part
    title_block: TitleBlock
    characteristics: tuple[Characteristic, ...]
    last_balloon: str = ""
    unused: tuple[str, ...] = ()
    drawing_notes: int | None = None
