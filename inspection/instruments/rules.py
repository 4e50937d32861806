"""The shop's rules that move a choice or a verdict; issued and journaled, passed in wherever they are used."""

from __future__ import annotations

from msgspec import Struct


class Rules(Struct, frozen=True):
    """One issue of the shop's rules.

    Ratios needed are in hundredths (1000 is 10 : 1; common practice). ``temperature_spread`` is how far the part
    may be from the instrument in thousandths of a degree Celsius. ``pick_up_seconds`` and ``change_seconds`` are
    p and q of the route: what one pick-up and one change of set-up cost. ``lead_may_sign_own`` and the other rules
    of life live with the acts that need them.
    """

    issue: int = 0
    resolution_needed: int = 1000
    accuracy_needed: int = 400
    uncertainty_needed: int = 300
    gauge_class_needed: int = 2000
    gauge_class_marginal: int = 1000
    temperature_spread: int = 1000
    pick_up_seconds: int = 30
    change_seconds: int = 240
