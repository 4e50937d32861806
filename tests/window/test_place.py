"""A window comes back where it stood only if that screen is still there."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QGuiApplication

from app.window.place import kept, restore
from app.window.start import settings_after
from storage.settings import Settings, load_settings, save_settings


def screen_name() -> str:
    return QGuiApplication.primaryScreen().name()


def test_a_place_on_a_screen_that_is_there_is_taken_again(frame):
    restore(frame, Settings(place="30 40 700 500", screen=screen_name()))
    assert frame.geometry().getRect() == (30, 40, 700, 500) or frame.minimumWidth() > 700


@pytest.mark.parametrize(
    "settings",
    [
        Settings(place="5000 40 700 500", screen="GONE-1"),
        Settings(place="5000 9000 700 500"),
        Settings(place="nonsense"),
        Settings(place="1 2 3"),
        Settings(),
    ],
)
def test_a_place_that_is_gone_becomes_the_middle_of_the_screen(frame, settings):
    restore(frame, settings)
    area = QGuiApplication.primaryScreen().availableGeometry()
    assert area.intersects(frame.geometry())
    assert area.contains(frame.geometry().center())


def test_place_theme_and_scale_come_back_from_the_settings_file(frame_and_sitting, tmp_path):
    frame, sitting = frame_and_sitting
    frame.house.set_theme(frame.house.theme.named("dark").scaled(125))
    frame.house.set_units("mm")
    sitting.remembered["person"] = "p-1"
    file = tmp_path / "settings.toml"
    save_settings(settings_after(Settings(), frame, sitting), file)
    again, said = load_settings(file)
    assert said == ()
    assert (again.theme, again.scale, again.units, again.person) == ("dark", 125, "mm", "p-1")
    assert again.place == kept(frame)["place"]
