"""A plan typed from an imagined drawing, key by key, issued, and a sheet made on it."""

from __future__ import annotations

from storage.book.queries.parts import list_parts

#: Twenty requirements of an invented adapter: number, kind as far as it is typed, callout, then name and set-up.
DRAWING = (
    ("1", "no", "MATERIAL BRASS C36000", "material", ""),
    ("2", "no", "BREAK SHARP EDGES .005-.015", "edges", ""),
    ("3", "ou", "⌀1.2500 +.0000/-.0010", "barrel", "lathe"),
    ("4", "b", "⌀1.0000 ±.0010", "bore", "lathe"),
    ("5", "le", "2.125 ±.005", "overall", "lathe"),
    ("6", "d", ".500", "counterbore", "lathe"),
    ("7", "b", "4X ⌀.136 +.004/-.001", "screw holes", "mill"),
    ("8", "ce", "⌀1.750 BASIC", "bolt circle", "mill"),
    ("9", "g", "⌀.020", "position", "mill"),
    ("10", "th", "8-32 UNC-2B", "clamp screws", "mill"),
    ("11", "sl", ".1875 +.0040/-.0000", "key slot", "mill"),
    ("12", "ch", ".03", "lead-in", "lathe"),
    ("13", "a", "30°", "cone", "lathe"),
    ("14", "ra", "R.125 ±.010", "fillet", "lathe"),
    ("15", "ro", "Ra 63 µin MAX", "bore", "lathe"),
    ("16", "w", ".375", "flat", "mill"),
    ("17", "ed", ".250 ±.005", "hole to edge", "mill"),
    ("18", "st", ".062", "shoulder", "lathe"),
    ("19", "le", "(3.00)", "over stud", ""),
    ("20", "le", "1 1/2", "grip", ""),
)
HEAD = ("EP-310", "A", "Eyepiece adapter", "EP-310-D", "A", "", "brass C36000", "Lantern Hill Optical", "")
BLOCK = ("in", "", ".01", ".005", "", "1/32", "0.5°")


def test_twenty_rows_by_keys_alone(planner, answers) -> None:
    waiting, asked = answers
    planner.press("Ctrl+N")
    planner.types("\t".join(HEAD) + "\t" + "\t".join(BLOCK))
    planner.press("Tab", "Tab", "Tab", "Tab", "Tab", "Tab")
    planner.types("20\t\t2")
    planner.press("F4")
    assert planner.writing.draft.head["default .xxx"] == ".005" and planner.writing.draft.head["last_balloon"] == "20"
    for number, kind, requirement, name, set_up in DRAWING:
        planner.types(f"{number}\t{kind}\t{requirement}\t{name}\t{set_up}\n")
    assert planner.rows("number", "requirement", "name", "set_up") == [(n, r, a, s) for n, _, r, a, s in DRAWING]
    assert {kind for (kind,) in planner.rows("kind")} >= {"outside diameter", "bore", "geometric tolerance", "note"}
    planner.qtbot.wait(250)
    assert planner.writing.foot.open.text().startswith("Whole: a row for every balloon up to 20")
    field = planner.writing.form.fields["default .xxx"]
    planner.writing.form.typed.emit("default .xxx", "o.5")  # the two rows that wait for it have no fault of their own
    told = planner.writing.foot.open
    planner.qtbot.waitUntil(lambda: told.text() == "The head cannot be read at: .xxx in (Ctrl+E).")
    planner.press("Ctrl+E")
    planner.qtbot.waitUntil(field.hasFocus)
    planner.writing.form.typed.emit("default .xxx", ".005")
    planner.press("F4")
    waiting.append({})
    planner.press("Ctrl+S")
    planner.qtbot.waitUntil(lambda: planner.writing.issue == 1)
    assert asked[0].title == "Issue the plan of EP-310"
    (listed,) = planner.kept(lambda book: book.ask(list_parts))
    assert (listed.number, listed.name, listed.rows) == ("EP-310", "Eyepiece adapter", 23)
    waiting.append(
        {"serials": "001, 002"}
        | dict.fromkeys(("customer", "order", "order_line", "lot"), "")
        | {
            "process": "",
            "machine": "mill 1",
            "temperature": "68 °F",
        }
    )
    planner.press("Ctrl+M")
    planner.qtbot.waitUntil(lambda: "bench" in planner.frame._rooms and planner.frame.room("bench").seen is not None)
    sheet = planner.frame.room("bench").seen.sheet
    assert [piece.serial for piece in sheet.pieces] == ["001", "002"] and sheet.head.machine == "mill 1"
    assert len(sheet.plan.characteristics) == 23
