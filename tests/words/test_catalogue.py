"""The catalogue is whole: no code twice, none missing, none asking for a part that its place in the code lacks."""

from __future__ import annotations

import ast
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

import inspection
from inspection.reasons import Reason
from inspection.words.catalogue import Words, catalogue, codes, entries, files, take_apart
from inspection.words.say import say

HOUSE = Path(inspection.__file__).parents[1]
SPEAKERS = ("inspection.words.say", "app.window.words")


def sources() -> list[Path]:
    return sorted(path for part in ("inspection", "storage", "app") for path in (HOUSE / part).rglob("*.py"))


def codes_in(source: str) -> Iterator[tuple[str, set[str] | None, int]]:
    """Every code written out in a call of Reason or word: code, its parts (None: not told by the text), line."""
    tree = ast.parse(source)
    called = {"Reason": reason_parts} | dict.fromkeys(imported_word(tree), word_parts)
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and node.args:
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            for code in literals(node.args[0]) if name in called else ():
                yield code, called[name](node), node.lineno


def imported_word(tree: ast.Module) -> set[str]:
    """The names under which a module knows the speaker of labels (a function of its own called word is another)."""
    nodes = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module in SPEAKERS]
    return {alias.asname or alias.name for node in nodes for alias in node.names if alias.name == "word"}


def literals(node: ast.expr) -> list[str]:
    """A text written out, or both of a choice between two."""
    if isinstance(node, ast.IfExp):
        return literals(node.body) + literals(node.orelse)
    return [node.value] if isinstance(node, ast.Constant) and isinstance(node.value, str) else []


def reason_parts(call: ast.Call) -> set[str] | None:
    parts = call.args[1] if len(call.args) > 1 else next((k.value for k in call.keywords if k.arg == "parts"), None)
    if parts is None:
        return set()
    if not isinstance(parts, ast.Dict) or not all(isinstance(key, ast.Constant) for key in parts.keys):
        return None
    return {str(key.value) for key in parts.keys if isinstance(key, ast.Constant)}


def word_parts(call: ast.Call) -> set[str] | None:
    names = {keyword.arg for keyword in call.keywords}
    return None if None in names else {name for name in names if name}


def test_codes_are_told_by_how_lines_begin_as_by_reading_them() -> None:
    for name, text in files("en"):
        assert list(codes(text)) == [code for code, _ in entries(tomllib.loads(text))], name


def test_a_file_is_read_when_the_first_of_its_words_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    monkeypatch.setattr(tomllib, "loads", lambda text, loads=tomllib.loads: read.append(text) or loads(text))
    words = Words("en")
    assert "bench.kept" in words and "no.such" not in words and len(words) == len(set(words)) and read == []
    assert words["bench.kept"] is words["bench.kept"] and words["bench.mark.open"]
    assert read == [dict(files("en"))["bench.toml"]]


def test_no_code_has_two_sentences() -> None:
    told = [(code, name) for name, text in files("en") for code, _ in entries(tomllib.loads(text))]
    counted = Counter(code for code, _ in told)
    assert {code: [file for each, file in told if each == code] for code, n in counted.items() if n > 1} == {}


def test_every_code_in_the_sources_has_words_and_its_parts() -> None:
    missing = []
    for path in sources():
        for code, parts, line in codes_in(path.read_text(encoding="utf-8")):
            template = catalogue().get(code)
            place = f"{path.relative_to(HOUSE)}:{line} {code}"
            if template is None:
                missing.append(f"{place}: no words")
            elif parts is not None and template.names - parts:
                missing.append(f"{place}: {', '.join(sorted(template.names - parts))} is asked for and not given")
    assert missing == [], "\n".join(missing)


def test_the_search_sees_missing_codes_and_parts() -> None:
    source = """from inspection.words.say import word as label
x = Reason("a.b" if y else "c", {"n": 1})
z = reasons.Reason("d", parts)
w = label("e", language, m=2) + word("not ours")
"""
    assert list(codes_in(source)) == [("a.b", {"n"}, 2), ("c", {"n"}, 2), ("d", None, 3), ("e", {"m"}, 4)]


def test_a_code_without_quotes_is_the_same_code() -> None:
    table = tomllib.loads(
        'slip.turn = "One turn"\n"slip.sign" = "A sign"\nslip.n = {one = "1", other = "{n}", by = "n"}'
    )
    assert [code for code, _ in entries(table)] == ["slip.turn", "slip.n", "slip.sign"]


def test_a_plan_without_a_note_is_told_so() -> None:
    for code, parts, said in (
        ("plan.notes_unknown", {"n": 0}, "No row is a note, and how many notes the drawing has is not written"),
        ("plan.notes_short", {"n": 0, "of": 3}, "No note has a row, and the drawing has 3."),
        ("plan.notes_over", {"n": 1, "of": 0}, "The drawing is said to have no notes, and the rows have 1."),
    ):
        assert say(Reason(code, parts)).startswith(said)


@pytest.mark.parametrize("text", ["{open", "open}"])
def test_a_template_with_a_lone_brace_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"[{}]"):
        take_apart(text)


def test_a_text_that_is_no_text_is_refused() -> None:
    with pytest.raises(ValueError, match=r"a\.b"):
        list(entries({"a": {"b": 3}}))


def test_a_language_without_words_is_an_error() -> None:
    with pytest.raises(FileNotFoundError):
        catalogue("xx")
