"""A progress bar for anything that takes more than a second."""

from __future__ import annotations

import sys
import time

PATIENCE = 1.0
"""Time before a bar is shown: about what one waits without wondering (judgement) [s]."""
_WIDTH = 30
"""Letters of the bar: it fits beside its words in 80 columns."""
_LEAST_PAUSE = 0.1
"""Time between two drawings: more often is not seen (judgement) [s]."""


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
        if now - self.begun < PATIENCE or now - self.shown < _LEAST_PAUSE or not sys.stderr.isatty():
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
