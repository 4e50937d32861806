"""The program's own typeface: founded once, whole, the same every time, and cheap to find again."""

import os
import subprocess
import sys
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from storage import typeface as subject
from storage.typeface import FAMILY, Typeface, characters, missing_glyphs, typeface

FIND = """
import sys, time
import storage.typeface as subject
before = time.perf_counter()
found = subject.typeface()
took = time.perf_counter() - before
print(found.regular.parent)
print(took)
print("fontTools" in sys.modules)
"""


def find_in_another_process(home: Path) -> subprocess.Popen[str]:
    environment = os.environ | {"XDG_CACHE_HOME": str(home), "LOCALAPPDATA": str(home), "HOME": str(home)}
    return subprocess.Popen([sys.executable, "-c", FIND], env=environment, stdout=subprocess.PIPE, text=True)


def drawn_characters() -> set[str]:
    data = tomllib.loads((files("resources") / "symbols" / "symbols.toml").read_text(encoding="utf-8"))
    drawn = {symbol["character"] for symbol in data["symbol"]}
    drawn |= set("".join(data[group]["characters"] for group in ("circled", "raised", "lowered", "fractions")))
    return drawn | set(data["spaces"]) | set(data["same"])


def test_the_family_has_its_own_name_and_keeps_copyright_and_licence(cache_folder: Path) -> None:
    for path, style in zip((typeface().regular, typeface().bold), ("Regular", "Bold"), strict=True):
        names = {record.nameID: str(record) for record in TTFont(path)["name"].names}
        assert (names[1], names[2], names[4]) == (FAMILY, style, f"{FAMILY} {style}")
        assert names[6] == f"TenthwrightBench-{style}"
        assert "Braille Institute" in names[0]
        assert "SIL Open Font License" in names[13]
        assert not {8, 11, 12} & names.keys()
        assert "Atkinson" not in names[1] + names[3] + names[4] + names[6]
    assert "SIL OPEN FONT LICENSE" in typeface().regular.with_name("OFL.txt").read_text(encoding="utf-8")


def test_every_digit_is_as_wide_as_every_other(cache_folder: Path) -> None:
    for path in (typeface().regular, typeface().bold):
        font = TTFont(path)
        widths = {font["hmtx"][font.getBestCmap()[ord(digit)]][0] for digit in "0123456789\u2007"}
        assert len(widths) == 1


def test_both_faces_have_every_symbol_and_its_outline(cache_folder: Path) -> None:
    drawn = drawn_characters()
    assert drawn <= characters()
    for path in (typeface().regular, typeface().bold):
        font = TTFont(path)
        for character in drawn:
            glyph = font["glyf"][font.getBestCmap()[ord(character)]]
            assert bool(glyph.numberOfContours) != character.isspace(), character
            if glyph.numberOfContours:
                assert -290 <= glyph.yMin <= glyph.yMax <= 950, character


def test_the_frame_symbols_of_a_drawing_are_there(cache_folder: Path) -> None:
    assert not missing_glyphs("⌀±°µ⌖⏤⏥⌭⌯⌰⌴⌵∠⊥∥◎↗↧⌒⌓⌲ⓂⓁⓅⒻⓈⓉⓊⒺ…−≤≥≈→×′″●▲○◆⊖✓☐☑☒┌─┐│└┘")


def test_a_character_without_glyph_is_named(cache_folder: Path) -> None:
    assert missing_glyphs("bore 測定\nDüse\t№ 1") == {"測", "定", "№"}


def test_founding_twice_gives_the_same_bytes(cache_folder: Path) -> None:
    base, symbols = subject._base_files(), subject._symbols()
    assert subject._founded(base, symbols) == subject._founded(base, symbols)


def test_a_folder_that_was_cut_is_founded_anew(cache_folder: Path) -> None:
    first = typeface()
    whole = first.regular.read_bytes()
    first.regular.write_bytes(whole[:100])
    subject.typeface.cache_clear()
    assert typeface() == first
    assert first.regular.read_bytes() == whole
    assert [path.name for path in cache_folder.iterdir()] == [first.regular.parent.name]


def test_a_cache_folder_that_cannot_be_written_is_no_obstacle(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    in_the_way = tmp_path / "a file"
    in_the_way.write_text("not a folder")
    monkeypatch.setattr(subject, "user_cache_path", lambda _name: in_the_way)
    subject.typeface.cache_clear()
    try:
        found: Typeface = typeface()
        assert found.bold.is_file()
        assert in_the_way.read_text() == "not a folder"
    finally:
        subject.typeface.cache_clear()
        subject.characters.cache_clear()


def test_programs_that_start_at_once_share_one_whole_folder_and_later_ones_find_it(tmp_path: Path) -> None:
    programs = [find_in_another_process(tmp_path) for _ in range(3)]
    told = [program.communicate(timeout=60)[0].splitlines() for program in programs]
    assert [program.returncode for program in programs] == [0, 0, 0]
    assert len({lines[0] for lines in told}) == 1
    folder = Path(told[0][0])
    assert subject._whole(folder)
    assert list(folder.parent.iterdir()) == [folder]
    later = find_in_another_process(tmp_path).communicate(timeout=60)[0].splitlines()
    assert (later[0], later[2]) == (str(folder), "False")


@pytest.mark.measured
def test_finding_the_faces_again_takes_no_time(tmp_path: Path) -> None:
    told = [find_in_another_process(tmp_path).communicate(timeout=60)[0].splitlines() for _ in range(6)]
    assert min(float(lines[1]) for lines in told[1:]) < 0.002
