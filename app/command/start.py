"""Where the command line begins: nothing is imported before Ctrl+C leaves quietly."""

import sys

#: As ``Exit.STOPPED``, which is imported later.
STOPPED = 130


def run() -> int:
    """Carry out the command line of this process; its exit code. Ctrl+C while the program is still being loaded says
    nothing, for nothing was begun; later on it is told by ``app.command.main``."""
    try:
        from app.command.main import run as carried_out

        return carried_out()
    except KeyboardInterrupt:
        return STOPPED


if __name__ == "__main__":
    sys.exit(run())
