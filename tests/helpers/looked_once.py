"""The pictures of a clip looked at once for the whole suite; all that follows from what they show is worked out anew.

What is spotted in the frames hangs on the clip's file and on the view that they are held against, and on nothing else: not
on the clip's name, the fly's weight or the water. So commands that measure one clip in several ways share the looking.
"""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

from made_once import once

from flybench.bench import measure as measuring
from flybench.bench.clip.footage import Clip
from flybench.bench.measure import Progress
from flybench.bench.track.close_ups import Album
from flybench.bench.track.spotting import Spot
from flybench.bench.view.tank_view import TankView

_look = measuring._watch


@contextmanager
def looked_once(folder: Path) -> Iterator[None]:
    """Let every measurement in here look at the frames of the same file under the same view once a session."""

    def look(clip: Clip, view: TankView, album: Album | None, progress: Progress | None) -> list[Spot]:
        def looked() -> tuple[list[Spot], object, object, object]:
            kept = Album(clip.orientation)
            return _look(clip, view, kept, progress), view.watch, kept, clip.tally

        spots: list[Spot]
        spots, watch, kept, clip.tally = once(folder, _key(clip, view), looked)
        vars(view.watch).update(vars(watch))
        if album is not None:
            vars(album).update(vars(kept))
        return spots

    with patch.object(measuring, "_watch", look):
        yield


def _key(clip: Clip, view: TankView) -> str:
    """Return the file's content and stream, and all that its frames are held against."""
    held = pickle.dumps((view.backdrop, view.tracker, view.steadiness, view.watch))
    return f"spots of {clip.sha256()} {clip.stream} {hashlib.sha256(held).hexdigest()}"
