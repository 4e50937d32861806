"""The built program: everything it needs is in the wheel, and it runs from anywhere, writing only where it says."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import sysconfig
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("app", "inspection", "storage", "resources")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True)
    (built,) = folder.glob("*.whl")
    return built


@pytest.mark.slow
def test_everything_of_the_four_packages_is_in_the_wheel(wheel: Path) -> None:
    found = [path for part in PACKAGES for path in (ROOT / part).rglob("*") if path.is_file()]
    files = {path.relative_to(ROOT).as_posix() for path in found if path.suffix != ".pyc"}
    with zipfile.ZipFile(wheel) as archive:
        assert files <= set(archive.namelist())


@pytest.mark.slow
def test_the_demo_runs_from_the_root_and_keeps_to_its_folders(wheel: Path, tmp_path: Path) -> None:
    place = tmp_path / "somewhere else"
    venv.create(place, with_pip=False)
    (site,) = place.glob("lib/python*/site-packages")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    # Libraries come from the environment that runs the tests, the program itself from the wheel in front of them.
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib"), encoding="utf-8")
    home = tmp_path / "home"
    home.mkdir()
    environ = {"HOME": str(home), "PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "PYTHONDONTWRITEBYTECODE": "1"}
    python = place / "bin" / "python"
    code = "import app.command.main as m; print(m.__file__)"
    found = subprocess.run([python, "-c", code], cwd="/", env=environ, capture_output=True, check=True)
    assert found.stdout.decode().startswith(str(site))

    demo = [python, "-c", "import sys; from app.command.start import run; sys.exit(run())", "demo"]
    tables = []
    for _ in range(2):
        done = subprocess.run(demo, cwd="/", env=environ, capture_output=True, check=False)
        assert done.returncode == 0, done.stderr.decode()
        tables.append(done.stdout.decode().split("\n\n")[1])
    assert tables[0] == tables[1]
    assert "not conforming (1 of 3 pieces)" in tables[0]
    written = {path.relative_to(home) for path in home.rglob("*") if path.is_file()}
    assert written
    own = [(".local", "share", "tenthwright", name) for name in ("demo", "heads")]
    outside = [path for path in written if path.parts[:4] not in own and path.parts[0] != ".cache"]
    assert outside == []


def test_what_is_tested_is_what_is_installed() -> None:
    """Every library that the program or its tests ask for is pinned to a tested version, and no host is named."""
    pins = (ROOT / ".ci" / "constraints.txt").read_text(encoding="utf-8")
    pinned = {plain(line.split("==")[0]) for line in pins.splitlines() if "==" in line}
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    assert {plain(re.split(r"[<>=!~\[; ]", name)[0]) for name in asked} <= pinned
    assert "://" not in pins
    assert "@" not in pins


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()
