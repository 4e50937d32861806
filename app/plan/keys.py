"""The keys of the Plan room: on the list of parts, on a plan, and in its table."""

from __future__ import annotations

from app.window.keys import Key

LIST_KEYS = {
    "open": Key("Ctrl+Return", "plan.action.open"),
    "new": Key("Ctrl+N", "plan.action.new"),
    "revise": Key("Ctrl+R", "plan.action.revise"),
    "file": Key("Ctrl+I", "plan.action.file"),
    "template": Key("Ctrl+T", "plan.action.template"),
    "drop": Key("Ctrl+D", "plan.action.drop"),
    "find": Key("Ctrl+F", "plan.action.find"),
}
PLAN_KEYS = {
    "issue": Key("Ctrl+S", "plan.action.issue"),
    "sheet": Key("Ctrl+M", "plan.action.sheet"),
    "head": Key("F4", "plan.action.head"),
    "list": Key("Ctrl+L", "plan.action.list"),
    "undo": Key("Ctrl+Z", "plan.action.undo"),
    "redo": Key("Ctrl+Y", "plan.action.redo", ("Ctrl+Shift+Z",)),
    "group": Key("Ctrl+G", "plan.action.group"),
}
TABLE_KEYS = {
    "copy": Key("Ctrl+C", "plan.action.copy"),
    "cut": Key("Ctrl+X", "plan.action.cut"),
    "paste": Key("Ctrl+V", "plan.action.paste"),
    "clear": Key("Del", "plan.action.clear", ("Backspace",)),
    "all": Key("Ctrl+A", "plan.action.all"),
    "insert": Key("Ctrl+I", "plan.action.insert"),
    "delete": Key("Ctrl+D", "plan.action.delete"),
    "up": Key("Alt+Up", "plan.action.up"),
    "down": Key("Alt+Down", "plan.action.down"),
    "split": Key("Ctrl+K", "plan.action.split"),
    "join": Key("Ctrl+J", "plan.action.join"),
    "renumber": Key("Ctrl+R", "plan.action.renumber"),
    "turn": Key("Ctrl+PgDown", "plan.action.turn"),
    "turn_back": Key("Ctrl+PgUp", "plan.action.turn_back"),
    "next_fault": Key("Ctrl+E", "plan.action.next_fault"),
}
