"""Which clips flybench has drawn: their mark in the file, and telling them from a user's own clips."""

from __future__ import annotations

from pathlib import Path

import av
import av.error

MARK_TAG = "comment"
"""The file's metadata tag that holds the mark: one that every MP4 and MOV writer keeps [text]."""
MARK = "drawn by flybench: an overlay, not an original clip"
"""What that tag says in every clip that flybench writes [text]."""


def made_by_flybench(path: Path) -> bool:
    """Tell whether a file is a clip that flybench drew, which may be replaced; a user's own clip never is.

    False as well for what is no clip, cannot be read or is not there.
    """
    if not path.is_file():
        return False
    try:
        with av.open(str(path)) as container:
            return str(container.metadata.get(MARK_TAG, "")).startswith(MARK)
    except (av.error.FFmpegError, OSError, UnicodeDecodeError):
        return False
