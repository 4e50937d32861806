"""The keys of the check panel as one table; Enter, Backspace, Esc and the arrows belong to its entry."""

from __future__ import annotations

from app.window.keys import Key

KEYS = {
    "not_so": Key("Alt+N", "checking.action.not_so"),
    "other_standard": Key("Alt+B", "checking.action.other_standard"),
    "take_back": Key("Ctrl+Z", "checking.action.take_back"),
    "set_up": Key("F4", "checking.action.set_up"),
    "anew": Key("F5", "checking.action.anew"),
}
#: What a single letter on the empty field does.
BY_LETTER = {"N": "not_so", "B": "other_standard"}
