"""The mark in a report page's file: which program wrote it, and for which clip."""

from __future__ import annotations

import os
from pathlib import Path

from PIL import Image, UnidentifiedImageError

from flybench.version import __version__

SOFTWARE = f"flybench {__version__}"
"""What stands in the file as the program that wrote it."""


def page_mark(clip_name: str) -> dict[str, str]:
    """Return the texts that go into a PNG page of a clip (keywords of the PNG specification, 11.3.3.2)."""
    return {"Software": SOFTWARE, "Comment": _about(clip_name)}


def is_report_on(path: Path, clip_name: str) -> bool:
    """Tell whether a file is a PNG page that flybench, of whatever version, wrote for a clip of this name."""
    try:
        with Image.open(path, formats=["PNG"]) as page:
            texts = page.info
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError):
        return False
    ours = str(texts.get("Software", "")).startswith("flybench ")
    return ours and texts.get("Comment") == _about(clip_name)


def _about(clip_name: str) -> str:
    """Return what the page is about; bytes of a name that are no text are shown as in the clip's facts."""
    return f"sink speed measured in {os.fsencode(clip_name).decode('utf-8', 'replace')}"
