"""What is known beside records and rules when a method is weighed: recorded checks and studies, logged temperatures."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct

from inspection.measuring.bias import Checked
from inspection.measuring.spread import Spread
from inspection.measuring.thermal import Measured


class Evidence(Struct, frozen=True):
    """What checks and studies say of one instrument as it is set up, in counts of its quantity.

    ``block`` is the pooled deviation of readings of a block and ``zeros`` that of zero settings, ``study`` that of
    readings of parts, and ``people`` that between the means of several people; None where there is no evidence.
    ``checked`` are the last check's readings of a block, and
    ``zero_total`` is how far its ``zero_of`` zero readings were off together.
    """

    block: Spread | None = None
    zeros: Spread | None = None
    study: Spread | None = None
    checked: Checked | None = None
    zero_total: int = 0
    zero_of: int = 0
    people: Spread | None = None


class Known(Struct, frozen=True):
    """What is known on the day: ``evidence`` by instrument identity, temperatures that were ``measured`` and still
    hold, and how often those instruments were read that are ``used_up``: as often as their interval allows."""

    evidence: Mapping[str, Evidence] = {}
    measured: Measured | None = None
    used_up: Mapping[str, int] = {}


NOTHING_KNOWN = Known()
