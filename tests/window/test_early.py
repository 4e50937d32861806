"""The light reader of settings agrees with their owner."""

from __future__ import annotations

from app.window.early import Early, early, settings_place
from storage.settings import Settings, default_settings_place, save_settings


def test_the_place_is_the_owners():
    assert settings_place() == default_settings_place()


def test_fields_and_defaults_are_the_owners():
    for name, default in Early()._asdict().items():
        assert getattr(Settings(), name) == default


def test_what_the_owner_wrote_is_read(tmp_path):
    file = tmp_path / "settings.toml"
    save_settings(Settings(theme="dark", scale=150, book="/b", place="1 2 3 4", full=True), file)
    assert early(file) == Early(theme="dark", scale=150, book="/b", place="1 2 3 4", full=True)


def test_what_cannot_be_read_keeps_its_default(tmp_path):
    file = tmp_path / "settings.toml"
    assert early(file) == Early()
    file.write_text("theme = [", encoding="utf-8")
    assert early(file) == Early()
    file.write_text('theme = 5\nscale = "big"\nunits = "mm"', encoding="utf-8")
    assert early(file) == Early(units="mm")
