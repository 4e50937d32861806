"""``python -m app.window [book]``. Ctrl+C while the window is still being loaded leaves quietly."""

import sys

try:
    from app.window.start import run

    code = run()
except KeyboardInterrupt:
    code = 130
sys.exit(code)
