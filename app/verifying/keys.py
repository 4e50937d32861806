"""The keys of the window in which a book is verified as one table."""

from __future__ import annotations

from app.window.keys import Key

KEYS = {
    "go": Key("Ctrl+Return", "verifying.action.go", ("Ctrl+Enter",)),
    "copy": Key("Ctrl+C", "verifying.action.copy"),
    "again": Key("Alt+R", "verifying.action.again"),
    "settle": Key("Alt+G", "verifying.action.settle"),
    "close": Key("Esc", "verifying.action.close"),
}
BUTTONS = ("go", "copy", "again", "settle", "close")
