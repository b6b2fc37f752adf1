"""Write a still of a clip with a grid of its pixels, to read two points off."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flybench.bench.clip.footage import check_there, open_clip
from flybench.bench.overlay.pixel_grid import first_picture, with_grid, write_png
from flybench.files import beside, check_new, whole_file


@dataclass(frozen=True)
class Still:
    """Where a still was written, and the size of the picture in it [px]."""

    path: Path
    width: int
    height: int


def write_still(clip: Path, output: Path | None = None, overwrite: bool = False) -> Still:
    """Write the upright first frame of a clip under its grid, to CLIP.still.png without ``output``.

    Raises FlybenchError where the clip cannot be read or the file may not be written.
    """
    check_there(clip)
    path = output or beside(clip, ".still.png")
    check_new(path, overwrite)
    picture = first_picture(open_clip(clip))
    with whole_file(path) as part:
        write_png(with_grid(picture), part)
    return Still(path, int(picture.shape[1]), int(picture.shape[0]))
