"""What the commands say to bad input, and clips made to be refused."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
from console import Said

from flybench.catalog.search.nouns import NOUNS

AGAIN = "Copy it from the phone again, unedited."
UNREADABLE = "The file is damaged: copy it from the phone again, unedited."
CARD = ("--temperature", "18 degC", "--card")
PLACE = "Name a file in a folder you may write to."
AGAIN_FALLING = "Film the fly falling freely past the scale, with the whole column in view."
ITSELF = "is the {} itself, and is never written over. Name another file."
EXISTS = "exists already. Name another file, or add --overwrite to replace it."


def only_inputs(folder: Path) -> bool:
    """Tell whether a folder holds nothing but what a test put there."""
    return {path.suffix for path in folder.iterdir()} <= {".mp4", ".toml", ".jpg", ".MP4"}


def video(path: Path, frames: list[np.ndarray], rate: int = 30) -> None:
    """Write grey frames as an H.264 clip."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=rate)
        stream.height, stream.width = frames[0].shape
        stream.pix_fmt = "yuv420p"
        for frame in frames:
            out.mux(
                stream.encode(av.VideoFrame.from_ndarray(frame, format="gray").reformat(format="yuv420p"))
            )
        out.mux(stream.encode(None))


def fields_of(noun: str) -> str:
    """Return the fields that a message names where one is not known: all that are shown, in their order."""
    return ", ".join(name for name, field in NOUNS[noun].fields.items() if not field.hidden)


def refused(said: Said, message: str) -> None:
    """Hold a command to one whole message on standard error, nothing on standard output, and exit code 1."""
    assert said.code == 1
    assert said.out == ""
    assert said.err == f"Error: {message}\n"
