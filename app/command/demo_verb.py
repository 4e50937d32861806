"""``tenthwright demo``."""

from __future__ import annotations

import subprocess
import sys
from argparse import Namespace
from pathlib import Path

from app.command.outcome import Answer
from app.command.sheets import verdict_data, verdict_lines
from app.command.world import World
from app.jobs.demo import INSPECTOR, default_folder, run_demo
from inspection.words.say import word

#: How long the window is watched for failing at its start, in seconds.
WATCHED = 1.5


def demo(options: Namespace, world: World) -> Answer:
    """Take the demo's part through the whole job, show what came of it, and open the window where there is a screen.

    The part has a feature that is out, as it should; the exit code is that of the job, so 0.
    """
    folder = Path(options.folder) if options.folder else default_folder()

    def told(step: str) -> None:
        if not options.json:
            world.err.write(word(f"command.demo.step.{step}") + "\n")

    made = run_demo(folder.absolute(), world.clock, world.identities, told)
    window = "" if options.no_window else _window(world, made.files["book"])
    listed = word("command.demo.files", **{form.replace("-", "_"): str(path) for form, path in made.files.items()})
    lines = [*verdict_lines(made.report), "", *listed.splitlines()]
    lines.append(word("command.demo.person", person=INSPECTOR, passphrase=made.passphrase))
    data = {
        **verdict_data(made.report),
        "files": {form: str(path) for form, path in made.files.items()},
        "sheet": made.sheet,
        "person": INSPECTOR,
        "passphrase": made.passphrase,
    }
    return Answer((*lines, *([window] if window else [])), data)


def _window(world: World, book: Path) -> str:
    """Open the window on the book in a process of its own, if there is a screen; what is to be said about it."""
    if sys.platform == "linux" and not (world.environ.get("DISPLAY") or world.environ.get("WAYLAND_DISPLAY")):
        return word("command.demo.no_screen")
    # -P: the current folder may hold packages of the same names.
    command = [sys.executable, "-P", "-m", "app.window", str(book)]
    silent = subprocess.DEVNULL
    try:
        window = subprocess.Popen(
            command, env=dict(world.environ), stdin=silent, stdout=silent, stderr=silent, start_new_session=True
        )
        code = window.wait(WATCHED)
    except subprocess.TimeoutExpired:
        return word("command.demo.window")
    except OSError as error:
        return word("command.demo.no_window", why=error.strerror or "")
    return word("command.demo.window") if code == 0 else word("command.demo.no_window", why=str(code))
