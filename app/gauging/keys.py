"""The keys of the dialogs of gauge studies."""

from __future__ import annotations

from app.window.keys import Key

#: Of the list; all stand as buttons below it.
LIST_KEYS = {
    "open": Key("Return", "gauge.action.open", ("Enter",)),
    "result": Key("Ctrl+R", "gauge.action.result"),
    "start": Key("Ctrl+N", "gauge.action.start"),
    "give_up": Key("Ctrl+Del", "gauge.action.give_up"),
    "person": Key("F8", "gauge.action.person"),
    "close": Key("Esc", "gauge.action.close"),
}
#: Of the entry.
READING_KEYS = {
    "correct": Key("F2", "gauge.action.correct"),
    "close": Key("Esc", "gauge.action.close"),
}
#: Of the result.
RESULT_KEYS = {
    "use": Key("Alt+U", "gauge.action.use"),
    "withdraw": Key("Alt+W", "gauge.action.withdraw"),
    "charts": Key("Alt+C", "gauge.action.charts"),
    "table": Key("Alt+X", "gauge.action.table"),
    "page": Key("Alt+P", "gauge.action.page"),
    "on": Key("Alt+PgDown", "gauge.action.on"),
    "up": Key("Alt+PgUp", "gauge.action.up"),
    "close": Key("Esc", "gauge.action.close"),
}
RESULT_BUTTONS = ("use", "withdraw", "charts", "table", "page", "close")
