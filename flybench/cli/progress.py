"""A progress bar for anything that takes more than a second."""

from __future__ import annotations

import sys
import time

PATIENCE = 1.0
_WIDTH = 30


class Progress:
    """Called with what is being done, how much of it and how much there is; draws on a terminal only."""

    def __init__(self) -> None:
        """Start the clock."""
        self.begun = time.monotonic()
        self.shown = 0.0
        self.open = False

    def __call__(self, what: str, done: int, whole: int) -> None:
        """Draw the bar if a second has gone by, at most ten times a second."""
        now = time.monotonic()
        if now - self.begun < PATIENCE or now - self.shown < 0.1 or not sys.stderr.isatty():
            return
        self.shown, self.open = now, True
        share = min(done / max(whole, 1), 1.0)
        bar = "#" * round(share * _WIDTH)
        sys.stderr.write(f"\r\033[K{what} [{bar:<{_WIDTH}}] {100 * share:3.0f} %")
        sys.stderr.flush()

    def close(self) -> None:
        """Wipe the bar."""
        if self.open:
            sys.stderr.write("\r\033[K")
            sys.stderr.flush()
            self.open = False
