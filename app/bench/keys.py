"""The keys of the Bench as one table; those of the whole window stand with the frame."""

from __future__ import annotations

from app.window.keys import Key

KEYS = {
    "correct": Key("F2", "bench.action.correct"),
    "take_back": Key("Ctrl+Z", "bench.action.take_back"),
    "put_back": Key("Ctrl+Y", "bench.action.put_back", ("Ctrl+Shift+Z",)),
    "piece_before": Key("PgUp", "bench.action.piece_before"),
    "piece_after": Key("PgDown", "bench.action.piece_after"),
    "run_by": Key("Ctrl+R", "bench.action.run_by"),
    "enters": Key("Alt+E", "bench.action.enters"),
    "stops": Key("Alt+N", "bench.action.stops"),
    "skip": Key("Alt+S", "bench.action.skip"),
    "instrument": Key("Alt+I", "bench.action.instrument"),
    "why": Key("Alt+W", "bench.action.why"),
    "check": Key("Alt+K", "bench.action.check"),
    "repeats": Key("Alt+M", "bench.action.repeats"),
    "note": Key("Alt+D", "bench.action.note"),
    "nonconformance": Key("Alt+O", "bench.action.nonconformance"),
    "upset": Key("Ctrl+K", "bench.action.upset"),
    "temperature": Key("Ctrl+T", "bench.action.temperature"),
    "rule": Key("Ctrl+Shift+R", "bench.action.rule"),
    "sign": Key("Ctrl+G", "bench.action.sign"),
    "fetch": Key("Ctrl+L", "bench.action.fetch"),
    "studies": Key("Ctrl+J", "gauge.action.studies"),
    "take_held": Key("Alt+R", "bench.action.take_held"),
    "drop_held": Key("Alt+X", "bench.action.drop_held"),
}
#: What a single letter on the empty field does.
BY_LETTER = {
    "E": "enters",
    "N": "stops",
    "S": "skip",
    "I": "instrument",
    "W": "why",
    "K": "check",
    "M": "repeats",
    "D": "note",
}
#: Of the dialog that W opens.
WHY_KEYS = {
    "why": Key("1", "bench.why.action.why"),
    "budget": Key("2", "bench.why.action.budget"),
    "turn": Key("W", "bench.why.action.turn", ("Ctrl+Tab", "Right", "Left")),
    "copy": Key("Ctrl+C", "bench.why.action.copy"),
    "close": Key("Esc", "bench.why.action.close"),
}
