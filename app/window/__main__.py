"""``python -m app.window [book]``."""

import sys

from app.window.start import run

sys.exit(run())
