"""The keys of the window of the rules as one table."""

from __future__ import annotations

from app.window.keys import Key

KEYS = {
    "issue": Key("Ctrl+Return", "rules.action.issue", ("Ctrl+Enter",)),
    "close": Key("Esc", "rules.action.close"),
    "down": Key("Alt+PgDown", "rules.action.down"),
    "up": Key("Alt+PgUp", "rules.action.up"),
}
BUTTONS = ("issue", "close")
