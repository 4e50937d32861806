"""Settings: taste only, kept whole, and a damaged file is said and kept."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.words.say import known, say
from storage.settings import Settings, default_settings_place, load_settings, save_settings


def test_without_a_file_the_usual_ones_hold_in_silence(tmp_path):
    assert load_settings(tmp_path / "settings.toml") == (Settings(), ())


def test_what_was_saved_is_read_again(tmp_path):
    path = tmp_path / "made for it" / "settings.toml"
    chosen = Settings(
        theme="dark", scale=150, units="mm", paper="a4", book='/päth/"quoted"\\book.tenthwright', person="p"
    )
    save_settings(chosen, path)
    assert load_settings(path) == (chosen, ())
    assert tomllib.loads(path.read_text(encoding="utf-8"))["scale"] == 150


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)


@settings(max_examples=60, deadline=None)
@given(book=texts, person=texts)
def test_any_path_and_name_survive(tmp_path_factory, book, person):
    path = tmp_path_factory.mktemp("any") / "settings.toml"
    save_settings(Settings(book=book, person=person), path)
    assert load_settings(path) == (Settings(book=book, person=person), ())


@pytest.mark.parametrize("content", [b"theme = dark", b"\xff\xfe", b"[[[", b"theme = 'a'\ntheme = 'b'"])
def test_a_damaged_file_is_said_and_left(tmp_path, content):
    path = tmp_path / "settings.toml"
    path.write_bytes(content)
    found, (reason,) = load_settings(path)
    assert found == Settings()
    assert reason.code == "settings.damaged"
    assert known(reason.code) and "[" not in say(reason)
    assert path.read_bytes() == content


def test_a_damaged_file_is_set_aside_when_settings_change(tmp_path):
    path = tmp_path / "settings.toml"
    for content in (b"[[[ first", b"[[[ second"):
        path.write_bytes(content)
        save_settings(Settings(theme="dark"), path)
        assert load_settings(path) == (Settings(theme="dark"), ())
    kept = sorted(file.read_bytes() for file in tmp_path.glob("settings-damaged*.toml"))
    assert kept == [b"[[[ first", b"[[[ second"]


@pytest.mark.parametrize(
    ("line", "setting"),
    [('theme = "pink"', "theme"), ("scale = 90", "scale"), ("scale = true", "scale"), ("book = 7", "book")],
)
def test_a_value_that_is_not_known_is_said_and_the_rest_holds(tmp_path, line, setting):
    path = tmp_path / "settings.toml"
    path.write_text(f'paper = "a4"\n{line}\n', encoding="utf-8")
    found, (reason,) = load_settings(path)
    assert found == Settings(paper="a4")
    assert (reason.code, reason.parts["setting"]) == ("settings.value", setting)
    assert setting in say(reason)


def test_what_a_later_program_wrote_is_kept(tmp_path):
    path = tmp_path / "settings.toml"
    path.write_text('font = "large"\ntheme = "light"\n', encoding="utf-8")
    assert load_settings(path) == (Settings(theme="light"), ())
    save_settings(Settings(theme="dark"), path)
    assert tomllib.loads(path.read_text(encoding="utf-8"))["font"] == "large"


def test_the_default_place_is_the_users_own(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert default_settings_place().name == "settings.toml"
    assert default_settings_place().parent.name == "tenthwright"
